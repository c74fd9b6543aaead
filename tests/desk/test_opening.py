"""While a study is opened the desk shows how far that is, and then itself, or why it cannot be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from support_desk_server import event_of, served
from support_study import write_study


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return write_study(tmp_path / "study")


def test_a_small_page_is_there_at_once_under_the_policy_of_the_desk(study: Path, tmp_path: Path) -> None:
    with served(study, tmp_path, way="soon") as desk:
        status, page, headers = desk.ask(f"/?token={desk.token}")
        assert (status, b"The desk is being opened" in page) == (200, True)
        policy = headers["content-security-policy"].split("; ")
        assert {"default-src 'none'", "connect-src 'self'", "frame-ancestors 'none'"} < set(policy)
        assert desk.token.encode() not in page
        assert desk.ask("/api/opening", **{"X-Combe-Token": "none"})[0] == 403
        assert desk.ask("/api/marks")[0] == 200, "questions wait for the study"
        assert b"<p>the desk</p>" in desk.ask(f"/?token={desk.token}")[1]


def test_a_stream_tells_what_is_done_and_when_it_is_open(study: Path, tmp_path: Path) -> None:
    with served(study, tmp_path, way="soon") as desk:
        with desk.stream("/api/opening") as stream:
            assert event_of(stream) == ("opening", {"words": "halfway there"})
            assert event_of(stream) == ("opened", {})
            assert stream.read() == b""
        # A page may ask for the stream when all is over.
        with desk.stream("/api/opening") as late:
            assert event_of(late) == ("opened", {})
            assert late.read() == b""


def test_a_fault_is_told_before_the_command_ends_with_it(study: Path, tmp_path: Path) -> None:
    with served(study, tmp_path, way="late fault") as desk:
        with desk.stream("/api/opening") as stream:
            assert event_of(stream)[0] == "opening"
            name, told = event_of(stream)
            assert (name, "ground.tif" in told["fault"]) == ("failed", True)
            assert stream.read() == b""
        errors = desk.process.communicate(timeout=20)[1]
    assert desk.process.returncode == 2
    assert "gone <b>away</b>" in errors


@pytest.mark.browser
def test_the_page_that_waits_makes_room_for_the_desk(chromium: Any, study: Path, tmp_path: Path) -> None:
    with served(study, tmp_path, way="soon") as desk:
        tab, complaints = chromium.new_page(), []
        tab.on("pageerror", lambda error: complaints.append(str(error)))
        tab.on("console", lambda line: complaints.append(line.text))
        tab.goto(desk.address + "#changes=W10")
        tab.wait_for_function(
            "() => document.querySelector('#opening-words').textContent === 'halfway there'"
        )
        tab.wait_for_selector("text=the desk", timeout=20_000)
        assert tab.url.endswith("#changes=W10")
        tab.close()
    assert complaints == []


@pytest.mark.browser
@pytest.mark.parametrize(
    ("way", "words"),
    [("late fault", "The desk could not be opened: "), ("slow", "The desk does not answer.")],
)
def test_the_page_that_waits_tells_why_no_desk_comes(
    chromium: Any, study: Path, tmp_path: Path, way: str, words: str
) -> None:
    with served(study, tmp_path, way=way) as desk:
        tab = chromium.new_page()
        tab.goto(desk.address)
        tab.wait_for_function(
            "() => document.querySelector('#opening-words').textContent === 'halfway there'"
        )
        if way == "slow":
            desk.process.terminate()
        fault = tab.locator("#opening-fault")
        fault.wait_for(timeout=20_000)
        assert fault.inner_text().startswith(words)
        assert ("gone <b>away</b>" in fault.inner_text()) == (way == "late fault")
        assert tab.locator("#opening-bar").is_hidden()
        tab.close()
