"""Rehearsals: a second process compiles meanwhile; whatever becomes of it, the first goes on."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from combe import rehearsing
from combe.rehearsing import rehearse_here, rehearsed_meanwhile

REHEARSAL = """
import time
from pathlib import Path
here = Path({folder!r})

def rehearse():
    with (here / "calls").open("a") as file:
        file.write("x")
    {then}
"""


@pytest.fixture
def rehearsal(tmp_path, monkeypatch):
    """Return what writes a rehearsal that other processes can import, and tells how often it was called."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "kernels"))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)

    def write(then: str = "pass") -> str:
        (tmp_path / "made_up_rehearsal.py").write_text(REHEARSAL.format(folder=str(tmp_path), then=then))
        return "made_up_rehearsal"

    return write


def calls(tmp_path: Path) -> int:
    path = tmp_path / "calls"
    return len(path.read_text()) if path.exists() else 0


def test_it_is_rehearsed_once_and_done_when_the_block_is_left(tmp_path, rehearsal):
    name = rehearsal("time.sleep(0.5)")
    for _ in range(2):
        with rehearsed_meanwhile(name):
            assert calls(tmp_path) in (0, 1)
        assert calls(tmp_path) == 1


def test_other_kernels_are_rehearsed_again(tmp_path, rehearsal, monkeypatch):
    name = rehearsal()
    for cache in ("one", "other"):
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / cache))
        with rehearsed_meanwhile(name):
            pass
    assert calls(tmp_path) == 2


def test_a_rehearsal_that_fails_says_nothing_and_is_tried_again(tmp_path, rehearsal, capfd):
    name = rehearsal("raise ValueError('no')")
    for _ in range(2):
        with rehearsed_meanwhile(name):
            pass
    assert calls(tmp_path) == 2
    assert capfd.readouterr() == ("", "")


def test_an_error_in_the_block_stops_the_rehearsal(tmp_path, rehearsal):
    name = rehearsal("time.sleep(60)")
    started = time.monotonic()
    with pytest.raises(KeyError), rehearsed_meanwhile(name):
        raise KeyError("stopped")
    assert time.monotonic() - started < 30.0


def test_a_rehearsal_that_hangs_is_given_up(rehearsal, monkeypatch):
    monkeypatch.setattr(rehearsing, "LONGEST_S", 0.1)
    started = time.monotonic()
    with rehearsed_meanwhile(rehearsal("time.sleep(60)")):
        pass
    assert time.monotonic() - started < 30.0


def test_nothing_is_rehearsed_on_one_processor(tmp_path, rehearsal, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    with rehearsed_meanwhile(rehearsal()):
        pass
    assert calls(tmp_path) == 0


def test_nothing_is_rehearsed_where_machine_code_cannot_be_kept(tmp_path, rehearsal, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file"))
    with rehearsed_meanwhile(rehearsal()):
        pass
    assert calls(tmp_path) == 0


def test_rehearsing_here_leaves_the_mark(tmp_path, rehearsal):
    name = rehearsal()
    rehearse_here(name)
    with rehearsed_meanwhile(name):
        pass
    assert calls(tmp_path) == 1
