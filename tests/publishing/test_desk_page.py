"""The page of the desk in a browser, before a made-up server: masts are moved, and all else follows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from support_desk_page import PICTURE, RELAY, Opened, opened_on

pytestmark = pytest.mark.browser


@pytest.fixture
def page(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium)


def drag(page: Opened, to: tuple[float, float], *, let_go: bool = True) -> None:
    """Drag the relay's mast by so many pixels."""
    box = page.tab.locator(RELAY).bounding_box()
    x, y = box["x"] + 15, box["y"] + 24
    page.tab.mouse.move(x, y)
    page.tab.mouse.down()
    page.tab.mouse.move(x + to[0] / 2, y + to[1] / 2, steps=4)
    page.tab.mouse.move(x + to[0], y + to[1], steps=4)
    if let_go:
        page.tab.mouse.up()


def test_a_dragged_mast_sketches_on_the_way_and_settles_where_it_is_let_go(page: Opened) -> None:
    before, at_first = page.picture(), dict(page.station())
    drag(page, (-140, 90), let_go=False)
    page.tab.wait_for_selector("#head-sketch:not([hidden])")
    assert "every third cell a side" in page.tab.locator("#head-sketch").inner_text()
    page.tab.wait_for_function(f"(before) => ({PICTURE})() !== before", arg=before)
    assert page.bodies("/api/change") == []
    feed = page.tab.evaluate("combe.data.feeds[0].places[1]")
    page.tab.mouse.up()
    page.reaches(2)
    assert page.tab.evaluate("combe.data.feeds[0].places[1]") == pytest.approx(feed, abs=1e-5)
    change = page.bodies("/api/change")[-1]
    assert set(change) == {"station", "longitude_deg", "latitude_deg"}
    assert change["longitude_deg"] < at_first["longitude_deg"] - 0.01
    assert change["latitude_deg"] < at_first["latitude_deg"] - 0.005
    assert page.picture() != before
    assert page.tab.locator("#head-sketch").is_hidden()


def test_only_the_newest_of_many_sketches_waits(page: Opened) -> None:
    found = page.tab.evaluate(
        """async () => {
            const begun = [];
            let end;
            const first = new Promise((done) => { end = done; });
            const line = combe.latest(async (given) => { begun.push(given); if (given === 1) await first; });
            [1, 2, 3, 4].forEach((one) => line.put(one));
            end();
            await new Promise((done) => setTimeout(done, 20));
            return begun;
        }"""
    )
    assert found == [1, 4]


def test_the_numbers_follow_a_change_and_tell_how_far_it_is_from_the_file(page: Opened) -> None:
    served = page.desk.state()["all_services"]["people_newly_served"]
    page.tab.evaluate("combe.change({ station: 'Lowgate', erp_w: { 'Multiplex 1': 0.2 } })")
    page.reaches(2)
    now = page.desk.state()["all_services"]["people_newly_served"]
    assert now != served
    assert page.tab.locator("#head-newly").inner_text() == f"{now:,.0f}".replace(",", "\u202f")
    sign = f"{now - served:+,.0f}".replace(",", "\u202f").replace("-", "−")
    assert page.tab.locator("#head-newly-change").inner_text().endswith(sign)
    assert page.tab.locator("#people-table tbody").count() == 3
    assert page.tab.locator("#district-table tbody tr").count() == 2
    assert f"{now:,.0f}".replace(",", "\u202f") + " newly; feed passes with 20.0 dB." in page.said()


def test_arrow_keys_move_the_mast_by_a_cell_of_the_grid_and_with_shift_by_ten(page: Opened) -> None:
    row, column = page.desk.cell(page.station())
    mast = page.tab.locator(RELAY)
    mast.focus()
    centre = page.tab.evaluate("combe.map.getCenter()")
    page.tab.keyboard.press("ArrowDown")
    page.tab.keyboard.press("Shift+ArrowLeft")
    page.reaches(2)
    assert page.desk.cell(page.station()) == (row + 1, column - 10)
    assert len(page.bodies("/api/change")) == 1
    assert page.tab.evaluate("combe.map.getCenter()") == centre
    assert mast.evaluate("(one) => one === document.activeElement")


