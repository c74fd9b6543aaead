"""Stations beyond the study grid: the ground on the way is read, and the field is that of a wider grid."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from combe.decibels import dbw_from_watt, field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_store import area_key, field_key
from combe.prediction.path import predict_path
from combe.prediction.targets import find_targets, predict_targets
from combe.terrain.grid import StudyGrid, cell_centres_m, to_lonlat_deg
from combe.terrain.ground import ground_reach, ground_under
from combe.terrain.ground_cells import fill_ground_cells
from combe.terrain.sampling import geodesic_profile
from support_prediction import sample_area, station

WIDE = sample_area(200.0)
GRID = StudyGrid(WIDE.grid.crs, WIDE.grid.west_m + 12_000.0, WIDE.grid.north_m - 12_000.0, 200.0, 60, 60)
"""12 x 12 km in the midst of the sample."""


def place(row, column):
    """Return longitude and latitude of a place of the small grid, in cells."""
    x, y = GRID.west_m + (column + 0.5) * 200.0, GRID.north_m - (row + 0.5) * 200.0
    lon, lat = to_lonlat_deg(GRID, x, y)
    return float(lon), float(lat)


NORTH_WEST, SOUTH, EAST = place(-40.0, -45.0), place(100.0, 30.0), place(20.0, 80.0)
P1812 = Conditions(model="p1812")


def reaching(*places) -> Area:
    return survey_area(WIDE.terrain, GRID, ground=ground_under(WIDE.terrain, GRID, places))


@pytest.mark.parametrize("where", [NORTH_WEST, SOUTH, EAST], ids=["north-west", "south", "east"])
@pytest.mark.parametrize("conditions", [Conditions(), P1812], ids=["P.526", "P.1812"])
def test_the_field_is_that_of_a_wider_grid(where, conditions):
    (found,) = predict_coverage(reaching(where), station(where), conditions=conditions)
    (wide,) = predict_coverage(WIDE, station(where), conditions=conditions)
    expected = wide.field_dbuv_m[60:120, 60:120]
    difference = (found.field_dbuv_m - expected)[~np.isnan(expected)]
    assert difference.size > 3500
    # Other rays pass by each cell; so does the sweep differ from the exact path.
    assert abs(np.median(difference)) < 0.05
    assert np.sqrt(np.mean(np.square(difference))) < 1.5


def test_at_a_place_it_is_what_the_map_has():
    area, sender = reaching(NORTH_WEST), station(NORTH_WEST)
    (field,) = predict_coverage(area, sender)
    x, y = cell_centres_m(GRID)
    lon, lat = to_lonlat_deg(GRID, x[[10, 40]], y[[50, 20]])
    targets = find_targets(area, lon, lat)
    found = predict_targets(area, sender, targets)[0]
    np.testing.assert_allclose(found, field.field_dbuv_m[[50, 20], [10, 40]], atol=3.0)


def test_a_station_on_the_grid_reads_no_more():
    plain, same = ground_under(WIDE.terrain, GRID), ground_under(WIDE.terrain, GRID, [place(10.0, 20.0)])
    for one, other in zip((*plain[:-1], *plain.layers), (*same[:-1], *same.layers), strict=True):
        np.testing.assert_array_equal(one, other)


def test_the_ground_reaches_every_place():
    (first_row, last_row), (first_column, last_column) = ground_reach(
        ground_under(WIDE.terrain, GRID, [NORTH_WEST, SOUTH, EAST])
    )
    assert first_row <= -40.0
    assert last_row >= 100.0
    assert first_column <= -45.0
    assert last_column >= 80.0


def test_what_lies_on_the_ground_is_found_in_the_same_cells():
    """Longitudes of the ground's cells, by its own table and by way of the values that cover takes."""
    plain, wide = ground_under(WIDE.terrain, GRID), ground_under(WIDE.terrain, GRID, [NORTH_WEST])
    values = [
        fill_ground_cells(WIDE.terrain, GRID, lambda lon, _: lon, np.float64, each) for each in (plain, wide)
    ]
    top = round(float(wide.row_at[int(wide.north), int(wide.west)] - plain.row_at[1, 1]))
    left = round(float(wide.column_at[int(wide.north), int(wide.west)] - plain.column_at[1, 1]))
    rows, columns = plain.heights.shape
    cut = slice(top, top + rows), slice(left, left + columns)
    np.testing.assert_array_equal(wide.heights[cut], plain.heights)
    np.testing.assert_allclose(values[1][cut], values[0], atol=1e-12)


