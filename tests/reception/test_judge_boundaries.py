"""Judged cells against exact answers on a flat earth in free space."""

import math

import numpy as np
import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.propagation.p525 import free_space_loss_db
from combe.reception.judges import Fields, Rules
from combe.reception.nuisance import off_axis_deg
from combe.reception.service import served_mask
from support_judging import (
    NO_NEGLECT,
    emission,
    judged,
)


def flat_earth(emissions, erp_dbw, cell_m=100.0, half_m=15e3):
    x = np.arange(-half_m + cell_m / 2, half_m, cell_m)
    y = x[::-1].copy()
    far = [np.hypot(x[None, :] - each.x_m, y[:, None] - each.y_m) / 1000.0 for each in emissions]
    median = [
        field_from_loss_dbuv_m(power, free_space_loss_db(d, 602.0), 602.0)
        for d, power in zip(far, erp_dbw, strict=True)
    ]
    layers = np.stack(median).astype(np.float32)
    return Fields(x, y, layers, layers)


def test_boundary_of_service_against_one_interferer():
    """Off the aerial's axis by 60° and more, service ends on a circle of Apollonius.

    West at −10 km and East at 10 km, equal power, no scatter and no noise. Service where the field of West is
    20 − 16 dB over that of East: r_east/r_west ≥ 10^(4/20) = k. On the line between them the boundary is at
    r_west = 20/(k + 1) km.
    """
    pair = [emission("West", -10e3, sigma_db=0.0, minimum_dbuv_m=-100.0),
            emission("East", 10e3, sigma_db=0.0, minimum_dbuv_m=-100.0, service="B")]  # fmt: skip
    fields = flat_earth(pair, (30.0, 30.0))
    result = judged(pair, fields, Rules(50.0, **NO_NEGLECT))
    x, y = np.meshgrid(fields.x_m, fields.y_m)
    west, east = np.hypot(x + 10e3, y), np.hypot(x - 10e3, y)
    angle = off_axis_deg(x, y, (-10e3, 0.0), (10e3, 0.0))
    ratio_db = 20.0 - np.clip((angle - 20.0) * 0.4, 0.0, 16.0)
    expected = 20.0 * np.log10(east / west) >= ratio_db
    clear = np.abs(20.0 * np.log10(east / west) - ratio_db) > 1e-4
    assert np.array_equal(result.served[clear], expected[clear])
    assert np.count_nonzero(~clear) < 10
    row = np.argmin(np.abs(fields.y_m - 50.0))
    limit_m = -10e3 + 20e3 / (10.0 ** (4.0 / 20.0) + 1.0)
    reached = fields.x_m[result.served[row]].max()
    assert abs(reached - limit_m) <= 100.0
    assert np.count_nonzero(result.served) > 1000
    assert np.all(result.noise_margin_db[~result.served] >= 0.0)


def test_boundary_of_service_against_noise_and_interference():
    """With scatter, the margin against one interferer on the line between two stations is known exactly."""
    pair = [emission("West", -10e3, minimum_dbuv_m=-100.0),
            emission("East", 10e3, minimum_dbuv_m=-100.0, service="B")]  # fmt: skip
    fields = flat_earth(pair, (30.0, 30.0))
    result = judged(pair, fields, Rules(70.0, **NO_NEGLECT))
    over_db = 4.0 + 0.52 * 5.5 * math.sqrt(2.0)
    limit_m = -10e3 + 20e3 / (10.0 ** (over_db / 20.0) + 1.0)
    row = np.argmin(np.abs(fields.y_m - 50.0))
    assert abs(fields.x_m[result.served[row]].max() - limit_m) <= 100.0
    # Alone, West serves to where free space falls to its minimum field and μσ.
    alone = [emission("West", -10e3, minimum_dbuv_m=60.0)]
    fields = flat_earth(alone, (0.0,))
    result = judged(alone, fields, Rules(70.0))
    radius_m = 1000.0 * 10.0 ** ((106.92 - 30.0 - 60.0 - 0.52 * 5.5) / 20.0)
    x, y = np.meshgrid(fields.x_m, fields.y_m)
    assert np.array_equal(result.served, served_mask(result.noise_margin_db, 0.0))
    assert np.hypot(x + 10e3, y)[result.served].max() == pytest.approx(radius_m, abs=100.0)
    assert result.noise_margin_db[~result.served].max() < 0.0
