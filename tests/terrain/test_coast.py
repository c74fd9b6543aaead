"""Tests of derived zones: how high, how near and how connected coastal land is, and where the sea is."""

from __future__ import annotations

import json
import pickle
from pathlib import Path

import numpy as np
import pytest

from combe.errors import RangeError
from combe.project.given import Given
from combe.terrain.coast import (
    CoastQuestion,
    SeaSource,
    ZoneCodes,
    coast_window,
    coastal_land,
    derive,
    derived_zones,
)
from combe.terrain.features import read_features
from combe.terrain.grid import StudyGrid, make_grid, to_cells, to_lonlat_deg
from combe.terrain.ground_cells import nearest_values
from combe.terrain.sources import open_terrains
from combe.terrain.tiles import open_terrain
from support_terrain import write_tif

CODES = ZoneCodes(1, 3, 4)
CELL_M = 1000.0
WEST, NORTH, ROWS, COLUMNS = 500_000.0, 6_000_000.0, 60, 140
"""Raster cells of a kilometre: the sea to column 40, then 60 km of plain, then hills."""


def ground(folder: Path):
    heights = np.full((ROWS, COLUMNS), 20.0, np.float32)
    heights[:, :40], heights[:, 120:] = 0.0, 150.0
    heights[10:20, 60:63] = 140.0  # a ridge, and behind it nothing but the plain around it
    path = write_tif(folder / "ground.tif", heights, WEST, NORTH, CELL_M, crs="EPSG:32632")
    return open_terrain([path])


def water(folder: Path, codes: np.ndarray | None = None):
    classes = np.zeros((ROWS, COLUMNS), np.uint8)
    classes[:, :40] = 1
    classes[30:33, 80:83] = 2  # a lake
    path = write_tif(
        folder / "water.tif", classes if codes is None else codes, WEST, NORTH, CELL_M, crs="EPSG:32632",
        nodata=255,
    )  # fmt: skip
    return open_terrain([path], codes=True)


def grid_of(terrain) -> StudyGrid:
    return StudyGrid(terrain.crs, WEST + 60_000.0, NORTH - 20_000.0, 100.0, 200, 400)


class Derived:
    """Zones of a question, asked by the columns and rows of the raster."""

    def __init__(self, question: CoastQuestion) -> None:
        self._grid, self._zones = grid_of(question.terrain), derived_zones(question, "zones derived")

    def __call__(self, column: float, row: float) -> int:
        lon, lat = to_lonlat_deg(self._grid, WEST + column * CELL_M, NORTH - row * CELL_M)
        found = nearest_values(self._zones, np.array([lon]), np.array([lat]))[0]
        return 0 if np.isnan(found) else int(found)


def question_of(folder: Path, source: SeaSource | None = None) -> CoastQuestion:
    terrain = ground(folder)
    return CoastQuestion(
        terrain, source or SeaSource((water(folder),)), CODES, coast_window(grid_of(terrain))
    )


def test_coastal_land_is_low_and_near(tmp_path: Path) -> None:
    """The plain is coast for 50 km from the shore at column 40; its ridge is not, nor what is beyond."""
    zone_at = Derived(question_of(tmp_path))
    assert zone_at(30.5, 30.5) == 1
    assert [zone_at(column, 30.5) for column in (41.0, 60.0, 89.0)] == [3, 3, 3]
    assert [zone_at(column, 30.5) for column in (91.0, 100.0)] == [4, 4]
    assert zone_at(61.5, 15.5) == 4, "140 m high"
    assert zone_at(81.5, 31.5) == 3, "a lake is not the sea"


def test_a_low_basin_behind_a_ridge_is_inland() -> None:
    sea = np.zeros((20, 40), np.bool_)
    sea[:, :5] = True
    heights = np.full((20, 40), 10.0)
    heights[:, 15:17] = 101.0
    found = coastal_land(sea, heights, 500.0)
    assert found[:, 5:15].all()
    assert not found[:, 15:].any()
    heights[7, 15:17] = 100.0  # a gap in the ridge, no higher than coast may be
    assert coastal_land(sea, heights, 500.0)[:, 17:].all()
    heights[7, 15] = np.nan
    assert not coastal_land(sea, heights, 500.0)[:, 17:].any(), "what is not known is not low"
    assert not coastal_land(np.zeros_like(sea), heights, 500.0).any()


def test_sea_beyond_the_study_makes_coast_within_it(tmp_path: Path) -> None:
    """The grid begins 20 km from the shore; without the margin its coast would be missed."""
    question = question_of(tmp_path)
    window = question.window
    assert window.west_m <= WEST + 10_000.0
    assert window.north_m >= NORTH + 30_000.0
    assert window.cell_size_m == 200.0
    grid = grid_of(question.terrain)
    far = coast_window(grid, (tuple(float(each) for each in to_lonlat_deg(grid, WEST - 80_000.0, NORTH)),))
    assert far.west_m == pytest.approx(WEST - 130_000.0, abs=far.cell_size_m)
    large = coast_window(StudyGrid(grid.crs, WEST, NORTH, 1000.0, 500, 500))
    assert large.rows * large.columns <= 2_000_000
    assert large.cell_size_m == 600.0


