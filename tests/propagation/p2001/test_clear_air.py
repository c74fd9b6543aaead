"""Clear-air fading of P.2001-4 and the search for a fade: Attachments B and I, and diffraction's own ways."""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.propagation.p2001.clear_air import (
    scatter_chance_percent,
    stretch_percent,
    surface_chance_percent,
)
from combe.propagation.p2001.fade_search import fade_exceeded_db
from support_p2001 import hill, plain

PLACE = {"factor": 1e-4, "frequency_ghz": 0.6, "middle_latitude_deg": 50.0}


@pytest.mark.parametrize("occurrence", [1e-9, 1e-4, 0.04, 1.0, 30.0])
def test_fades_are_rarer_the_deeper_they_are(occurrence: float) -> None:
    fades = np.linspace(-20.0, 50.0, 281)
    chances = [surface_chance_percent(fade, occurrence) for fade in fades]
    assert np.all(np.diff(chances) <= 1e-12)
    assert chances[0] > 99.0
    assert surface_chance_percent(0.0, occurrence) == surface_chance_percent(-0.0, occurrence) == 50.0
    assert surface_chance_percent(-1e-9, occurrence) == pytest.approx(50.0, abs=1e-6)


def test_deep_fades_are_as_frequent_as_multipath() -> None:
    """Ten times the multipath is some ten times the time below a deep fade."""
    seldom, often = (surface_chance_percent(40.0, occurrence) for occurrence in (0.01, 0.1))
    assert 7.0 < often / seldom < 13.0


@pytest.mark.parametrize("latitude", [45.0, -45.0])
def test_multipath_does_not_jump_at_45_degrees(latitude: float) -> None:
    near, far = (
        stretch_percent(40.0, 1.0, 0.0, **(PLACE | {"middle_latitude_deg": latitude * k}))
        for k in (0.9999999, 1.0000001)
    )
    assert near == pytest.approx(far, rel=1e-4)


def test_multipath_by_its_factors() -> None:
    """Worked by hand of (B.3.1) to (B.3.3): Cg of 40 km and 1 mrad at 50° is 7.2096 dB."""
    found = stretch_percent(40.0, 1.0, 0.0, **PLACE)
    cg = 10.5 - 5.6 * math.log10(1.1 - abs(math.cos(math.radians(100.0))) ** 0.7)
    cg += -2.7 * math.log10(40.0) + 1.7 * math.log10(2.0)
    assert cg == pytest.approx(7.2096, abs=2e-4)
    assert found == pytest.approx(1e-4 * 40.0**3.1 * 2.0**-1.29 * 0.6**0.8 * 10.0 ** (-0.1 * cg))
    assert stretch_percent(40.0, 1.0, 1000.0, **PLACE) == pytest.approx(found * 10.0**-0.89)
    short = stretch_percent(0.1, 1.0, 0.0, **PLACE)
    assert short == pytest.approx(1e-4 * 0.1**3.1 * 2.0**-1.29 * 0.6**0.8 * 10.0**-1.08), "Cg ends at 10.8"
    turned = stretch_percent(40.0, 1.0, 0.0, **(PLACE | {"middle_latitude_deg": 45.5}))
    assert turned == pytest.approx(
        found * ((1.1 - abs(math.cos(math.radians(91.0))) ** 0.7) / 0.80640) ** 0.56, rel=1e-4
    )
    equator = stretch_percent(40.0, 1.0, 0.0, **(PLACE | {"middle_latitude_deg": 0.0}))
    assert equator > found


def test_multipath_beyond_the_horizon_is_that_of_the_worse_end() -> None:
    found = hill()
    factor = 10.0 ** -(4.6 - 0.0027 * 230.0)
    ends = [
        stretch_percent(km, abs(mrad), height, factor, 0.6, found.middle_latitude_deg)
        for km, mrad, height in (
            (found.tx_horizon_km, found.tx_horizon_mrad, 60.0),
            (found.rx_horizon_km, found.rx_horizon_mrad, 10.0),
        )
    ]
    assert found.multipath_percent == max(ends) == ends[1]


def test_multipath_of_a_clear_path_goes_by_its_slope_and_its_lower_end() -> None:
    found = plain()
    factor = 10.0 ** -(4.6 - 0.0027 * 230.0)
    expected = stretch_percent(30.0, 50.0 / 30.0, 110.0, factor, 0.6, found.middle_latitude_deg)
    assert found.multipath_percent == pytest.approx(expected)


@pytest.mark.parametrize("root_db", [-170.3, -21.7, -4.99, -0.01, 0.3, 4.2, 7.7, 24.0, 60.0, 300.0])
def test_a_fade_is_found_within_half_a_step(root_db: float) -> None:
    """The step is 5/1024 dB wherever the root lies, for halvings follow the width of the bracket."""
    found = fade_exceeded_db(lambda fade, root: 50.0 - math.atan(fade - root), root_db, 50.0)
    assert abs(found - root_db) <= 5.0 / 2048.0
    assert found * 2048.0 / 5.0 == round(found * 2048.0 / 5.0)


def test_no_fade_is_half_a_step_off_nought() -> None:
    """What the Recommendation ends at, too: on which side goes by the comparison."""
    assert (scatter_chance_percent(-1e-9), scatter_chance_percent(0.0)) == (100.0, 0.0)
    assert fade_exceeded_db(lambda fade, _: scatter_chance_percent(fade), None, 1.0) == -10.0 / 4096.0
    assert fade_exceeded_db(surface_chance_percent, 0.04, 50.0) == 10.0 / 4096.0


def test_a_chance_that_never_falls_ends_the_search() -> None:
    """Eleven steps and no more: the bracket is then the last of them."""
    reach_db = 5.0 + 10.0 * sum(2.0**step for step in range(1, 12))
    assert fade_exceeded_db(lambda *_: 100.0, None, 1.0) == pytest.approx(reach_db, abs=0.01)
    assert fade_exceeded_db(lambda *_: 0.0, None, 1.0) == pytest.approx(-reach_db, abs=0.01)


def test_the_spherical_loss_may_be_a_gain_and_costs_nothing_then() -> None:
    """Long vertical waves between aerials close to the sea, beyond their horizon."""
    sea = {"zone": 1, "height_m": 0.0, "frequency_mhz": 33.0, "polarization": "vertical"}
    found = plain(2.0, tx_height_m=0.1, rx_height_m=0.05, **sea)
    assert found.spherical_db < -10.0
    assert found.diffraction_loss_db == found.bullington_db
