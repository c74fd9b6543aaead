"""Numbers for readers: thousands, signs, and what stays as it was."""

import math

import numpy as np
import pytest

from combe.digits import apart, for_terminal, spoken, telling, true_minus


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [
        (999, 0, "999"),
        (13213, 0, "13\u202f213"),
        (-84.342, 2, "−84.34"),
        (-0.04, 1, "0.0"),
        (-1234.5, 1, "−1\u202f234.5"),
    ],
)
def test_numbers_are_written_in_one_way(value, decimals, words):
    assert spoken(value, decimals) == words


def test_only_a_hyphen_before_a_number_becomes_a_minus():
    words = "Mux-2 at -50.7 dBm (-3 dB), channels 21-48, off-air, hill - 5"
    assert true_minus(words) == "Mux-2 at −50.7 dBm (−3 dB), channels 21-48, off-air, hill - 5"


def test_a_terminal_gets_plain_spaces():
    assert for_terminal(f"{spoken(13213)} hills at -1 dB") == "13 213 hills at −1 dB"


def test_what_is_no_number_is_a_dash():
    assert spoken(math.nan) == "–"
    assert spoken(None) == "–"


@pytest.mark.parametrize(
    ("value", "limit", "decimals", "text"),
    [(500.4, 500.0, 0, "500.4"), (499.96, 500.0, 1, "499.96"), (10.0, 10.0, 1, "10.0"),
     (-0.04, 0.0, 1, "-0.04"),
     (-1e-12, 0.0, 1, "0.0"), (12.34, 10.0, 1, "12.3")],
)  # fmt: skip
def test_as_many_decimals_as_show_the_side_of_a_limit(value, limit, decimals, text):
    assert telling(value, limit, decimals) == text


def test_numbers_of_an_array_are_numbers_too():
    assert telling(np.float64(10.02), np.float64(10.0), 1, sign=True) == "+10.02"


def test_two_numbers_have_the_same_decimals_and_the_fewest_that_part_them():
    assert apart(-0.04, 0.0, 1) == ("-0.04", "0.00")
    assert apart(1e-9, 0.0, 1) == ("0.0", "0.0")
    assert apart(3.0, 3.0, 1) == ("3.0", "3.0")