def test_what_is_not_known_has_no_zone(tmp_path: Path) -> None:
    classes = np.zeros((ROWS, COLUMNS), np.uint8)
    classes[:, :40], classes[:, 70:75] = 1, 255
    zone_at = Derived(question_of(tmp_path, SeaSource((water(tmp_path, classes),))))
    assert zone_at(72.5, 30.5) == 0
    assert zone_at(60.5, -3.0) == 0, "beyond the terrain"


def test_only_water_that_hangs_together_with_a_place_is_sea(tmp_path: Path) -> None:
    """For a mask in which lakes and the sea are one class."""
    terrain = ground(tmp_path)
    sea_at, lake_at, land_at = (
        tuple(float(each) for each in to_lonlat_deg(grid_of(terrain), WEST + x * CELL_M, NORTH - y * CELL_M))
        for x, y in ((30.5, 30.5), (81.5, 31.5), (70.5, 30.5))
    )
    both = SeaSource((water(tmp_path),), (1, 2))
    assert Derived(question_of(tmp_path, both))(81.5, 31.5) == 1
    told = SeaSource((water(tmp_path),), (1, 2), places=(sea_at,))
    assert Derived(question_of(tmp_path, told))(81.5, 31.5) == 3
    assert Derived(question_of(tmp_path, told))(30.5, 30.5) == 1
    lake = SeaSource((water(tmp_path),), (1, 2), places=(lake_at,))
    assert Derived(question_of(tmp_path, lake))(30.5, 30.5) != 1
    with pytest.raises(RangeError, match=r"place of the sea is .*, on land; allowed: a place on its water"):
        derive(question_of(tmp_path, SeaSource((water(tmp_path),), places=(land_at,))))
    with pytest.raises(RangeError, match="beyond the study and 50 km around it"):
        derive(question_of(tmp_path, SeaSource((water(tmp_path),), places=((0.0, 0.0),))))


def polygon(folder: Path, name: str, first: float, last: float) -> Given:
    """Write the columns from first to last as a polygon."""
    grid = grid_of(ground(folder))
    corners = [(first, -90), (last, -90), (last, 150), (first, 150), (first, -90)]
    ring = [
        [float(each) for each in to_lonlat_deg(grid, WEST + x * CELL_M, NORTH - y * CELL_M)]
        for x, y in corners
    ]
    shape = {"type": "Polygon", "coordinates": [ring]}
    (folder / name).write_text(json.dumps({"type": "Feature", "properties": {}, "geometry": shape}))
    return Given(name, lambda: read_features(folder / name))


@pytest.mark.parametrize("land", [False, True])
def test_polygons_of_the_sea_or_of_the_land(tmp_path: Path, land: bool) -> None:
    layer = polygon(tmp_path, "p.geojson", *((40, 300) if land else (-100, 40)))
    zone_at = Derived(question_of(tmp_path, SeaSource(polygons=layer, are_land=land)))
    assert [zone_at(column, 30.5) for column in (39.0, 41.0, 89.0, 91.5)] == [1, 3, 3, 4]


def test_lakes_of_the_list_count_as_sea(tmp_path: Path) -> None:
    lakes = polygon(tmp_path, "lakes.geojson", 92, 110)
    zone_at = Derived(question_of(tmp_path, SeaSource((water(tmp_path),), lakes=lakes)))
    assert [zone_at(column, 30.5) for column in (91.0, 100.0)] == [3, 1]


def test_zones_are_worked_out_when_asked_and_travel(tmp_path: Path) -> None:
    question = question_of(tmp_path)
    zones = derived_zones(question, "zones derived from water.tif")
    make = zones.tiles[0].make
    assert make is not None
    assert make._made is None
    assert make() is make()
    again = pickle.loads(pickle.dumps(zones))
    assert again == zones
    assert np.array_equal(again.tiles[0].make(), make(), equal_nan=True)
    assert make_grid(zones, cell_size_m=1000.0).crs.equals(zones.crs)
    row, _ = to_cells(question.window, *to_lonlat_deg(question.window, WEST, NORTH))
    assert 0 <= float(row) < question.window.rows


def test_masks_may_be_tiles_of_several_kinds(tmp_path: Path) -> None:
    """The sea in one tile, the land in another of larger cells; where both are, the first counts."""
    left = np.ones((ROWS, 40), np.uint8)
    right = np.zeros((ROWS // 2, 60), np.uint8)
    right[:, :5] = 7
    paths = [
        write_tif(tmp_path / "l.tif", left, WEST, NORTH, CELL_M, crs="EPSG:32632"),
        write_tif(tmp_path / "r.tif", right, WEST + 30_000.0, NORTH, 2000.0, crs="EPSG:32632"),
    ]
    masks = open_terrains(paths, codes=True)
    assert len(masks) == 2
    zone_at = Derived(question_of(tmp_path, SeaSource(masks)))
    assert [zone_at(column, 30.5) for column in (35.5, 39.5, 41.5, 91.5)] == [1, 1, 3, 4]
