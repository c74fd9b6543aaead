"""Rain and melting snow of P.2001-4: Attachment C."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.propagation.p2001.conditions import Conditions, make_conditions
from combe.propagation.p2001.melting_layer import mean_multiplier, multiplier
from combe.propagation.p2001.rain import (
    TOP_CHANCES,
    Rain,
    joined_percent,
    no_rain,
    rain_chance_percent,
    rain_on,
)
from combe.propagation.p2001.rain_attenuation import rain_law
from support_p2001 import HUMID, RAINY, hill, plain


def air(frequency_ghz: float = 12.0, time_percent: float = 99.9) -> Conditions:
    return make_conditions(RAINY, frequency_mhz=1000.0 * frequency_ghz, time_percent=time_percent)


def rain(low_m: float = 100.0, high_m: float = 150.0, km: float = 20.0, ghz: float = 12.0) -> Rain:
    return rain_on(RAINY.air, air(ghz), low_m, high_m, km)


def test_tops_of_the_rain_lie_evenly_about_their_median() -> None:
    assert len(TOP_CHANCES) == 49
    assert sum(TOP_CHANCES) == pytest.approx(1.0, abs=1e-3)
    assert TOP_CHANCES[::-1] == TOP_CHANCES
    assert max(TOP_CHANCES) == TOP_CHANCES[24] == pytest.approx(0.049978)


def test_melting_snow_is_worst_and_dry_snow_nothing() -> None:
    assert multiplier(1.0) == multiplier(0.0) == 0.0
    assert multiplier(-1200.0) == pytest.approx(1.0, abs=0.05)
    # 4 (1 − e^−1)² = 1.59830 hardly settled by (1 − e^−0.01361)², and 3.89064 settled by (1 − e^−0.25)².
    assert multiplier(-70.0) == pytest.approx(1.59813, abs=1e-5)
    assert multiplier(-300.0) == pytest.approx(3.40855, abs=1e-5)
    heights = np.linspace(-1199.0, 0.0, 1200)
    worst = heights[np.argmax([multiplier(height) for height in heights])]
    assert 100.0 < -worst < 400.0


@pytest.mark.parametrize(
    ("low_m", "high_m"),
    [(2000.0, 3000.0), (1000.0, 2500.0), (2710.0, 2790.0), (2750.0, 2850.0), (1200.0, 3500.0), (0.0, 2950.0)],
)
def test_the_multiplier_of_a_stretch_is_the_mean_over_its_heights(low_m: float, high_m: float) -> None:
    """Slices of 100 m stand for their middles: within 4 % of the integral."""
    middles = low_m + (np.arange(4000) + 0.5) * (high_m - low_m) / 4000.0
    mean = np.mean([multiplier(height - 3000.0) for height in middles])
    assert mean_multiplier(low_m, high_m, 3000.0) == pytest.approx(mean, rel=0.04)


@pytest.mark.parametrize(
    ("low_m", "high_m", "parts"),
    [
        # heights over the top of the rain; share of the stretch and middle of each slice, as Γ takes it
        (-50.0, 50.0, [(0.5, -25.0)]),
        (-150.0, -50.0, [(0.5, -75.0), (0.5, -125.0)]),
        (
            -320.0,
            -80.0,
            [(20.0 / 240.0, -90.0), (100.0 / 240.0, -150.0), (100.0 / 240.0, -250.0), (20.0 / 240.0, -310.0)],
        ),
        (-1150.0, -1050.0, [(0.5, -1075.0), (0.5, -1125.0)]),
        (-1400.0, -1150.0, [(0.2, -1175.0), (0.8, -9999.0)]),
        (-60.0, -40.0, [(1.0, -50.0)]),
    ],
)
def test_slices_of_the_melting_layer(low_m: float, high_m: float, parts: list[tuple[float, float]]) -> None:
    expected = sum(share * multiplier(middle) for share, middle in parts)
    assert mean_multiplier(3000.0 + low_m, 3000.0 + high_m, 3000.0) == pytest.approx(expected)


def test_stretches_in_plain_rain_and_above_all_rain() -> None:
    assert mean_multiplier(0.0, 1700.0, 3000.0) == 1.0
    assert mean_multiplier(3001.0, 3500.0, 3000.0) == 0.0
    low = rain(low_m=100.0, high_m=150.0)
    assert (low.gains, low.shares) == ([1.0], [pytest.approx(sum(TOP_CHANCES))])


def test_all_of_the_chance_is_given_out_as_long_as_the_stretch_is_below_the_top() -> None:
    """Low stretches have plain rain alone, high ones many layers; tops below a stretch are dry."""
    top_m = 360.0 + 1000.0 * RAINY.rain_height_km
    within = rain(top_m - 2500.0, top_m - 1000.0)
    assert sum(within.shares) == pytest.approx(sum(TOP_CHANCES))
    assert len(within.gains) > 10
    above = rain(top_m + 50.0, top_m + 100.0)
    assert sum(above.shares) == pytest.approx(sum(TOP_CHANCES[25:]))
    assert rain(top_m + 2400.0, top_m + 2500.0) == no_rain()


def test_rain_fades_are_rarer_the_deeper_and_always_exceed_nought() -> None:
    found = rain()
    chances = [rain_chance_percent(fade, found) for fade in np.linspace(0.0, 60.0, 61)]
    assert np.all(np.diff(chances) < 0.0)
    assert chances[0] == pytest.approx(100.0 * sum(TOP_CHANCES))
    assert rain_chance_percent(-0.1, found) == 100.0
    assert rain_chance_percent(0.0, no_rain()) == 0.0


def test_a_rate_of_rain_and_its_two_laws() -> None:
    """Of the rainy time, exp(−a R (bR + 1)/(cR + 1)) has more than R mm/h; γ = k R^α makes the fade of it."""
    found = rain(km=1.0)
    law = rain_law(12.0, 0.001 * 50.0 / 1.0, vertical=False)
    thin = 0.6546 * math.exp(-0.009516) + 0.3499 * math.exp(-0.001182)
    alpha = 0.95 * law.alpha + 0.1572 * math.exp(-0.02268) - 0.1594 * math.exp(-0.0003617)
    assert found.exponent == pytest.approx(alpha)
    assert found.attenuation_db == pytest.approx(1.763**law.alpha * law.k * thin)
    rate = 20.0
    share = math.exp(-1.09 * rate * (found.b * rate + 1.0) / (found.c * rate + 1.0))
    fade_db = found.attenuation_db * rate**alpha
    assert rain_chance_percent(fade_db, found) == pytest.approx(100.0 * share * sum(TOP_CHANCES))


def test_time_with_rain_by_the_climate() -> None:
    """Pr6 (1 − exp(−0.0079 Ms/Pr6)) of 12 %, 1200 mm, 30 % convective is 5.0975 %."""
    assert rain().rainy_percent == pytest.approx(12.0 * (1.0 - math.exp(-0.0079 * 840.0 / 12.0)))
    dry = replace(RAINY, rain_six_hours_percent=0.0)
    assert rain_on(dry.air, air(), 100.0, 150.0, 20.0) == no_rain()
    none = replace(RAINY, rain_mm_per_year=0.0)
    assert rain_on(none.air, air(), 100.0, 150.0, 20.0) == no_rain()
    showers = replace(RAINY, convective_rain_share=1.0)
    assert rain_on(showers.air, air(), 100.0, 150.0, 20.0) == no_rain()
    assert rain_on(HUMID.air, air(), 100.0, 150.0, 20.0) == no_rain()
    assert rain(km=0.0) == no_rain()


@pytest.mark.parametrize("percent", [97.0, 99.0, 99.9])
def test_vapour_in_rain_counts_the_more_the_rarer_the_fade(percent: float) -> None:
    """(C.2.13) and (C.2.14) with Qtran of (C.2.6), as they are written."""
    conditions = air(time_percent=percent)
    found = rain_on(RAINY.air, conditions, 100.0, 150.0, 20.0)
    rainy = found.rainy_percent
    between = rainy * math.exp(1.09 * (2.0 * found.b - found.c) / found.c**2)
    weight = 6.0 * math.log10(rainy / conditions.exceeded_percent) / math.log10(rainy / between) - 3.0
    expected = 0.5 * (1.0 + math.tanh(weight)) * sum(TOP_CHANCES)
    assert found.vapour_factor == pytest.approx(expected)


def test_rain_and_clear_air_share_the_time() -> None:
    found = rain()
    share = found.rainy_percent / 100.0
    expected = share * rain_chance_percent(8.0, found) + 0.3 * (1.0 - share)
    assert joined_percent(8.0, found, 0.3) == pytest.approx(expected)
    assert joined_percent(8.0, no_rain(), 0.3) == 0.3


def test_rain_of_more_than_300_km_is_rain_of_300_km() -> None:
    assert rain(km=400.0).attenuation_db == pytest.approx(rain(km=300.0).attenuation_db, rel=1e-6)
    assert rain(km=300.0).attenuation_db > rain(km=290.0).attenuation_db


def test_dry_snow_never_fades() -> None:
    nothing = Rain(5.0, 0.0, 0.01, 0.26, 0.1, 1.0, [0.0], [1.0])
    assert rain_chance_percent(0.0, nothing) == rain_chance_percent(5.0, nothing) == 0.0


def test_under_one_gigahertz_rain_goes_with_frequency() -> None:
    whole, half = rain_law(1.0, 0.0, vertical=True), rain_law(0.5, 0.0, vertical=True)
    assert (half.k, half.alpha) == (0.5 * whole.k, whole.alpha)


def test_a_slant_path_has_both_polarizations_in_parts() -> None:
    """At 90° both are alike; in the level each is its own."""
    upright = [rain_law(20.0, math.pi / 2.0, vertical) for vertical in (False, True)]
    assert upright[0] == pytest.approx(upright[1])
    level = [rain_law(20.0, 0.0, vertical).k for vertical in (False, True)]
    assert upright[0].k == pytest.approx(0.5 * sum(level))


def test_rain_rules_feeds_of_microwaves() -> None:
    """At 12 GHz and 99.9 %; the wet air counts with it."""
    dry, wet = (
        plain(20.0, climate=each, frequency_mhz=12_000.0, time_percent=99.9) for each in (HUMID, RAINY)
    )
    assert wet.clear_air_fade_db > dry.clear_air_fade_db + 3.0
    assert wet.rain_vapour_factor > 0.5
    assert dry.rain_vapour_factor == 0.0
    more_vapour = wet.vapour_loss_in_rain_db - wet.vapour_loss_db
    assert more_vapour > 0.0
    expected = dry.normal_db + wet.clear_air_fade_db - dry.clear_air_fade_db
    assert wet.normal_db == pytest.approx(expected + wet.rain_vapour_factor * more_vapour)


@pytest.mark.parametrize(
    ("six_hours", "yearly_mm", "convective", "most_db"),
    [(12.0, 1200.0, 0.3, 0.25), (25.0, 6000.0, 0.6, 0.7)],
)
def test_under_one_gigahertz_rain_takes_little_off_the_fades(
    six_hours: float, yearly_mm: float, convective: float, most_db: float
) -> None:
    """By runs of the public code on other paths the loss falls by up to 0.25 and 0.67 dB, at 99.99 %."""
    wet = replace(
        HUMID,
        rain_six_hours_percent=six_hours,
        rain_mm_per_year=yearly_mm,
        convective_rain_share=convective,
    )
    gains = [
        path(climate=wet, time_percent=99.99, frequency_mhz=mhz).basic_transmission_loss_db
        - path(climate=HUMID, time_percent=99.99, frequency_mhz=mhz).basic_transmission_loss_db
        for mhz in (65.0, 200.0, 600.0, 900.0)
        for path in (hill, lambda **a: plain(60.0, tx_height_m=150.0, rx_height_m=30.0, **a))
    ]
    assert max(gains) < 0.02
    assert -most_db - 0.006 < min(gains) < -0.5 * most_db


def test_legs_of_scatter_have_their_own_rain() -> None:
    dry, wet = (
        plain(200.0, climate=each, frequency_mhz=12_000.0, time_percent=99.9) for each in (HUMID, RAINY)
    )
    assert dry.scatter_fade_db == pytest.approx(-10.0 / 4096.0 * (2.0 + 3.6) / (1.0 + 3.6))
    assert wet.scatter_fade_db > 5.0
    assert wet.troposcatter_db > dry.troposcatter_db + 5.0
