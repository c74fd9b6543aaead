"""The screen of an analyser as a picture: where things stand on it, and names that do nothing."""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from combe.errors import RangeError
from combe.publishing.spectrum_diagram import SpectrumDrawing, SpectrumMark, spectrum_svg

MARKS = (
    SpectrumMark(1, "Mux A", "wanted", 478.0, 486.0, -50.0),
    SpectrumMark(2, "One vision", "other station", 479.25, 479.25, -70.0),
    SpectrumMark(3, "Weak", "own output", 518.0, 526.0, -110.0),
)
SCREEN = SpectrumDrawing(450.0, 550.0, -40.0, -100.0, 100.0, (450.0, 500.0, 550.0), (-100.0,) * 3, MARKS)


def test_the_picture_is_the_same_each_time_and_holds_its_words():
    svg = spectrum_svg(SCREEN)
    assert svg == spectrum_svg(SCREEN)
    words = list(ElementTree.fromstring(svg).itertext())
    told = "dBm in 100 kHz · reference −40 dBm, 10 dB a square · 10 MHz a square"
    for text in (told, "1  Mux A  −50.0 dBm", "2  One vision  −70.0 dBm", "−140", "450", "550"):
        assert text in words, text


def test_things_stand_where_they_are():
    # A square is 72 pt wide and 36 pt high: 10 MHz and 10 dB.
    assert (SCREEN.x(450.0), SCREEN.x(460.0), SCREEN.x(550.0)) == (58.0, 130.0, 778.0)
    assert (SCREEN.y(-40.0), SCREEN.y(-50.0), SCREEN.y(-140.0)) == (30.0, 66.0, 390.0)
    assert (SCREEN.y(-30.0), SCREEN.y(-200.0)) == (30.0, 390.0)
    block = re.search(r'<rect x="259\.6" y="66\.0" width="57\.6" height="180\.0"', spectrum_svg(SCREEN))
    assert block, "28 MHz over the edge, 10 dB under the upper one, down to the noise 50 dB below"


def test_what_lies_under_the_noise_is_an_outline():
    svg = spectrum_svg(SCREEN)
    assert svg.count("stroke-dasharray") == 1
    assert "stroke-dasharray" not in spectrum_svg(replace(SCREEN, marks=MARKS[:2]))


def test_numbers_do_not_cover_one_another():
    close = tuple(replace(MARKS[0], number=at, level_dbm=-50.0 - at / 10.0) for at in range(1, 7))
    svg = spectrum_svg(replace(SCREEN, marks=close))
    places = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*font-weight="700"', svg)
    found = [(float(x), float(y)) for x, y in places]
    assert len(found) == 6
    for at, (x, y) in enumerate(found):
        for other_x, other_y in found[at + 1 :]:
            assert abs(x - other_x) >= 15.0 or abs(y - other_y) >= 14.9


def test_more_numbers_than_there_is_room_for_are_drawn_all_the_same():
    close = tuple(replace(MARKS[0], number=at, level_dbm=-41.0) for at in range(1, 60))
    assert spectrum_svg(replace(SCREEN, marks=close)).count('font-weight="700"') == 59


def test_hostile_names_do_nothing():
    svg = spectrum_svg(replace(SCREEN, marks=(replace(MARKS[0], name='<script>x</script>" \u202e'),)))
    assert "<script" not in svg
    assert any("<script>x" in words for words in ElementTree.fromstring(svg).itertext())


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"level_dbm": (-100.0,)}, "line of a spectrum"), ({"stop_mhz": 450.0}, "edges of a spectrum")],
)
def test_screens_that_cannot_be_drawn(changes, words):
    with pytest.raises(RangeError, match=words):
        replace(SCREEN, **changes)
