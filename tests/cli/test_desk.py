"""The command of the desk: what it says where it cannot open one."""

from __future__ import annotations

import importlib.util
import threading

import pytest

import combe.cli.browser as browser
import combe.cli.desk as room
from support_cli import complaint, python, run
from support_study import edited, write_study


@pytest.fixture(autouse=True)
def caches(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))


def test_a_faulty_study_tells_its_faults_and_no_address(tmp_path):
    study = write_study(tmp_path, edited(("cell_size_m = 300", "cell_size_m = -1")))
    assert complaint("desk", study, "--no-open") == complaint("check", study)
    assert complaint("desk", tmp_path / "none.toml").endswith("make one with: combe new DIR")
    assert not (tmp_path / "caches" / "combe" / "desks").exists()


@pytest.mark.parametrize("port", ["0", "80", "1023", "65536", "-1", "x"])
def test_a_port_out_of_range_is_one_line(tmp_path, port):
    assert complaint("desk", tmp_path / "x.toml", "--port", port).startswith("Invalid value for '--port': ")


@pytest.mark.parametrize("library", room.LIBRARIES)
def test_without_the_extra_it_says_how_to_get_it(tmp_path, monkeypatch, library):
    found = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == library else found(name))
    assert complaint("desk", tmp_path / "x.toml") == (
        f'combe desk needs {library}, which is not installed; pip install "combe[desk]"'
    )


def test_help_needs_no_extra():
    result = run("desk", "--help")
    assert result.exit_code == 0
    assert 'pip install "combe[desk]"' in result.stdout
    loaded = "print([name for name in ('starlette', 'uvicorn', 'numpy', 'pydantic') if name in sys.modules])"
    done = python(code=f"import sys, combe.cli.desk; {loaded}")
    assert done.stdout == "[]\n", done.stderr


@pytest.mark.parametrize("words", [(), ("--no-open",)])
def test_a_browser_that_does_not_return_keeps_nobody_waiting(tmp_path, monkeypatch, words):
    from combe.desk.server import Desk

    opened, gone, returned = (threading.Event() for _ in range(3))

    def stays(address):
        opened.set()
        gone.wait(5)
        returned.set()

    monkeypatch.setattr(browser, "_show", stays)
    monkeypatch.setattr(Desk, "serve", lambda *_: opened.wait(0.3 if words else 20))
    result = run("desk", write_study(tmp_path), *words)
    assert not returned.is_set()
    gone.set()
    assert result.exit_code == 0, result.output
    assert opened.is_set() == (not words)
    address, told, *more = result.stdout.splitlines()
    assert address.startswith("http://127.0.0.1:")
    assert told.endswith("study.toml is open at this address; end it with Ctrl-C.")
    assert more == []
