"""The picture of a siting: hostile words do nothing, it shows what it should, the browser is content."""

import base64
import re
import zlib
from dataclasses import replace

import numpy as np
import pytest

from combe.errors import RangeError
from combe.publishing.as_html import as_html
from combe.publishing.picture_parts import rgb
from combe.publishing.site_picture import (
    HillPicture,
    PictureMark,
    _image,
    hill_svg,
    legend_html,
    marks_html,
)
from support_reports import samples

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" ' $x_1$"


def picture(word: str = "") -> HillPicture:
    row, column = np.indices((40, 60), dtype=float)
    heights = 300.0 + 50.0 * np.sin(row / 5.0) + 30.0 * np.cos(column / 7.0)
    heights[0, 0] = np.nan
    worth = np.full((40, 60), np.nan)
    worth[10:30, 20:40] = 0.0
    worth[15:20, 25:30] = np.arange(25.0).reshape(5, 5)
    marks = (
        PictureMark("hill", 19.0, 29.0, "1", f"hill 1{word}"),
        PictureMark("station", 5.0, 50.0, f"Parent{word}", f"Parent{word}"),
        PictureMark("served", 8.0, 9.0, "", f"10 people{word}"),
        PictureMark("unserved", 9.0, 9.0, "", f"10 people{word}"),
        PictureMark("harmed", 9.0, 12.0, "", f"7 people{word}"),
    )
    return HillPicture(heights, worth, 90.0, marks, f"Hills{word}")


def test_hostile_words_stay_words() -> None:
    made = hill_svg(picture(HOSTILE)) + legend_html(24.0, f"people{HOSTILE}") + marks_html(picture(HOSTILE))
    assert "<script>alert" not in made
    assert made.count("&lt;script&gt;alert") > 5


def test_the_marks_that_there_are_are_told() -> None:
    told = marks_html(picture())
    assert "people who lack a service" in told
    assert "people who lose a service" in told
    assert "</svg> not searched</li>" in legend_html(24.0, "people")


def test_the_picture_colours_worth_and_leaves_the_rest() -> None:
    svg = hill_svg(picture())
    png = base64.b64decode(re.search(r"base64,([^\"]+)", svg).group(1))
    start = png.index(b"IDAT") + 4
    size = int.from_bytes(png[start - 8 : start - 4], "big")
    lines = np.frombuffer(zlib.decompress(png[start : start + size]), np.uint8).reshape(40, 181)[:, 1:]
    pixels = lines.reshape(40, 60, 3).astype(int)
    best, nothing, outside = pixels[19, 29], pixels[25, 22], pixels[35, 50]
    assert np.ptp(best) > 40  # the deepest class has a colour
    assert np.ptp(nothing) < 40
    assert np.ptp(outside) < 25
    assert svg == hill_svg(picture())


def test_legend_begins_classes_at_shares_of_the_best() -> None:
    words = legend_html(200.0, "people")
    for edge in ("over 0 to 20", "20 to 50", "50 to 100", "100 to 150", "150 to 180", "180 to 200"):
        assert edge in words


def test_the_legend_shows_hills_of_no_worth_and_ground_not_searched_apart_and_as_the_map_does() -> None:
    level = HillPicture(np.full((60, 60), 300.0), np.full((60, 60), np.nan), 90.0, (), "level")
    level.worth[:, 30:] = 0.0
    level.worth[:5, 30:] = 24.0
    image = _image(level).astype(int)
    shown = ["#" + "".join(f"{part:02x}" for part in each) for each in image.reshape(-1, 3)]
    swatches = re.findall(r"(?:fill|stroke)=\"(#[0-9a-f]{6})\"", legend_html(24.0, "people"))
    near = [min(np.abs(np.subtract(rgb(one), rgb(each))).max() for one in set(shown)) for each in swatches]
    blank, between, line, best = near[0], near[1], near[2], near[-1]
    assert max(blank, between, line, best) <= 2
    light = [np.dot(rgb(each), (0.3, 0.59, 0.11)) for each in swatches]
    assert light[0] - light[2] > 60  # the hatching stands out in grey, so for every colour vision


def test_a_label_without_room_at_the_right_stands_to_the_left() -> None:
    inside, edge = (
        hill_svg(replace(picture(), marks=(PictureMark("station", 5.0, at, "Parent", "x"),)))
        for at in (10.0, 55.0)
    )
    assert 'text-anchor="end"' not in inside
    assert 'text-anchor="end"' in edge


def test_shapes_must_agree() -> None:
    with pytest.raises(RangeError, match="shape of the hills' worth"):
        HillPicture(np.zeros((3, 3)), np.zeros((3, 4)), 90.0, (), "x")


@pytest.mark.browser
def test_the_browser_shows_the_map_and_fetches_nothing(open_html) -> None:
    opened = open_html(as_html(samples()["site"]), ready=False)
    assert opened.page.locator("svg.hills image").count() == 1
    assert opened.page.locator("svg.hills").bounding_box()["width"] > 300
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file:", "data:"))] == []
