"""Rays over the grid: every cell once, on its nearest ray, in order of distance."""

import numpy as np
import pytest

from combe.errors import RangeError
from combe.geodesy import bearing_deg, distance_km
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from support_prediction import EAST, RIDGE, rays_over, sample_area

CORNER = (-84.411, 36.7305)


@pytest.mark.parametrize("place", [EAST, RIDGE, CORNER])
@pytest.mark.parametrize("density", [1.0, 2.0])
def test_buckets(place, density):
    area = sample_area()
    rays = rays_over(area, place, density)
    assert np.array_equal(np.sort(rays.cell_order), np.flatnonzero(np.isfinite(area.heights_m)))
    assert np.all(rays.ray_of_cell[np.isnan(area.heights_m)] == -1)
    row, column = np.divmod(rays.cell_order, area.grid.columns)
    north, east = rays.origin_row - row, column - rays.origin_column
    away = np.hypot(north, east)
    for ray in range(rays.count):
        mine = slice(rays.first_cell[ray], rays.first_cell[ray + 1])
        assert np.all(np.diff(away[mine]) >= 0.0)
    angle = 2.0 * np.pi / rays.count
    ray = rays.ray_of_cell.ravel()[rays.cell_order]
    off = (np.arctan2(east, north) - ray * angle + np.pi) % (2.0 * np.pi) - np.pi
    assert np.abs(off).max() <= angle / 2.0 + 1e-9
    assert np.abs(np.sin(off) * away).max() <= 0.5 / density + 1e-9


def test_scale_and_bearing_follow_the_geodesic():
    area = sample_area()
    rays = rays_over(area, EAST)
    x, y = cell_centres_m(area.grid)
    for row, column in [(10, 20), (300, 50), (200, 330), (363 // 2, 10)]:
        lon, lat = (float(v) for v in to_lonlat_deg(area.grid, x[column], y[row]))
        ray = rays.ray_of_cell[row, column]
        cells = np.hypot(row - rays.origin_row, column - rays.origin_column)
        along_km = cells * area.grid.cell_size_m * rays.scale[ray] / 1000.0
        # One scale serves a whole ray; over 30 km at a UTM rim it changes by 2e-4, half of that on average.
        assert along_km == pytest.approx(distance_km(*EAST, lon, lat), rel=1e-4)
        turn = (rays.azimuth_deg[ray] - bearing_deg(*EAST, lon, lat) + 180.0) % 360.0 - 180.0
        assert abs(turn) <= 180.0 / rays.count + 0.01


def test_a_station_off_the_grid_is_refused():
    with pytest.raises(RangeError, match=r"place of the station is -85\.0.*on the study grid, or .*; widen"):
        rays_over(sample_area(), (-85.0, 36.6))
