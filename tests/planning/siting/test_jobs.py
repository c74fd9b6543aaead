"""Blocks on threads: files whole or not there, resume after a real kill, failures as records."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from combe.planning.siting import jobs
from combe.planning.siting.jobs import block_bytes, block_path, blocks_of, run_blocks
from combe.planning.siting.problem import digest, score_hills
from support_siting import sample_problem

SLOW_RUN = """
import sys, time
from combe.planning.siting import jobs
from support_siting import sample_problem
work = jobs.block_bytes
def slowly(*asked):
    time.sleep(0.15)
    return work(*asked)
jobs.block_bytes = slowly
jobs.run_blocks(sample_problem(), sys.argv[1], block_hills=100)
"""


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_blocks_cover_all_hills_once() -> None:
    assert blocks_of(10, 4) == [(0, 4), (4, 8), (8, 10)]
    assert blocks_of(0) == []


def test_scores_are_those_of_one_piece(tmp_path: Path) -> None:
    problem, told = sample_problem(), []
    run = run_blocks(
        problem, tmp_path, block_hills=300, progress=lambda done, total: told.append((done, total))
    )
    whole = score_hills(problem, 0, problem.size)
    assert np.array_equal(run.scores.people, whole.people)
    assert np.array_equal(run.scores.served, whole.served)
    assert run.scores.priced == whole.priced
    assert run.failures == ()
    assert told[-1] == (problem.size, problem.size)
    assert run.folder == tmp_path / digest(problem)
    assert len(list(run.folder.iterdir())) == run.blocks


def test_bytes_are_the_same_each_time(tmp_path: Path) -> None:
    problem = sample_problem()
    first, second = (run_blocks(problem, tmp_path / name, block_hills=500) for name in "ab")
    assert contents(first.folder) == contents(second.folder)


def test_a_killed_run_goes_on_where_it_was(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    killed = subprocess.Popen([sys.executable, "-c", SLOW_RUN, str(tmp_path / "killed")], env=environment)
    folder = tmp_path / "killed" / digest(sample_problem())
    deadline = time.monotonic() + 100.0
    while len(list(folder.glob("hills-*.npz"))) < 4 and time.monotonic() < deadline:
        time.sleep(0.05)
    os.kill(killed.pid, signal.SIGKILL)
    assert killed.wait() == -signal.SIGKILL
    left = contents(folder)
    done = [name for name in left if name.startswith("hills-")]
    assert 4 <= len(done) < len(blocks_of(sample_problem().size, 100))
    again = run_blocks(sample_problem(), tmp_path / "killed", block_hills=100)
    assert again.found >= len(done)
    clean = run_blocks(sample_problem(), tmp_path / "clean", block_hills=100)
    finished = {name: content for name, content in contents(again.folder).items() if name[0] != "."}
    assert finished == contents(clean.folder)
    assert all(finished[name] == left[name] for name in done)


def test_a_broken_file_is_made_again(tmp_path: Path) -> None:
    problem = sample_problem()
    run = run_blocks(problem, tmp_path, block_hills=1000)
    before = contents(run.folder)
    block_path(run.folder, (1000, 2000)).write_bytes(before["hills-00001000-00002000.npz"][:200])
    again = run_blocks(problem, tmp_path, block_hills=1000)
    assert again.found == again.blocks - 1
    assert contents(again.folder) == before


def test_a_failure_is_a_record_and_the_rest_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def work(problem, first, last):
        if first == 1000:
            raise ValueError("a block of\nsand")
        return block_bytes(problem, first, last)

    problem = sample_problem()
    monkeypatch.setattr(jobs, "block_bytes", work)
    run = run_blocks(problem, tmp_path, block_hills=500)
    assert [(each.first, each.last, each.words) for each in run.failures] == [
        (1000, 1500, "ValueError: a block of sand")
    ]
    assert run.scores.people.size == problem.size
    assert (run.scores.people[1000:1500] == 0.0).all()
    monkeypatch.undo()
    again = run_blocks(problem, tmp_path, block_hills=500)
    assert again.failures == ()
    assert again.found == again.blocks - 1


def test_another_question_has_another_folder(tmp_path: Path) -> None:
    one = run_blocks(sample_problem(), tmp_path, block_hills=2000)
    other = run_blocks(sample_problem("p526"), tmp_path, block_hills=2000)
    assert one.folder != other.folder
    assert other.found == 0
