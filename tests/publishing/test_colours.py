"""Colours of hills over the relief are told apart by eyes of all kinds; so says CIEDE2000."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from combe.publishing.colours import (
    GROUND_DARK,
    GROUND_LIGHT,
    GROUND_POWER,
    HILL_COLOURS,
    HILL_OF_NO_WORTH,
    HILL_OPAQUE,
    HILL_SHARES,
    rgb_of,
)
from support_colour_vision import VISIONS, ciede2000, seen_lab

APART = 10.0


def relief() -> np.ndarray:
    """Return the colours of the relief in all its lights, as page/paint.js paints them."""
    light = ((np.arange(1, 256)) / 255.0)[:, None] ** GROUND_POWER
    dark, bright = (np.array(rgb_of(each), dtype=float) for each in (GROUND_DARK, GROUND_LIGHT))
    return np.round(dark + (bright - dark) * light)


def over_relief(colour: str) -> np.ndarray:
    """Return a colour of hills over the relief in all its lights."""
    share = HILL_OPAQUE / 255.0
    return share * np.array(rgb_of(colour), dtype=float) + (1.0 - share) * relief()


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        # Sharma, Wu and Dalal (2005), table of test data, pairs 1, 2, 3 and 17: from memory.
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
        ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ],
)
def test_ciede2000_is_the_published_one(one, other, apart):
    assert float(ciede2000(one, other)) == pytest.approx(apart, abs=1e-4)
    assert float(ciede2000(other, one)) == pytest.approx(apart, abs=1e-4)


@pytest.mark.parametrize("vision", VISIONS)
def test_greys_stay_grey_to_eyes_of_all_kinds(vision):
    greys = seen_lab([[level] * 3 for level in (0, 40, 128, 255)], vision)
    assert np.abs(greys[:, 1:]).max() < 0.05
    assert greys[-1, 0] == pytest.approx(100.0, abs=0.01)


@pytest.mark.parametrize("vision", VISIONS)
def test_classes_of_hills_are_told_apart_over_the_relief_in_any_light(vision):
    assert len(HILL_COLOURS) == len(HILL_SHARES)
    shown = {colour: seen_lab(over_relief(colour), vision) for colour in (*HILL_COLOURS, HILL_OF_NO_WORTH)}
    bare = seen_lab(relief(), vision)
    for one, other in itertools.combinations((*shown.values(), bare), 2):
        assert float(ciede2000(one[:, None], other[None]).min()) >= APART


def test_better_classes_are_darker():
    light = [seen_lab(rgb_of(colour), "all cones")[0] for colour in HILL_COLOURS]
    assert (np.diff(light) < -5.0).all()