def test_without_the_ground_on_the_way_it_is_refused():
    area = survey_area(WIDE.terrain, GRID)
    with pytest.raises(RangeError, match="or beyond it where ground was read; widen"):
        predict_coverage(area, station(SOUTH))
    with pytest.raises(RangeError, match="or beyond it where ground was read; widen"):
        field_key(area, area_key(area), station(SOUTH), Conditions(), 10.0)
    assert area_key(area) != area_key(reaching(SOUTH))


def small_area(cells: int) -> Area:
    """Return a few cells in the midst of the sample, with the ground read as far as the far corner."""
    west_m, north_m = GRID.west_m + 6_000.0, GRID.north_m - 6_000.0
    grid = StudyGrid(GRID.crs, west_m, north_m, 200.0, cells, cells)
    return survey_area(WIDE.terrain, grid, ground=ground_under(WIDE.terrain, grid, [FAR_CORNER]))


FAR_CORNER = place(-55.0, -55.0)
"""17 km from the midst of the small grid."""


@pytest.mark.parametrize("conditions", [Conditions(), P1812], ids=["P.526", "P.1812"])
@pytest.mark.parametrize("cells", [1, 2, 10])
def test_a_few_cells_far_from_the_station_have_the_exact_field(cells, conditions):
    """Rays are then many times longer than the grid is wide."""
    area, sender = small_area(cells), station(FAR_CORNER)
    (field,) = predict_coverage(area, sender, conditions=conditions)
    x, y = cell_centres_m(area.grid)
    for row, column in [(0, 0), (cells - 1, cells // 2)]:
        lon, lat = to_lonlat_deg(area.grid, x[column], y[row])
        profile = geodesic_profile(area.terrain, *FAR_CORNER, float(lon), float(lat))
        exact = predict_path(
            profile,
            tx_height_m=sender.aerial_height_m,
            rx_height_m=10.0,
            frequency_mhz=sender.services[0].frequency_mhz,
            polarization=sender.polarization,
            conditions=conditions,
        )
        expected = field_from_loss_dbuv_m(
            dbw_from_watt(sender.services[0].erp_w), exact.basic_loss_db, sender.services[0].frequency_mhz
        )
        assert field.field_dbuv_m[row, column] == pytest.approx(float(expected), abs=1.5)


BOUNDED = """
from dataclasses import replace
import numpy as np
from test_beyond_the_grid import FAR_CORNER, P1812, small_area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.targets import find_targets, predict_targets
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from support_prediction import station

for conditions, covered in ((Conditions(), False), (P1812, False), (P1812, True)):
    for cells in (1, 10):
        area = small_area(cells)
        if covered:
            area = replace(area, cover=np.full(area.ground.heights.shape, 12.0, dtype=np.float32))
        (field,) = predict_coverage(area, station(FAR_CORNER), conditions=conditions)
        x, y = cell_centres_m(area.grid)
        lon, lat = to_lonlat_deg(area.grid, x[:1], y[:1])
        predict_targets(area, station(FAR_CORNER), find_targets(area, lon, lat), conditions=conditions)
        print(np.isfinite(field.field_dbuv_m).sum())
"""


def test_no_kernel_writes_past_the_end_of_its_arrays(tmp_path):
    """Numba checks no index unless it is told to, and a write past the end may go unseen."""
    here = Path(__file__).parent
    environment = {
        **os.environ,
        "NUMBA_BOUNDSCHECK": "1",
        "NUMBA_OPT": "0",  # what is looked at is where they write; they need not be fast
        "NUMBA_CACHE_DIR": str(tmp_path),
        "PYTHONPATH": os.pathsep.join([str(here), str(here.parent), *sys.path]),
    }
    done = subprocess.run(
        [sys.executable, "-c", BOUNDED], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.split() == ["1", "100"] * 3
