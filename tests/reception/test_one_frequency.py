"""Networks on one frequency: weights of echoes, windows, sums against draws, geometry on a flat earth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception import (
    Fields,
    OneFrequency,
    Rules,
    judge_emission,
    make_judges,
    make_roles,
    stand_cells,
    weights_of,
)
from combe.reception.one_frequency import Window
from combe.reception.standing import stand_disturbed
from support_judging import emission, one_cell

# 8k in 8 MHz: useful part 896 µs; 7/24 of it, 261.33 µs, are equalised (EBU Review 295, from memory).
USEFUL_US, EQUALISED_US = 896.0, 896.0 * 7.0 / 24.0
KM_PER_US = 0.299792458
MARKS = np.array([-100.0, -50.0, -30.0, 0.0, 5.0])


def symbol(
    guard_us: float = 224.0,
    window: Window = "best C/I",
    delay_us: float = 0.0,
    equalised_us: float = EQUALISED_US,
) -> OneFrequency:
    return OneFrequency("valley", delay_us, USEFUL_US, guard_us, equalised_us, window)


def weight(after_us: float, guard_us: float) -> float:
    """Return the weight of a weak signal after a strong one that opens the window."""
    arrivals, levels = np.array([1000.0, 1000.0 + after_us]), np.array([60.0, 10.0])
    return float(weights_of(arrivals, levels, 50.0, symbol(guard_us, "strongest signal"))[1])


# Worked by hand from the law of the Review for an excess x: ((896 - x)/896)², nought beyond the ends.
@pytest.mark.parametrize(
    ("guard_us", "expected"),
    [
        (224.0, (0.0, 0.0, 0.9342, 1.0, 0.9778, 0.9342, 0.0, 0.9191, 0.0)),
        (112.0, (0.7892, 0.8915, 0.9342, 1.0, 0.9778, 0.9342, 0.8294, 0.6951, 0.0)),
        (28.0, (0.7892, 0.8915, 0.9342, 1.0, 0.9778, 0.9342, 0.8294, 0.5475, 0.0)),
    ],
)
def test_weights_of_echoes(guard_us: float, expected: tuple[float, ...]) -> None:
    after = (-100.0, -50.0, -30.0, guard_us / 2, guard_us + 10, guard_us + 30, guard_us + 80, 261.0, 298.0)
    found = [weight(each, guard_us) for each in after]
    assert found == pytest.approx(expected, abs=5e-5)


def ratio_db(
    levels: tuple[float, ...], arrivals: tuple[float, ...], window: Window, threshold: float
) -> float:
    powers = 10.0 ** (np.array(levels) / 10.0)
    weights = weights_of(np.array(arrivals), np.array(levels), threshold, symbol(224.0, window))
    return float(10.0 * np.log10((weights * powers).sum() / ((1.0 - weights) * powers).sum()))


# Levels [dB(µV/m)] at delays [µs]; each window starts where its receiver puts it.
@pytest.mark.parametrize(
    ("levels", "arrivals", "window", "expected_db"),
    [
        ((60.0, 54.0), (0.0, 250.0), "strongest signal", 19.350),
        ((60.0, 54.0), (0.0, 280.0), "strongest signal", 6.000),
        ((50.0, 60.0), (0.0, 250.0), "first signal", 12.609),
        ((50.0, 60.0), (0.0, 250.0), "strongest signal", 10.000),
        ((50.0, 60.0), (0.0, 250.0), "best C/I", 22.818),
        # Neither falls into the guard interval, both are of use in part; the stronger is favoured.
        ((54.0, 60.0), (0.0, 290.0), "best C/I", 11.459),
        ((60.0, 54.0), (0.0, 290.0), "best C/I", 11.459),
        ((40.0, 60.0, 58.0), (0.0, 260.0, 300.0), "first signal", 1.180),
        ((40.0, 60.0, 58.0), (0.0, 260.0, 300.0), "best C/I", 22.124),
    ],
)
def test_windows_of_receivers(
    levels: tuple[float, ...], arrivals: tuple[float, ...], window: Window, expected_db: float
) -> None:
    assert ratio_db(levels, arrivals, window, threshold=35.0) == pytest.approx(expected_db, abs=6e-4)


def test_a_weak_first_signal_opens_no_window() -> None:
    # Of 40 and 60 dB the first that reaches 50 dB is the second, so all of it is of use.
    found = weights_of(np.array([0.0, 260.0]), np.array([40.0, 60.0]), 50.0, symbol(224.0, "first signal"))
    assert found.tolist() == [0.0, 1.0]


def test_arrays_of_different_lengths_are_refused() -> None:
    with pytest.raises(RangeError, match="n of each"):
        weights_of(np.zeros(2), np.zeros(3), 0.0, symbol())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"guard_us": 900.0}, "guard_us"),
        ({"equalised_us": 100.0}, "equalised_us"),
        ({"useful_us": 0.0}, "useful_us"),
        ({"delay_us": 1e7}, "delay_us"),
        ({"window": "latest"}, "window of the receiver is 'latest'"),
    ],
)
def test_impossible_symbols_are_refused(changes: dict[str, object], words: str) -> None:
    values = {"network": "n", "delay_us": 0.0, "useful_us": 896.0, "guard_us": 224.0, "equalised_us": 261.0}
    with pytest.raises(RangeError, match=words):
        OneFrequency(**{**values, **changes})  # type: ignore[arg-type]


def pair(first: OneFrequency, second: OneFrequency, apart_m: float = 40_000.0):
    """Return two stations of one network that lie apart, and a third on their channel that is not of it."""
    return [
        emission("West", x_m=-apart_m / 2, one_frequency=first),
        emission("East", x_m=apart_m / 2, one_frequency=second),
        emission("Far", y_m=200_000.0),
    ]


def drawn_margin_db(medians: np.ndarray, weights: np.ndarray, gains: np.ndarray, other_db: float) -> float:
    """Return the ratio [dB] that 95 % of places have, over what is asked, by drawing the fields of places."""
    rng = np.random.default_rng(7)
    fields = rng.normal(medians + gains, 5.5, (400_000, 2))
    powers = 10.0 ** (fields / 10.0)
    other = 10.0 ** (rng.normal(other_db, 5.5, 400_000) / 10.0)
    # Noise asks for the minimum, 45 dB; interference for 20 dB more than itself.
    harm = 10.0**4.5 + 100.0 * (((1.0 - weights) * powers).sum(axis=1) + other)
    return float(np.quantile(10.0 * np.log10((weights * powers).sum(axis=1) / harm), 0.05))


@pytest.mark.parametrize("late_us", [0.0, 230.0, 250.0])
@pytest.mark.parametrize("second_db", [68.0, 62.0, 55.0])
@pytest.mark.parametrize("other_db", [20.0, 38.0])
def test_sum_is_that_of_drawn_fields(late_us: float, second_db: float, other_db: float) -> None:
    # At the same place, in line behind both: no aerial turns away from either.
    first, second = symbol(window="strongest signal"), symbol(window="strongest signal", delay_us=late_us)
    stations = [
        emission("West", y_m=5_000.0, one_frequency=first),
        emission("East", y_m=5_000.0, one_frequency=second),
        emission("Far", y_m=200_000.0),
    ]
    heard = one_cell(68.0, second_db, other_db)
    judged = judge_emission(make_judges(stations), heard, 0)
    weights = np.array([1.0, weight(late_us, 224.0)])
    expected = drawn_margin_db(np.array([68.0, second_db]), weights, np.zeros(2), other_db)
    assert float(judged.margin_db[0, 0]) == pytest.approx(expected, abs=0.3)


def over_flat_earth(delay_us: float = 0.0, guard_us: float = 112.0):
    """Return two equal stations 80 km apart, with cells of 500 m between and beyond them, equally heard."""
    # No part of an echo is equalised beyond the guard interval: the bound is sharp.
    first = symbol(guard_us, equalised_us=guard_us)
    second = symbol(guard_us, equalised_us=guard_us, delay_us=delay_us)
    stations = pair(first, second, 80_000.0)[:2]
    x, y = np.arange(-70_000.0, 70_001.0, 500.0), np.arange(-3_000.0, 3_001.0, 500.0)
    fields = np.full((2, y.size, x.size), 66.0, dtype=np.float32)
    return stations, Fields(x, y, fields, fields)


@pytest.mark.parametrize("delay_us", [0.0, 60.0])
def test_guard_interval_ends_where_geometry_says(delay_us: float) -> None:
    stations, fields = over_flat_earth(delay_us)
    judges = make_judges(stations)
    margin = judge_emission(judges, fields, 0).margin_db
    alone = judge_emission(judges, fields, 0, np.array([True, False])).margin_db
    west, east = (np.hypot(fields.x_m - each.x_m, fields.y_m[:, None]) / 1000.0 for each in stations)
    apart_us = np.abs((west - east) / KM_PER_US - delay_us)
    inside = apart_us <= 112.0
    assert 0.2 < inside.mean() < 0.9
    assert (margin >= alone).tolist() == inside.tolist()
    # Where both count in full the sum gains; outside the other takes away.
    assert (margin[inside] > alone[inside]).all()
    assert (margin[~inside] < alone[~inside]).all()


@given(
    st.lists(st.floats(30.0, 90.0), min_size=3, max_size=3),
    st.floats(-20_000.0, 20_000.0),
    st.floats(-20_000.0, 20_000.0),
    st.sampled_from(["schwartz-yeh", "power sum", "multiplication"]),
)
def test_nobody_is_lost_while_all_falls_inside(
    levels: list[float], x_m: float, y_m: float, method: str
) -> None:
    # 40 km apart at most 133 µs: within 224.

    stations = pair(symbol(), symbol())
    judges = make_judges(stations, Rules(method=method))  # type: ignore[arg-type]
    heard = one_cell(*levels[:2], levels[2] - 60.0, place=(x_m, y_m))
    roles = make_roles(judges, [False, True, False], [45.0 + 1.64 * 5.5] * 3)
    cell = stand_cells(judges, roles, heard).cells[0, 0, 0]
    for station in (0, 1):
        air = np.array([station == 0, station == 1, True])
        alone = judge_emission(judges, heard, station, air).margin_db[0, 0]
        assert cell["margin"] >= min(alone, cell["noise"]) - 1e-3


def test_a_station_whose_network_is_off_the_air_is_judged_as_any_other() -> None:
    heard = one_cell(66.0, 66.0, 30.0)
    on_air = np.array([True, False, True])
    alone = judge_emission(make_judges(pair(symbol(), symbol())), heard, 0, on_air)
    plain = [emission("West", x_m=-20_000.0), emission("East", x_m=20_000.0), emission("Far", y_m=200_000.0)]
    expected = judge_emission(make_judges(plain), heard, 0, on_air)
    for found, wanted in zip(alone, expected, strict=True):
        assert np.array_equal(found, wanted)


def test_an_echo_without_prediction_is_an_unknown_interferer() -> None:
    judged = judge_emission(make_judges(pair(symbol(), symbol())), one_cell(66.0, np.nan, 30.0), 0)
    assert judged.unknown[0, 0] == 1


def test_standing_of_a_network_is_that_of_its_best_aerial() -> None:
    judges = make_judges(pair(symbol(), symbol()))
    roles = make_roles(judges, [False, True, False], [45.0 + 1.64 * 5.5] * 3)
    heard = one_cell(64.0, 70.0, 20.0, place=(0.0, 1_000.0))
    cell = stand_disturbed(judges, roles, heard).cells[0, 0, 0]
    each = [judge_emission(judges, heard, i).margin_db[0, 0] for i in (0, 1)]
    assert cell["best"] == 1
    assert cell["margin"] == pytest.approx(max(each), abs=1e-5)
    # Before, with the parent alone, there is no sum.
    assert cell["before"] == pytest.approx(
        judge_emission(judges, heard, 0, np.array([True, False, True])).margin_db[0, 0], abs=1e-5
    )


def test_a_place_where_more_of_each_echo_disturbs_than_is_of_use_falls_short_by_its_ratio() -> None:
    # Two alike, each 30 µs beyond what one window holds: of both (866/896)² is of use, C/I 11.5 dB for 20.
    apart_us = 224.0 + 60.0
    stations = [
        emission(name, y_m=5_000.0, one_frequency=symbol(delay_us=late, equalised_us=300.0))
        for name, late in (("West", 0.0), ("East", apart_us))
    ]
    judged = judge_emission(make_judges(stations, Rules(50.0)), one_cell(90.0, 90.0), 0)
    ratio = weights_of(np.array([0.0, apart_us]), np.array([90.0, 90.0]), 45.0, symbol(equalised_us=300.0))
    expected = 10.0 * np.log10(ratio.sum() / (2.0 - ratio.sum())) - 20.0
    assert -12.0 < expected < -5.0
    # Half of the places: by medians, since both parts rise and fall together with two like fields.
    assert float(judged.margin_db[0, 0]) == pytest.approx(expected, abs=1.0)
