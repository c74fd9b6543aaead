"""The map of a brief: each kind of ground has a pattern of its own, words stay words, all is described."""

import base64
import re
import zlib
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from combe.errors import RangeError
from combe.publishing.served_picture import (
    GROUNDS,
    ServedMark,
    ServedPicture,
    _image,
    _patterned,
    described,
    served_svg,
)

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" '"


def picture(word=""):
    ground = np.zeros((40, 60), dtype=np.int8)
    ground[:, 20:30], ground[:, 30:40], ground[:, 40:50], ground[:, 50:] = 1, 2, 3, 4
    marks = (
        ServedMark("parent", 5.0, 50.0, f"Parent{word}"),
        ServedMark("relay", 20.0, 10.0, f"Relay{word}"),
        ServedMark("people", 30.0, 10.0, size=0.5),
    )
    return ServedPicture(np.full((40, 60), 300.0), ground, 100.0, marks)


def test_hostile_words_stay_words():
    made = served_svg(picture(HOSTILE))
    assert "<script>alert" not in made
    assert "&lt;script&gt;alert" in made
    ElementTree.fromstring(made)


def test_each_ground_is_told_apart_without_colours():
    light = (0.3, 0.59, 0.11)
    patterns = []
    for number in range(len(GROUNDS)):
        colour, strength = _patterned(np.full((16, 16), number, dtype=np.int8))
        grey = np.dot(np.array([255.0, 253.0, 248.0]) * (1.0 - strength) + colour * strength, light)
        patterns.append(grey)
    plain, *others = patterns
    assert np.ptp(plain) == 0.0, "ground without service has no pattern"
    for each in others:
        assert np.ptp(each) > 25.0, "a pattern is seen in grey"
    marked = [each < each.mean() for each in others]
    for number, each in enumerate(marked):
        assert all((each != other).mean() > 0.05 for other in marked[number + 1 :])


def test_patterns_are_as_fine_whatever_the_cells():
    small = picture()
    large = ServedPicture(np.full((1500, 2400), 1.0), np.full((1500, 2400), 2, np.int8), 10.0, ())
    assert 700 <= max(_image(small).shape) <= 1100
    assert 700 <= max(_image(large).shape) <= 1100
    (data,) = re.findall(r'<image href="data:image/png;base64,([^"]+)" width="60"', served_svg(small))
    png = base64.b64decode(data)
    assert zlib.decompress(png[png.index(b"IDAT") + 4 : -16])[:1] == b"\0"


def test_the_legend_has_what_there_is_and_nothing_else():
    made = served_svg(picture())
    for words in (
        "served before",
        "newly served",
        "served before, not now",
        "no prediction",
        "people unserved",
    ):
        assert f">{words}</text>" in made
    bare = replace(picture(), ground=np.zeros((40, 60), np.int8), marks=())
    assert served_svg(bare).count("served") == served_svg(bare).count(">not served</text>")
    assert ">N</text>" in made
    assert ">1 km</text>" in made


def test_it_is_described_to_those_who_cannot_see_it():
    told = described(picture())
    assert told.startswith("Map of 6 by 4 km, north up, all services: 20 % of the ground served before")
    assert "20 % of the ground newly served" in told
    assert told.endswith("Stations: Parent, parent; Relay, relay.")


def test_the_ground_has_the_shape_of_the_heights():
    with pytest.raises(RangeError, match="shape of what is served"):
        replace(picture(), ground=np.zeros((2, 2), np.int8))
