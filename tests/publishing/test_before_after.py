"""Before and after on the map of a coverage: a divider that follows mouse, finger and keys."""

from __future__ import annotations

from importlib.resources import files
from typing import Any, Final

import numpy as np
import pytest

import support_map_page
from combe.answers.cover import CoverReport, cover_report
from combe.digits import spoken
from combe.publishing.map_page import render_map
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_recount import write_uneven

pytestmark = pytest.mark.browser

RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def report(tmp_path_factory: Any) -> CoverReport:
    return cover_report(load_project(write_uneven(tmp_path_factory.mktemp("sides"))), feeds=True)


@pytest.fixture(scope="module")
def html(report: CoverReport) -> str:
    return render_map(map_content(report))


@pytest.fixture
def tab(html: str, open_html: Any) -> Any:
    opened = open_html(html)
    yield opened.page
    assert opened.complaints == []


def painted(tab: Any, canvas: str) -> int:
    """Return how many cells show a class of margin; the speckle of what just misses is paler."""
    script = f"""() => {{
        const cells = new Set(), pixels = new Uint32Array({canvas}.shown.data.buffer);
        pixels.forEach((one, at) => {{ if (one >>> 24 > 200) cells.add(combe.cellOfPixel[at]); }});
        return cells.size;
    }}"""
    found: int = tab.evaluate(script)
    return found


def test_one_button_puts_before_on_the_left_and_after_on_the_right(tab: Any, report: CoverReport) -> None:
    network = report.all_services
    assert tab.locator("#sides").is_hidden()
    tab.locator("#swipe").click()
    assert tab.locator(".swipe-name").all_inner_texts() == [
        "All services, parents alone",
        "All services, every station",
    ]
    assert painted(tab, "combe.swiping.canvas") == (network.margin_before_db >= 0.0).sum()
    assert painted(tab, "combe.coverage") == (network.margin_db >= 0.0).sum()
    assert tab.locator("#swipe").inner_text() == "End the comparison"


def test_people_are_told_of_both_sides_at_the_threshold(tab: Any, report: CoverReport) -> None:
    tab.locator("#swipe").click()
    tab.evaluate("() => { byId('excess').value = 3; combe.refresh(); }")
    page = map_content(report)
    step = round((3.0 + 15.0) / 0.5)
    before, after = (spoken(page.recount.layers[key].served[step]) for key in ("before", "after"))
    words = tab.locator("#recounted").inner_text()
    assert words.startswith(f"Left: people with a margin of +3.0 dB or more: {before}; less: ")
    assert f"Right: people with a margin of +3.0 dB or more: {after}; less: " in words
    assert painted(tab, "combe.swiping.canvas") == (report.all_services.margin_before_db >= 3.0).sum()


def test_the_divider_follows_keys_and_the_mouse(tab: Any) -> None:
    tab.locator("#swipe").click()
    divider = tab.locator("#swipe-at")
    divider.focus()
    for _ in range(3):
        tab.keyboard.press("PageUp")
    after_keys = tab.evaluate("combe.coverage.style.clipPath")
    assert int(divider.input_value()) > 500
    box = divider.bounding_box()
    tab.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] / 2)
    tab.mouse.down()
    tab.mouse.move(box["x"] + box["width"] * 0.2, box["y"] + box["height"] / 2, steps=5)
    tab.mouse.up()
    assert int(divider.input_value()) == pytest.approx(200, abs=15)
    assert tab.evaluate("combe.coverage.style.clipPath") != after_keys
    assert "% shows All services, parents alone" in divider.get_attribute("aria-valuetext")


def test_the_divider_follows_a_finger(html: str, open_on_phone: Any) -> None:
    tab = open_on_phone(html).page
    tab.locator("#swipe").tap()
    tab.locator(".folium-map").scroll_into_view_if_needed()
    box = tab.locator("#swipe-at").bounding_box()
    tab.touchscreen.tap(box["x"] + box["width"] * 0.8, box["y"] + box["height"] / 2)
    assert int(tab.locator("#swipe-at").input_value()) == pytest.approx(800, abs=30)
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_pointer_reads_both_sides_and_another_layer_ends_it(tab: Any, report: CoverReport) -> None:
    tab.locator("#swipe").click()
    lon, lat = support_map_page.lonlat(report.grid, 50, 40)
    lines = tab.evaluate(
        "([lon, lat]) => combe.readLines(lon, lat).fields.map((one) => one.value)", [lon, lat]
    )
    margins = [each[50, 40] for each in (report.all_services.margin_before_db, report.all_services.margin_db)]
    assert lines == [float(np.floor(float(each) * 10.0) / 10.0) for each in margins]
    tab.select_option("#show", "served-0")
    assert tab.locator("#swipe-frame").is_hidden()
    assert tab.evaluate("combe.coverage.style.clipPath") == ""
    assert tab.locator("#swipe").inner_text() == "Compare before and after"


def test_paper_has_one_side_whole(tab: Any) -> None:
    tab.locator("#swipe").click()
    tab.evaluate("combe.toPaper(true)")
    assert tab.evaluate("combe.swiping") is None
    tab.evaluate("combe.toPaper(false)")
    assert tab.locator("#swipe-frame").is_visible()


def test_a_page_without_margins_has_no_divider(open_html: Any) -> None:
    opened = open_html(render_map(support_map_page.map_page()))
    assert opened.page.locator("#swipe").count() == 0
    assert opened.complaints == []


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("view", ["story", "best-0", "swipe"])
def test_no_moderate_fault_for_those_who_see_or_move_little(tab: Any, view: str, width: int) -> None:
    tab.set_viewport_size({"width": width, "height": 844})
    if view == "swipe":
        tab.locator("#swipe").click()
    tab.evaluate(
        "(key) => { byId('show').value = key; byId('excess').value = 3; combe.refresh(); }",
        "after" if view == "swipe" else view,
    )
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    faults = [
        (rule["id"], rule["nodes"][0]["target"]) for rule in found["violations"] if rule["impact"] != "minor"
    ]
    assert faults == []
