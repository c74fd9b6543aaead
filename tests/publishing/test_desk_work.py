"""What is done beside the map of the desk: places and feeds read, hills, variants, saving, an address."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from support_desk_page import Opened, kept_variants, opened_on

pytestmark = pytest.mark.browser


@pytest.fixture
def page(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium)


def test_a_place_that_is_clicked_is_read_and_explained(page: Opened) -> None:
    frame = page.tab.locator(".folium-map").bounding_box()
    page.tab.mouse.click(frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2 + 60)
    assert "dB(µV/m)" in page.tab.locator("#read-fields").inner_text()
    page.tab.locator("#explain").click()
    page.tab.wait_for_selector("#sheet-answer .facts")
    assert "61 dB" in page.tab.locator("#sheet-answer").inner_text()
    asked = page.bodies("/api/explain")[0]
    under = "([x, y]) => { const p = combe.map.containerPointToLatLng([x, y]); return [p.lng, p.lat]; }"
    place = page.tab.evaluate(under, [frame["width"] / 2, frame["height"] / 2 + 60])
    # Within a pixel, since the pointer stands on whole ones: 60 of them from the middle.
    assert [float(asked[key]) for key in ("longitude_deg", "latitude_deg")] == pytest.approx(place, abs=2e-4)


def test_a_feed_is_read_on_a_sheet_that_follows_changes_and_closes_to_where_it_was_opened(
    page: Opened,
) -> None:
    assert "✓ passes with 20.0 dB" in page.tab.locator("#feed-list p").first.inner_text()
    page.tab.get_by_role("button", name="Read the feed of Lowgate").click()
    page.tab.get_by_text("The feed passes with 20.0 dB.").wait_for()
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 60 })")
    page.tab.get_by_text("The feed passes with 40.0 dB.").wait_for()
    assert "+20.0 dB" in page.tab.locator("#feed-list .change").inner_text()
    page.tab.keyboard.press("Escape")
    assert page.tab.locator("#sheet").is_hidden()


def test_hills_are_marked_in_order_and_take_the_relay(page: Opened) -> None:
    page.unfold("hills-part")
    page.tab.locator("#hills").click()
    page.tab.wait_for_selector(".hill >> nth=2")
    assert page.tab.locator(".hill").all_inner_texts() == ["1", "2", "3"]
    page.tab.get_by_role("button", name=re.compile("^Hill 2")).focus()
    page.tab.keyboard.press("Enter")
    focused = page.tab.evaluate(
        "document.activeElement.closest('li') === document.querySelectorAll('#hills-list li')[1]"
    )
    assert focused
    page.tab.keyboard.press("Enter")
    page.reaches(2)
    place = page.desk.hills()["hills"][1]
    assert page.station()["longitude_deg"] == place["longitude_deg"]
    assert page.tab.locator("#hills").is_enabled()


def test_a_search_for_hills_that_fails_says_why(page: Opened) -> None:
    page.desk.why = "siting: is missing; say what the relay radiates"
    page.unfold("hills-part")
    page.tab.locator("#hills").click()
    page.tab.wait_for_function(
        "(why) => document.querySelector('#hills-words').textContent === why", arg=page.desk.why
    )
    assert page.tab.locator("#hills-share").is_hidden()
    assert page.tab.locator("#hills").is_enabled()
    assert page.said() == page.desk.why


def test_signs_of_change_are_against_the_file_also_where_the_page_never_saw_it(page: Opened) -> None:
    page.tab.evaluate(
        "combe.change({ station: 'Lowgate', aerial_height_m: 60, erp_w: { 'Multiplex 1': 0.2 } })"
    )
    page.reaches(2)
    signs = page.tab.locator(".panel .change").all_inner_texts()
    assert sum(bool(each) for each in signs) > 3
    assert "+20.0 dB" in page.tab.locator("#feed-list .change").inner_text()
    page.tab.evaluate("sessionStorage.clear()")
    page.open(page.address)
    assert page.tab.locator(".panel .change").all_inner_texts() == signs


def test_variants_are_kept_told_apart_by_district_and_shown(page: Opened) -> None:
    kept_variants(page)
    table = page.tab.locator("#variant-table")
    assert table.locator("thead th").all_inner_texts() == ["Variant", "first", "weak"]
    rows = [page.desk.variant(name)["districts"][1]["people_served"] for name in ("first", "weak")]
    cells = table.locator("tr", has_text="Served in South Hundred").locator("td").all_inner_texts()
    sign = f"{rows[1] - rows[0]:+,.0f}".replace(",", "\u202f").replace("-", "−")
    assert cells[1].endswith(sign)
    page.tab.get_by_role("button", name="Show first").click()
    page.tab.wait_for_function("() => combe.chosenStation().services[0].erp_w === 16")


def test_two_variants_lie_on_the_two_sides_of_a_divider(page: Opened) -> None:
    kept_variants(page)
    page.tab.locator("#swipe-left").select_option("first")
    page.tab.locator("#swipe-right").select_option("weak")
    page.tab.locator("#swipe").click()
    page.tab.wait_for_selector("#swipe-frame:not([hidden])")
    assert page.tab.locator(".swipe-name").all_inner_texts() == ["first", "weak"]
    assert page.tab.locator("canvas.coverage").count() == 2
    line = page.tab.locator("#swipe-line")
    at = line.bounding_box()["x"]
    page.tab.locator("#swipe-at").focus()
    page.tab.keyboard.press("PageUp")
    assert line.bounding_box()["x"] > at + 20
    clips = page.tab.eval_on_selector_all("canvas.coverage", "all => all.map((one) => one.style.clipPath)")
    assert len({*clips}) == 2
    assert all(clip.startswith("inset(") for clip in clips)
    page.tab.locator("#swipe").click()
    page.tab.wait_for_selector("#swipe-frame", state="hidden")
    assert page.tab.locator("canvas.coverage").count() == 1
    assert page.tab.evaluate("combe.coverage.style.clipPath") == ""


def test_a_study_is_saved_and_one_that_is_there_is_written_over_by_a_second_press(page: Opened) -> None:
    path, button = page.tab.locator("#save-path"), page.tab.locator("#save")
    assert path.input_value() == "study-2.toml"
    path.fill("notes.txt")
    button.click()
    fault = page.tab.locator("#save-fault")
    fault.wait_for(state="visible")
    assert fault.inner_text() == "path is 'notes.txt'; allowed: a file that ends in .toml"
    assert button.inner_text() == "Save the study"
    path.fill("there.toml")
    button.click()
    page.tab.get_by_role("button", name="Write over there.toml").click()
    page.tab.get_by_text("Written: /studies/there.toml").wait_for()
    assert "aerial_height_m 20 → 30" in page.tab.locator("#save-answer").inner_text()
    assert [body["overwrite"] for body in page.bodies("/api/save")] == [False, False, True]


def test_the_address_leads_back_to_the_same_changes(page: Opened) -> None:
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 55 })")
    page.reaches(2)
    address = page.tab.evaluate("location.href")
    assert "#changes=" in address
    page.desk.go(-1)
    page.tab.goto("about:blank")
    page.open(address)
    assert page.bodies("/api/replay") == [{"edits": [{"station": "Lowgate", "aerial_height_m": 55}]}]
    assert page.tab.get_by_label("Aerial height, m").input_value() == "55"
    page.tab.locator("#undo").click()
    page.tab.wait_for_function("() => !location.hash")


def test_the_state_is_given_as_json(page: Opened) -> None:
    with page.tab.expect_download() as coming:
        page.tab.locator("#state-json").click()
    state = json.loads(coming.value.path().read_text(encoding="utf-8"))
    assert state["stations"][1]["name"] == "Lowgate"


def test_another_page_on_the_same_desk_follows(page: Opened) -> None:
    other = page.tab.context.new_page()
    other.goto(page.address)
    other.wait_for_selector("body[data-ready=yes]")
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 77 })")
    other.wait_for_function("() => combe.chosenStation().aerial_height_m === 77")


def test_where_another_page_was_quicker_its_state_is_shown(page: Opened) -> None:
    page.desk.quicker = True
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 31 }).catch(() => {})")
    page.reaches(2)
    assert page.tab.get_by_label("Aerial height, m").input_value() == "88"
