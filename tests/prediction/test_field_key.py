"""The key of a field changes with all that can change the field, and with nothing else."""

from dataclasses import fields, replace

import numpy as np
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.prediction import field_store as module
from combe.prediction.area import survey_area
from combe.prediction.conditions import Conditions
from combe.prediction.field_store import area_key, content_hash, field_key, program_salt
from combe.stations.pattern import Pattern
from combe.terrain.grid import make_grid
from combe.terrain.samples import sample_folder
from combe.terrain.tiles import open_terrain
from support_prediction import sample_area, station

CELL_M = 300.0


def key_of(transmitter=None, conditions=None, rx_height_m=10.0, area=None):
    area = area or sample_area(CELL_M)
    return field_key(area, area_key(area), transmitter or station(), conditions or Conditions(), rx_height_m)


def beam(width_deg=40.0, source="a"):
    angles = tuple(np.arange(0.0, 360.0, 10.0))
    gains = tuple(0.0 if angle <= width_deg else -20.0 for angle in angles)
    return Pattern(angles, gains, "horizontal", source)


@pytest.mark.parametrize(
    "change",
    [
        {"erp_w": 999.0},
        {"frequencies_mhz": (482.0,)},
        {"frequencies_mhz": (474.0, 482.0)},
        {"place": (-84.12, 36.70001)},
        {"aerial_height_m": 41.0},
        {"polarization": "vertical"},
        {"horizontal_pattern": beam()},
        {"bearing_deg": 20.0},
        {"tilt_deg": 1.5},
    ],
    ids=str,
)
def test_the_station_makes_the_key(change):
    assert key_of(station(**change)) != key_of()


def test_the_shape_of_a_pattern_makes_the_key_and_its_source_does_not():
    keys = [key_of(station(horizontal_pattern=each)) for each in (beam(), beam(source="b"), beam(50.0))]
    assert keys[0] == keys[1] != keys[2]


@pytest.mark.parametrize(
    "conditions",
    [
        Conditions(effective_radius_km=8000.0),
        Conditions(sea_fraction=0.5),
        Conditions(n0=320.0),
        Conditions(model="free-space"),
        Conditions(model="p1812"),
        Conditions(model="p1812", time_percent=1.0),
    ],
    ids=str,
)
def test_the_conditions_make_the_key(conditions):
    assert key_of(conditions=conditions) != key_of()


def test_every_time_percentage_has_its_own_key():
    keys = {key_of(conditions=Conditions(model="p1812", time_percent=p)) for p in (1.0, 10.0, 50.0)}
    assert len(keys) == 3


def test_the_receive_height_makes_the_key():
    assert key_of(rx_height_m=9.0) != key_of() == key_of(rx_height_m=10)


def test_words_do_not_make_the_key():
    services = tuple(replace(each, name="Mux", channel=60) for each in station().services)
    renamed = station(name="Other", role="relay", parent="X", services=services)
    assert key_of(renamed) == key_of()
    plain, wooded = (Conditions(model="p1812", clutter=words) for words in ("", "woods"))
    assert key_of(conditions=plain) == key_of(conditions=wooded)


def test_the_ground_makes_the_key_by_its_heights_wherever_the_file_lies(tmp_path):
    copy = tmp_path / "moved.tif"
    copy.write_bytes((sample_folder() / "ridges_srtm3.tif").read_bytes())
    terrain = open_terrain([copy], vertical_datum="EGM96", credit="someone")
    area = survey_area(terrain, make_grid(terrain, cell_size_m=CELL_M))
    assert key_of(area=area) == key_of()
    for name in ("heights_m", "ground"):
        changed = np.array(area.heights_m) if name == "heights_m" else np.array(area.ground.heights)
        changed[50, 50] += 1.0
        value = changed if name == "heights_m" else area.ground._replace(heights=changed)
        assert area_key(replace(area, **{name: value})) != area_key(area)


def test_grid_cover_and_zones_make_the_key():
    area = sample_area(CELL_M)
    shape = area.ground.heights.shape
    cover = np.zeros(shape, dtype=np.float32)
    trees = cover.copy()
    trees[3, 3] = 20.0
    others = [
        sample_area(250.0),
        replace(area, grid=replace(area.grid, west_m=area.grid.west_m + 300.0)),
        replace(area, cover=cover),
        replace(area, cover=trees),
        replace(area, zones=np.full(shape, 4, dtype=np.uint8)),
    ]
    keys = {area_key(each) for each in [area, *others]}
    assert len(keys) == 6


def test_an_area_has_nothing_else_that_could_make_a_field():
    known = {"terrain", "grid", "heights_m", "ground", "step_m", "cover", "zones"}
    assert {each.name for each in fields(sample_area(CELL_M))} == known
    assert set(sample_area(CELL_M).ground._fields) == {
        "heights",
        "row_at",
        "column_at",
        "spacing",
        "north",
        "west",
        "layers",
    }
    assert set(sample_area(CELL_M).ground.layers._fields) == {"heights", "size", "at", "over"}


def test_the_program_makes_the_key(monkeypatch):
    before = key_of()
    monkeypatch.setattr(module, "program_salt", lambda: "another program")
    assert key_of() != before


def test_the_salt_follows_sources_of_the_rooms_that_predict(monkeypatch, tmp_path):
    root = tmp_path / "combe"
    for name in ("decibels.py", "prediction/sweep.py", "cli/cover.py"):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text("a = 1\n")
    monkeypatch.setattr(module, "__file__", str(root / "prediction" / "field_key.py"))
    salt = program_salt.__wrapped__
    before, before_all = salt(), salt(None)
    (root / "cli/cover.py").write_text("a = 2\n")
    assert salt() == before
    assert salt(None) != before_all
    for name in ("decibels.py", "prediction/sweep.py"):
        (root / name).write_text("a = 2\n")
        assert salt() != before
        before = salt()


def test_the_salt_follows_the_libraries(monkeypatch):
    before = program_salt.__wrapped__()
    monkeypatch.setattr(module, "version", lambda _: "0.0")
    assert program_salt.__wrapped__() != before


def test_the_order_of_names_makes_no_difference():
    assert content_hash({"a": 1, "b": [2.5]}) == content_hash({"b": [2.5], "a": 1})


def test_a_station_off_the_grid_has_no_key():
    with pytest.raises((RangeError, TerrainGapError)):
        key_of(station((-85.5, 36.6)))
