"""A cluster of separate processes: the same bytes as threads, and workers killed in the middle."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from combe.errors import RangeError
from combe.planning.siting import cluster as room
from combe.planning.siting.cluster import on_cluster
from combe.planning.siting.jobs import run_blocks
from support_cluster import Cluster, deadly
from support_siting import sample_problem

pytest.importorskip("distributed", reason='needs Dask: pip install "combe[cluster]"')
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def cluster() -> Iterator[Cluster]:
    found = Cluster()
    yield found
    found.close()


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    # A machine with much else to do takes its time to start workers.
    monkeypatch.setattr(room, "_CONNECT_S", 90.0)
    monkeypatch.setattr(room, "_RETURN_S", 60.0)
    monkeypatch.setattr(room, "_LOOK_S", 0.05)
    monkeypatch.setattr(room, "_SETTLE_S", 0.05)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_cluster_leaves_the_bytes_that_threads_leave(cluster: Cluster, tmp_path: Path) -> None:
    problem = sample_problem()
    here = run_blocks(problem, tmp_path / "threads", block_hills=200)
    there = run_blocks(problem, tmp_path / "cluster", block_hills=200, runner=on_cluster(cluster.address))
    assert there.failures == ()
    assert files(there.folder) == files(here.folder)


def test_a_killed_worker_costs_no_result(cluster: Cluster, tmp_path: Path) -> None:
    problem, killed = sample_problem(), []

    def kill_one(done: int, total: int) -> None:
        if not killed and done > total // 8:
            killed.append(0)
            cluster.kill(0)

    there = run_blocks(
        problem, tmp_path / "cluster", block_hills=20, progress=kill_one, runner=on_cluster(cluster.address)
    )
    assert killed
    assert there.failures == ()
    here = run_blocks(problem, tmp_path / "threads", block_hills=20)
    assert files(there.folder) == files(here.folder)


def test_only_the_block_that_kills_its_worker_fails(
    cluster: Cluster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # With no failures allowed, the jobs in the worker's queue go down with it; they are run again alone.
    monkeypatch.setattr(room, "block_bytes", deadly)
    problem = sample_problem()
    run = run_blocks(problem, tmp_path, block_hills=100, runner=on_cluster(cluster.address))
    assert [(each.first, each.last) for each in run.failures] == [(500, 600)]
    assert "KilledWorker" in run.failures[0].words
    assert len(files(run.folder)) == run.blocks - 1


def test_workers_that_are_left_go_on_without_one_that_does_not_return(
    cluster: Cluster, tmp_path: Path
) -> None:
    problem, killed = sample_problem(), []
    cluster.wait_until_whole()
    cluster.keeps = False

    def kill_one(done: int, total: int) -> None:
        if not killed and done > total // 8:
            killed.append(0)
            cluster.kill(1)

    try:
        run = run_blocks(
            problem, tmp_path, block_hills=100, progress=kill_one, runner=on_cluster(cluster.address)
        )
    finally:
        cluster.keeps = True
    assert killed
    assert run.failures == ()


def test_when_nobody_is_left_what_is_done_stays_and_the_rest_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "_RETURN_S", 0.5)
    problem, alone = sample_problem(), Cluster(workers=1)
    alone.keeps = False

    def kill_all(done: int, total: int) -> None:
        if done > total // 8 and alone.workers[0].poll() is None:
            alone.kill(0)

    try:
        started = time.monotonic()
        runner = on_cluster(alone.address)
        run = run_blocks(problem, tmp_path, block_hills=100, progress=kill_all, runner=runner)
        assert time.monotonic() - started < 60.0
    finally:
        alone.close()
    assert 0 < len(files(run.folder)) < run.blocks
    assert len(files(run.folder)) + len(run.failures) == run.blocks
    assert {each.words for each in run.failures} == {"no worker came back within 0.5 s"}
    again = run_blocks(problem, tmp_path, block_hills=100)
    assert again.failures == ()
    assert again.found == len(files(run.folder)) - len(run.failures)


KILLED_RUN = """
import sys, time
from support_cluster import Cluster
cluster = Cluster(workers=1)
cluster.wait_until_whole()
print(*(each.pid for each in (cluster._scheduler, *cluster.workers)), flush=True)
time.sleep(600)
"""


def test_a_run_that_is_killed_leaves_no_scheduler_and_no_worker(tmp_path: Path) -> None:
    import psutil

    environment = os.environ | {
        "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
        "TMPDIR": str(tmp_path),
    }
    run = subprocess.Popen([sys.executable, "-c", KILLED_RUN], env=environment, stdout=subprocess.PIPE)
    assert run.stdout is not None
    processes = [psutil.Process(int(pid)) for pid in run.stdout.readline().split()]
    assert [each.is_running() for each in processes] == [True, True]
    run.kill()
    run.communicate()
    _, alive = psutil.wait_procs(processes, timeout=30.0)
    left = [each for each in alive if each.status() != psutil.STATUS_ZOMBIE]
    for each in left:
        each.kill()
    assert left == []


def test_no_cluster_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(room, "_CONNECT_S", 0.5)
    with pytest.raises(RangeError, match="allowed: the address of a Dask scheduler") as told:
        run_blocks(sample_problem(), tmp_path, runner=on_cluster("tcp://127.0.0.1:9"))
    assert "\n" not in str(told.value)


def test_without_the_extra_its_name_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(RangeError, match=r'install it with: pip install "combe\[cluster\]"'):
        run_blocks(sample_problem(), tmp_path, runner=on_cluster("tcp://127.0.0.1:9"))
