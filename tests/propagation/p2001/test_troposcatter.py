"""Troposcatter of P.2001-4: Attachment E, and its legs in rain (§4.3)."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.propagation.p2001.conditions import make_conditions
from combe.propagation.p2001.gases import scatter_leg_gases
from combe.propagation.p2001.rain import rain_on
from combe.propagation.p2001.troposcatter import y90_db
from support_p2001 import RAINY, TEMPERATE, hill, plain


@pytest.mark.parametrize(("zone", "near", "far"), [(1, 100.0, 1000.0), (3, 100.0, 465.0), (4, 100.0, 550.0)])
def test_the_changes_of_scatter_with_time_hardly_jump_where_their_pieces_meet(
    zone: int, near: float, far: float
) -> None:
    for distance_km in (near, far):
        ends = [y90_db(zone, 0.6, 1.0, distance_km + off) for off in (-1e-6, 1e-6)]
        assert ends[0] == pytest.approx(ends[1], abs=0.05)
    assert y90_db(zone, 0.6, 1.0, 50.0) == y90_db(zone, 0.6, 1.0, 10.0)


@pytest.mark.parametrize(
    ("zone", "distance_km", "expected"),
    [
        (1, 99.0, -8.2),
        (1, 101.0, -8.18728),
        (1, 1010.0, -3.4),
        (3, 99.0, -10.845),
        (3, 101.0, -10.89119),
        (3, 470.0, -8.4),
        (4, 99.0, -11.5),
        (4, 101.0, -11.47063),
        (4, 555.0, -4.0),
    ],
)
def test_the_ends_of_the_pieces(zone: int, distance_km: float, expected: float) -> None:
    """Worked by hand of (E.8) to (E.10)."""
    assert y90_db(zone, 0.6, 1.0, distance_km) == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("zone", range(7))
def test_scatter_varies_with_time_in_every_zone(zone: int) -> None:
    """Losses of scatter are lowest for little of the time, and half of the time has no change."""
    losses = [
        plain(
            300.0, time_percent=percent, climate=replace(TEMPERATE, troposcatter_climate=zone)
        ).scatter_loss_db
        for percent in (1.0, 10.0, 50.0, 90.0, 99.0)
    ]
    assert losses == sorted(losses)
    steps = np.diff(losses)
    assert steps[1] == pytest.approx(steps[2], rel=0.3)
    assert 2.0 < steps[2] < 13.0


@pytest.mark.parametrize(
    ("zone", "expected"),
    [(0, -12.11590), (1, -5.51448), (2, -9.14262), (3, -11.345), (4, -7.82593), (5, -9.14262), (6, -9.14262)],
)
def test_changes_of_scatter_for_ninety_percent(zone: int, expected: float) -> None:
    """Worked by hand of (E.6) to (E.10): 600 MHz, scatter 1 km up, 300 km beyond the horizon."""
    assert y90_db(zone, 0.6, 1.0, 300.0) == pytest.approx(expected, abs=2e-5)
    assert y90_db(5, 4.0, 1.0, 300.0) == y90_db(5, 40.0, 1.0, 300.0) == pytest.approx(-8.46074, abs=2e-5)


def test_changes_of_scatter_for_a_share_of_time() -> None:
    """(E.11): for 90 % of time C is 1.26 (log 5)^0.63 = 1.0052, for 10 % as much below."""
    median, most, few = (plain(300.0, time_percent=percent) for percent in (50.0, 90.0, 10.0))
    height_km = 0.125e-6 * median.scatter_angle_mrad**2 * median.median_radius_km
    change = 1.26 * math.log10(5.0) ** 0.63 * y90_db(5, 0.6, height_km, 250.0)
    assert most.scatter_loss_db - median.scatter_loss_db == pytest.approx(-change, abs=1e-4)
    assert few.scatter_loss_db - median.scatter_loss_db == pytest.approx(change, abs=1e-4)
    little = plain(300.0, time_percent=50.5).scatter_loss_db - median.scatter_loss_db
    assert little == pytest.approx(-change * (math.log10(0.99) / math.log10(0.2)) ** 0.63, abs=1e-4)


@pytest.mark.parametrize(
    ("zone", "constant_db", "decline"),
    [
        # M and γ of table E.1
        (0, 116.0, 0.27),
        (1, 129.6, 0.33),
        (2, 119.73, 0.27),
        (3, 109.3, 0.32),
        (4, 128.5, 0.27),
        (5, 119.73, 0.27),
        (6, 123.2, 0.27),
    ],
)
def test_scatter_in_the_middle_of_the_time(zone: int, constant_db: float, decline: float) -> None:
    """Worked by (E.1) to (E.16): over a hill by the angle cubed, and for 600 km by the distance squared."""
    asked = {"time_percent": 50.0, "climate": replace(TEMPERATE, troposcatter_climate=zone)}
    by_frequency = 25.0 * math.log10(0.6) - 2.5 * math.log10(0.3) ** 2
    for km, found in ((30.0, hill(**asked)), (600.0, plain(600.0, **asked))):
        angle = 1000.0 * km / found.median_radius_km + found.tx_horizon_mrad + found.rx_horizon_mrad
        assert found.scatter_angle_mrad == pytest.approx(angle)
        height_km = 0.125e-6 * angle**2 * found.median_radius_km
        layer = 20.0 * math.log10(5.0 + decline * 0.25e-3 * angle * km) + 4.34 * decline * height_km
        near = 10.0 * math.log10(km) + 30.0 * math.log10(angle) + layer
        far = 20.0 * math.log10(km) + 0.573 * angle + 20.0
        assert (near > far) == (km < 100.0)
        expected = constant_db + by_frequency + max(near, far) + 0.07
        assert found.scatter_loss_db == pytest.approx(max(expected, found.free_space_loss_db))


def test_scatter_is_never_below_free_space() -> None:
    """Long waves in dry air for a minute of the year: 20 dB below it by (E.16)."""
    dry = replace(TEMPERATE, troposcatter_climate=3)
    found = plain(20.0, frequency_mhz=30.0, time_percent=1e-5, climate=dry)
    assert found.scatter_loss_db == found.free_space_loss_db
    assert plain(20.0, frequency_mhz=30.0, climate=dry).scatter_loss_db > found.free_space_loss_db


def test_scatter_in_rain_by_its_legs() -> None:
    """(4.3.6) to (4.3.8): each leg with its own rain and gases, all worked out from the result's geometry."""
    found = plain(200.0, climate=RAINY, frequency_mhz=12_000.0, time_percent=99.9, tx_height_m=200.0)
    conditions = make_conditions(RAINY, frequency_mhz=12_000.0, time_percent=99.9)
    legs = ((found.tx_amsl_m, found.tx_volume_km), (found.rx_amsl_m, found.rx_volume_km))
    rains = [rain_on(RAINY.air, conditions, low_m, found.volume_amsl_m, km) for low_m, km in legs]
    gases = [scatter_leg_gases(12.0, km, 18.0, 100.0, 0.0) for _, km in legs]
    factor = 0.5 * sum(rain.vapour_factor for rain in rains)
    more_vapour = sum(gas.vapour_in_rain_db - gas.vapour_db for gas in gases)
    assert factor > 0.1
    assert more_vapour > 0.01
    assert found.scatter_gas_db == pytest.approx(sum(gas.oxygen_db + gas.vapour_db for gas in gases))
    assert found.troposcatter_db == pytest.approx(
        found.scatter_loss_db + found.scatter_fade_db + factor * more_vapour + found.scatter_gas_db
    )
