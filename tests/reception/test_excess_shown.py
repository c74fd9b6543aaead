"""What a window and a chain say of a limit is borne out by their own figures."""

from __future__ import annotations

import pytest

from combe.reception.quality import Hop, judge_chain
from combe.reception.window import AgcWindow, place_in_window

WINDOW = AgcWindow(-62.04, -22.0, -72.0)


@pytest.mark.parametrize(
    ("median_dbm", "state", "reason"),
    [
        (-62.06, "output falls", "-62.06 dBm is 0.02 dB under the least that holds the output, -62.04 dBm"),
        (-62.02, "held", "-62.02 dBm is 0.02 dB over the least that holds the output, -62.04 dBm"),
        (-72.03, "muted", "the faded input -72.03 dBm is 0.03 dB under the mute level -72.00 dBm"),
        (-21.98, "overloaded", "the enhanced input -21.98 dBm is 0.02 dB over the window's top -22.00 dBm"),
        (-50.0, "held", "input -50.0 dBm is 12.0 dB over the least that holds the output, -62.0 dBm"),
    ],
)  # fmt: skip
def test_an_input_beside_an_edge_of_the_window(median_dbm, state, reason):
    place = place_in_window(WINDOW, "A", median_dbm, fade_db=0.0, enhancement_db=0.0)
    assert place.state == state
    assert place.reason.endswith(reason)


@pytest.mark.parametrize(
    ("required_db", "verdict", "words"),
    [(30.03, "fails", "the chain ends 0.03 dB short of what"), (29.97, "passes", "ends 0.03 dB over what")],
)
def test_a_chain_that_just_fails_or_passes(required_db, verdict, words):
    chain = judge_chain([Hop("parent", None), Hop("relay", 30.0)], required_db=required_db)
    assert chain.verdict == verdict
    assert words in chain.reason
