"""Trigger values by band."""

import pytest

from combe.errors import RangeError
from combe.evidence.coordination import TRIGGERS
from combe.standards import TriggerBand, trigger_at, trigger_table, trigger_words


@pytest.mark.parametrize(
    ("frequency_mhz", "field_dbuv_m"), [*TRIGGERS, (466.0, None), (866.0, None), (240.0, None)]
)
def test_ge06_by_band(frequency_mhz, field_dbuv_m):
    assert trigger_at(trigger_table("GE06"), frequency_mhz, analogue=False) == field_dbuv_m


def test_ge06_says_nothing_of_analogue_television():
    assert trigger_at(trigger_table("GE06"), 634.0, analogue=True) is None
    assert trigger_at([TriggerBand(0.0, 900.0, 30.0)], 634.0, analogue=True) == 30.0


def test_the_standing_of_values_is_told():
    assert trigger_words(trigger_table("GE06")).endswith("(from memory, unverified)")
    assert trigger_words([TriggerBand(0.0, 900.0, 30.0, "as given")]) == "as given"
    assert trigger_words(()) == ""


@pytest.mark.parametrize(
    ("given", "words"),
    [((500.0, 500.0, 20.0), "band of a trigger is 500 to 500 MHz"), ((-1.0, 5.0, 20.0), "two edges"),
     ((1.0, 5.0, 151.0), "field_dbuv_m of a trigger is 151")],
)  # fmt: skip
def test_impossible_bands_are_refused(given, words):
    with pytest.raises(RangeError, match=words):
        TriggerBand(*given)
    with pytest.raises(RangeError, match=r"table of triggers is 'ST61'; allowed: GE06"):
        trigger_table("ST61")
