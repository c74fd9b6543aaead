"""Tests of what a map may hold."""

import dataclasses
import math

import numpy as np
import pytest

import support_map_page as support
from combe.errors import RangeError
from combe.publishing.content import FeedPath, PeopleMark, StationMark


@pytest.fixture(scope="module")
def page():
    return support.map_page()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: StationMark("A", "main", 0, 0, 10), "role of a station is 'main'; allowed: parent, relay"),
        (lambda: StationMark("A", "relay", 181, 0, 10), "longitude_deg is 181"),
        (lambda: StationMark("A", "relay", 0, 91, 10), "latitude_deg is 91"),
        (lambda: PeopleMark(0, 0, -1, "unserved"), "people is -1; allowed: 0 or more"),
        (lambda: PeopleMark(0, 0, math.nan, "unserved"), "people is nan"),
        (lambda: PeopleMark(0, 0, 1, "happy"), "state of people is 'happy'"),
        (lambda: FeedPath("A", "B", (0.0,), (0.0,)), "number of places of a feed path is 1"),
    ],
)
def test_marks_are_checked(make, message):
    with pytest.raises(RangeError, match=message):
        make()


def test_layers_are_checked(page):
    layer = page.layers[0]
    with pytest.raises(RangeError, match="key of a layer is 'A b'"):
        dataclasses.replace(layer, key="A b")
    with pytest.raises(RangeError, match="key of a layer is 'story'"):
        dataclasses.replace(layer, key="story")
    with pytest.raises(RangeError, match="threshold_dbuv_m is nan"):
        dataclasses.replace(layer, threshold_dbuv_m=math.nan)


def test_pages_are_checked(page):
    with pytest.raises(RangeError, match="shape of heights_m"):
        dataclasses.replace(page, heights_m=np.zeros((2, 2)))
    with pytest.raises(RangeError, match="layer of the first view is 'none'"):
        dataclasses.replace(page, before_keys=("none",))
    with pytest.raises(RangeError, match="keys of the layers"):
        dataclasses.replace(page, layers=(page.layers[0], page.layers[0]))
