"""Pages that a command opens in a browser."""

import threading
import webbrowser

import pytest

import combe.cli.browser as room
from support_cli import complaint, run
from support_study import write_study


@pytest.fixture
def opened(monkeypatch):
    """Return the addresses that a browser was asked to show."""
    shown = []
    monkeypatch.setattr(webbrowser, "open", shown.append)
    monkeypatch.setattr(room.sys, "platform", "linux")
    for name in room.WINDOWS_SHOWN_BY:
        monkeypatch.delenv(name, raising=False)
    return shown


@pytest.mark.parametrize("name", ["", *room.WINDOWS_SHOWN_BY])
def test_a_browser_is_opened_only_where_one_can_show_itself(monkeypatch, opened, name):
    if name:
        monkeypatch.setenv(name, ":0")
    room.show_address("http://127.0.0.1:1/").join(5)
    assert opened == (["http://127.0.0.1:1/"] if name else [])


def test_a_browser_that_stays_keeps_the_command_waiting_no_longer_than_told(monkeypatch, opened):
    gone = threading.Event()
    monkeypatch.setenv("DISPLAY", ":0")
    monkeypatch.setattr(webbrowser, "open", lambda _: gone.wait(20))
    monkeypatch.setattr(room, "_PATIENCE_S", 0.05)
    room.open_page(room.Path("a.html"))
    assert not gone.is_set()
    gone.set()


def test_where_no_browser_can_show_itself_the_page_is_named(opened, capsys):
    room.open_page(room.Path("results/index.html"))
    assert opened == []
    told = capsys.readouterr().err
    assert told == "combe: no browser to open here; open results/index.html in one\n"


def test_a_command_with_a_folder_opens_its_index(monkeypatch, opened, tmp_path):
    monkeypatch.setenv("DISPLAY", ":0")
    result = run("feed", write_study(tmp_path), "--open")
    assert result.exit_code in (0, 1), result.output
    assert opened == [(tmp_path / "results" / "index.html").as_uri()]


def test_a_command_with_one_page_opens_that(monkeypatch, opened, tmp_path):
    monkeypatch.setenv("DISPLAY", ":0")
    page = tmp_path / "a page.html"
    result = run("check", write_study(tmp_path), "--html", page, "--open")
    assert result.exit_code == 0, result.output
    assert opened == [page.as_uri()]


def test_nothing_is_asked_where_there_is_no_page_to_open(opened, tmp_path):
    for words in (("check", tmp_path / "none.toml"), ("compare", tmp_path / "a", tmp_path / "b")):
        told = complaint(*words, "--open")
        assert told.startswith("--open needs a page to open; name ")
    assert opened == []
