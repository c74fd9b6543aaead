"""Layers of classes on the map page: what is painted, what the legend and the pointer say of them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import support_map_page
from combe.errors import RangeError
from combe.publishing.content import MapClass, MapPage
from combe.publishing.map_page import render_map

CODES = 3
HOSTILE = "<img src=x onerror=alert(1)> \" '"


def page(word: str = "") -> MapPage:
    """Return a page with a layer of three classes in bands, the last bare, and a corner not predicted."""
    made = support_map_page.map_page()
    codes = np.full((made.grid.rows, made.grid.columns), 1.0)
    codes[40:80], codes[80:] = 2.0, 4.0
    codes[:10, :10] = np.nan
    classes = (
        MapClass(1, f"Highmoor{word}", "#11415f", "plain", 1200.4),
        MapClass(2, "Lowgate", "#f6a17b", "rising", 34.0),
        MapClass(4, "served by no station", "#d9d3cb", "bare", 0.0),
    )
    layer = replace(
        made.layers[0], key="best-0", title=f"Multiplex 1: best station{word}", station="By class",
        field_dbuv_m=codes,         threshold_dbuv_m=0.0, shows="classes", classes=classes,
    )  # fmt: skip
    return replace(made, layers=(*made.layers, layer))


@pytest.mark.browser
def test_classes_are_painted_in_their_colours_and_patterns(open_html: Any) -> None:
    opened = open_html(render_map(page()))
    tab = opened.page
    tab.select_option("#show", "best-0")
    assert tab.locator("#excess").is_disabled()
    assert tab.locator("#legend-title").inner_text() == "Multiplex 1: best station"
    # The colours that each class has on the canvas, as #rrggbb, with how many pixels.
    script = """() => {
        const { shown } = combe.coverage, pixels = new Uint32Array(shown.data.buffer), counts = {};
        pixels.forEach((one, at) => {
            const cell = combe.cellOfPixel[at];
            if (cell < 0 || !one) return;
            const { codes } = combe.grids["best-0"];
            const name = [codes[cell], (one & 255).toString(16), ((one >> 8) & 255).toString(16)].join(" ");
            counts[name] = (counts[name] ?? 0) + 1;
        });
        return counts;
    }"""
    counts = tab.evaluate(script)
    by_code = {code: sum(n for name, n in counts.items() if name.startswith(f"{code} ")) for code in range(6)}
    # The grid's lowest number is 1, which is code 1; the third class is bare.
    assert by_code[1] > 1000
    assert by_code[2] > 1000
    assert by_code[4] == 0
    assert {name for name in counts if name.startswith("1 ")} == {"1 11 41"}
    lines = {name: n for name, n in counts.items() if name.startswith("2 ")}
    assert set(lines) == {"2 f6 a1", "2 a4 6b"}
    assert lines["2 a4 6b"] / by_code[2] == pytest.approx(2 / 7, abs=0.02)
    assert opened.complaints == []


@pytest.mark.browser
def test_the_legend_tells_people_and_ground_and_the_pointer_the_class(open_html: Any) -> None:
    opened = open_html(render_map(page(HOSTILE)))
    tab = opened.page
    tab.select_option("#show", "best-0")
    lines = tab.locator("#legend li").all_inner_texts()
    assert len(lines) == 4
    assert HOSTILE.strip() in lines[0]
    km2 = (40 * 150 - 100) * 0.09**2
    assert f"1\u202f200 people, {km2:.1f}\u00a0km²" in lines[0]
    assert "34 people" in lines[1]
    assert tab.locator("#tally").inner_text() == ""
    for row, words in (
        (5, "no prediction"),
        (30, f"Highmoor{HOSTILE}"),
        (60, "Lowgate"),
        (100, "served by no station"),
    ):
        lon, lat = support_map_page.lonlat(page().grid, row, 4)
        assert tab.evaluate("([lon, lat]) => combe.readLines(lon, lat).fields[0].text", [lon, lat]) == words
    assert opened.complaints == []


@pytest.mark.browser
def test_a_crowd_of_classes_is_cut_to_those_with_most_ground(open_html: Any) -> None:
    made = page()
    rows = np.minimum(np.arange(made.grid.rows)[:, None] // 3, 39) + 1.0
    codes = np.broadcast_to(rows, made.layers[0].field_dbuv_m.shape)
    classes = tuple(MapClass(code, f"Station {code}", "#11415f") for code in range(1, 41))
    layer = replace(made.layers[-1], field_dbuv_m=codes, classes=classes)
    tab = open_html(render_map(replace(made, layers=(*made.layers[:-1], layer)))).page
    tab.select_option("#show", "best-0")
    lines = tab.locator("#legend li").all_inner_texts()
    assert len(lines) == 26
    assert lines[24] == "and 16 with less ground; the pointer names them"


def test_classes_are_checked() -> None:
    layer = page().layers[-1]
    with pytest.raises(RangeError, match="classes of a layer"):
        replace(layer, classes=())
    with pytest.raises(RangeError, match="number of a class"):
        MapClass(0, "none", "#000000")
    with pytest.raises(RangeError, match="pattern of a class"):
        MapClass(1, "one", "#000000", "wavy")
