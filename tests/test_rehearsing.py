"""Rehearsals: a second process compiles meanwhile and both share what is left; whatever becomes of it."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from combe import rehearsing
from combe.rehearsing import rehearsed_meanwhile

REHEARSAL = """
import os, time
from pathlib import Path
here = Path({folder!r})

def act():
    with (here / "calls").open("a") as file:
        file.write(f"{{os.getpid()}} ")
    {then}

ACTS = (act,) * {acts}
"""


@pytest.fixture
def rehearsal(tmp_path, monkeypatch):
    """Return what writes a rehearsal that other processes can import; each test has its own."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "kernels"))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    name = f"made_up_{tmp_path.name}"

    def write(then: str = "pass", acts: int = 1) -> str:
        text = REHEARSAL.format(folder=str(tmp_path), then=then, acts=acts)
        (tmp_path / f"{name}.py").write_text(text)
        return name

    return write


def callers(tmp_path: Path) -> list[int]:
    """Return which process went through each act that was begun."""
    path = tmp_path / "calls"
    return [int(each) for each in path.read_text().split()] if path.exists() else []


def calls(tmp_path: Path) -> int:
    return len(callers(tmp_path))


def wait_for_calls(tmp_path: Path) -> None:
    """Wait until the second process has begun."""
    until = time.monotonic() + 60.0
    while not calls(tmp_path) and time.monotonic() < until:
        time.sleep(0.02)


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


def test_a_rehearsal_that_hangs_is_given_up(tmp_path, rehearsal, monkeypatch):
    monkeypatch.setattr(rehearsing, "LONGEST_S", 0.1)
    started = time.monotonic()
    with rehearsed_meanwhile(rehearsal("time.sleep(90)")):
        wait_for_calls(tmp_path)
    assert time.monotonic() - started < 60.0


def test_what_the_second_process_has_not_begun_this_one_does(tmp_path, rehearsal):
    with rehearsed_meanwhile(rehearsal("time.sleep(3)", acts=2)):
        wait_for_calls(tmp_path)
    first, second = callers(tmp_path)
    assert (first, second) != (os.getpid(), os.getpid())
    assert second == os.getpid()


def test_each_act_is_gone_through_once(tmp_path, rehearsal):
    with rehearsed_meanwhile(rehearsal(acts=5)):
        wait_for_calls(tmp_path)
    assert calls(tmp_path) == 5


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
