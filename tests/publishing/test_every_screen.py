"""Pages on screens of all widths: a phone shows them whole and may enlarge them, and all can use them."""

from __future__ import annotations

from importlib.resources import files
from typing import Any, Final

import pytest

import support_pages
import support_reports

pytestmark = pytest.mark.browser

REPORTS: Final = tuple(sorted(support_reports.samples()))
GUIDE: Final = tuple(f"guide {topic}" for topic in support_pages.GUIDE_TOPICS)
MAPS: Final = ("map", "map of hills")
PAGES: Final = (*MAPS, *GUIDE, *REPORTS)
RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
"""axe-core, a published set of rules for pages that all can use, as its package ships it."""


@pytest.mark.parametrize("name", PAGES)
def test_a_page_fits_a_phone_and_may_be_enlarged(name: str, open_on_phone: Any) -> None:
    tab = open_on_phone(support_pages.all_pages()[name], ready=name in MAPS).page
    assert tab.evaluate("innerWidth") == 390
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    viewports = tab.eval_on_selector_all("meta[name=viewport]", "all => all.map((one) => one.content)")
    assert viewports == ["width=device-width, initial-scale=1"]


@pytest.mark.parametrize(
    ("name", "width"), [*((name, 390) for name in PAGES), ("map", 1280), ("map of hills", 1280)]
)
def test_no_serious_fault_for_those_who_see_or_move_little(name: str, width: int, open_html: Any) -> None:
    tab = open_html(support_pages.all_pages()[name], ready=name in MAPS).page
    tab.set_viewport_size({"width": width, "height": 844})
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    faults = [
        (rule["id"], rule["impact"], rule["nodes"][0]["target"])
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_on_a_phone_the_value_under_the_finger_stands_beside_the_map(open_on_phone: Any) -> None:
    tab = open_on_phone(support_pages.all_pages()["map"]).page
    frame = tab.locator(".folium-map").bounding_box()
    tab.touchscreen.tap(frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    tab.wait_for_selector(".read-field")
    read = tab.locator(".readout").bounding_box()
    assert abs(read["y"] - (frame["y"] + frame["height"])) <= 1
    assert read["y"] + read["height"] <= 844
    assert read["width"] == 390
    assert tab.locator(".panel").bounding_box()["y"] >= read["y"] + read["height"] - 1
    assert "dB(µV/m)" in tab.locator("#read-fields").inner_text()
