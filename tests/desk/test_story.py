"""The whole desk in a browser, on the demo with coarser cells: what it says is what the command says."""

from __future__ import annotations

import json
import math
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from support_cli import run, run_json
from support_desk_server import Served
from support_documents import blocks
from support_story import SLOWEST_S, DeskTab, open_desk, written_study

pytestmark = pytest.mark.browser

RELAY: Final = "Larkcombe"
GUIDE_PAGE: Final = "coverage/combe/guide/desk.md"
HEADS: Final = {
    "Served before": "people_served_before",
    "Newly served": "people_newly_served",
    "Lost": "people_lost",
    "Served after": "people_served",
    "Unserved": "people_unserved",
    "No prediction": "people_without_prediction",
}


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written_study(tmp_path_factory.mktemp("desk") / "valley")


@pytest.fixture(scope="module")
def desk(chromium: Any, study: Path) -> Iterator[Served]:
    del chromium  # without a browser there is nothing to serve
    with open_desk(study) as served:
        yield served


@pytest.fixture
def page(chromium: Any, desk: Served) -> Iterator[DeskTab]:
    """Open the page on the study as its file has it."""
    assert desk.ask("/api/replay", {"edits": []})[0] == 200
    for variant in desk.ask("/api/state")[1]["variants"]:
        desk.ask("/api/variants/remove", {"name": variant["name"]})
    context = chromium.new_context(viewport={"width": 1400, "height": 900})
    opened = DeskTab(context.new_page(), desk.address)
    yield opened
    context.close()
    assert opened.complaints == []


def whole(value: float) -> int:
    """Return a number of people as a browser rounds it."""
    return math.floor(value + 0.5)


def of_command(study: Path) -> dict[str, dict[str, int]]:
    """Return what ``combe cover`` counts, as the page's table has it; nobody loses without interference."""
    told = run_json("cover", study)
    rows = [{**told["all_services"], "name": "All services"}, *told["services"]]
    return {row["name"]: {head: whole(row[key]) for head, key in HEADS.items()} for row in rows}


def assert_same_people(page: DeskTab, wanted: dict[str, dict[str, int]]) -> None:
    """Hold every number of people on the page to what the command counts."""
    shown = page.people()
    assert list(shown) == list(wanted)
    for name, counts in shown.items():
        assert counts == {head: wanted[name][head] for head in counts}, name
        left_out = wanted[name].keys() - counts.keys()
        assert left_out <= {"Lost"}
        assert all(wanted[name][head] == 0 for head in left_out)
    newly, words = page.headline()
    every = wanted["All services"]
    assert newly == every["Newly served"]
    assert words[:3] == [every["Served before"], every["Served after"], every["Unserved"]]


def place_of(page: DeskTab, name: str = RELAY) -> tuple[float, float]:
    station = next(one for one in page.state["stations"] if one["name"] == name)
    return station["longitude_deg"], station["latitude_deg"]


def test_the_desk_opens_with_the_numbers_of_the_command(page: DeskTab, study: Path) -> None:
    assert_same_people(page, of_command(study))
    assert page.tab.locator("#desk-changed").inner_text() == ""


def test_a_whole_story_is_saved_and_the_command_counts_the_same_people(page: DeskTab, study: Path) -> None:
    before = study.read_text(encoding="utf-8")
    page.drag(RELAY, -30, 24)
    page.press(RELAY, "ArrowLeft", "Shift+ArrowUp")
    page.write("Aerial height, m", "45")
    page.write("Mux C, ERP in W", "80")
    page.click("#undo")
    page.click("#redo")
    page.add("Second", -200, 150)
    page.choose("Second")
    page.write("Mux A, channel", "33")
    page.keep("two relays")
    page.click("#remove")
    page.keep("one relay")
    page.tab.get_by_role("button", name="Show two relays").click()
    page.mast("Second").wait_for()
    said = page.save("story.toml")
    assert "Second" in said
    saved = study.with_name("story.toml")
    assert_same_people(page, of_command(saved))
    assert run("check", saved).exit_code == 0
    assert study.read_text(encoding="utf-8") == before


