"""The sweep of P.1812 against the exact summary of its own samples, and against geodesic profiles."""

from dataclasses import replace

import numpy as np
import pytest

from combe.errors import RangeError, TerrainGapError
from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions, p1812_conditions
from combe.prediction.coverage import p1812_job, predict_coverage, sweep_losses
from combe.prediction.path import predict_path
from combe.propagation.p1812 import basic_loss, summarise_exact
from combe.propagation.p1812.conditions import BETA_RADIUS_KM
from combe.propagation.summary import horizon_slopes, largest_fresnel
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from combe.terrain.ground import nearest, nearest_along
from combe.terrain.sampling import geodesic_profile, height_at
from support_prediction import (
    EAST,
    RIDGE,
    covered_tops,
    flat_area,
    ray_profile,
    ray_values,
    rays_over,
    sample_area,
    station,
)

FREQUENCIES = [98.0, 474.0, 858.0]


def coasts_km(distance, zone) -> tuple[float, float]:
    """Return the distances over land from each end to the sea, 500 km without sea."""
    sea = zone == 1
    if not sea.any():
        return 500.0, 500.0
    first, last = np.flatnonzero(sea)[[0, -1]]
    tx = 0.0 if first == 0 else 0.5 * (distance[first - 1] + distance[first])
    rx = 0.0 if last == sea.size - 1 else distance[-1] - 0.5 * (distance[last] + distance[last + 1])
    return float(tx), float(rx)


def compare(area: Area, place, conditions, *, cells=250, tx_m=40.0, rx_m=10.0, vertical=False):
    """Assert that the sweep equals the exact summary on its own samples, and return the losses compared."""
    rays = rays_over(area, place)
    ground_m = height_at(area.terrain, *place) if area.grid.rows > 320 else float(area.heights_m[0, 0])
    job = p1812_job(
        area,
        rays,
        FREQUENCIES,
        conditions,
        tx_ground_m=ground_m,
        tx_height_m=tx_m,
        rx_height_m=rx_m,
        latitude_deg=place[1],
        vertical=vertical,
    )
    losses = sweep_losses(area, rays, len(FREQUENCIES), job).reshape(len(FREQUENCIES), -1)
    compared = []
    for cell in np.random.default_rng(8).permutation(rays.cell_order)[:cells]:
        distance, height = ray_profile(area, rays, int(cell), ground_m)
        if distance.size < 5 or np.isnan(height).any():
            continue
        zone = ray_values(area, rays, int(cell), area.zones, 4.0).astype(np.int64)
        radius_km = conditions.effective_radius_km
        bare = np.zeros(distance.size)
        summary = summarise_exact(
            distance, height, bare, zone, tx_m, rx_m, radius_km, *coasts_km(distance, zone)
        )
        if area.cover.size:
            summary = under_cover(summary, *covered_tops(area, rays, int(cell), ground_m), radius_km)
        for k, frequency in enumerate(FREQUENCIES):
            air = p1812_conditions(
                conditions, frequency_mhz=frequency, latitude_deg=place[1], vertical=vertical
            )
            expected = basic_loss(summary, air).basic_transmission_loss_db
            assert losses[k, cell] == pytest.approx(expected, abs=1e-6)
            compared.append(expected)
    assert len(compared) > cells
    return np.array(compared)


def under_cover(summary, distance, top, radius_km):
    """Return the summary with slopes and X of edges of ground with cover, in both radii."""
    ends = np.array([0.0, summary.median.distance_km])
    distance, top = np.append(distance, ends), np.append(top, [0.0, 0.0])
    order = np.argsort(distance)
    parts = []
    for path, radius in ((summary.median, radius_km), (summary.beta, BETA_RADIUS_KM)):
        aerials, curvature = (path.tx_height_m, path.rx_height_m), 500.0 / radius
        tx_slope, rx_slope = horizon_slopes(distance[order], top[order], *aerials, curvature)
        fresnel, _ = largest_fresnel(distance[order], top[order], *aerials, curvature)
        parts.append(path._replace(tx_slope=tx_slope, rx_slope=rx_slope, fresnel=fresnel))
    return summary._replace(median=parts[0], beta=parts[1])


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
@pytest.mark.parametrize("place", [EAST, RIDGE])
def test_equals_the_exact_summary_on_its_own_samples(place, time_percent):
    compare(sample_area(), place, Conditions(model="p1812", time_percent=time_percent))


