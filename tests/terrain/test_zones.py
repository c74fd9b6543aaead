"""Zones of sea and land: the nearest cell's code, unknown codes and gaps, and the same under a study grid."""

import numpy as np
import pytest

from combe.errors import RangeError, RasterError
from combe.terrain.grid import make_grid
from combe.terrain.ground import ground_under
from combe.terrain.tiles import open_terrain
from combe.terrain.zones import UNKNOWN, open_zones, zones_at, zones_under
from support_terrain import plane_tif, write_tif

NAMES = {1: "sea", 3: "coastal land", 4: "inland"}


def zones_of(path, codes=((1, 3, 4), (4, 1, 0)), **options):
    """Write cells of 0.1 degrees, north-west corner 10 E 47 N; code 0 is no data."""
    cells = np.array(codes, dtype=np.uint8)
    return open_zones([write_tif(path, cells, 10.0, 47.0, 0.1, nodata=0, **options)], names=NAMES)


def test_a_place_has_the_zone_of_its_cell(tmp_path):
    zones = zones_of(tmp_path / "zones.tif")
    found = zones_at(zones, [10.001, 10.099, 10.101, 10.299, 10.15], [46.999, 46.901, 46.95, 46.95, 46.85])
    assert found.tolist() == [1, 1, 3, 4, 1]
    assert found.dtype == np.uint8
    assert zones.words == "zones.tif"
    assert int(zones_at(zones, 10.05, 46.85)) == 4


def test_a_place_without_a_zone_is_named(tmp_path):
    zones = zones_of(tmp_path / "zones.tif")
    with pytest.raises(RasterError, match=r"zones\.tif: it holds no zone at longitude 10\.250000, latitude"):
        zones_at(zones, [10.05, 10.25], [46.95, 46.85])
    with pytest.raises(RasterError, match=r"the zone raster \(zones\.tif\) covers longitude 10\.00000 to 10"):
        zones_at(zones, 10.301, 46.95)


@pytest.mark.parametrize("code", [2, 255])
def test_a_code_that_is_no_zone(tmp_path, code):
    zones = zones_of(tmp_path / "zones.tif", ((1, 1), (4, code)))
    assert int(zones_at(zones, 10.05, 46.95)) == 1
    with pytest.raises(RangeError) as caught:
        zones_at(zones, 10.15, 46.85)
    assert str(caught.value) == (
        f"zone in zones.tif is {code}; allowed: 1 sea, 3 coastal land, 4 inland; "
        "reclass the raster; declare a nodata value for cells of which nothing is known"
    )


def test_zones_in_the_cells_of_the_terrain(tmp_path):
    terrain = open_terrain([plane_tif(tmp_path / "plane.tif")])
    grid = make_grid(terrain, cell_size_m=100.0)
    ground = ground_under(terrain, grid)
    codes = np.full((50, 60), 4, dtype=np.uint8)
    codes[:, :30], codes[:, 30:33], codes[:, 55:] = 1, 3, 0
    # Cells of 0.001 degrees from 10 E: the sea ends at 10.03 E, the coast at 10.033, what is known at 10.055.
    path = write_tif(tmp_path / "zones.tif", codes, 10.0, 47.0, 0.001, nodata=0)
    zones = open_zones([path], names=NAMES)
    found = zones_under(zones, terrain, grid)
    assert (found.shape, found.dtype) == (ground.heights.shape, np.uint8)
    np.testing.assert_array_equal(found, zones_under(zones, terrain, grid, ground))
    # The plane rises to the east by 0.3 m a cell: the height tells the longitude of each cell.
    row = found[10]
    lon = 10.0005 + 0.001 * np.round((ground.heights[10] - ground.heights[10, 0]) / 0.3)
    assert set(row[(lon > 10.001) & (lon < 10.029)].tolist()) == {1}
    assert set(row[(lon > 10.034) & (lon < 10.054)].tolist()) == {4}
    assert set(row[lon > 10.056].tolist()) == {UNKNOWN}
