"""Checks of the receive aerial: gain of a stack, and discrimination by direction and polarization."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception.receive_aerial import ReceiveAerial, discrimination_db, stack_gain_dbi
from combe.standards.bt419 import DIRECTIVITY_BAND_III
from combe.stations.pattern import Pattern

AERIAL = ReceiveAerial(gain_dbi=14.15, bearing_deg=350.0, polarization="horizontal")
PATTERN = Pattern(
    tuple(float(angle) for angle in range(0, 360, 30)),
    (0.0, -6.0, -15.0, -20.0, -25.0, -30.0, -30.0, -30.0, -25.0, -20.0, -15.0, -6.0),
    "horizontal",
    "invented",
)


# Ideal stacking is 10 log n; practice is 2.5 to 2.9 dB a doubling (common practice, from memory).
@pytest.mark.parametrize(
    ("count", "loss_db", "gain_dbi"), [(1, 0.0, 14.15), (2, 0.3, 16.86), (4, 0.6, 19.57)]
)
def test_gain_of_a_stack(count: int, loss_db: float, gain_dbi: float) -> None:
    stack = replace(AERIAL, count=count, stacking_loss_db=loss_db)
    assert stack_gain_dbi(stack) == pytest.approx(gain_dbi, abs=0.005)


# ITU-R BT.419-3 about an axis of 350 degrees: 0 to 20 degrees off, 0.4 dB a degree, 16 dB from 60.
@pytest.mark.parametrize(
    ("bearing_deg", "expected_db"), [(350.0, 0.0), (10.0, 0.0), (20.0, 4.0), (320.0, 4.0), (170.0, 16.0)]
)
def test_bt419_for_want_of_a_pattern(bearing_deg: float, expected_db: float) -> None:
    assert discrimination_db(AERIAL, bearing_deg, "horizontal") == pytest.approx(expected_db)


def test_bt419_of_the_aerials_band() -> None:
    """ITU-R BT.419-3, Band III, from memory: -4 dB 38 degrees off, -12 dB from 60."""
    aerial = replace(AERIAL, curve=DIRECTIVITY_BAND_III)
    assert discrimination_db(aerial, 28.0, "horizontal") == pytest.approx(4.0)
    assert discrimination_db(aerial, 170.0, "horizontal") == pytest.approx(12.0)


def test_bt419_other_polarization_is_one_value() -> None:
    """ITU-R BT.419-3: 16 dB from everywhere, from memory."""
    for bearing_deg in (350.0, 20.0, 170.0):
        assert discrimination_db(AERIAL, bearing_deg, "vertical") == pytest.approx(16.0)


def test_own_pattern_turns_with_the_axis() -> None:
    aerial = replace(AERIAL, pattern=PATTERN, cross_polar_db=22.0)
    assert discrimination_db(aerial, 20.0, "horizontal") == pytest.approx(6.0)
    assert discrimination_db(aerial, 320.0, "horizontal") == pytest.approx(6.0)
    assert discrimination_db(aerial, 170.0, "horizontal") == pytest.approx(30.0)


def test_the_greater_discrimination_counts_not_the_sum() -> None:
    aerial = replace(AERIAL, pattern=PATTERN, cross_polar_db=22.0)
    assert discrimination_db(aerial, 20.0, "vertical") == pytest.approx(22.0)
    assert discrimination_db(aerial, 170.0, "vertical") == pytest.approx(30.0)


@given(st.floats(0.0, 360.0), st.floats(0.0, 360.0), st.sampled_from(["horizontal", "vertical"]))
def test_never_negative_and_never_worse_across(
    axis_deg: float, bearing_deg: float, polarization: str
) -> None:
    aerial = replace(AERIAL, bearing_deg=axis_deg, polarization=polarization)
    alike = discrimination_db(aerial, bearing_deg, aerial.polarization)
    across = discrimination_db(
        aerial, bearing_deg, "vertical" if polarization == "horizontal" else "horizontal"
    )
    assert 0.0 <= alike <= across + 1e-9


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"bearing_deg": 361.0}, "bearing_deg of the receive aerial is 361.0; allowed: 0 to 360"),
        ({"count": 0}, "count of the receive aerial is 0; allowed: a whole number, 1 to 16"),
        ({"polarization": "slant"}, "polarization of the receive aerial is 'slant'; allowed: horizontal or"),
        (
            {"pattern": Pattern((-90.0, *range(-60, 90, 30), 90.0), (0.0,) * 7, "vertical", "x")},
            "pattern of the receive aerial is a vertical pattern; allowed: horizontal",
        ),
    ],
)
def test_refused(change: dict[str, object], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(AERIAL, **change)  # type: ignore[arg-type]
    assert str(caught.value).startswith(message)