def test_equals_it_with_other_aerials_air_and_polarization():
    conditions = Conditions(model="p1812", time_percent=3.0, delta_n=60.0, n0=350.0)
    compare(sample_area(), RIDGE, conditions, tx_m=250.0, rx_m=1.5, vertical=True)


@pytest.mark.parametrize("time_percent", [1.0, 30.0, 50.0])
def test_equals_it_with_ground_cover(time_percent):
    area = sample_area()
    cover = np.random.default_rng(2).choice([0.0, 0.0, 8.0, 20.0], area.ground.heights.shape)
    conditions = Conditions(model="p1812", time_percent=time_percent, clutter="test")
    with_cover = compare(replace(area, cover=cover.astype(np.float32)), EAST, conditions)
    divided = np.repeat(np.repeat(cover, 3, axis=0), 3, axis=1).astype(np.float32)
    np.testing.assert_array_equal(
        with_cover,
        compare(replace(area, cover=divided), EAST, conditions),
        "cells in parts are the same cover",
    )
    bare = compare(area, EAST, conditions)
    assert with_cover.mean() > bare.mean() + 1.0


def test_equals_it_with_a_low_aerial_beside_cover():
    """The edge of the first stretch stands where it is, not at the ray's first sample."""
    area = sample_area()
    cover = np.random.default_rng(2).choice([0.0, 8.0, 20.0], area.ground.heights.shape)
    conditions = Conditions(model="p1812", time_percent=50.0, clutter="test")
    compare(replace(area, cover=cover.astype(np.float32)), EAST, conditions, tx_m=3.0)


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
def test_equals_it_over_sea_and_coast(time_percent):
    area = sample_area()
    zones = np.full(area.ground.heights.shape, 4, dtype=np.uint8)
    zones[:, 120:260] = 1
    zones[:, 110:120] = zones[:, 260:275] = 3
    zones[200:230, 150:170] = 3
    compare(replace(area, zones=zones), EAST, Conditions(model="p1812", time_percent=time_percent))


@pytest.mark.parametrize("time_percent", [1.0, 50.0])
def test_equals_it_on_dead_flat_ground(time_percent):
    area = flat_area(size=300)
    place = tuple(float(v) for v in to_lonlat_deg(area.grid, 745_010.0, 4_045_030.0))
    compare(area, place, Conditions(model="p1812", time_percent=time_percent))


def test_sea_carries_further_for_little_time():
    area = flat_area(height_m=2.0, size=600, cell_size_m=200.0)
    sea = replace(area, zones=np.full(area.ground.heights.shape, 1, dtype=np.uint8))
    place = tuple(float(v) for v in to_lonlat_deg(area.grid, 790_000.0, 4_000_000.0))
    conditions = Conditions(model="p1812", time_percent=1.0)

    def losses(over: Area) -> np.ndarray:
        rays = rays_over(over, place)
        job = p1812_job(
            over,
            rays,
            [600.0],
            conditions,
            tx_ground_m=2.0,
            tx_height_m=30.0,
            rx_height_m=10.0,
            latitude_deg=50.0,
            vertical=False,
        )
        return sweep_losses(over, rays, 1, job)[0]

    gain_db = losses(area) - losses(sea)
    assert gain_db[300, 590] > 10.0
    assert gain_db[300, 310] == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
@pytest.mark.parametrize("place", [EAST, RIDGE])
def test_agrees_with_the_geodesic_profile_of_each_cell(place, time_percent):
    """Median 0.1 dB, r.m.s. 0.8 dB: the limits set for an area map of wooded ridges."""
    area = sample_area()
    conditions = Conditions(model="p1812", time_percent=time_percent)
    field = predict_coverage(area, station(place), conditions=conditions)[0].field_dbuv_m
    x, y = cell_centres_m(area.grid)
    differences = []
    for row, column in np.random.default_rng(6).integers(0, (area.grid.rows, area.grid.columns), (1500, 2)):
        lon, lat = to_lonlat_deg(area.grid, x[column], y[row])
        try:
            profile = geodesic_profile(area.terrain, *place, float(lon), float(lat))
        except TerrainGapError:
            continue
        if np.isnan(field[row, column]) or profile.distance_km[-1] < 0.5:
            continue
        exact = predict_path(
            profile, tx_height_m=40.0, rx_height_m=10.0, frequency_mhz=474.0, conditions=conditions
        )
        differences.append(field[row, column] - exact.field_strength_1kw_dbuv_m)
    differences = np.array(differences)
    assert differences.size > 1000
    assert np.median(np.abs(differences)) <= 0.1
    assert np.sqrt(np.mean(differences**2)) <= 0.8
    assert abs(differences.mean()) <= 0.1


