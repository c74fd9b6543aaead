"""Harm of a channel that nobody can tell: people where an added signal has no prediction, each once."""

import math

import numpy as np

from combe.planning.channels.harm import Public, Signal, before_relays, harm_out
from combe.reception.emission import Emission
from combe.reception.judges import Rules
from combe.reception.protection_ratios import Channel

PEOPLE = np.array([1.0, 20.0, 300.0, 4000.0, 50_000.0])
PUBLIC = Public(np.arange(5) * 1e3, np.zeros(5), PEOPLE, Rules(50.0, "power sum", neglect_db=0.0))
GONE = math.nan


def signal(station, fields, service="A"):
    emission = Emission(
        station, service, Channel("DVB", 626.0, 8.0), "horizontal", -20e3, 0.0, 45.0, 20.0, 5.5
    )  # fmt: skip
    levels = np.array(fields, dtype=float)
    return Signal(emission, 40, levels, levels)


def harm(settled, *added):
    """Return the harm to the first of the settled."""
    return harm_out(PUBLIC, before_relays(PUBLIC, settled, ["A"]), added)[0]


PARENT = signal("Parent", [70.0, 70.0, 70.0, 70.0, 30.0])
"""45 dB(µV/m) serve half of the places: all but the last."""


def test_where_the_newcomer_has_no_prediction_its_harm_is_not_known():
    found = harm([PARENT], signal("Newcomer", [10.0, GONE, 10.0, GONE, GONE], "B"))
    assert (found.people, found.not_known) == (0.0, 4020.0)


def test_whom_another_newcomer_takes_is_harmed_and_not_unknown():
    # Place 3 falls by the loud one, 70 under 60 + 20, whatever the other does there; place 1 is not known.
    quiet = signal("Quiet", [10.0, GONE, 10.0, GONE, 10.0], "B")
    loud = signal("Loud", [10.0, 10.0, 10.0, 60.0, 10.0], "C")
    found = harm([PARENT], quiet, loud)
    assert (found.people, found.not_known) == (4000.0, 20.0)


def test_what_was_not_known_before_is_not_laid_at_the_newcomers_door():
    settled = [PARENT, signal("Other", [10.0, GONE, GONE, 10.0, 10.0], "D")]
    found = harm(settled, signal("Newcomer", [GONE, GONE, 10.0, 10.0, 10.0], "B"))
    assert (found.people, found.not_known) == (0.0, 1.0)
