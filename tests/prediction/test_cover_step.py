"""Cover enters the sweep as on a path sampled every 9 m, though rays sample the terrain every 75 m.

The limits, 0.3 dB in the mean and 2 dB for nine cells in ten, are our own choice.
"""

import numpy as np
import pytest

from combe.terrain.clutter import cover_parts, exact_step_m
from combe.terrain.ground import highest_along, nearest, raster_place
from support_cover import covered_area, field_over_exact_db
from support_prediction import station

PLACE = (-84.20, 36.62)
AREA_DEG = (-84.23, 36.60, -84.14, 36.67)


@pytest.fixture(scope="module")
def covered(tmp_path_factory):
    return covered_area(tmp_path_factory.mktemp("cover"), AREA_DEG, 90.0)


@pytest.mark.parametrize("aerial_height_m", [40.0, 12.0])
def test_the_sweep_is_as_a_path_sampled_every_9_m(covered, aerial_height_m):
    area, cover = covered
    assert area.step_m > 70.0
    assert area.cover.shape[0] == 9 * area.ground.heights.shape[0]
    over_db = field_over_exact_db(area, cover, station(PLACE, aerial_height_m=aerial_height_m), 250)
    assert over_db.size > 200
    assert abs(over_db.mean()) <= 0.3
    assert np.quantile(np.abs(over_db), 0.9) <= 2.0


def test_a_sample_bears_the_highest_cover_of_its_own_stretch(covered):
    """Beside the same places asked one by one, each by itself."""
    area, _ = covered
    found, parts, rays = np.empty(16), 9, np.random.default_rng(3)
    same = []
    for _ in range(40):
        start, step = rays.uniform(25.0, 55.0, 2), rays.uniform(-0.8, 0.8, 2)
        highest_along(area.ground, area.cover, *start, *step, parts, found)
        for k in range(found.size):
            at = (k + 0.5 + (np.arange(parts) + 0.5) / parts)[:, None] * step + start
            same.append(found[k] == max(nearest(area.ground, area.cover, *place) for place in at))
    assert np.mean(same) > 0.99, (
        "the line between the ends of so many samples may pass a cell's edge otherwise"
    )


def test_unknown_cover_in_a_stretch_is_never_passed_over(covered):
    area, _ = covered
    cover, found = np.full_like(area.cover, 15.0), np.empty(16)
    between_samples = int((raster_place(area.ground, 18.4, 30.0)[0] + 0.5) * 9.0)
    cover[between_samples, :] = np.nan
    highest_along(area.ground, cover, 10.0, 30.0, 1.0, 0.0, 9, found)
    assert np.flatnonzero(np.isnan(found)).tolist() == [7], "the eighth sample from row 10, at row 18"
    assert set(found[~np.isnan(found)]) == {15.0}


def test_parts_of_a_step():
    assert [cover_parts(step_m) for step_m in (5.0, 9.0, 9.1, 30.0, 74.4)] == [1, 1, 2, 4, 9]
    assert exact_step_m(74.4, covered=True) == 9.0
    assert exact_step_m(74.4, covered=False) == 74.4
    assert exact_step_m(5.0, covered=True) == 5.0
