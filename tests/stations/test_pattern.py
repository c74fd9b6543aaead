"""Checks of aerial patterns: interpolation, wrapping, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import PatternError
from combe.stations.pattern import Pattern, main_bearings_deg, pattern_gain_db

# An invented cardioid-like table, one row each 30 degrees.
BEARINGS = tuple(float(angle) for angle in range(0, 360, 30))
GAINS = (0.0, -0.5, -1.5, -3.0, -6.0, -10.0, -20.0, -10.0, -6.0, -3.0, -1.5, -0.5)
PANEL = Pattern(BEARINGS, GAINS, "horizontal", "invented")
ELEVATIONS = (-90.0, -60.0, -30.0, -2.0, 0.0, 30.0, 60.0, 90.0)
TILTED_GAINS = (-30.0, -30.0, -30.0, 0.0, -1.0, -30.0, -30.0, -30.0)
TILTED = Pattern(ELEVATIONS, TILTED_GAINS, "vertical", "invented")


@pytest.mark.parametrize(
    ("bearing_deg", "expected_db"),
    [(0.0, 0.0), (30.0, -0.5), (15.0, -0.25), (345.0, -0.25), (-15.0, -0.25), (705.0, -0.25), (180.0, -20.0)],
)
def test_horizontal_gain_is_linear_in_db_and_wraps(bearing_deg: float, expected_db: float) -> None:
    assert pattern_gain_db(PANEL, bearing_deg) == pytest.approx(expected_db, abs=1e-12)


@pytest.mark.parametrize(
    ("elevation_deg", "expected_db"), [(-2.0, 0.0), (-1.0, -0.5), (0.0, -1.0), (90.0, -30.0)]
)
def test_vertical_gain(elevation_deg: float, expected_db: float) -> None:
    assert pattern_gain_db(TILTED, elevation_deg) == pytest.approx(expected_db, abs=1e-12)


def test_no_pattern_is_0_db_everywhere() -> None:
    np.testing.assert_array_equal(
        pattern_gain_db(None, np.array([[0.0, 90.0], [np.nan, 1.0]])), [[0, 0], [np.nan, 0]]
    )
    assert pattern_gain_db(None, 12.0) == 0.0


def test_nan_and_shape_are_kept() -> None:
    gains = pattern_gain_db(PANEL, np.array([[0.0, np.nan], [180.0, 15.0]]))
    np.testing.assert_allclose(gains, [[0.0, np.nan], [-20.0, -0.25]], atol=1e-12)
    assert math.isnan(pattern_gain_db(PANEL, math.nan))


@given(st.floats(-720.0, 720.0), st.integers(-3, 3))
def test_full_turns_change_nothing(bearing_deg: float, turns: int) -> None:
    turned = pattern_gain_db(PANEL, bearing_deg + 360.0 * turns)
    assert turned == pytest.approx(pattern_gain_db(PANEL, bearing_deg), abs=1e-9)


@given(st.floats(0.0, 360.0))
def test_gain_stays_between_the_rows(bearing_deg: float) -> None:
    assert min(GAINS) <= pattern_gain_db(PANEL, bearing_deg) <= 0.0


def test_pattern_keeps_no_hold_on_lists() -> None:
    angles = list(BEARINGS)
    pattern = Pattern(angles, list(GAINS), "horizontal", "invented")  # type: ignore[arg-type]
    angles[0] = 5.0
    assert pattern == PANEL
    assert hash(pattern) == hash(PANEL)


def test_north_may_be_written_twice() -> None:
    closed = Pattern((*BEARINGS, 360.0), (*GAINS, 0.0), "horizontal", "invented")
    assert pattern_gain_db(closed, 359.0) == pattern_gain_db(PANEL, 359.0)


def test_maximum_may_be_a_rounding_off_0() -> None:
    assert (
        Pattern(BEARINGS, tuple(gain - 0.05 for gain in GAINS), "horizontal", "invented").relative_db[0]
        == -0.05
    )


def changed(values: tuple[float, ...], index: int, value: float) -> tuple[float, ...]:
    return (*values[:index], value, *values[index + 1 :])


@pytest.mark.parametrize(
    ("angles", "gains", "kind", "message"),
    [
        (BEARINGS[:-1], GAINS, "horizontal", "11 angles but 12 gains; give one gain per angle"),
        ((0.0,), (0.0,), "horizontal", "the number of rows is 1; give 2 to 4000 rows"),
        (
            BEARINGS[:3] + BEARINGS[4:],
            GAINS[:3] + GAINS[4:],
            "horizontal",
            "gap between bearing 60 and 120 degrees; add rows at most 30 degrees apart",
        ),
        (
            BEARINGS[:-1],
            GAINS[:-1],
            "horizontal",
            "gap between bearing 300 and 0 degrees, through north; add rows at most 30 degrees apart",
        ),
        (
            changed(BEARINGS, 0, -10.0),
            GAINS,
            "horizontal",
            "bearing -10 degrees is out of range; allowed: 0 to 360",
        ),
        (
            changed(BEARINGS, 4, math.nan),
            GAINS,
            "horizontal",
            "bearing nan degrees is out of range; allowed: 0 to 360",
        ),
        (
            changed(BEARINGS, 2, 30.0),
            GAINS,
            "horizontal",
            "bearing 30 degrees comes after 30; put the rows in ascending order, each angle once",
        ),
        (
            BEARINGS,
            changed(GAINS, 3, 0.1),
            "horizontal",
            "relative gain 0.1 dB is out of range; allowed: -100 to 0, relative to the maximum",
        ),
        (
            BEARINGS,
            changed(GAINS, 3, -math.inf),
            "horizontal",
            "relative gain -inf dB is out of range; allowed: -100 to 0, relative to the maximum",
        ),
        (
            BEARINGS,
            tuple(gain - 3.0 for gain in GAINS),
            "horizontal",
            "the greatest relative gain is -3 dB, not 0; subtract the maximum from every row; "
            "the ERP of a service is that at the maximum",
        ),
        (
            (*BEARINGS, 360.0),
            (*GAINS, -1.0),
            "horizontal",
            "bearing 0 has 0 dB but bearing 360 has -1 dB; they are one direction: leave out the row of 360",
        ),
        (
            (-60.0, -30.0, 0.0, 30.0, 60.0, 90.0),
            (0.0,) * 6,
            "vertical",
            "elevations run from -60 to 90 degrees; give rows from -90 to 90",
        ),
        ((-91.0, 0.0), (0.0, 0.0), "vertical", "elevation -91 degrees is out of range; allowed: -90 to 90"),
        (BEARINGS, GAINS, "round", "kind is 'round'; write horizontal or vertical"),
    ],
)
def test_refused(angles: tuple[float, ...], gains: tuple[float, ...], kind: str, message: str) -> None:
    with pytest.raises(PatternError) as caught:
        Pattern(angles, gains, kind, "invented")  # type: ignore[arg-type]
    assert str(caught.value) == f"aerial pattern invented: {message}"


@pytest.mark.parametrize(
    ("rows", "wanted"),
    [
        ([(0, 0.0), (20, -3.0), (40, -20.0), (70, -20.0), (340, -3.0)], (0.0,)),
        ([(0, -20.0), (30, -3.0), (60, 0.0), (80, 0.0), (100, -3.0), (330, -20.0)], (70.0,)),
        ([(0, 0.0), (20, 0.0), (45, -9.0), (180, -9.0), (340, 0.0)], (0.0,)),
        ([(0, 0.0), (90, -12.0), (180, 0.0), (270, -12.0)], (0.0, 180.0)),
        ([(0, 0.0), (90, 0.0), (180, -0.01), (270, 0.0)], (0.0,)),
    ],
)
def test_main_bearings_are_the_middles_of_the_maxima(rows, wanted):
    filled = dict(rows)
    angles = sorted({*filled, *range(0, 360, 10)})
    known = sorted(filled)
    gains = np.interp(angles, known, [filled[each] for each in known], period=360.0)
    pattern = Pattern(tuple(map(float, angles)), tuple(gains.tolist()), "horizontal", "a test")
    assert main_bearings_deg(pattern) == pytest.approx(wanted)
