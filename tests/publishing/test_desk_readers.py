"""The page of the desk for all who read it: strange names, small screens, few means, and paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files
from typing import Any, Final

import pytest

from combe.publishing.inline import content_policy
from support_desk_page import TOKEN, Opened, kept_variants, opened_on, running_desk

pytestmark = pytest.mark.browser

RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
HOSTILE: Final = " <img src=x onerror=alert(1)> \"'`${7*7}</script>"


@pytest.fixture
def page(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium)


@pytest.fixture
def hostile(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium, HOSTILE)


@pytest.fixture
def phone(chromium: Any) -> Iterator[Opened]:
    with running_desk() as (desk, address):
        context = chromium.new_context(viewport={"width": 390, "height": 844}, is_mobile=True, has_touch=True)
        opened = Opened(desk, context.new_page(), address)
        yield opened
        context.close()
        assert opened.complaints == []


def test_names_are_shown_as_they_are_written(hostile: Opened) -> None:
    tab = hostile.tab
    kept = f"kept{HOSTILE}"
    hostile.unfold("variants-part")
    tab.locator("#variant-name").fill(kept)
    tab.locator("#variant-name").press("Enter")
    tab.wait_for_selector("#variant-table thead")
    shown = tab.locator("body").inner_text()
    for text in (
        f"Lowgate{HOSTILE}",
        f"Multiplex 1{HOSTILE}",
        f"North Hundred{HOSTILE}",
        kept,
        f"study{HOSTILE}",
    ):
        assert text in shown
    assert tab.locator("img").count() == 0
    assert tab.locator(".station-name b").all_inner_texts()[1] == f"Lowgate{HOSTILE}"


def test_the_page_holds_no_token_and_asks_its_own_server_alone(page: Opened) -> None:
    html = page.desk.html()
    assert TOKEN not in html
    assert "connect-src 'self'" in html
    assert "connect-src" not in content_policy(html)
    assert "style=" not in re.sub(r"<(script|style)\b.*?</\1>", "", html, flags=re.DOTALL).replace(
        "figure-style", ""
    )


@pytest.mark.parametrize("width", [390, 1300])
def test_no_serious_fault_for_those_who_see_or_move_little(page: Opened, width: int) -> None:
    page.desk.start_hills()
    kept_variants(page)
    page.tab.set_viewport_size({"width": width, "height": 844})
    page.tab.evaluate("document.querySelectorAll('.work details').forEach((part) => { part.open = true; })")
    page.tab.locator("#swipe").click()
    page.tab.wait_for_selector("#swipe-frame:not([hidden])")
    page.tab.get_by_role("button", name="Read the feed of Lowgate").click()
    page.tab.wait_for_selector("#sheet-answer .answer")
    page.tab.context.new_cdp_session(page.tab).send("Runtime.evaluate", {"expression": RULES})
    found = page.tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    faults = [
        (rule["id"], rule["impact"], rule["nodes"][0]["target"])
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert faults == []


def test_on_a_phone_the_numbers_stand_below_the_map_and_the_work_is_folded(phone: Opened) -> None:
    tab = phone.tab
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    tops = [tab.locator(part).bounding_box()["y"] for part in (".folium-map", ".readout", ".panel", ".work")]
    assert tops == sorted(tops)
    assert tab.locator(".work > details[open]").count() == 0


def test_on_paper_stand_map_and_numbers_and_nothing_to_press(page: Opened) -> None:
    page.tab.emulate_media(media="print")
    assert page.tab.locator(".work").is_hidden()
    assert page.tab.locator("#people-table").is_visible()
    assert page.tab.locator(".folium-map").is_visible()