def test_what_is_dragged_is_sketched_and_then_settles_to_what_the_command_counts(
    page: DeskTab, study: Path
) -> None:
    first, newly = place_of(page), page.headline()[0]
    page.take_hold(RELAY, -90, 40)
    assert "every third cell a side" in page.tab.locator("#head-sketch").inner_text()
    assert (place_of(page), page.headline()[0]) == (first, newly)
    with page.settles():
        page.tab.mouse.up()
    assert page.tab.locator("#head-sketch").is_hidden()
    assert place_of(page)[0] < first[0] - 0.01
    assert page.headline()[0] != newly
    page.save("dragged.toml")
    assert_same_people(page, of_command(study.with_name("dragged.toml")))


def test_arrow_keys_undo_and_redo_lead_there_and_back(page: DeskTab) -> None:
    first, people = place_of(page), page.people()
    page.press(RELAY, "Shift+ArrowLeft", "Shift+ArrowDown")
    there, moved = place_of(page), page.people()
    # Ten cells of 240 m are 0.0268 degrees of longitude at 36.6 degrees north, and 0.0216 of latitude.
    assert (first[0] - there[0], first[1] - there[1]) == pytest.approx((0.0268, 0.0216), rel=0.05)
    assert moved != people
    page.tab.keyboard.press("Control+z")
    page.tab.wait_for_function("() => combe.desk.state.redo === 1 && !document.body.dataset.busy")
    assert (place_of(page), page.people()) == (first, people)
    page.click("#redo")
    assert (place_of(page), page.people()) == (there, moved)


def test_a_relay_more_is_heard_and_taken_away_again(page: DeskTab) -> None:
    people, newly = page.people(), page.headline()[0]
    page.add("Second", -180, -60)
    # The two relays share their channels, so what one brings, the other may spoil; the numbers move.
    assert page.people() != people
    assert page.tab.locator("#feed-list p").count() == 2
    page.choose("Second")
    page.click("#remove")
    assert page.tab.locator(".held").count() == 2
    assert (page.people(), page.headline()[0]) == (people, newly)


def test_two_variants_are_told_side_by_side_and_swept_over_one_another(page: DeskTab) -> None:
    page.keep("low")
    page.write("Aerial height, m", "80")
    page.keep("high")
    low, high = (variant["people_newly_served"] for variant in page.state["variants"])
    assert low != high
    row = page.tab.locator("#variant-table tr", has_text="Newly")
    shown = [text.replace("\u202f", "") for text in row.locator("td").all_inner_texts()]
    assert shown == [str(whole(low)), str(whole(high))]
    page.tab.locator("#swipe-left").select_option("low")
    page.tab.locator("#swipe-right").select_option("high")
    page.tab.locator("#swipe").click()
    page.tab.wait_for_selector("#swipe-frame:not([hidden])")
    left, right = page.tab.evaluate(PICTURES)
    assert left != right
    page.tab.locator("#swipe-at").fill("1000")
    assert page.tab.evaluate("() => combe.coverage.style.clipPath").startswith("inset(0")


PICTURES: Final = """() => [combe.swiping.canvas, combe.coverage].map((canvas) => {
    const { width, height } = canvas;
    const pixels = canvas.getContext("2d").getImageData(0, 0, width, height).data;
    return new Uint32Array(pixels.buffer).reduce((sum, one) => (Math.imul(sum, 31) + one) | 0, 7);
})"""
"""A number for each of the two pictures under the divider."""


def test_the_address_of_the_page_leads_back_to_its_state(page: DeskTab, desk: Served) -> None:
    page.write("Aerial height, m", "60")
    people, address = page.people(), page.tab.url
    assert "#changes=" in address
    assert desk.ask("/api/replay", {"edits": []})[0] == 200
    page.tab.goto("about:blank")
    page.open(address)
    assert page.people() == people
    assert page.tab.get_by_label("Aerial height, m").input_value() == "60"


