"""Contour lines: at their height wherever they run, none at a void, about a dozen of them, bounded."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
import shapely

from combe.terrain import StudyGrid, contours
from combe.terrain.contour_lines import INTERVALS_M

GRID = StudyGrid(pyproj.CRS("EPSG:32617"), 200_000.0, 4_070_000.0, 50.0, 200, 240)


def cone(grid: StudyGrid = GRID, slope: float = 0.1) -> np.ndarray:
    """Return a hill that falls evenly away from the middle: contour lines are circles around it."""
    y, x = np.mgrid[0 : grid.rows, 0 : grid.columns]
    away_m = np.hypot(y - grid.rows / 2 + 0.5, x - grid.columns / 2 + 0.5) * grid.cell_size_m
    return 900.0 - slope * away_m


def test_the_lines_of_a_cone_are_circles_of_their_height() -> None:
    found = contours(cone(), GRID, interval_m=100.0)
    assert [level.height_m for level in found.levels] == [200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 800.0]
    assert [level.height_m for level in found.levels if level.index] == [500.0]
    middle = np.array([GRID.west_m + 120 * 50.0, GRID.north_m - 100 * 50.0])
    for level in found.levels:
        for line in level.lines:
            away_m = np.hypot(*(line - middle).T)
            assert np.abs(away_m - (900.0 - level.height_m) / 0.1).max() < 0.5 * GRID.cell_size_m


def test_no_line_runs_over_ground_that_is_not_known() -> None:
    heights = cone()
    heights[80:120, 20:60] = np.nan
    corners = np.concatenate([line for level in contours(heights, GRID).levels for line in level.lines])
    column, row = (corners[:, 0] - GRID.west_m) / 50.0, (GRID.north_m - corners[:, 1]) / 50.0
    inside = (column > 20.0) & (column < 60.0) & (row > 80.0) & (row < 120.0)
    assert not inside.any()
    whole = np.concatenate([line for level in contours(cone(), GRID).levels for line in level.lines])
    column, row = (whole[:, 0] - GRID.west_m) / 50.0, (GRID.north_m - whole[:, 1]) / 50.0
    assert ((column > 20.0) & (column < 60.0) & (row > 80.0) & (row < 120.0)).any()


@pytest.mark.parametrize("relief_m", [100.0, 150.0, 300.0, 700.0, 1500.0, 2500.0, 5000.0])
def test_the_interval_gives_about_a_dozen_lines(relief_m: float) -> None:
    ramp = np.linspace(3.0, 3.0 + relief_m, GRID.rows)[:, None] * np.ones(GRID.columns)
    found = contours(ramp, GRID)
    assert found.interval_m in INTERVALS_M
    assert 7 <= len(found.levels) <= 19


def test_rough_ground_keeps_to_the_corners_allowed() -> None:
    heights = cone() + np.random.default_rng(3).normal(0.0, 15.0, (GRID.rows, GRID.columns))
    count = lambda found: sum(len(line) for level in found.levels for line in level.lines)  # noqa: E731
    assert count(contours(heights, GRID)) > 3000
    assert 0 < count(contours(heights, GRID, most_corners=1500)) <= 1500


def test_a_large_grid_is_drawn_from_means_of_its_cells_in_the_right_place() -> None:
    grid = StudyGrid(GRID.crs, 200_000.0, 4_070_000.0, 10.0, 1000, 1200)
    found = contours(cone(grid), grid, interval_m=100.0)
    middle = np.array([grid.west_m + 600 * 10.0, grid.north_m - 500 * 10.0])
    for level in found.levels:
        for line in level.lines:
            assert np.abs(np.hypot(*(line - middle).T) - (900.0 - level.height_m) / 0.1).max() < 10.0
            if np.allclose(line[0], line[-1]):
                assert np.hypot(*(np.array(shapely.Polygon(line).centroid.coords[0]) - middle)) < 2.0


@pytest.mark.parametrize("heights", [np.full((200, 240), np.nan), np.full((200, 240), 7.0)])
def test_ground_without_heights_or_without_relief_has_no_lines(heights: np.ndarray) -> None:
    assert contours(heights, GRID).levels == ()
