"""The map of studies side by side in a browser: the divider, the layers, the readout, paper and phone."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from typing import Any, Final

import pytest

import support_map_page
from combe.publishing.compare_page import SideBySide, render_compare
from combe.publishing.content import MapPage

pytestmark = pytest.mark.browser

HOSTILE: Final = "<img src=x onerror=alert(1)> {{ 7 }} \" '"
RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
SAID: Final = SideBySide(
    ("All services: A serves 100 people, B 120, 20 more.",),
    ("B better: people served; equal: people harmed.",),
    ("count", "A", "B", "better"),
    (("people served", "100", "120", "B"), ("people harmed", "0", "0", "cannot be told apart")),
)


def content(word: str = "") -> MapPage:
    """Return a map of two studies whose margins differ by 10 dB, and of the cells that B alone serves."""
    page = support_map_page.map_page(word=word)
    weak = replace(page.layers[-1], key="a", station="A", title="A, every station", shows="margin")
    margin = weak.field_dbuv_m - weak.threshold_dbuv_m - 15.0
    weak = replace(weak, field_dbuv_m=margin, threshold_dbuv_m=0.0)
    strong = replace(weak, key="b", station="B", title="B, every station", field_dbuv_m=margin + 10.0)
    alone = margin.copy()
    alone[:] = -1.0
    where = (margin < 0.0) & (margin >= -10.0)
    alone[where] = margin[where] + 10.0
    only = replace(
        weak, key="b-only", station=f"Alone {word}", title=f"Served in B and not in A{word}",
        field_dbuv_m=alone, shows="difference",
    )  # fmt: skip
    states = ("served before", "newly served", "lost", "unserved")
    people = tuple(replace(each, state=states[at % 4]) for at, each in enumerate(page.people))
    words = {"newly served": f"served in B, not in A {word}", "lost": "served in A, not in B"}
    return replace(
        page, layers=(weak, strong, only), before_keys=(), after_keys=(), people=people, people_words=words
    )


@pytest.fixture
def tab(open_html: Any) -> Any:
    opened = open_html(render_compare(content(), SAID))
    yield opened.page
    assert opened.complaints == []
    assert [each for each in opened.requests if not each.startswith(("file:", "data:", "blob:"))] == []


def coloured(tab: Any) -> list[int]:
    """Return how many pixels are painted on the left and on the right canvas."""
    script = """() => [combe.swiping.canvas, combe.coverage].map(({ shown }) =>
      shown.data.filter((value, at) => at % 4 === 3 && value > 200).length)"""
    found: list[int] = tab.evaluate(script)
    return found


def test_the_page_opens_with_the_first_two_studies_on_the_sides_of_the_divider(tab: Any) -> None:
    assert tab.locator(".swipe-name").all_inner_texts() == ["A", "B"]
    left, right = coloured(tab)
    assert 0 < left < right
    assert tab.locator("#show").input_value() == "b"
    tab.locator("#swipe-left").select_option("b")
    assert len(set(coloured(tab))) == 1
    assert tab.locator(".swipe-name").all_inner_texts() == ["B", "B"]


def test_the_divider_follows_the_keyboard_and_parts_the_coverages(tab: Any) -> None:
    tab.locator("#swipe-at").focus()
    before = tab.evaluate("combe.coverage.style.clipPath")
    for _ in range(5):
        tab.keyboard.press("PageUp")
    assert tab.evaluate("combe.coverage.style.clipPath") != before
    assert "% shows A" in tab.locator("#swipe-at").get_attribute("aria-valuetext")


def test_the_readout_tells_both_sides(tab: Any) -> None:
    frame = tab.locator(".folium-map").bounding_box()
    tab.mouse.move(frame["x"] + frame["width"] * 0.6, frame["y"] + frame["height"] / 2)
    tab.wait_for_selector(".read-field")
    rows = tab.locator(".read-field")
    assert rows.count() == 2
    one, two = (float(rows.nth(at).get_attribute("data-value")) for at in range(2))
    assert two - one == pytest.approx(10.0, abs=0.11)
    assert rows.first.inner_text().startswith("A, every station")


def test_a_layer_of_those_served_in_one_alone_fills_the_map_and_ends_the_comparison(tab: Any) -> None:
    tab.locator("#show").select_option("b-only")
    assert tab.locator("#swipe-frame").is_hidden()
    assert tab.locator("#legend-title").inner_text() == "Margin where one alone serves, dB"
    assert tab.locator("#tally").inner_text().startswith("Served in B and not in A: ")
    assert tab.locator("#excess").is_disabled()
    assert tab.evaluate("combe.coverage.style.clipPath") == ""
    tab.locator("#swipe").click()
    assert tab.locator("#swipe-frame").is_visible()
    assert tab.locator("#show").input_value() == "b"


def test_marks_of_people_have_the_words_of_the_page(tab: Any) -> None:
    words = tab.locator("#mark-legend").inner_text()
    assert "People served in A, not in B" in words
    assert "People served in B, not in A" in words
    assert "lost" not in words


def test_paper_has_the_right_side_whole_and_the_screen_its_divider_again(tab: Any) -> None:
    tab.evaluate("combe.toPaper(true)")
    assert tab.evaluate("combe.swiping") is None
    assert tab.evaluate("combe.coverage.style.clipPath") == ""
    tab.evaluate("combe.toPaper(false)")
    assert tab.locator("#swipe-frame").is_visible()
    tab.emulate_media(media="print")
    assert tab.locator(".side-choice").is_hidden()
    assert "cannot be told apart" in tab.locator(".beside-one-another").inner_text()


def test_it_fits_a_phone(open_on_phone: Any) -> None:
    tab = open_on_phone(render_compare(content("long-" * 30), SAID)).page
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("width", [390, 1280])
def test_no_serious_fault_for_those_who_see_or_move_little(tab: Any, width: int) -> None:
    tab.set_viewport_size({"width": width, "height": 844})
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    faults = [
        (rule["id"], rule["nodes"][0]["target"])
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_hostile_words_are_shown_as_written(open_html: Any) -> None:
    said = SideBySide((HOSTILE,), (HOSTILE,), ("count", HOSTILE), ((HOSTILE, HOSTILE),))
    opened = open_html(render_compare(content(HOSTILE), said))
    assert opened.page.locator("img[src=x]").count() == 0
    for place in (".panel-map", ".panel-tables", ".beside-one-another", "#mark-legend"):
        assert HOSTILE in opened.page.locator(place).inner_text()
    assert opened.complaints == []


def test_numbers_of_the_table_are_not_broken(open_on_phone: Any) -> None:
    row = ("people served", "14\u202f282", "14\u202f299", "14\u202f282", *["cannot be told apart"] * 2)
    heads = ("count", "A", "B", "C", "better of A and B", "better of A and C")
    tab = open_on_phone(render_compare(content(), replace(SAID, heads=heads, rows=(row,)))).page
    script = """() => [...document.querySelectorAll(".beside-one-another td")].slice(0, 3).map((cell) => {
      const range = document.createRange();
      range.selectNodeContents(cell);
      return range.getClientRects().length;
    })"""
    assert tab.evaluate(script) == [1, 1, 1]
