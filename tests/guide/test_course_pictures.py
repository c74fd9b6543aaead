"""The pictures of the course: each is what the engine draws of the sample now, is small, and is shown."""

import base64
import re
import struct
import zlib

import matplotlib
import numpy as np
import pytest

from combe.guide import guide_page, guide_picture, topics
from support_guide_pictures import PICTURES

LARGEST_BYTES = 40_000
DRAWN_BY = "3.11"
"""Version of matplotlib that drew them; another may lay the same lines out otherwise."""

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
IMAGE = re.compile(r"data:image/png;base64,([A-Za-z0-9+/=]+)")


def words_of(svg):
    return [re.sub(r"\s+", " ", each) for each in re.findall(r"<text[^>]*>(.*?)</text>", svg, re.DOTALL)]


def lines_of(svg):
    return " ".join(re.findall(r' d="([^"]*)"', svg))


def colours_of(svg):
    """Return the points of the image that a picture holds, or nothing."""
    found = IMAGE.search(svg)
    if not found:
        return np.zeros((1, 1))
    content = base64.b64decode(found.group(1))
    columns, rows = struct.unpack(">II", content[16:24])
    start = content.index(b"IDAT") + 4
    size = struct.unpack(">I", content[start - 8 : start - 4])[0]
    raw = np.frombuffer(zlib.decompress(content[start : start + size]), np.uint8)
    return raw.reshape(rows, 1 + 3 * columns)


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)
def test_a_picture_is_what_is_drawn_now(picture):
    held, drawn = guide_picture(picture.name), picture.draw()
    held_words, drawn_words = words_of(held), words_of(drawn)
    assert [NUMBER.sub("#", each) for each in held_words] == [NUMBER.sub("#", each) for each in drawn_words]
    # GDAL and PROJ of another version may move a height or a person by a hair.
    numbers = [
        [float(n) for each in words for n in NUMBER.findall(each)] for words in (held_words, drawn_words)
    ]
    assert numbers[0] == pytest.approx(numbers[1], rel=0.002, abs=0.11)
    assert colours_of(held).shape == colours_of(drawn).shape
    assert (colours_of(held) != colours_of(drawn)).mean() < 0.01
    if matplotlib.__version__.startswith(f"{DRAWN_BY}."):
        assert NUMBER.sub("#", lines_of(held)) == NUMBER.sub("#", lines_of(drawn))
        places = [[float(n) for n in NUMBER.findall(lines_of(each))] for each in (held, drawn)]
        assert places[0] == pytest.approx(places[1], abs=0.3)


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.name)
def test_a_picture_is_small_and_a_chapter_shows_it(picture):
    assert len(guide_picture(picture.name).encode()) <= LARGEST_BYTES
    assert sum(f"]({picture.name})" in guide_page(topic).markdown for topic in topics()) == 1
