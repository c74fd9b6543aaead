"""The page of the desk in a browser, before a made-up server: masts are moved, and all else follows."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from importlib.resources import files
from typing import Any, Final

import pytest

import support_desk
from combe.publishing.inline import content_policy

pytestmark = pytest.mark.browser

RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
HOSTILE: Final = " <img src=x onerror=alert(1)> \"'`${7*7}</script>"
RELAY: Final = "[aria-label='Relay Lowgate, move with the arrow keys']"
PICTURE: Final = """() => {
    const { width, height } = combe.coverage;
    const pixels = combe.coverage.getContext("2d").getImageData(0, 0, width, height).data;
    return new Uint32Array(pixels.buffer).reduce((sum, one) => (Math.imul(sum, 31) + one) | 0, 7);
}"""


class Opened:
    """A desk with its page open, and what the page complained of."""

    def __init__(self, desk: support_desk.Desk, tab: Any, address: str) -> None:
        self.desk, self.tab, self.address = desk, tab, address
        self.complaints: list[str] = []
        tab.on("pageerror", lambda error: self.complaints.append(str(error)))
        tab.on("console", self.heard)
        tab.on("dialog", lambda dialog: (self.complaints.append(dialog.message), dialog.dismiss()))
        self.open(address)

    def heard(self, line: Any) -> None:
        # A refused or outdated edit is an answer like others, and pixels are read by these tests alone.
        ours = any(word in line.text for word in ("422", "409", "willReadFrequently"))
        if line.type in ("error", "warning") and not ours:
            self.complaints.append(line.text)

    def open(self, address: str) -> None:
        self.tab.goto(address)
        self.tab.wait_for_selector("body[data-ready=yes]", timeout=30_000)

    def reaches(self, revision: int) -> None:
        """Wait until a state is shown whole."""
        self.tab.wait_for_function(
            "(wanted) => combe.desk.state.revision >= wanted && !document.body.dataset.busy", arg=revision
        )

    def bodies(self, path: str) -> list[Any]:
        return [body for asked, body in self.desk.asked if asked == path]

    def station(self, name: str = "Lowgate") -> dict[str, Any]:
        return next(one for one in self.desk.now if one["name"].startswith(name))

    def picture(self) -> int:
        """Return a number that tells one painted coverage from another."""
        return self.tab.evaluate(PICTURE)

    def said(self) -> str:
        return self.tab.locator("#desk-said").inner_text()

    def unfold(self, part: str) -> None:
        self.tab.evaluate("(id) => { document.getElementById(id).open = true; }", part)


def opened_on(chromium: Any, word: str = "", **screen: Any) -> Iterator[Opened]:
    with support_desk.running_desk(word) as (desk, address):
        context = chromium.new_context(viewport={"width": 1300, "height": 900}, **screen)
        opened = Opened(desk, context.new_page(), address)
        yield opened
        context.close()
        assert opened.complaints == []


@pytest.fixture
def page(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium)


@pytest.fixture
def hostile(chromium: Any) -> Iterator[Opened]:
    yield from opened_on(chromium, HOSTILE)


@pytest.fixture
def phone(chromium: Any) -> Iterator[Opened]:
    with support_desk.running_desk() as (desk, address):
        context = chromium.new_context(viewport={"width": 390, "height": 844}, is_mobile=True, has_touch=True)
        opened = Opened(desk, context.new_page(), address)
        yield opened
        context.close()
        assert opened.complaints == []


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
    assert "Lowgate, relay, aerial 35 m, radiates nothing" in tab.locator("#station-list").inner_text()
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


def kept_variants(page: Opened) -> None:
    """Keep the study as it is, and with a weak relay."""
    page.unfold("variants-part")
    for name in ("first", "weak"):
        page.tab.locator("#variant-name").fill(name)
        page.tab.locator("#variant-name").press("Enter")
        page.tab.get_by_role("button", name=f"Show {name}").wait_for()
        page.tab.evaluate("combe.change({ station: 'Lowgate', erp_w: { 'Multiplex 1': 0.2 } })")


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
    assert support_desk.TOKEN not in html
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
