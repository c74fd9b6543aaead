"""A network judged tile by tile: the same as in one piece, resumed after any end, nothing spoilt trusted."""

import hashlib
import random
import signal
import sys
import time
from contextlib import suppress
from dataclasses import replace
from multiprocessing import Pipe

import numpy as np
import pytest

from combe.errors import OutputError, RangeError, StoreError, TerrainGapError
from combe.planning.grid_tiles import LIST
from combe.planning.network import NetworkTask, network_run, result_array
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from support_network import contents, network_stations, plain_judge, slow_run, small_task
from support_prediction import sample_area, station
from support_processes import started


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def whole(tmp_path_factory, cache):
    """Return the bytes of an uninterrupted run."""
    folder = tmp_path_factory.mktemp("whole")
    network_run(small_task(), folder, cache_folder=cache, threads=2)
    return contents(folder)


def test_tiles_say_what_the_whole_grid_says(tmp_path, cache):
    task = small_task()
    result = network_run(task, tmp_path, cache_folder=cache)
    assert result.tiles > 5
    maps = [predict_coverage(task.area, each) for each in task.stations]
    fields = np.array([[each.field_dbuv_m for each in of_station] for of_station in maps])
    some = ~np.isnan(fields).all(axis=0)
    strongest = np.nanmax(np.where(some, fields, -999.0), axis=0)
    found = result_array(result, "field_dbuv_m")
    assert found.shape == (3, task.area.grid.rows, task.area.grid.columns)
    np.testing.assert_array_equal(found[some], strongest[some])
    assert np.isnan(found[~some]).all()
    best = result_array(result, "best")
    assert best.dtype == np.int16
    assert set(np.unique(best)) == {-1, 0, 1, 2, 3, 4, 5}
    np.testing.assert_array_equal(best < 0, ~some)


def test_the_height_of_tiles_does_not_change_the_result(tmp_path, cache, whole):
    for tile_bytes in (1, 100_000_000):
        folder = tmp_path / str(tile_bytes)
        result = network_run(small_task(tile_bytes=tile_bytes), folder, cache_folder=cache, threads=1)
        assert result.tiles == (1 if tile_bytes > 1 else small_task().area.grid.rows)
        assert contents(folder) == whole


def test_a_run_leaves_its_arrays_and_their_hashes(whole):
    assert set(whole) == {"best.npy", "field_dbuv_m.npy", "over_others_db.npy", "network.json"}
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in whole.items() if name != LIST}
    assert whole[LIST] == hashes


def test_a_finished_run_is_not_run_again(tmp_path, cache, whole):
    first = network_run(small_task(), tmp_path, cache_folder=cache)
    again = network_run(small_task(judge=None), tmp_path, cache_folder=tmp_path / "no cache")
    assert again.arrays == first.arrays
    assert (again.sweeps_from_cache, again.tiles_from_before) == (again.sweeps, again.tiles)
    assert again.sweeps == 12
    assert contents(tmp_path) == whole


def test_a_spoilt_result_is_made_again(tmp_path, cache, whole):
    network_run(small_task(), tmp_path, cache_folder=cache)
    for spoil in (b"spoilt", None):
        if spoil is None:
            (tmp_path / "best.npy").unlink()
        else:
            (tmp_path / "best.npy").write_bytes(spoil)
        result = network_run(small_task(), tmp_path, cache_folder=cache)
        assert (result.sweeps_from_cache, result.tiles_from_before) == (12, 0)
        assert contents(tmp_path) == whole


def test_a_list_that_is_none_is_no_harm(tmp_path, cache, whole):
    for text in ("", "[]", '{"run": 1}', '{"run": "a", "sha256": {"../x.npy": "0"}}'):
        (tmp_path / "network.json").write_text(text)
        network_run(small_task(), tmp_path, cache_folder=cache)
        assert contents(tmp_path) == whole


class InterruptError(Exception):
    """Stands for what ends a run."""


