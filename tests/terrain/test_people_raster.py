"""Tests that nobody is lost or made up when coverage is carried onto a population raster."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
import shapely

from combe.errors import RangeError, RasterError
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.people_raster import People, covered_fraction, read_people
from support_terrain import write_tif

GRID = StudyGrid(pyproj.CRS.from_epsg(32616), 700_000.0, 4_070_000.0, 50.0, 400, 400)
MIDDLE = to_lonlat_deg(GRID, 710_000.0, 4_060_000.0)
ROW, COLUMN = np.mgrid[:400, :400]
DISC = np.hypot(ROW - 190.0, COLUMN - 210.0) < 130.0
ALL = np.ones((400, 400), dtype=bool)
NOISE = np.random.default_rng(3).random((400, 400)) < 0.3

# name: CRS, size of a cell, rows and columns; each lies inside the grid, with its middle on the grid's.
RASTERS = {
    "25 m degrees": ("EPSG:4326", 1 / 4800, 240, 240),
    "100 m degrees": ("EPSG:4326", 1 / 1200, 160, 160),
    "1 km degrees": ("EPSG:4326", 1 / 120, 16, 16),
    "30 m of the same zone": ("EPSG:32616", 30.0, 250, 250),
    "1 km of the next zone": ("EPSG:32617", 1000.0, 15, 15),
    "100 m Mollweide": ("ESRI:54009", 100.0, 120, 120),
    "1 km Mollweide": ("ESRI:54009", 1000.0, 12, 12),
}


def people_of(crs: str, cell: float, rows: int, columns: int, east: float = 0.0) -> People:
    """Return uneven counts around the middle of the grid, or ``east`` cells beside it."""
    x, y = pyproj.Transformer.from_crs(4326, crs, always_xy=True).transform(*MIDDLE)
    counts = np.random.default_rng(5).gamma(0.3, 20.0, (rows, columns))
    corner = (x + (east - columns / 2) * cell, y + rows / 2 * cell)
    transform = (cell, 0.0, corner[0], 0.0, -cell, corner[1])
    return People(counts, pyproj.CRS.from_user_input(crs), transform, "invented for tests", True, 0)


def fraction_by_many_points(mask, people: People) -> np.ndarray:
    """Return the covered fraction from many points in each population cell: the plain way, and slow."""
    rows, columns = people.counts.shape
    a, _, c, _, e, f = people.transform
    points = min(40, max(10, 900 // max(rows, columns)))
    inside = (np.arange(points) + 0.5) / points
    x, y = np.meshgrid(
        c + a * (np.arange(columns)[:, None] + inside).ravel(),
        f + e * (np.arange(rows)[:, None] + inside).ravel(),
    )
    east, north = pyproj.Transformer.from_crs(people.crs, GRID.crs, always_xy=True).transform(x, y)
    column = np.floor((east - GRID.west_m) / GRID.cell_size_m).astype(int)
    row = np.floor((GRID.north_m - north) / GRID.cell_size_m).astype(int)
    known = (row >= 0) & (row < GRID.rows) & (column >= 0) & (column < GRID.columns)
    hit = np.zeros(x.shape)
    hit[known] = mask[row[known], column[known]]
    return hit.reshape(rows, points, columns, points).mean(axis=(1, 3))


@pytest.mark.parametrize("raster", RASTERS.values(), ids=RASTERS.keys())
def test_all_covered_is_everybody(raster):
    people = people_of(*raster)
    served = float(np.sum(people.counts * covered_fraction(ALL, GRID, people)))
    assert served == pytest.approx(float(people.counts.sum()), rel=1e-6)


@pytest.mark.parametrize("raster", RASTERS.values(), ids=RASTERS.keys())
@pytest.mark.parametrize(("mask", "cell_tolerance"), [(DISC, 0.09), (NOISE, 0.14)], ids=["disc", "noise"])
def test_part_covered_is_what_many_points_say(raster, mask, cell_tolerance):
    people = people_of(*raster)
    got, exact = covered_fraction(mask, GRID, people), fraction_by_many_points(mask, people)
    assert np.sum(people.counts * got) == pytest.approx(np.sum(people.counts * exact), rel=0.003)
    assert got.mean() == pytest.approx(exact.mean(), abs=0.0003)
    assert np.abs(got - exact).max() < cell_tolerance


@pytest.mark.parametrize("raster", RASTERS.values(), ids=RASTERS.keys())
@pytest.mark.parametrize("mask", [DISC, NOISE], ids=["disc", "noise"])
def test_each_cell_is_covered_as_the_areas_of_its_figure_say(raster, mask):
    # The areas are those of shapely: the four-sided figure of a cell cut by each covered cell of the grid.
    people = people_of(*raster)
    got = covered_fraction(mask, GRID, people)
    choice = np.random.default_rng(8)
    for row, column in zip(*(choice.integers(0, size, 12) for size in got.shape), strict=True):
        assert got[row, column] == pytest.approx(area_covered(mask, people, row, column), abs=0.04)


def area_covered(mask, people: People, row: int, column: int) -> float:
    """Return the covered fraction of one population cell from the areas of polygons."""
    a, _, c, _, e, f = people.transform
    corners = [(c + a * (column + i), f + e * (row + j)) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]
    to_grid = pyproj.Transformer.from_crs(people.crs, GRID.crs, always_xy=True)
    figure = shapely.Polygon(list(zip(*to_grid.transform(*zip(*corners, strict=True)), strict=True)))
    west, south, east, north = figure.bounds
    first, last = (int((GRID.north_m - y) // GRID.cell_size_m) for y in (north, south))
    left, right = (int((x - GRID.west_m) // GRID.cell_size_m) for x in (west, east))
    covered = [grid_cell(i, j) for i in range(first, last + 1) for j in range(left, right + 1) if mask[i, j]]
    return float(sum(shapely.area(shapely.intersection(figure, np.array(covered))))) / figure.area


def grid_cell(row: int, column: int) -> shapely.Polygon:
    """Return one cell of the grid."""
    west, north = GRID.west_m + column * GRID.cell_size_m, GRID.north_m - row * GRID.cell_size_m
    return shapely.box(west, north - GRID.cell_size_m, west + GRID.cell_size_m, north)


def test_a_cell_of_four_grid_cells_is_covered_by_quarters():
    transform = (100.0, 0.0, GRID.west_m, 0.0, -100.0, GRID.north_m)
    people = People(np.ones((200, 200)), GRID.crs, transform, "invented for tests", True, 0)
    quarters = NOISE.reshape(200, 2, 200, 2).mean(axis=(1, 3))
    assert np.array_equal(covered_fraction(NOISE, GRID, people), quarters)


def test_nothing_covered_is_nobody():
    fraction = covered_fraction(~ALL, GRID, people_of(*RASTERS["1 km degrees"]))
    assert fraction.dtype == np.float64
    assert not fraction.any()


@pytest.mark.parametrize("raster", ["1 km degrees", "1 km of the next zone", "100 m degrees"])
def test_cells_across_the_edge_of_the_grid_are_covered_in_part(raster):
    crs, cell, rows, columns = RASTERS[raster]
    people = people_of(crs, cell, rows, columns, east=columns * 0.8)
    got, exact = covered_fraction(ALL, GRID, people), fraction_by_many_points(ALL, people)
    assert exact.min() == 0.0
    assert ((exact > 0.2) & (exact < 0.8)).any()
    assert np.abs(got - exact).max() < 0.08
    assert np.sum(people.counts * got) == pytest.approx(np.sum(people.counts * exact), rel=0.003)


def test_people_far_from_the_grid_are_zero_not_nan():
    people = people_of("EPSG:4326", 0.01, 4, 5, east=500.0)
    assert np.array_equal(covered_fraction(ALL, GRID, people), np.zeros((4, 5)))


def test_mask_and_its_complement_are_everybody():
    people = people_of(*RASTERS["100 m Mollweide"])
    both = covered_fraction(NOISE, GRID, people) + covered_fraction(~NOISE, GRID, people)
    assert np.allclose(both, 1.0, rtol=0, atol=1e-6)


@pytest.mark.parametrize("mask", [np.ones((400, 399), bool), np.ones((400, 400))], ids=["shape", "type"])
def test_mask_of_another_shape_or_type(mask):
    with pytest.raises(RangeError, match=r"allowed: bool \(400, 400\)"):
        covered_fraction(mask, GRID, people_of(*RASTERS["1 km degrees"]))


@pytest.mark.parametrize(
    ("dtype", "declared", "void"),
    [
        (np.float32, -99999.0, -99999.0),
        (np.float64, -200.0, -200.0),
        (np.float32, None, -99999.0),
        (np.float64, None, -200.0),
        (np.float32, None, np.nan),
        (np.float32, 3.4028234663852886e38, 3.4028234663852886e38),
        (np.int32, -2147483648, -2147483648),
    ],
    ids=[
        "WorldPop",
        "GHS-POP",
        "WorldPop undeclared",
        "GHS-POP undeclared",
        "NaN",
        "largest",
        "whole numbers",
    ],
)
def test_no_data_is_nobody_and_counted(tmp_path, dtype, declared, void):
    counts = np.full((4, 5), 3, dtype=dtype)
    counts[0, :2] = void
    people = read_people(write_tif(tmp_path / "p.tif", counts, 10.0, 47.0, 0.01, nodata=declared))
    assert people.counts.dtype == np.float64
    assert people.counts[0].tolist() == [0, 0, 3, 3, 3]
    assert people.counts.sum() == 54.0
    assert people.nodata_cells == 2
    assert people.negative_cells == (2 if declared is None and void < 0.0 else 0)


def test_nobody_is_not_no_data(tmp_path):
    people = read_people(
        write_tif(tmp_path / "p.tif", np.zeros((4, 5), np.float32), 10.0, 47.0, 0.01, nodata=-99999)
    )
    assert people.nodata_cells == 0


def test_source_and_invention_are_kept(tmp_path):
    tags = {"TIFFTAG_COPYRIGHT": "The office", "INVENTED": "yes"}
    path = write_tif(tmp_path / "p.tif", np.ones((4, 5)), 10.0, 47.0, 0.01, tags=tags)
    people = read_people(path)
    assert (people.source, people.invented) == ("The office", True)
    assert (
        read_people(path, source="Me", invented=False).source,
        read_people(path, invented=False).invented,
    ) == ("Me", False)
    plain = read_people(write_tif(tmp_path / "q.tif", np.ones((4, 5)), 10.0, 47.0, 0.01))
    assert (plain.source, plain.invented) == ("q.tif", False)


def test_only_the_area_is_read(tmp_path):
    counts = np.arange(100.0).reshape(10, 10)
    path = write_tif(tmp_path / "p.tif", counts, 10.0, 47.0, 0.1)
    part = read_people(path, area_deg=(10.25, 46.35, 10.55, 46.75))
    assert np.array_equal(part.counts, counts[2:7, 2:6])
    assert part.transform == pytest.approx((0.1, 0.0, 10.2, 0.0, -0.1, 46.8), abs=1e-12)
    whole = read_people(path, area_deg=(0.0, 40.0, 20.0, 50.0))
    assert np.array_equal(whole.counts, counts)


def test_area_beside_the_raster(tmp_path):
    path = write_tif(tmp_path / "p.tif", np.ones((4, 5)), 10.0, 47.0, 0.01)
    with pytest.raises(RasterError, match=r"p\.tif: it does not meet the study area"):
        read_people(path, area_deg=(20.0, 46.0, 21.0, 47.0))


def test_too_many_cells(tmp_path):
    path = write_tif(
        tmp_path / "p.tif", np.zeros((8001, 8000), np.uint8), 10.0, 47.0, 1e-4, tiled=True, compress="DEFLATE"
    )
    with pytest.raises(RasterError, match="8001 x 8000 cells are to be read; allowed: 64000000"):
        read_people(path)
    assert read_people(path, area_deg=(10.0, 46.9, 10.1, 47.0)).counts.size < 1_100_000


def test_counts_are_checked():
    with pytest.raises(RangeError, match="0 or more in every cell"):
        People(np.array([[1.0, -1.0]]), GRID.crs, (1.0, 0.0, 0.0, 0.0, -1.0, 0.0), "", True, 0)
    with pytest.raises(RangeError, match="float64 array"):
        People(np.array([1.0]), GRID.crs, (1.0, 0.0, 0.0, 0.0, -1.0, 0.0), "", True, 0)


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:4269"])
@pytest.mark.parametrize("west", [179.9, -180.1])
@pytest.mark.parametrize("turn", [0.0, 360.0, -360.0])
def test_people_on_both_sides_of_the_antimeridian(tmp_path, crs, west, turn):
    """However raster and area count their longitudes, all who live in the area are read."""
    path = write_tif(tmp_path / "people.tif", np.ones((10, 20)), west=west, north=-16.0, cell_x=0.01, crs=crs)
    area = (west + turn + 0.05, -16.2, west + turn + 0.3, -15.9)
    if abs(turn) < 1.0 or (turn > 0.0) == (west < 0.0):
        people = read_people(path, area_deg=area)
        assert people.counts.sum() == pytest.approx(150.0)
        assert people.transform[2] == pytest.approx(west + 0.05)


def test_an_area_across_the_ends_of_a_raster_of_the_world_is_refused(tmp_path):
    world = write_tif(tmp_path / "world.tif", np.ones((18, 36)), west=-180.0, north=90.0, cell_x=10.0)
    assert read_people(world, area_deg=(170.0, 0.0, 180.0, 10.0)).counts.sum() == 1.0
    for area in ((179.0, 0.0, 181.0, 10.0), (-181.0, 0.0, -179.0, 10.0)):
        with pytest.raises(RasterError, match="crosses the longitude where the raster begins and ends"):
            read_people(world, area_deg=area)