def test_a_feed_and_a_place_are_told_as_the_commands_tell_them(page: DeskTab, study: Path) -> None:
    tab, sheet = page.tab, page.tab.locator("#sheet-answer")
    tab.get_by_role("button", name=f"Read the feed of {RELAY}").click()
    tab.wait_for_selector("#sheet:not([hidden]) #sheet-answer table")
    (relay,) = run_json("feed", study)["relays"]
    margin = min(service["margin_db"] for service in relay["services"])
    assert f"{margin:.1f} dB" in sheet.inner_text()
    assert f"{margin:.1f} dB" in tab.locator("#feed-list").inner_text()
    tab.keyboard.press("Escape")
    tab.locator("#explain").click()
    tab.wait_for_selector("#sheet:not([hidden]) .facts")
    middle = tab.evaluate("() => combe.placeOf(combe.map.getCenter())")
    told = run_json("explain", study, "--at", f"{middle['longitude_deg']},{middle['latitude_deg']}")
    assert all(line in sheet.inner_text() for line in told["headline"]), (
        told["headline"],
        sheet.inner_text(),
    )


def test_a_relay_is_put_on_the_best_hill_and_can_be_taken_hold_of_there(page: DeskTab, study: Path) -> None:
    page.unfold("hills-part")
    page.tab.locator("#hills").click()
    page.tab.wait_for_selector(".hill >> nth=9", timeout=1000 * SLOWEST_S)
    with page.settles():
        page.tab.locator("#hills-list button").first.click()
    (first, *_) = run_json("site", study)["list"]
    assert place_of(page) == pytest.approx((first["longitude_deg"], first["latitude_deg"]), abs=1e-5)
    hill = place_of(page)
    # The chain of its feed is not that of the search, and does not do here.
    assert "it counts as if it passed" in page.tab.locator("#feed-list").inner_text()
    page.drag(RELAY, 25, 25)
    assert place_of(page)[0] > hill[0] + 0.001


def test_what_is_read_of_a_place_follows_changes(page: DeskTab) -> None:
    x, y = page.middle_of(RELAY)
    page.tab.mouse.click(x - 70, y + 5)
    read = page.tab.locator("#read-fields")
    before = read.inner_text()
    page.write("Mux C, ERP in W", "0.5")
    page.tab.wait_for_function(
        "(before) => document.getElementById('read-fields').innerText !== before", arg=before
    )


def test_the_guide_shows_other_programs_how_to_ask_and_an_open_page_follows(
    page: DeskTab, desk: Served
) -> None:
    place = f"http://{desk.host}"
    (calls,) = [block for block in blocks(GUIDE_PAGE, "sh") if "curl" in block]
    with page.settles():
        printed = subprocess.run(
            ["bash", "-e", "-c", calls],
            env={**os.environ, "DESK": place, "TOKEN": desk.token},
            capture_output=True,
            check=True,
        ).stdout
    reader, told = json.JSONDecoder(), printed.decode()
    before, end = reader.raw_decode(told)
    after, _ = reader.raw_decode(told[end:])
    assert [each["stations"][1]["aerial_height_m"] for each in (before, after)] == [30, 45]
    known: dict[str, Any] = {}
    exec(compile(blocks(GUIDE_PAGE, "python")[0], GUIDE_PAGE, "exec"), known)
    with page.settles():
        people = known["people_by_height"](place, desk.token, RELAY, [45.0, 60.0])
    assert people[0] == after["all_services"]["people_newly_served"]
    # The page knows a state a little before it shows it.
    shown = "(people) => document.getElementById('head-newly').textContent === combe.count(people)"
    page.tab.wait_for_function(shown, arg=people[1], timeout=1000 * SLOWEST_S)
    assert page.headline()[0] == whole(people[1])
    assert page.tab.evaluate("() => combe.chosenStation().aerial_height_m") == 60


def test_the_numbers_of_the_demo_on_its_own_cells(chromium: Any, tmp_path: Path) -> None:
    study = written_study(tmp_path / "valley", 60.0)
    with open_desk(study) as served:
        tab = chromium.new_context(viewport={"width": 1400, "height": 900}).new_page()
        page = DeskTab(tab, served.address)
        assert page.headline() == (1611, [12671, 14282, 918])
        assert page.complaints == []
        tab.context.close()