def test_less_time_never_means_less_field():
    area = sample_area()
    fields = [
        predict_coverage(area, station(RIDGE), conditions=Conditions(model="p1812", time_percent=percent))[
            0
        ].field_dbuv_m
        for percent in (1.0, 10.0, 50.0)
    ]
    assert np.nanmin(fields[0] - fields[1]) > -0.01
    assert np.nanmin(fields[1] - fields[2]) > -0.01
    assert np.nanmedian(fields[0] - fields[2]) > 0.1


def test_cover_of_another_shape_is_refused():
    area = sample_area()
    with pytest.raises(RangeError, match="shape of cover"):
        survey_area(area.terrain, area.grid, cover=np.zeros((3, 3), dtype=np.float32))


def test_values_along_a_ray_are_those_of_the_nearest_raster_cells():
    area = sample_area()
    cells = np.arange(area.ground.heights.size, dtype=np.float64).reshape(area.ground.heights.shape)
    found = np.empty(16)
    nearest_along(area.ground, cells, 150.0, 80.0, 0.7, 0.6, found)
    steps = np.arange(1, 17)
    expected = [nearest(area.ground, cells, 150.0 + 0.7 * k, 80.0 + 0.6 * k) for k in steps]
    assert np.mean(found == expected) > 0.9
    assert np.isnan(nearest(area.ground, cells, -2000.0, 5.0))


def test_unknown_cover_is_no_prediction_behind_it():
    area = flat_area(size=100)
    cover = np.zeros(area.ground.heights.shape, dtype=np.float32)
    cover[40:60, 60] = np.nan
    area = replace(area, cover=cover)
    place = tuple(float(v) for v in to_lonlat_deg(area.grid, 735_000.0, 4_055_000.0))
    rays = rays_over(area, place)
    job = p1812_job(
        area,
        rays,
        [474.0],
        Conditions(model="p1812", time_percent=10.0),
        tx_ground_m=100.0,
        tx_height_m=40.0,
        rx_height_m=10.0,
        latitude_deg=36.6,
        vertical=False,
    )
    losses = sweep_losses(area, rays, 1, job)[0]
    assert np.isnan(losses[50, 90])
    assert np.isfinite(losses[50, 30])
    assert np.isfinite(losses[5, 50])


def test_unknown_zones_are_no_prediction_in_them_and_behind_them():
    area = flat_area(size=120)
    place = tuple(float(v) for v in to_lonlat_deg(area.grid, *middle_m(area)))
    zones = np.full(area.ground.heights.shape, 4, dtype=np.uint8)
    rays = rays_over(area, place)
    known = p1812_losses(replace(area, zones=zones), rays, place)
    zones[:, 80:84] = 0
    gap = p1812_losses(replace(area, zones=zones), rays, place)
    assert np.isfinite(known).sum() == known.size - 1 or np.isfinite(known).all()
    np.testing.assert_array_equal(gap[:, :79], known[:, :79])
    assert np.isnan(gap[30:90, 85:]).all()
    assert np.isnan(gap[:, 80:83]).all()
    zones[:] = 4
    zones[58:63, 58:63] = 0
    assert np.isnan(p1812_losses(replace(area, zones=zones), rays, place)).all(), "an unknown station"


def middle_m(area: Area) -> tuple[float, float]:
    grid = area.grid
    return (
        grid.west_m + 0.5 * grid.columns * grid.cell_size_m,
        grid.north_m - 0.5 * grid.rows * grid.cell_size_m,
    )


def p1812_losses(area: Area, rays, place) -> np.ndarray:
    """Return the loss [dB] at 600 MHz and 1 % of time in every cell."""
    job = p1812_job(
        area,
        rays,
        [600.0],
        Conditions(model="p1812", time_percent=1.0),
        tx_ground_m=float(area.heights_m[0, 0]),
        tx_height_m=40.0,
        rx_height_m=10.0,
        latitude_deg=place[1],
        vertical=False,
    )
    return sweep_losses(area, rays, 1, job)[0]
