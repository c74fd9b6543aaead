"""What one knows the place by on the map page: lines where they belong, names that cover no other."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

import support_map_page as support
from combe.publishing.content import MapPage
from combe.publishing.map_lines import ContextMarks, ContourLevel, ContourMarks, ShapeMark
from combe.publishing.map_page import page_data, render_map

HOSTILE = "<script>alert(1)</script> \" ' \u202eesrever\u202c {{7*7}} [[data]] <b>"
GRID = support.ridge_grid()
WIDE_M, HIGH_M = GRID.columns * GRID.cell_size_m, GRID.rows * GRID.cell_size_m


def at(across: float, down: float) -> tuple[float, float]:
    """Return a place [m] by its share of the grid."""
    return GRID.west_m + across * WIDE_M, GRID.north_m - down * HIGH_M


def line(*places: tuple[float, float]) -> np.ndarray:
    return np.array([at(*each) for each in places])


def context_page(word: str = "") -> MapPage:
    """Return a page with one layer of each kind and some contour lines; ``word`` goes into every name."""
    places = tuple(
        ShapeMark(f"Nether {k}{word}", "point", (line((0.1 + 0.08 * (k % 10), 0.1 + 0.2 * (k // 10))),))
        for k in range(40)
    )
    ring = line((0.7, 0.7), (0.9, 0.7), (0.9, 0.9), (0.7, 0.9), (0.7, 0.7))
    layers = (
        ContextMarks("place", places),
        ContextMarks("water", (ShapeMark(f"Long Water{word}", "line", (line((0.0, 0.5), (1.0, 0.52)),)),
                               ShapeMark(f"Mere{word}", "area", (ring,)))),
        ContextMarks("road", (ShapeMark(f"High Road{word}", "line", (line((0.3, 0.0), (0.32, 1.0)),)),)),
        ContextMarks("border", (ShapeMark(f"March{word}", "line", (line((0.0, 0.9), (0.6, 0.95)),)),)),
    )  # fmt: skip
    levels = tuple(
        ContourLevel(100.0 * k, k % 5 == 0, (line((0.0, 0.1 * k), (0.5, 0.1 * k + 0.02), (1.0, 0.1 * k)),))
        for k in range(1, 9)
    )
    return dataclasses.replace(support.map_page(), context=layers, contours=ContourMarks(100.0, levels))


@pytest.mark.browser
def test_lines_lie_where_they_belong(open_html: Any) -> None:
    page = context_page()
    tab = open_html(render_map(page)).page
    read = tab.evaluate(
        "Object.fromEntries(Object.entries(combe.context).map(([kind, shapes]) => [kind, shapes.map("
        "(one) => [one.name, one.form, one.parts.map((part) => part.map((p) => [p.lng, p.lat]))])]))"
    )
    step_m = page_data(page)["lattice"]["pixel_m"] / 8.0
    for layer in page.context:
        for shape, (name, form, parts) in zip(layer.shapes, read[layer.kind], strict=True):
            assert (name, form) == (shape.name, shape.form)
            for drawn, given in zip(parts, shape.parts, strict=True):
                lon, lat = np.array(drawn).T
                x, y = support.to_grid(GRID, lon, lat)
                assert np.hypot(x - given[:, 0], y - given[:, 1]).max() < step_m
    heights = tab.evaluate("combe.contourLevels.map((one) => [one.height, one.index, one.lines.length])")
    assert heights == [[100 * k, k % 5 == 0, 1] for k in range(1, 9)]


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(1300, 900), (390, 844)])
def test_no_name_covers_another_or_a_station(open_html: Any, width: int, height: int) -> None:
    tab = open_html(render_map(context_page())).page
    tab.set_viewport_size({"width": width, "height": height})
    tab.wait_for_timeout(300)
    level = [
        one for one in tab.locator(".labels text").all() if "rotate" not in one.get_attribute("transform")
    ]
    names = [one.bounding_box() for one in level]
    assert len(names) > (12 if width > 1000 else 4)
    stations = [one.bounding_box() for one in tab.locator(".station-name").all()]
    for number, one in enumerate(names):
        for other in [*names[number + 1 :], *stations]:
            wide = min(one["x"] + one["width"], other["x"] + other["width"]) - max(one["x"], other["x"])
            high = min(one["y"] + one["height"], other["y"] + other["height"]) - max(one["y"], other["y"])
            # The frame that a browser tells of letters is higher than they are.
            assert wide <= 0 or high <= 0.35 * one["height"]


@pytest.mark.browser
def test_each_kind_has_a_switch_that_takes_its_lines_and_its_names(open_html: Any) -> None:
    opened = open_html(render_map(context_page()))
    tab = opened.page
    labels = tab.locator(".marks label").all_inner_texts()
    assert [each.strip() for each in labels][3:] == ["Places", "Water", "Roads", "Borders", "Contour lines"]
    for kind, pane in (("water", "context"), ("road", "context"), ("contours", "contours")):
        paths = tab.locator(f".leaflet-{pane}-pane path")
        before, names = paths.count(), tab.locator(f".label-of-{kind.removesuffix('s')}")
        assert names.count() > 0
        tab.uncheck(f"#mark-{kind}")
        assert paths.count() < before
        assert names.count() == 0
        tab.check(f"#mark-{kind}")
        assert paths.count() == before
    tab.uncheck("#mark-place")
    assert tab.locator(".label-of-place").count() == 0
    assert opened.complaints == []


@pytest.mark.browser
def test_hostile_names_show_as_written_and_do_nothing(open_html: Any) -> None:
    opened = open_html(render_map(context_page(HOSTILE)))
    tab = opened.page
    tab.evaluate("combe.map.setZoom(combe.map.getZoom() + 2, { animate: false })")
    tab.wait_for_timeout(100)
    texts = tab.locator(".labels text.label-of-place").all_text_contents()
    assert texts
    assert all(each.startswith("Nether ") and each.endswith(HOSTILE) for each in texts)
    assert opened.complaints == []
    assert len(opened.requests) == 1


@pytest.mark.browser
def test_a_page_without_context_has_no_switch_and_no_line_of_it(open_html: Any) -> None:
    tab = open_html(render_map(support.map_page())).page
    assert tab.locator(".marks label").count() == 3
    assert tab.locator(".leaflet-context-pane path, .leaflet-contours-pane path, .labels text").count() == 0


@pytest.mark.browser
def test_the_legend_tells_kinds_and_the_interval(open_html: Any) -> None:
    tab = open_html(render_map(context_page())).page
    told = tab.locator("#mark-legend").inner_text()
    assert all(words in told for words in ("Roads", "Water", "Borders", "Contour lines, 100 m apart"))


@pytest.mark.browser
def test_context_is_on_the_printed_map(open_html: Any, tmp_path: Path) -> None:
    tab = open_html(render_map(context_page())).page
    tab.pdf(path=tmp_path / "map.pdf")
    text = pypdfium2.PdfDocument(tmp_path / "map.pdf")[0].get_textpage().get_text_range()
    assert "High Road" in text
    assert "Nether 1" in text


def test_a_kind_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="kind of context"):
        ContextMarks("rail", ())
