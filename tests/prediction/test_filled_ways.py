"""Cells reached across filled ground, against an own count along each ray."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from combe.prediction.area import Area, survey_area
from combe.prediction.coverage import predict_coverage, ray_density
from combe.prediction.filled_ways import cells_across_fills
from combe.terrain.grid import grid_heights, make_grid
from combe.terrain.ground import ground_under
from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import open_terrain
from combe.terrain.voids import with_fill, without_fills
from support_prediction import ray_profile, rays_over, station
from support_terrains import Hills, write_lonlat

PLACE = (10.985, 46.0)


def holed(folder: Path) -> Area:
    hills = Hills(11.0, 46.0)
    lon = 10.94 + (np.arange(120) + 0.5) * 0.001
    lat = 46.03 - (np.arange(60) + 0.5) * 0.001
    heights = hills(lon[np.newaxis], lat[:, np.newaxis])
    heights[20:26, 60:64] = heights[45:48, 20:50] = -9999.0
    path = write_lonlat(
        folder / "h.tif", hills, (10.94, 45.97, 11.06, 46.03), (0.001, 0.001), heights, nodata=-9999.0
    )
    terrain = with_fill(open_terrain([path], vertical_datum="EGM96"), 500.0)
    grid = make_grid(terrain, cell_size_m=150.0, area_deg=(10.96, 45.98, 11.04, 46.02))
    return survey_area(terrain, grid)


def test_marks_are_an_own_count_along_the_rays(tmp_path: Path) -> None:
    area = holed(tmp_path)
    assert np.isfinite(area.heights_m).all()
    (marked,) = cells_across_fills(area, (station(PLACE),))
    raw = without_fills(area.terrain)
    measured = Area(raw, area.grid, area.heights_m, ground_under(raw, area.grid), area.step_m)
    rays = rays_over(area, PLACE, ray_density(area))
    own = np.isnan(grid_heights(raw, area.grid))
    for cell in range(own.size):
        _, heights = ray_profile(measured, rays, cell, 0.0)
        own.flat[cell] |= bool(np.isnan(heights[:-1]).any())
    assert np.array_equal(marked, own)
    assert 0.05 < marked.mean() < 0.6


def test_without_the_fill_just_these_cells_are_unknown(tmp_path: Path) -> None:
    """So a fill is marked wherever it makes a prediction that would not be there, and nowhere else."""
    area = holed(tmp_path)
    raw = survey_area(without_fills(area.terrain), area.grid)
    field = predict_coverage(area, station(PLACE))[0].field_dbuv_m
    bare = predict_coverage(raw, station(PLACE))[0].field_dbuv_m
    (marked,) = cells_across_fills(area, (station(PLACE),))
    assert np.isfinite(field).all()
    assert np.array_equal(np.isnan(bare), marked)
    assert np.array_equal(field[~marked], bare[~marked])


def test_a_station_on_filled_ground_marks_all(tmp_path: Path) -> None:
    area = holed(tmp_path)
    on_it = 10.94 + 62.0 * 0.001, 46.03 - 23.0 * 0.001
    assert np.isnan(sample_heights(without_fills(area.terrain), *on_it))
    first, second = cells_across_fills(area, (station(on_it), station(PLACE)))
    assert first.all()
    assert not second.all()