@pytest.mark.parametrize("after", [0, 1, 4])
def test_a_run_that_broke_off_takes_up_its_tiles(tmp_path, cache, whole, after):
    seen = []

    def breaking(tile):
        if len(seen) == after:
            raise InterruptError
        seen.append(tile.first_row)
        return plain_judge(tile)

    with pytest.raises(InterruptError):
        network_run(small_task(judge=breaking), tmp_path, cache_folder=cache, threads=1)
    assert not (tmp_path / "network.json").exists()
    result = network_run(small_task(), tmp_path, cache_folder=cache, threads=1)
    assert result.tiles_from_before == after
    assert contents(tmp_path) == whole


def test_spoilt_tiles_are_judged_again(tmp_path, cache, whole):
    def breaking(tile):
        if tile.first_row > 20:
            raise InterruptError
        return plain_judge(tile)

    with pytest.raises(InterruptError):
        network_run(small_task(judge=breaking), tmp_path, cache_folder=cache, threads=1)
    tiles = sorted((tmp_path / "unfinished").iterdir())
    spoilt = bytearray(tiles[0].read_bytes())
    spoilt[-1] ^= 1
    tiles[0].write_bytes(spoilt)
    tiles[1].write_bytes(tiles[2].read_bytes())
    result = network_run(small_task(), tmp_path, cache_folder=cache, threads=1)
    assert result.tiles_from_before == len(tiles) - 2
    assert contents(tmp_path) == whole


@pytest.mark.parametrize("change", ["judge_key", "station", "program"])
def test_tiles_of_another_task_are_not_taken_up(tmp_path, cache, monkeypatch, change):
    calls = []

    def breaking(tile):
        calls.append(tile)
        if len(calls) == 3:
            raise InterruptError
        return plain_judge(tile)

    task = small_task(judge=breaking)
    with pytest.raises(InterruptError):
        network_run(task, tmp_path, cache_folder=cache, threads=1)
    task = replace(task, judge=plain_judge)
    if change == "judge_key":
        task = replace(task, judge_key="another")
    elif change == "station":
        task = replace(task, stations=(replace(task.stations[0], name="Renamed"), *task.stations[1:]))
    else:
        monkeypatch.setattr("combe.planning.network.program_salt", lambda _: "another")
    result = network_run(task, tmp_path, cache_folder=cache, threads=1)
    assert result.tiles_from_before == 0
    assert result.sweeps_from_cache == result.sweeps


def test_another_task_replaces_the_results_of_the_last_one(tmp_path, cache):
    network_run(small_task(), tmp_path, cache_folder=cache)

    def other(tile):
        return {"other": plain_judge(tile)["best"]}

    network_run(small_task(judge=other, judge_key="other"), tmp_path, cache_folder=cache)
    assert set(contents(tmp_path)) == {"other.npy", "network.json"}


def test_only_what_changed_is_predicted(tmp_path, cache):
    task = small_task()
    network_run(task, tmp_path, cache_folder=cache)
    moved = replace(task.stations[2], aerial_height_m=75.0)
    task = replace(task, stations=(*task.stations[:2], moved, *task.stations[3:]))
    result = network_run(task, tmp_path, cache_folder=tmp_path / "copy")
    assert result.sweeps_from_cache == 0
    result = network_run(replace(task, judge_key="b"), tmp_path, cache_folder=cache)
    assert (result.sweeps, result.sweeps_from_cache) == (12, 10)


def test_progress_runs_to_the_end(tmp_path, cache):
    told = []
    network_run(small_task(), tmp_path, cache_folder=cache, progress=lambda *step: told.append(step))
    done = [step for step, _, _ in told]
    assert done == sorted(done)
    assert told[-1][:2] == (told[0][1], told[0][1])
    assert told[-1][2] == "judging the cells"
    assert any(what == "coverage of Station 3, 50 % of time" for _, _, what in told)


def test_a_judge_must_keep_to_the_tile(tmp_path, cache):
    wrong = {
        "shape of a is": lambda tile: {"a": np.zeros((tile.shape[0], 2))},
        "name of a judged array": lambda tile: {"../a": np.zeros(tile.shape)},
        "arrays of the tiles": lambda tile: {"a": np.zeros(tile.shape, ("i2", "i4")[tile.first_row > 0])},
        "type of array a is object": lambda tile: {"a": np.full(tile.shape, None)},
    }
    for words, judge in wrong.items():
        with pytest.raises(RangeError, match=words):
            network_run(small_task(judge=judge, judge_key=words), tmp_path, cache_folder=cache)


