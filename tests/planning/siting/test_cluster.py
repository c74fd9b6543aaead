"""A cluster of separate processes: the same bytes as threads, and workers killed in the middle."""

import os
import signal
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

from combe.errors import RangeError
from combe.planning.siting.cluster import on_cluster
from combe.planning.siting.jobs import run_blocks
from support_siting import sample_problem

if not os.environ.get("COMBE_TEST_CLUSTER"):
    pytest.skip("starts and kills Dask workers: set COMBE_TEST_CLUSTER=1 to run", allow_module_level=True)
pytest.importorskip("distributed", reason='needs Dask: pip install "combe[cluster]"')
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def cluster() -> Iterator[object]:
    import dask
    from distributed import LocalCluster

    settings = {
        "distributed.admin.log-format": "%(message)s",
        "logging.distributed": "critical",
        "distributed.scheduler.allowed-failures": 0,
    }
    with warnings.catch_warnings(), dask.config.set(settings):
        warnings.simplefilter("ignore")
        with LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as found:
            yield found


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_cluster_leaves_the_bytes_that_threads_leave(cluster, tmp_path: Path) -> None:
    problem = sample_problem()
    here = run_blocks(problem, tmp_path / "threads", block_hills=200)
    there = run_blocks(
        problem, tmp_path / "cluster", block_hills=200, runner=on_cluster(cluster.scheduler_address)
    )
    assert there.failures == ()
    assert files(there.folder) == files(here.folder)


def test_a_killed_worker_costs_no_result(cluster, tmp_path: Path) -> None:
    problem, killed = sample_problem(), []

    def kill_one(done: int, total: int) -> None:
        if not killed and done > total // 8:
            worker = next(iter(cluster.workers.values()))
            killed.append(worker.process.pid)
            os.kill(worker.process.pid, signal.SIGKILL)

    there = run_blocks(
        problem, tmp_path / "cluster", block_hills=20, told=kill_one,
        runner=on_cluster(cluster.scheduler_address),
    )  # fmt: skip
    assert killed
    assert there.failures == ()
    here = run_blocks(problem, tmp_path / "threads", block_hills=20)
    assert files(there.folder) == files(here.folder)


def test_only_the_block_that_kills_its_worker_fails(cluster, tmp_path: Path, monkeypatch) -> None:
    # With no failures allowed, the jobs in the worker's queue go down with it; they are run again alone.
    from combe.planning.siting import cluster as room

    monkeypatch.setattr(room, "block_bytes", deadly)
    problem = sample_problem()
    run = run_blocks(problem, tmp_path, block_hills=100, runner=on_cluster(cluster.scheduler_address))
    assert [(each.first, each.last) for each in run.failures] == [(500, 600)]
    assert "KilledWorker" in run.failures[0].words
    assert len(files(run.folder)) == run.blocks - 1


def deadly(problem, first: int, last: int) -> bytes:
    from combe.planning.siting.jobs import block_bytes

    if first == 500:
        os.kill(os.getpid(), signal.SIGKILL)
    return block_bytes(problem, first, last)


def test_no_cluster_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from combe.planning.siting import cluster as room

    monkeypatch.setattr(room, "_CONNECT_S", 0.5)
    with pytest.raises(RangeError, match="allowed: the address of a Dask scheduler") as told:
        run_blocks(sample_problem(), tmp_path, runner=on_cluster("tcp://127.0.0.1:9"))
    assert "\n" not in str(told.value)


def test_without_the_extra_its_name_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(RangeError, match=r'install it with: pip install "combe\[cluster\]"'):
        run_blocks(sample_problem(), tmp_path, runner=on_cluster("tcp://127.0.0.1:9"))
