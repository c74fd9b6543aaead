"""Progress on standard error: lines, a bar, and the note that kernels are compiled."""

import json

import click
import numpy as np
import pytest

from combe.cli import progress as progress_room
from combe.cli.group import CombeGroup
from combe.cli.progress import COMPILING, compiling_told, progress
from combe.compile_watch import tell, told_of_compiling
from combe.compiling import kernel
from support_cli import python
from support_study import write_study

LINE = f"combe: {COMPILING}\n"
PATH = ("--from", "Parent Hill", "--to", "Combe Relay")


def test_short_work_shows_no_progress(capsys):
    with progress() as told:
        told(1, 2, "work")
    assert capsys.readouterr().err == ""


def test_long_work_shows_plain_lines_where_there_is_no_terminal(capsys, monkeypatch):
    monkeypatch.setattr(progress_room, "_QUIET_S", 0.0)
    with progress() as told:
        told(50, 200, "coverage of A")
        told(52, 200, "coverage of A")
    assert capsys.readouterr().err == "combe: coverage of A, 25 % done\n", (
        "no more than one line in five seconds"
    )


def test_long_work_shows_a_bar_on_a_terminal(capsys, monkeypatch):
    monkeypatch.setattr(progress_room, "_QUIET_S", 0.0)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    with progress() as told:
        told(1, 2, "coverage of A")
        told(2, 2, "coverage of A")
    assert capsys.readouterr().out == ""


@pytest.fixture
def context():
    """Return the context of a command, as the group makes it."""
    with click.Context(CombeGroup(name="combe")) as made:
        yield made


def test_compiling_is_noted_once_and_only_after_two_seconds(capsys, context):
    with compiling_told(context):
        tell(1.5)
        assert capsys.readouterr().err == ""
        tell(0.6)
        tell(5.0)
    assert capsys.readouterr() == ("", LINE)


def test_what_was_compiled_before_a_command_does_not_count(capsys, context):
    tell(10.0)
    with compiling_told(context):
        tell(0.1)
    tell(10.0)
    assert capsys.readouterr().err == ""


def test_the_note_comes_between_lines_of_progress(capsys, monkeypatch, context):
    monkeypatch.setattr(progress_room, "_LINE_EVERY_S", 0.0)
    with compiling_told(context), progress() as told:
        told(1, 4, "work")
        tell(2.5)
        monkeypatch.setattr(progress_room, "_QUIET_S", 0.0)
        told(2, 4, "work")
    assert capsys.readouterr().err == LINE + "combe: work, 50 % done\n"


def test_the_note_does_not_break_the_bar(capsys, monkeypatch, context):
    """It goes through the bar, which takes itself away and comes back below the line."""
    monkeypatch.setattr(progress_room, "_QUIET_S", 0.0)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    with compiling_told(context):
        with progress() as told:
            told(1, 2, "work")
            tell(2.5)
            tell(2.5)
            told(2, 2, "work")
        tell(2.5)
    printed = capsys.readouterr().err
    assert printed.count(f"\x1b[2K{LINE.strip()}") == 1, "on a line that was cleared of the bar"
    assert printed.count(COMPILING) == 1


def test_kernels_are_told_of_when_they_are_compiled_and_not_when_they_are_kept():
    spent = []

    @kernel
    def inner(value):
        return value + 1.0

    @kernel
    def outer(value):
        return inner(value) * 3.5

    with told_of_compiling(spent.append):
        outer(np.float64(1.0))
        calls = len(spent)
        outer(np.float64(2.0))
    outer(1)
    assert calls in (0, 2, 4), "beginning and end of each, unless an earlier run of this test kept it"
    assert len(spent) == calls
    assert sum(spent) >= 0.0


@pytest.fixture(scope="module")
def kernels(tmp_path_factory):
    """Return a folder of kernels, empty at first: what one command leaves, the next need not compile."""
    return tmp_path_factory.mktemp("kernels")


@pytest.mark.parametrize("words", [("path", *PATH), ("explain", "--at", "-84.21,36.61")])
def test_a_first_run_says_that_it_compiles_and_a_second_is_silent(tmp_path, kernels, words):
    """Two commands without progress of their own; what they print stays JSON."""
    study = write_study(tmp_path)
    command = (words[0], study, *words[1:], "--json")
    first, second = (python(*command, folder=tmp_path, NUMBA_CACHE_DIR=str(kernels)) for _ in range(2))
    assert (first.returncode, second.returncode) == (0, 0), first.stderr
    assert (first.stderr, second.stderr) == (LINE, "")
    assert json.loads(first.stdout) == json.loads(second.stdout)
