"""Targets only: the same field as the area map at the same places, and errors."""

import numpy as np
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.path import predict_path
from combe.prediction.targets import find_targets, lay_rays_to, predict_targets
from combe.stations.pattern import Pattern
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from combe.terrain.sampling import geodesic_profile
from support_prediction import EAST, RIDGE, sample_area, station

PATTERN = Pattern(
    tuple(np.arange(0.0, 360.0, 10.0)),
    tuple(-0.1 * np.minimum(np.arange(0.0, 360.0, 10.0), 360.0 - np.arange(0.0, 360.0, 10.0))),
    "horizontal",
    "test",
)


def some_cells(count=400):
    area = sample_area()
    rng = np.random.default_rng(9)
    rows, columns = (
        rng.integers(20, area.grid.rows - 20, count),
        rng.integers(20, area.grid.columns - 20, count),
    )
    x, y = cell_centres_m(area.grid)
    return rows, columns, *to_lonlat_deg(area.grid, x[columns], y[rows])


@pytest.mark.parametrize("model", ["free-space", "p526", "p1812"])
@pytest.mark.parametrize("place", [EAST, RIDGE])
def test_agrees_with_the_area_map(place, model):
    area, transmitter = (
        sample_area(),
        station(place, frequencies_mhz=(474.0, 690.0), horizontal_pattern=PATTERN),
    )
    conditions = Conditions(model=model)
    rows, columns, lon, lat = some_cells()
    found = predict_targets(area, transmitter, find_targets(area, lon, lat), conditions=conditions)
    assert found.shape == (2, 400)
    for field, one in zip(predict_coverage(area, transmitter, conditions=conditions), found, strict=True):
        expected = field.field_dbuv_m[rows, columns]
        both = np.isfinite(expected) & np.isfinite(one)
        assert both.mean() > 0.95
        difference = (one - expected)[both]
        assert np.median(np.abs(difference)) < 0.1
        assert np.sqrt(np.mean(difference**2)) < 0.8


def test_agrees_with_the_exact_path_of_each_place():
    area = sample_area()
    _, _, lon, lat = some_cells(300)
    found = predict_targets(area, station(RIDGE), find_targets(area, lon, lat))[0]
    exact = [
        predict_path(
            geodesic_profile(area.terrain, *RIDGE, float(a), float(b)),
            tx_height_m=40.0,
            rx_height_m=10.0,
            frequency_mhz=474.0,
        ).field_strength_1kw_dbuv_m
        for a, b in zip(lon, lat, strict=True)
    ]
    difference = found - np.array(exact)
    assert np.median(np.abs(difference)) < 0.1
    assert np.sqrt(np.mean(difference**2)) < 0.8


def test_order_of_targets_is_kept():
    area = sample_area()
    _, _, lon, lat = some_cells(50)
    forward = predict_targets(area, station(), find_targets(area, lon, lat))
    backward = predict_targets(area, station(), find_targets(area, lon[::-1], lat[::-1]))
    np.testing.assert_array_equal(forward, backward[:, ::-1])


def test_only_rays_with_targets_are_walked():
    area = sample_area()
    rays = lay_rays_to(area, station(RIDGE), find_targets(area, [-84.3], [36.6]))
    assert np.count_nonzero(np.diff(rays.first_cell)) == 1
    assert rays.priced == 1


def test_one_target_under_the_mast():
    found = predict_targets(sample_area(), station(RIDGE), find_targets(sample_area(), *RIDGE))
    assert np.isfinite(found).all()


@pytest.mark.parametrize(
    ("lon", "lat", "words"),
    [
        ([], [], "n at least 1"),
        ([-84.2, -84.3], [36.6], "one shape"),
        ([-84.2, -85.9], [36.6, 36.6], "target 1"),
    ],
)
def test_refusals(lon, lat, words):
    with pytest.raises(RangeError, match=words):
        find_targets(sample_area(), lon, lat)


def test_a_target_on_a_void_is_named():
    area = sample_area()
    lon, lat = (float(v) for v in to_lonlat_deg(area.grid, area.grid.west_m + 20.0, area.grid.north_m - 20.0))
    with pytest.raises(TerrainGapError, match="target 0"):
        find_targets(area, lon, lat)
