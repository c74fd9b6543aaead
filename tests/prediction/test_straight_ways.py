"""Losses to cells over their straight profiles: fades as one exact path has them, models as ever."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from combe.errors import RangeError
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.over_time import PathOverTime
from combe.prediction.straight import Way, apart_km, fill_ground, line_of, place_of_station, places_of
from combe.prediction.straight_samples import Surface, complete_profile, new_scratch
from combe.prediction.straight_ways import straight_losses
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA
from combe.stations import Station
from combe.terrain import TerrainProfile, geodesic_profile, to_lonlat_deg
from support_p2001 import HUMID, RAINY, TEMPERATE
from support_prediction import EAST, sample_area, station

RX_M = 12.0
FREQUENCIES_MHZ = (90.0, 474.0, 690.0)


def parent() -> Station:
    return station(EAST, frequencies_mhz=FREQUENCIES_MHZ)


def cells_of(area: Area, count: int) -> np.ndarray:
    """Return cells of known ground, spread over the grid."""
    known = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    return known[:: known.size // count]


def place_deg(area: Area, cell: int) -> tuple[float, float]:
    """Return longitude and latitude of the centre of a cell."""
    row, column = divmod(int(cell), area.grid.columns)
    side_m = area.grid.cell_size_m
    x, y = area.grid.west_m + (column + 0.5) * side_m, area.grid.north_m - (row + 0.5) * side_m
    lon, lat = to_lonlat_deg(area.grid, x, y)
    return float(lon), float(lat)


def profile_of(area: Area, tx: Station, cell: int) -> tuple[TerrainProfile, np.ndarray]:
    """Return the samples that the straight way takes, as a profile, and the zone of each."""
    here, there = place_of_station(area, tx), places_of(area, np.array([cell]))
    distance_km = apart_km(here, 0, there, 0, area.grid.cell_size_m / 1000.0)
    steps = max(int(np.ceil(distance_km / (area.step_m / 1000.0))), 4)
    way = Way(here, 0, there, 0, steps)
    surface, room = (
        Surface(area.ground.heights, area.cover, area.zones),
        new_scratch(2.0 * distance_km, area.step_m / 1000.0),
    )
    fill_ground(line_of(way, surface.raster), room.ground)
    assert complete_profile(surface, way, distance_km, room)
    if area.cover.size:
        room, n = room.covered, int(room.covered.size[0])
    else:
        n = steps + 1
    lon, lat = place_deg(area, cell)
    ends = np.linspace(tx.longitude_deg, lon, n), np.linspace(tx.latitude_deg, lat, n)
    return TerrainProfile(room.distance[:n].copy(), room.ground[:n].copy(), *ends), room.zone[:n].copy()


def fades_db(profile: TerrainProfile, zone: Any, tx: Station, climate: Any, percent: float) -> list[float]:
    """Return the fade of each service over a profile."""
    height_m = float(tx.aerial_height_m)
    paths = (
        PathOverTime(profile, height_m, RX_M, each.frequency_mhz, tx.polarization, climate, zone)
        for each in tx.services
    )
    return [path.fade_db(percent) for path in paths]


def with_sea(area: Area) -> Area:
    """Return an area with an invented sea to the west behind a strip of coast."""
    codes = np.full(area.ground.heights.shape, INLAND, dtype=np.uint8)
    middle = codes.shape[1] // 2
    codes[:, : middle - 20], codes[:, middle - 20 : middle] = SEA, COASTAL
    return replace(area, zones=codes)


def with_woods(area: Area) -> Area:
    """Return an area with invented woods."""
    shape = area.ground.heights.shape
    return replace(
        area, cover=np.where(np.random.default_rng(1).random(shape) < 0.3, 15.0, 0.0).astype(np.float32)
    )


@pytest.mark.parametrize(
    ("changed", "climate", "percent", "model"),
    [
        (None, TEMPERATE, 99.0, "p1812"),
        (None, HUMID, 99.999, "p526"),
        (None, RAINY, 99.9, "free-space"),
        (with_sea, HUMID, 99.9, "p1812"),
        (with_woods, TEMPERATE, 99.99, "p1812"),
    ],
)
def test_a_fade_is_that_of_the_path_over_the_same_samples(
    changed: Any, climate: Any, percent: float, model: str
) -> None:
    """Over the bare ground, whatever stands on it, and whatever the model of the median."""
    area, tx = sample_area(300.0), parent()
    area = area if changed is None else changed(area)
    cells = cells_of(area, 40)
    found = straight_losses(
        area, tx, cells, Conditions(model), rx_height_m=RX_M, time_percent=percent, climate=climate
    )
    assert np.nanmax(found.fade_db) > 3.0
    compared = 0
    for j, cell in enumerate(cells):
        if found.distance_km[j] > 3.0 and np.isfinite(found.median_db[0, j]):
            expected = fades_db(*profile_of(area, tx, cell), tx, climate, percent)
            assert found.fade_db[:, j] == pytest.approx(expected, abs=0.01), f"cell {cell}"
            compared += 1
    assert compared > 30


def test_a_fade_is_nearly_that_of_the_exact_path() -> None:
    """Its profile has other samples of the same ground: 0.01 dB on the average, 0.1 at most, of some 8 dB."""
    area, tx = sample_area(300.0), parent()
    cells = cells_of(area, 60)
    found = straight_losses(
        area, tx, cells, Conditions(), rx_height_m=RX_M, time_percent=99.9, climate=TEMPERATE
    )
    off_db = []
    for j, cell in enumerate(cells):
        if found.distance_km[j] > 3.0:
            here = tx.longitude_deg, tx.latitude_deg
            profile = geodesic_profile(area.terrain, *here, *place_deg(area, cell))
            off_db.append(found.fade_db[:, j] - fades_db(profile, INLAND, tx, TEMPERATE, 99.9))
    assert np.abs(off_db).mean() < 0.02
    assert np.abs(off_db).max() < 0.3


def test_no_fade_for_half_of_the_year_and_rare_losses_whatever_is_asked() -> None:
    """Losses for 1 % of time are those of P.1812; other models have their median."""
    area, tx = sample_area(300.0), parent()
    cells = cells_of(area, 20)
    asked = {"rx_height_m": RX_M, "climate": TEMPERATE}
    half, nearly_all = (
        straight_losses(area, tx, cells, Conditions("p1812"), time_percent=percent, **asked)
        for percent in (50.0, 99.99)
    )
    assert np.all(half.fade_db == 0.0)
    assert np.all(nearly_all.fade_db >= 0.0)
    assert np.array_equal(half.rare_db, nearly_all.rare_db, equal_nan=True)
    assert np.all(half.rare_db <= half.median_db + 1e-9)
    assert (half.rare_db < half.median_db - 1.0).any()
    plain = straight_losses(area, tx, cells, Conditions("p526"), time_percent=99.0, **asked)
    assert np.array_equal(plain.rare_db, plain.median_db, equal_nan=True)
    assert (plain.fade_db > 0.5).any()


def test_what_is_not_asked_is_not_known() -> None:
    area, tx = sample_area(300.0), parent()
    asked = {"rx_height_m": RX_M, "climate": TEMPERATE, "time_percent": 99.0}
    cells, air = cells_of(area, 5), Conditions("p1812")
    whole = straight_losses(area, tx, cells, air, **asked)
    heard = straight_losses(area, tx, cells, air, rares=False, **asked)
    other = straight_losses(area, tx, cells, air, fades=False, **asked)
    assert np.isnan(heard.rare_db).all()
    assert np.isnan(other.fade_db).all()
    assert np.array_equal(heard.fade_db, whole.fade_db, equal_nan=True)
    assert np.array_equal(other.rare_db, whole.rare_db, equal_nan=True)
    assert np.allclose(heard.median_db, whole.median_db, atol=1e-9, equal_nan=True)


@pytest.mark.parametrize("percent", [49.9, 99.9999])
def test_a_share_of_the_year_out_of_range_is_refused(percent: float) -> None:
    area = sample_area(300.0)
    with pytest.raises(RangeError, match="time_percent of the feed"):
        straight_losses(
            area, parent(), [5], Conditions(), rx_height_m=RX_M, time_percent=percent, climate=TEMPERATE
        )
