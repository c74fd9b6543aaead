"""The picture of a hill: hostile words do nothing, it shows what it should, the browser is content."""

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
    marks_html,
)
from support_reports import samples

HOSTILE = " <script>alert(1)</script> ${alert(3)} `b` \" ' $x_1$"


def picture(word: str = "") -> HillPicture:
    row, column = np.indices((40, 60), dtype=float)
    heights = 300.0 + 50.0 * np.sin(row / 5.0) + 30.0 * np.cos(column / 7.0)
    heights[0, 0] = np.nan
    newly = np.zeros((40, 60), dtype=bool)
    newly[10:30, 20:40] = True
    marks = (
        PictureMark("hill", 19.0, 29.0, "1", f"hill 1{word}"),
        PictureMark("station", 5.0, 50.0, f"Parent{word}", f"Parent{word}"),
        PictureMark("served", 8.0, 9.0, "", f"10 people{word}"),
        PictureMark("unserved", 9.0, 9.0, "", f"10 people{word}"),
        PictureMark("harmed", 9.0, 12.0, "", f"7 people{word}"),
    )
    return HillPicture(heights, newly, 90.0, marks, f"Hills{word}")


def test_hostile_words_stay_words() -> None:
    made = hill_svg(picture(HOSTILE)) + marks_html(picture(HOSTILE))
    assert "<script>alert" not in made
    assert made.count("&lt;script&gt;alert") > 4


def test_the_marks_that_there_are_are_told() -> None:
    told = marks_html(picture())
    assert "people who lack a service" in told
    assert "people who lose a service" in told
    assert "ground newly served" in told
    assert "ground newly served" not in marks_html(replace(picture(), newly=np.zeros((40, 60), dtype=bool)))


def test_the_picture_stripes_the_ground_newly_served_and_leaves_the_rest() -> None:
    svg = hill_svg(picture())
    png = base64.b64decode(re.search(r"base64,([^\"]+)", svg).group(1))
    start = png.index(b"IDAT") + 4
    size = int.from_bytes(png[start - 8 : start - 4], "big")
    lines = np.frombuffer(zlib.decompress(png[start : start + size]), np.uint8).reshape(40, 181)[:, 1:]
    pixels = lines.reshape(40, 60, 3).astype(int)
    newly, bare = np.ptp(pixels[10:30, 20:40], axis=2), np.ptp(pixels[32:, 45:], axis=2)
    assert bare.max() < 25 < newly.min()
    assert len(np.unique(newly > newly.mean())) == 2  # stripes, and what is between them
    assert svg == hill_svg(picture())


def test_the_legend_shows_ground_newly_served_as_the_picture_does() -> None:
    level = HillPicture(np.full((60, 60), 300.0), np.zeros((60, 60), dtype=bool), 90.0, (), "level")
    level.newly[:, 30:] = True
    image = _image(level).astype(int)
    shown = {"#" + "".join(f"{part:02x}" for part in each) for each in image.reshape(-1, 3)}
    swatches = re.findall(r"(?:fill|stroke)=\"(#[0-9a-f]{6})\"", marks_html(level))
    near = [min(np.abs(np.subtract(rgb(one), rgb(each))).max() for one in shown) for each in swatches]
    assert len(near) == 2
    assert max(near) <= 2
    between, line = (np.dot(rgb(each), (0.3, 0.59, 0.11)) for each in swatches)
    assert between - line > 25  # the stripes stand out in grey, so for every colour vision


def test_a_label_without_room_at_the_right_stands_to_the_left() -> None:
    inside, edge = (
        hill_svg(replace(picture(), marks=(PictureMark("station", 5.0, at, "Parent", "x"),)))
        for at in (10.0, 55.0)
    )
    assert 'text-anchor="end"' not in inside
    assert 'text-anchor="end"' in edge


def test_shapes_must_agree() -> None:
    with pytest.raises(RangeError, match="shape of what is newly served"):
        HillPicture(np.zeros((3, 3)), np.zeros((3, 4), dtype=bool), 90.0, (), "x")


@pytest.mark.browser
def test_the_browser_shows_the_map_and_fetches_nothing(open_html) -> None:
    opened = open_html(as_html(samples()["hill"]), ready=False)
    assert opened.page.locator("svg.hills image").count() == 1
    assert opened.page.locator("svg.hills").bounding_box()["width"] > 300
    assert opened.complaints == []
    assert [url for url in opened.requests if not url.startswith(("file:", "data:"))] == []
