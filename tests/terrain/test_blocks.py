"""Tests that blocks are read once, dropped oldest first, and safe for threads."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from combe.terrain.blocks import BlockCache
from combe.terrain.cells import block_at
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from support_terrain import plane_tif


def test_reads_once_and_drops_the_least_recently_used():
    cache, read = BlockCache(250), []

    def get(key):
        return cache.get(key, lambda: read.append(key) or np.zeros((10, 10)))

    for key in [(0, 0), (0, 1), (0, 0), (0, 2), (0, 0), (0, 1)]:
        get(key)
    assert read == [(0, 0), (0, 1), (0, 2), (0, 1)]
    assert len(cache) == 2


def test_one_block_larger_than_all_is_kept_until_the_next():
    cache = BlockCache(50)
    cache.get((0, 0), lambda: np.zeros((10, 10)))
    assert len(cache) == 1
    cache.get((0, 1), lambda: np.zeros((10, 10)))
    assert len(cache) == 1


def test_a_failed_read_leaves_nothing_behind():
    cache = BlockCache()

    def fail():
        raise OSError("gone")

    with pytest.raises(OSError, match="gone"):
        cache.get((0, 0), fail)
    assert len(cache) == 0
    assert cache.get((0, 0), lambda: np.ones((1, 1)))[0, 0] == 1.0


def test_threads_share_one_read():
    cache, reads = BlockCache(), []
    start = threading.Barrier(8)

    def work(_):
        start.wait()
        return cache.get((0, 0), lambda: reads.append(1) or np.zeros((5, 5)))

    with ThreadPoolExecutor(8) as pool:
        blocks = list(pool.map(work, range(8)))
    assert len(reads) == 1
    assert all(block is blocks[0] for block in blocks)


def test_blocks_cannot_be_written(tmp_path):
    block = block_at(open_terrain([plane_tif(tmp_path / "a.tif")]), 0, 0)
    assert block.dtype == np.float64
    with pytest.raises(ValueError, match="read-only"):
        block[0, 0] = 1.0


def test_threads_sample_the_same_heights(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "a.tif")])
    lon, lat = np.meshgrid(np.linspace(10.01, 10.07, 40), np.linspace(46.96, 46.99, 40))
    alone = sample_heights(terrain, lon, lat)
    with ThreadPoolExecutor(4) as pool:
        for got in pool.map(lambda _: sample_heights(terrain, lon, lat), range(16)):
            assert np.array_equal(got, alone)
