"""Waterfall, window and height-gain diagrams: what they show, the same bytes each time, what they refuse."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from combe.errors import RangeError
from combe.publishing.chain_diagrams import (
    HeightGain,
    HeightLine,
    Waterfall,
    WaterfallLine,
    WindowBar,
    WindowPicture,
    height_gain_svg,
    waterfall_svg,
    window_svg,
)

HOSTILE = "Mux <b>&$x^2$ \\frac{"
CHAIN = Waterfall(
    ("aerial terminals", "feeder", "receiver"),
    (
        WaterfallLine("Mux A", (-40.0, -42.0, -42.0), (-105.0, -105.0, -99.0)),
        WaterfallLine("Mux B", (-41.0, -43.5, -43.5), (-105.0, -105.0, -99.0)),
    ),
    (None, -15.0, None),
)
WINDOW = WindowPicture(-62.0, -26.0, -74.0, 99.0, (WindowBar("Mux A", -48.0, -44.0, -41.0),))
HEIGHTS = HeightGain((5.0, 10.0, 15.0), (HeightLine("Mux A", (60.0, 62.0, 63.0)),), 12.0)


def words_of(svg: str) -> str:
    return " ".join(text for text in ElementTree.fromstring(svg).itertext() if text.strip())


@pytest.mark.parametrize(
    ("svg", "words"),
    [
        (waterfall_svg(CHAIN), ("Mux A", "Mux B", "noise", "limit of all −15.0", "−42.0", "feeder")),
        (window_svg(WINDOW), ("Mux A", "output held", "mute", "−48.0 … −44.0 … −41.0", "99 % of time")),
        (height_gain_svg(HEIGHTS), ("Mux A", "planned 12.0 m", "m above ground")),
    ],
    ids=["waterfall", "window", "heights"],
)
def test_a_diagram_says_what_it_shows(svg, words):
    told = words_of(svg)
    assert [each for each in words if each not in told] == []


def test_the_same_input_gives_the_same_bytes():
    assert waterfall_svg(CHAIN) == waterfall_svg(CHAIN)
    assert window_svg(WINDOW) == window_svg(WINDOW)
    assert height_gain_svg(HEIGHTS) == height_gain_svg(HEIGHTS)


def test_names_are_drawn_as_they_are():
    waterfall = replace(
        CHAIN, points=(HOSTILE, *CHAIN.points[1:]), lines=(replace(CHAIN.lines[0], name=HOSTILE),)
    )
    window = replace(WINDOW, bars=(replace(WINDOW.bars[0], name=HOSTILE),))
    heights = replace(HEIGHTS, lines=(replace(HEIGHTS.lines[0], name=HOSTILE),))
    for svg in (waterfall_svg(waterfall), window_svg(window), height_gain_svg(heights)):
        assert "<b>" not in svg
        assert "$x^2$" in words_of(svg)


def test_a_long_name_says_that_it_goes_on():
    name = "Programme of the whole Upper Combe"
    waterfall = replace(CHAIN, lines=(replace(CHAIN.lines[0], name=name),))
    window = replace(WINDOW, bars=(replace(WINDOW.bars[0], name=name),))
    heights = replace(HEIGHTS, lines=(replace(HEIGHTS.lines[0], name=name),))
    for svg in (waterfall_svg(waterfall), window_svg(window), height_gain_svg(heights)):
        assert "Programme of the whol…" in words_of(svg)


def test_a_field_that_does_not_change_still_draws():
    flat = replace(HEIGHTS, lines=(HeightLine("Mux A", (60.0, 60.0, 60.0)),))
    assert "57" in words_of(height_gain_svg(flat))


def test_twelve_services_draw():
    lines = tuple(replace(CHAIN.lines[0], name=f"Mux {number}") for number in range(12))
    assert "Mux 11" in words_of(waterfall_svg(replace(CHAIN, lines=lines)))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: replace(CHAIN, lines=()), "waterfall is 3 points and 0 services; allowed: two points"),
        (lambda: replace(CHAIN, limit_dbm=(None,)), r"values of a waterfall is \[1, 3\]; allowed: 3, one"),
        (lambda: replace(WINDOW, bars=()), "services in the window is 0; allowed: one or more"),
        (lambda: replace(HEIGHTS, height_m=(5.0,)), "height-gain diagram is 1 heights and 1 services"),
        (
            lambda: replace(HEIGHTS, height_m=(5.0, 9.0)),
            "fields of Mux A is 3; allowed: 2, one for each height",
        ),
    ],
)
def test_what_cannot_be_drawn(make, message):
    with pytest.raises(RangeError, match=message):
        make()


def test_heights_with_the_fade_and_nulls():
    (line,) = HEIGHTS.lines
    faded = replace(HEIGHTS, lines=(replace(line, faded_dbuv_m=(50.0, 52.0, 53.0)),), time_percent=99.9)
    nulls = replace(HEIGHTS, lines=(replace(line, null_height_m=(7.0, 12.0)),))
    bare, with_fade, with_nulls = map(height_gain_svg, (HEIGHTS, faded, nulls))
    assert "for 99.9 % of time" in words_of(with_fade)
    assert "heights of nulls to expect" in words_of(with_nulls)
    for svg in (bare, with_nulls):
        assert "% of time" not in words_of(svg)
    for svg in (bare, with_fade):
        assert "nulls" not in words_of(svg)
    assert "50" in words_of(with_fade), "the axis goes down to the fade"


def test_a_fade_of_other_heights_is_refused():
    (line,) = HEIGHTS.lines
    with pytest.raises(RangeError, match="fields of Mux A is 1; allowed: 3, one for each height"):
        replace(HEIGHTS, lines=(replace(line, faded_dbuv_m=(50.0,)),))
