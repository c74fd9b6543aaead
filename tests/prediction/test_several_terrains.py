"""Coverage over several terrains, and over unusual ones, against the exact path of single cells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyproj
import pytest

from combe.prediction.area import Area, one_raster, survey_area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_store import area_key
from combe.prediction.path import predict_path
from combe.terrain.grid import make_grid, to_lonlat_deg
from combe.terrain.ground import ground_along
from combe.terrain.sampling import geodesic_profile, sample_heights
from combe.terrain.sources import join_terrains, open_terrains
from combe.terrain.tiles import Terrain, open_terrain
from support_prediction import station
from support_terrains import Hills, write_lonlat, write_metres

AIR = Conditions(model="p1812")
Made = tuple[Terrain, tuple[float, float], tuple[float, float, float, float]]


def box(lon: float, lat: float, half_lon: float, half_lat: float) -> tuple[float, float, float, float]:
    return lon - half_lon, lat - half_lat, lon + half_lon, lat + half_lat


def two_zones(folder: Path) -> Made:
    """Both sides of 12° E, each in its own UTM zone and cut off there."""
    hills, sides = Hills(12.0, 47.0), []
    for zone, west, east in ((32632, 11.93, 12.0), (32633, 12.0, 12.07)):
        there = pyproj.Transformer.from_crs(4326, zone, always_xy=True)
        x, y = there.transform([west, west, east, east], [46.96, 47.04, 46.96, 47.04])
        outer = (np.floor(min(x) / 90) * 90, np.floor(min(y) / 90) * 90, max(x), max(y))
        sides.append(open_terrain([write_metres(folder / f"{zone}.tif", hills, zone, outer, 90.0)]))
    return join_terrains(sides), (11.985, 47.0), box(12.0, 47.0, 0.045, 0.028)


def far_north(folder: Path) -> Made:
    """65° N in degrees: cells twice as high as wide on the ground, beside cells of another width."""
    hills = Hills(25.0, 65.0)
    lower = write_lonlat(folder / "a.tif", hills, (24.85, 64.94, 25.15, 65.0), (0.0015, 0.001))
    upper = write_lonlat(folder / "b.tif", hills, (24.85, 65.0, 25.15, 65.06), (0.002, 0.001))
    return (
        join_terrains([open_terrain([lower]), open_terrain([upper])]),
        (24.96, 64.99),
        box(25, 65, 0.1, 0.035),
    )


def antimeridian(folder: Path) -> Made:
    """Tiles on both sides of 180°, a fine one in metres on it."""
    hills = Hills(180.0, -17.0)
    sides = [
        write_lonlat(folder / "e.tif", hills, (179.9, -17.05, 180.0, -16.95), (0.001, 0.001)),
        write_lonlat(folder / "w.tif", hills, (-180.0, -17.05, -179.9, -16.95), (0.001, 0.001)),
    ]
    x, y = pyproj.Transformer.from_crs(4326, 32701, always_xy=True).transform(180.0, -17.0)
    x, y = round(x, -2), round(y, -2)
    fine = write_metres(folder / "f.tif", hills, 32701, (x - 1500, y - 1500, x + 1500, y + 1500), 50.0)
    return (
        join_terrains([open_terrain([fine]), open_terrain(sides)]),
        (179.97, -17.0),
        box(180, -17, 0.04, 0.03),
    )


def oblong(folder: Path) -> Made:
    """Cells three times as wide as high, in metres."""
    there = pyproj.Transformer.from_crs(4326, 32632, always_xy=True)
    x, y = (round(float(each), -2) for each in there.transform(9.0, 46.0))
    lon_lat = pyproj.Transformer.from_crs(32632, 4326, always_xy=True)
    across, down = np.meshgrid(x - 5000 + 60 * np.arange(167) + 30, y + 4000 - 20 * np.arange(400) - 10)
    heights = Hills(9.0, 46.0)(*lon_lat.transform(across, down))
    path = write_lonlat(
        folder / "o.tif", Hills(9.0, 46.0), (x - 5000, y - 4000, x + 5020, y + 4000), (60.0, 20.0),
        heights, crs="EPSG:32632",
    )  # fmt: skip
    return open_terrain([path]), (8.985, 46.0), box(9.0, 46.0, 0.04, 0.025)


def mixed(folder: Path) -> Made:
    """10 m in metres near the station, 90 m in degrees around it."""
    hills = Hills(11.0, 46.0)
    there = pyproj.Transformer.from_crs(4326, 32632, always_xy=True)
    x, y = (round(float(each), -2) for each in there.transform(10.99, 46.0))
    fine = write_metres(folder / "f.tif", hills, 32632, (x - 1500, y - 1500, x + 1500, y + 1500), 10.0)
    coarse = write_lonlat(folder / "c.tif", hills, (10.93, 45.96, 11.07, 46.04), (0.001, 0.0008))
    return (
        join_terrains([open_terrain([fine]), open_terrain([coarse])]),
        (10.985, 46.0),
        box(11, 46, 0.04, 0.025),
    )


def with_sea(folder: Path) -> Made:
    """Lay a coast before a deep sea, whose bed counts as its surface."""
    hills = Hills(14.0, 44.0)
    lon = 13.93 + (np.arange(140) + 0.5) * 0.001
    lat = 44.04 - (np.arange(100) + 0.5) * 0.0008
    heights = hills(lon[np.newaxis], lat[:, np.newaxis])
    heights[:, lon > 14.02] = -2500.0
    path = write_lonlat(folder / "s.tif", hills, (13.93, 43.96, 14.07, 44.04), (0.001, 0.0008), heights)
    return open_terrains([path], sea_floor=True)[0], (13.985, 44.0), box(14.0, 44.0, 0.04, 0.025)


def area_of(made: Made, cell_size_m: float = 150.0) -> Area:
    terrain, _, around = made
    return survey_area(terrain, make_grid(terrain, cell_size_m=cell_size_m, area_deg=around))


@pytest.mark.parametrize("make", [two_zones, far_north, antimeridian, oblong, mixed, with_sea])
def test_a_field_is_that_of_the_exact_path(tmp_path: Path, make: Callable[[Path], Made]) -> None:
    """By the bounds to which the sweep over one terrain is held: median 0.1 dB, mean 0.1 dB, RMS 0.8 dB."""
    made = make(tmp_path)
    area, place = area_of(made), made[1]
    assert np.isfinite(area.heights_m).all(), "no gap at a border"
    found = predict_coverage(area, station(place), conditions=AIR)[0].field_dbuv_m
    differences = []
    for row, column in np.random.default_rng(6).integers(0, found.shape, (120, 2)):
        x_m = area.grid.west_m + (column + 0.5) * area.grid.cell_size_m
        y_m = area.grid.north_m - (row + 0.5) * area.grid.cell_size_m
        lon, lat = (float(each) for each in to_lonlat_deg(area.grid, x_m, y_m))
        profile = geodesic_profile(area.terrain, *place, lon, lat)
        if profile.distance_km[-1] < 0.5:
            continue
        exact = predict_path(profile, tx_height_m=40.0, rx_height_m=10.0, frequency_mhz=474.0, conditions=AIR)
        differences.append(found[row, column] - exact.field_strength_1kw_dbuv_m)
    assert len(differences) > 100
    assert np.median(np.abs(differences)) <= 0.1
    assert abs(np.mean(differences)) <= 0.1
    assert np.sqrt(np.mean(np.square(differences))) <= 0.8


def test_the_sea_is_level(tmp_path: Path) -> None:
    terrain, _, _ = with_sea(tmp_path)
    assert sample_heights(terrain, [14.03, 14.06], 44.0).tolist() == [0.0, 0.0]
    raw = open_terrain([tmp_path / "s.tif"])
    assert np.isnan(sample_heights(raw, 14.03, 44.0)), "no land lies so low, so it is a void"


def test_a_layer_is_part_of_the_key_of_an_area(tmp_path: Path) -> None:
    """The fine ground alone is changed, between the cells of the grid: stored fields are not taken for it."""
    made = mixed(tmp_path)
    one = area_of(made)
    ground = one.ground._replace(layers=one.ground.layers._replace(heights=one.ground.layers.heights + 1.0))
    assert area_key(one) != area_key(replace(one, ground=ground))
    assert area_key(one) == area_key(area_of(made))


def test_a_search_has_them_all_in_one_raster(tmp_path: Path) -> None:
    """Within the slope of the hills over half a fine cell of what the terrains themselves are."""
    area = area_of(mixed(tmp_path))
    shape = area.ground.heights.shape
    zones = np.random.default_rng(3).choice([1, 3, 4], shape).astype(np.uint8)
    cover = np.repeat(np.repeat(zones, 2, axis=0), 2, axis=1).astype(np.float32)
    area = replace(area, zones=zones, cover=cover)
    single = one_raster(area)
    assert single.ground.layers.size.shape == (0, 3)
    parts = single.ground.heights.shape[0] // shape[0]
    assert parts >= 7
    assert single.zones.shape == single.ground.heights.shape
    assert single.cover.shape[0] % single.ground.heights.shape[0] == 0
    one, two = np.empty(16), np.empty(16)
    for row, column in np.random.default_rng(4).uniform(3, 20, (30, 2)):
        ground_along(area.ground, row, column, 0.3, 0.4, one)
        ground_along(single.ground, row, column, 0.3, 0.4, two)
        assert np.abs(one - two).max() < 1.5
    assert one_raster(single) is single
