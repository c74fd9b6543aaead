"""Fields kept between runs: equal to predicted ones, found by what made them, never trusted when spoilt."""

import os
import time

import numpy as np
import pytest

from combe.errors import OutputError
from combe.prediction import field_store as module
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_store import (
    FIELD,
    field_map_in,
    find_fields,
    open_store,
    station_fields,
    trim_store,
)
from combe.prediction.sealed_file import read_rows
from support_prediction import RIDGE, sample_area, station

AREA = sample_area(300.0)
TWO = station(frequencies_mhz=(474.0, 650.0))


@pytest.fixture
def store(tmp_path):
    return open_store(AREA, tmp_path)


def only_file(store):
    (path,) = store.folder.iterdir()
    return path


def stored(store, sender, conditions=None):
    """Return the field maps of a station by way of the store, and whether they were there before."""
    conditions = conditions or Conditions()
    found = station_fields(store, sender, conditions=conditions)
    services = range(len(sender.services))
    return [
        field_map_in(found.kept, AREA.grid, sender, each, conditions) for each in services
    ], found.from_cache


@pytest.fixture
def never_predicted(monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("predicted again")

    return lambda: monkeypatch.setattr(module, "predict_coverage", refuse)


def test_a_field_from_the_store_is_the_predicted_one(store, never_predicted):
    plainly = predict_coverage(AREA, TWO)
    fresh, before = stored(store, TWO)
    never_predicted()
    kept, again = stored(store, TWO)
    assert (before, again) == (False, True)
    for one, other, plain in zip(fresh, kept, plainly, strict=True):
        assert one.field_dbuv_m.tobytes() == other.field_dbuv_m.tobytes() == plain.field_dbuv_m.tobytes()
        assert other.field_dbuv_m.dtype == np.float32
        same = ("station", "service", "channel", "frequency_mhz", "grid", "receive_height_m", "provenance")
        assert [getattr(plain, name) for name in same] == [getattr(other, name) for name in same]
        assert one.sweep_s == other.sweep_s > 0.0


def test_a_station_that_was_renamed_comes_from_the_store_under_its_new_name(store):
    stored(store, TWO)
    maps, from_cache = stored(store, station(name="New", frequencies_mhz=(474.0, 650.0)))
    assert from_cache
    assert [each.station for each in maps] == ["New", "New"]


@pytest.mark.parametrize("change", [{"erp_w": 1.0}, {"place": RIDGE}, {"aerial_height_m": 60.0}], ids=str)
def test_a_station_that_was_changed_is_predicted(store, change):
    stored(store, TWO)
    assert not stored(store, station(**({"frequencies_mhz": (474.0, 650.0)} | change)))[1]
    assert len(list(store.folder.iterdir())) == 2


def test_times_are_kept_apart(store):
    one, half = (Conditions(model="p1812", time_percent=p) for p in (1.0, 50.0))
    strong, median = (stored(store, TWO, each)[0][0] for each in (one, half))
    assert np.nanmean(strong.field_dbuv_m - median.field_dbuv_m) > 0.5
    again, from_cache = stored(store, TWO, one)
    assert from_cache
    np.testing.assert_array_equal(again[0].field_dbuv_m, strong.field_dbuv_m)


@pytest.mark.parametrize("spoil", ["a bit", "the end", "all", "another"])
def test_a_spoilt_file_is_predicted_again_and_mended(store, spoil):
    good = stored(store, TWO)[0][1].field_dbuv_m
    path = only_file(store)
    whole = bytearray(path.read_bytes())
    if spoil == "a bit":
        whole[len(whole) // 2] ^= 4
    elif spoil == "the end":
        whole = whole[:-1000]
    elif spoil == "all":
        whole = bytearray(len(whole))
    else:
        stored(store, station(RIDGE, frequencies_mhz=(474.0, 650.0)))
        (other,) = set(store.folder.iterdir()) - {path}
        whole = bytearray(other.read_bytes())
        other.unlink()
    path.write_bytes(whole)
    mended, from_cache = stored(store, TWO)
    assert not from_cache
    np.testing.assert_array_equal(mended[1].field_dbuv_m, good)
    assert only_file(store) == path
    assert stored(store, TWO)[1]


def test_a_spoilt_file_is_removed_when_it_is_met(store):
    key = station_fields(store, TWO).kept.about["key"]
    only_file(store).write_bytes(b"spoilt")
    assert find_fields(store, key, 2) is None
    assert list(store.folder.iterdir()) == []


def test_a_file_for_another_number_of_services_is_not_taken(store):
    key = station_fields(store, TWO).kept.about["key"]
    assert find_fields(store, key, 3) is None


def test_rows_are_read_without_the_rest(store):
    found = station_fields(store, TWO)
    field = predict_coverage(AREA, TWO)[1].field_dbuv_m
    np.testing.assert_array_equal(read_rows(found.kept, FIELD, 1, 10, 30), field[10:30])


def test_progress_comes_to_its_end_either_way(store):
    for _ in range(2):
        told = []
        station_fields(store, TWO, progress=told.append)
        assert told[-1] == 1.0


def test_a_full_disk_is_told(store, monkeypatch):
    def full(*_):
        raise OutputError("f", "no space left on device")

    monkeypatch.setattr(module, "keep_fields", full)
    with pytest.raises(OutputError, match="no space left"):
        station_fields(store, TWO)


def test_a_folder_that_cannot_be_made(tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match="is a file and no folder"):
        open_store(AREA, tmp_path / "taken")


def test_the_store_stays_under_its_limit_by_what_was_used_last(store):
    files = [station_fields(store, station(erp_w=erp_w)).kept.path for erp_w in (1.0, 2.0, 3.0, 4.0)]
    for path, hours in zip(files, (5.0, 4.0, 3.0, 0.5), strict=True):
        used_s = time.time() - 3600.0 * hours
        os.utime(path, (used_s, used_s))
    size = files[0].stat().st_size
    assert trim_store(store, largest_bytes=4 * size) == 0
    assert trim_store(store, spared=files[:1], largest_bytes=3 * size) == 1
    assert set(store.folder.iterdir()) == {files[0], files[2], files[3]}
    assert trim_store(store, largest_bytes=0) == 2
    assert set(store.folder.iterdir()) == {files[3]}


def test_a_field_that_is_found_counts_as_used(store):
    path = station_fields(store, TWO).kept.path
    os.utime(path, (1e9, 1e9))
    station_fields(store, TWO)
    assert path.stat().st_mtime > time.time() - 100.0


def test_remains_of_killed_runs_are_cleared_when_they_are_old(tmp_path):
    for name, age_s in ((".abc-17.part.fields", 7200.0), (".def-18.part.fields", 60.0)):
        (tmp_path / name).write_bytes(b"half")
        os.utime(tmp_path / name, (time.time() - age_s,) * 2)
    open_store(AREA, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [".def-18.part.fields"]