def test_undo_and_redo_by_button_and_by_keys_but_not_while_a_text_is_written(page: Opened) -> None:
    assert page.tab.locator("#undo").is_disabled()
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 60 })")
    page.reaches(2)
    page.tab.locator("#undo").click()
    page.reaches(3)
    assert page.station()["aerial_height_m"] == 20
    assert page.tab.locator("#undo").is_disabled()
    page.tab.locator(RELAY).focus()
    page.tab.keyboard.press("Control+Shift+Z")
    page.reaches(4)
    assert page.station()["aerial_height_m"] == 60
    page.tab.locator("#save-path").focus()
    page.tab.keyboard.press("Control+z")
    page.tab.locator(RELAY).focus()
    page.tab.keyboard.press("Control+z")
    page.reaches(5)
    assert len(page.bodies("/api/undo")) == 2


def test_a_relay_is_added_by_a_click_and_by_the_keyboard_in_the_middle(page: Opened) -> None:
    page.tab.locator("#add").click()
    frame = page.tab.locator(".folium-map").bounding_box()
    page.tab.mouse.click(frame["x"] + frame["width"] / 2 - 60, frame["y"] + frame["height"] / 2 + 80)
    page.reaches(2)
    page.tab.wait_for_selector("[aria-label='Relay Relay 1, move with the arrow keys']")
    assert page.bodies("/api/add")[0]["like"] == "Lowgate"
    page.tab.locator("#add-name").fill("Middle")
    page.tab.locator("#add").focus()
    page.tab.keyboard.press("Enter")
    page.tab.keyboard.press("Enter")
    page.reaches(3)
    middle = page.tab.evaluate("combe.map.getCenter()")
    added = page.bodies("/api/add")[1]
    assert added["name"] == "Middle"
    assert (added["longitude_deg"], added["latitude_deg"]) == pytest.approx(
        (middle["lng"], middle["lat"]), abs=1e-5
    )


def test_a_station_taken_away_is_brought_back_by_undo(page: Opened) -> None:
    page.tab.get_by_role("button", name="Take Lowgate away").click()
    page.reaches(2)
    assert page.tab.locator(RELAY).count() == 0
    assert page.tab.locator(".station").count() == 1
    page.tab.locator("#undo").click()
    page.reaches(3)
    assert page.tab.locator(RELAY).count() == 1


def test_each_field_of_the_editor_sends_its_own_change(page: Opened) -> None:
    tab = page.tab
    for at, (label, value, sent) in enumerate(
        [
            ("Aerial height, m", "35", {"aerial_height_m": 35}),
            ("Tilt down, °", "1.5", {"tilt_deg": 1.5}),
            ("Multiplex 2, ERP in W", "40", {"erp_w": {"Multiplex 2": 40}}),
            ("Multiplex 1, channel", "33", {"channel": {"Multiplex 1": 33}}),
        ]
    ):
        tab.get_by_label(label).fill(value)
        tab.get_by_label(label).press("Tab")
        page.reaches(2 + at)
        assert page.bodies("/api/change")[-1] == {"station": "Lowgate", **sent}
    tab.get_by_label("Horizontal pattern").select_option("panel.csv")
    page.reaches(6)
    tab.get_by_label("On the air").uncheck()
    page.reaches(7)
    assert page.bodies("/api/change")[-2:] == [
        {"station": "Lowgate", "horizontal_pattern": "panel.csv"},
        {"station": "Lowgate", "on_air": False},
    ]
    assert "silent" in tab.locator(RELAY).get_attribute("class")
    assert "Lowgate, relay, aerial 35 m, off the air" in tab.locator("#station-list").inner_text()
    assert "33, 16 W; Multiplex 2 ch 24, 40 W" in tab.locator("#station-list").inner_text()


