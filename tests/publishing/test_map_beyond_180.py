"""A map that crosses the antimeridian is no wider than its grid, and all on it lies where it belongs."""

import numpy as np
import pyproj
import pytest

import support_map_page as support
from combe.geodesy import turned
from combe.publishing.map_grid import make_lattice, middle_deg
from combe.publishing.map_page import page_data, render_map
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from support_lattice import lattice_cells

ZONE_1 = pyproj.CRS("EPSG:32701")


def crossing_grid() -> StudyGrid:
    """Return a grid of 13.5 by 10.8 km, the antimeridian a quarter from its western edge."""
    x, y = pyproj.Transformer.from_crs("EPSG:4326", ZONE_1, always_xy=True).transform(180.0, -16.8)
    return StudyGrid(ZONE_1, 90.0 * round(x / 90.0 - 37), 90.0 * round(y / 90.0 + 60), 90.0, 120, 150)


@pytest.fixture(scope="module")
def page():
    return support.map_page(grid=crossing_grid())


def test_turned_leaves_what_is_near_as_it_is():
    lon = np.array([-179.9, -84.123456789, 0.0, 179.9])
    assert turned(lon).tolist() == lon.tolist()
    assert turned(lon, 180.0) == pytest.approx([180.1, 275.876543211, 0.0, 179.9])
    assert turned([180.5, -190.0, 541.0]) == pytest.approx([-179.5, 170.0, -179.0])


def test_the_lattice_is_as_wide_as_the_grid():
    grid = crossing_grid()
    lattice = make_lattice(grid)
    assert lattice.columns * lattice.pixel_m == pytest.approx(150 * 90.0 / np.cos(np.radians(16.8)), rel=0.03)
    assert 180.0 < middle_deg(lattice) < 180.1
    rows, columns = lattice_cells(lattice)
    inside = (rows >= 0) & (rows < 120) & (columns >= 0) & (columns < 150)
    assert len(set(zip(rows[inside], columns[inside], strict=True))) == grid.rows * grid.columns


def test_marks_stand_on_the_side_of_the_map(page):
    data = page_data(page)
    lon = [each["lon"] for kind in ("stations", "people") for each in data[kind]]
    lon += [place[1] for feed in data["feeds"] for place in feed["places"]]
    assert min(lon) < 180.0 < max(lon)
    assert all(179.9 < each < 180.2 for each in lon)
    assert all(-180.0 <= each.longitude_deg <= 180.0 for each in page.stations)


@pytest.mark.browser
def test_the_page_reads_values_on_both_sides(page, open_html):
    opened = open_html(render_map(page)).page
    grid, layer = page.grid, page.layers[0]
    for row, column in ((60, 5), (20, 30), (60, 50), (100, 140)):
        x = grid.west_m + (column + 0.5) * grid.cell_size_m
        lon, lat = (float(v) for v in to_lonlat_deg(grid, x, grid.north_m - (row + 0.5) * grid.cell_size_m))
        assert (lon > 0) == (column < 37)
        for around in (lon, lon - 360.0, lon + 360.0):
            value = opened.evaluate("(a) => combe.valueAt(...a)", [around, lat, layer.key])
            assert value == pytest.approx(layer.field_dbuv_m[row, column], abs=0.101)
            words = opened.evaluate("(a) => combe.readLines(...a).place", [around, lat])
            assert words.endswith(f"{abs(lon):.5f}° {'W' if lon < 0 else 'E'}")