def test_what_cannot_be_asked():
    area = sample_area(500.0)
    with pytest.raises(RangeError, match="number of stations is 0; allowed: 1 or more"):
        NetworkTask(area, (), plain_judge, "")
    with pytest.raises(RangeError, match="number of conditions is 0"):
        NetworkTask(area, (station(),), plain_judge, "", conditions=())


def test_a_station_off_the_grid_is_found_before_anything_is_predicted(tmp_path):
    task = small_task()
    task = replace(task, stations=(*task.stations, station((-85.5, 36.6), name="Far")))
    with pytest.raises((RangeError, TerrainGapError)):
        network_run(task, tmp_path, cache_folder=tmp_path / "cache")
    assert list((tmp_path / "cache").iterdir()) == []


def test_tile_bytes_must_be_some(tmp_path):
    with pytest.raises(RangeError, match="tile_bytes is 0; allowed: 1 or more"):
        network_run(small_task(tile_bytes=0), tmp_path, cache_folder=tmp_path)


def test_an_array_that_the_judge_did_not_give(tmp_path, cache):
    result = network_run(small_task(), tmp_path, cache_folder=cache)
    with pytest.raises(RangeError, match="array is 'none'; allowed: best, field_dbuv_m, over_others_db"):
        result_array(result, "none")


def test_fields_removed_while_they_are_judged(tmp_path, cache):
    def vandal(tile):
        for path in (tmp_path / "c").iterdir():
            path.unlink()
        return plain_judge(tile)

    with pytest.raises(StoreError, match="removed while in use; run again"):
        network_run(small_task(1, judge=vandal), tmp_path, cache_folder=tmp_path / "c", threads=1)


def test_a_folder_that_cannot_be_written(tmp_path, cache):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match="cannot write"):
        network_run(small_task(), tmp_path / "taken", cache_folder=cache)


def test_one_station_under_the_usual_conditions(tmp_path, cache):
    area = sample_area(500.0)
    task = NetworkTask(area, network_stations(area.grid, 1), plain_judge, "plain")
    result = network_run(task, tmp_path, cache_folder=cache)
    assert task.conditions == (Conditions(),)
    assert (result.sweeps, result.tiles) == (1, 1)


# --- the kill ---


def start(folder, cache):
    """Start the small run in a process of its own; return it, and where it tells its shares."""
    shares, told = Pipe(duplex=False)
    process = started(slow_run, folder, cache, told)
    told.close()
    return process, shares


def kill_at(folder, cache, share, delay_s):
    """Start a run, kill it a moment after it told that a share of the work is done; return its exit code."""
    process, shares = start(folder, cache)
    with shares:
        while shares.recv() < share:
            pass
        time.sleep(delay_s)
        process.kill()
        process.join(60)
    return process.exitcode


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.parametrize("seed", [1, 2])
def test_killed_at_random_moments_it_ends_with_the_same_bytes(tmp_path, whole, seed):
    """Killed three times in the midst and once when the tiles are put together, then run to its end."""
    folder, cache, chance = tmp_path / "run", tmp_path / "cache", random.Random(seed)
    for share in sorted(chance.uniform(0.0, 0.95) for _ in range(3)):
        assert kill_at(folder, cache, share, chance.uniform(0.0, 0.004)) == -signal.SIGKILL
        assert not (folder / "network.json").exists()
    kill_at(folder, cache, 1.0, chance.uniform(0.0, 0.01))
    result = network_run(small_task(), folder, cache_folder=cache, threads=2)
    assert result.sweeps_from_cache > 0
    assert {name: data for name, data in contents(folder).items() if ".part" not in name} == whole


def test_a_process_of_its_own_ends_with_the_same_bytes(tmp_path, whole):
    process, told = start(tmp_path / "run", tmp_path / "cache")
    shares = []
    with told, suppress(EOFError):
        while True:
            shares.append(told.recv())
    process.join(60)
    assert process.exitcode == 0
    assert shares[-1] == 1.0
    assert contents(tmp_path / "run") == whole