def test_a_refused_value_stands_in_one_line_beside_its_field_and_the_old_one_comes_back(page: Opened) -> None:
    height = page.tab.get_by_label("Aerial height, m")
    height.fill("900")
    height.press("Enter")
    fault = page.tab.locator("#edit-aerial_height_m-fault")
    fault.wait_for(state="visible")
    assert fault.inner_text() == "aerial_height_m is 900; allowed: 1 to 500"
    assert height.input_value() == "20"
    assert height.get_attribute("aria-describedby") == "edit-aerial_height_m-fault"
    height.fill("30")
    height.press("Enter")
    page.reaches(2)
    assert fault.is_hidden()


def test_why_a_station_radiates_nothing_and_who_may_be_near_one_that_does(page: Opened) -> None:
    words = page.tab.locator("#edit-exposure")
    assert words.inner_text().endswith("than 12.3 m (the size of the aerial is not given).")
    page.station().update(radiates=False, silenced_by="Highmoor")
    page.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 31 })")
    page.reaches(2)
    assert words.inner_text() == "It radiates nothing, for Highmoor is off the air."
    assert (
        "m, radiates nothing, for Highmoor is off the air" in page.tab.locator("#station-list").inner_text()
    )


def test_changes_of_a_station_in_quick_succession_are_none_of_them_lost(page: Opened) -> None:
    page.tab.evaluate(
        "Promise.allSettled([combe.change({ station: 'Lowgate', aerial_height_m: 44 }),"
        "combe.change({ station: 'Lowgate', erp_w: { 'Multiplex 1': 5 } }),"
        "combe.change({ station: 'Lowgate', erp_w: { 'Multiplex 2': 6 } })])"
    )
    relay = page.station()
    assert relay["aerial_height_m"] == 44
    assert [service["erp_w"] for service in relay["services"]] == [5, 6]
    assert page.tab.get_by_label("Aerial height, m").input_value() == "44"


def test_another_layer_is_fetched_when_it_is_looked_at_and_follows_changes(page: Opened) -> None:
    page.tab.locator("#show").select_option("s1")
    page.tab.wait_for_function("() => combe.state.key === 's1'")
    before = page.picture()
    page.tab.evaluate(
        "combe.change({ station: 'Lowgate', aerial_height_m: 90, erp_w: { 'Multiplex 1': 0.5 } })"
    )
    page.reaches(2)
    assert page.tab.locator("#show").input_value() == "s1"
    assert page.picture() != before
    assert [path for path, _ in page.desk.asked if path.startswith("/api/layer/")] == [
        "/api/layer/story",
        "/api/layer/s1",
        "/api/layer/s1",
    ]


def test_the_story_is_shown_where_the_layer_in_view_goes_with_its_station(page: Opened) -> None:
    page.tab.locator("#show").select_option("s1")
    page.tab.wait_for_function("() => combe.state.key === 's1'")
    page.tab.evaluate("combe.act('/api/remove', { station: 'Lowgate' })")
    page.reaches(2)
    assert page.tab.locator("#show").input_value() == "story"
    assert page.tab.locator("#show option[value=s1]").count() == 0


def test_of_a_painted_picture_only_the_box_that_changed_is_handed_on(page: Opened) -> None:
    box, same = page.tab.evaluate(
        """() => {
            const canvas = combe.newCanvas(), red = 0xff0000ff, green = 0xff00ff00;
            const ink = (at) => (_, x, y) => (x >= at && x < 90 && y >= 60 && y < 64 ? red : green);
            combe.paint(canvas, ink(80));
            return [combe.paint(canvas, ink(70)), combe.paint(canvas, ink(70))];
        }"""
    )
    assert box == {"x": 70, "y": 60, "width": 10, "height": 4}
    assert same is None
