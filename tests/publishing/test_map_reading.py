"""The map read by place: coordinates of two systems, the cross-hair, cards of stations, names to find."""

from __future__ import annotations

import dataclasses
from importlib.resources import files
from typing import Any, Final

import numpy as np
import pyproj
import pytest

import support_map_page as support
from combe.publishing.content import MapPage, PlaceMark
from combe.publishing.map_lines import ContextMarks, ShapeMark
from combe.publishing.map_page import render_map
from combe.publishing.station_card import StationCard
from combe.terrain import StudyGrid
from support_desk_page import opened_on

pytestmark = pytest.mark.browser

HOSTILE = "<script>alert(1)</script> \" ' \u202eesrever\u202c {{7*7}} [[data]] <b>"
GRID = support.ridge_grid()
RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
"""axe-core, as its package ships it."""


def reading_page(word: str = "") -> MapPage:
    """Return a page with a card for each station, settlements by name, and a road; ``word`` goes into all."""
    page = support.map_page(word=word)
    card = StationCard(
        (("Aerial", f"30 m above ground, vertical{word}"), ("Fed by", f"Highmoor{word}: passes")),
        ((f"Mux A{word}", "41", "634", "100", "20.0"), ("Mux B", "44", "658", "50", "17.0")),
    )
    middle = support.lonlat(GRID, 60, 75)
    places = (
        PlaceMark(f"Élan-sur-Ôrle{word}", *support.lonlat(GRID, 30, 40), 412.0),
        PlaceMark(f"Straßend{word}", *middle, 77.0),
    )
    ends = np.array([[900.0, -900.0], [9000.0, -5000.0]]) + np.array([GRID.west_m, GRID.north_m])
    road = ContextMarks("road", (ShapeMark(f"Elan Road{word}", "line", (ends,)),))
    return dataclasses.replace(
        page,
        stations=tuple(dataclasses.replace(each, card=card) for each in page.stations),
        places=places,
        context=(road,),
    )


@pytest.fixture
def tab(open_html: Any) -> Any:
    return open_html(render_map(reading_page())).page


@pytest.mark.parametrize(
    "grid",
    [
        GRID,
        StudyGrid(pyproj.CRS("EPSG:32633"), 300_000.0, 7_400_000.0, 1000.0, 300, 300),
        StudyGrid(pyproj.CRS("EPSG:32756"), 300_000.0, 6_300_000.0, 1000.0, 400, 250),
    ],
    ids=["13 km", "300 km, far north", "400 km, south"],
)
def test_easting_and_northing_are_right_within_a_metre(open_html: Any, grid: StudyGrid) -> None:
    flat = np.zeros((grid.rows, grid.columns))
    opened = open_html(render_map(support.map_page(grid=grid, heights_m=flat))).page
    rng = np.random.default_rng(5)
    x = grid.west_m + rng.uniform(0.001, 0.999, 200) * grid.columns * grid.cell_size_m
    y = grid.north_m - rng.uniform(0.001, 0.999, 200) * grid.rows * grid.cell_size_m
    lon, lat = pyproj.Transformer.from_crs(grid.crs, "EPSG:4326", always_xy=True).transform(x, y)
    read = opened.evaluate(
        "(all) => all.map((at) => combe.studyMetres(...at)).map((one) => [one.east_m, one.north_m])",
        np.column_stack([lon, lat]).tolist(),
    )
    assert np.hypot(*(np.array(read) - np.column_stack([x, y])).T).max() < 1.0


def test_the_readout_tells_both_systems_and_neither_metres_nor_height_beyond_the_study(tab: Any) -> None:
    lon, lat = support.lonlat(GRID, 60, 75)
    told = tab.evaluate("(at) => combe.readLines(...at)", [lon, lat])
    east, north = GRID.west_m + 75.5 * 90.0, GRID.north_m - 60.5 * 90.0
    words = f"E {east:,.0f}  N {north:,.0f}  WGS 84 / UTM zone 17N".replace(",", "\u202f")
    assert told["study"] == words
    assert told["place"].startswith(f"{lat:.5f}° N")
    assert tab.evaluate("combe.readLines(10, 10)")["study"] == ""


def test_the_key_x_brings_a_cross_hair_that_arrow_keys_move_and_that_is_spoken(tab: Any) -> None:
    tab.evaluate("combe.map.getContainer().focus()")
    tab.keyboard.press("x")
    assert tab.locator(".cross-hair").is_visible()
    assert tab.evaluate("document.activeElement.className") == "cross-hair"
    first = tab.evaluate("combe.studyMetres(combe.cross.place.lng, combe.cross.place.lat)")
    tab.keyboard.press("ArrowRight")
    tab.keyboard.press("Shift+ArrowDown")
    then = tab.evaluate("combe.studyMetres(combe.cross.place.lng, combe.cross.place.lat)")
    assert then["east_m"] - first["east_m"] == pytest.approx(90.0, abs=1.0)
    assert first["north_m"] - then["north_m"] == pytest.approx(900.0, abs=3.0)
    spoken = tab.locator("#read-spoken")
    assert spoken.get_attribute("role") == "status"
    tab.wait_for_function("() => document.getElementById('read-spoken').textContent.includes('dB margin')")
    assert tab.locator("#read-study").inner_text() in spoken.text_content()
    tab.keyboard.press("Escape")
    assert not tab.locator(".cross-hair").is_visible()
    assert tab.evaluate("document.activeElement === combe.map.getContainer()")
    assert spoken.text_content() == ""


def test_the_cross_hair_has_a_button_and_stays_on_the_study(tab: Any) -> None:
    button = tab.get_by_role("button", name="Cross-hair, to read the map with the arrow keys")
    button.click()
    assert button.get_attribute("aria-pressed") == "true"
    for _ in range(30):
        tab.keyboard.press("Shift+ArrowUp")
    assert tab.evaluate("combe.cellUnder(combe.cross.place.lng, combe.cross.place.lat)") >= 0
    box, frame = tab.locator(".cross-hair").bounding_box(), tab.locator(".folium-map").bounding_box()
    assert frame["y"] < box["y"] + 17 < frame["y"] + frame["height"]
    button.click()
    assert button.get_attribute("aria-pressed") == "false"


def test_a_mast_tells_by_the_keyboard_what_it_radiates_and_gives_the_focus_back(tab: Any) -> None:
    mast = tab.get_by_role("button", name="Relay Lowgate: what it radiates")
    mast.focus()
    tab.keyboard.press("Enter")
    card = tab.get_by_role("dialog", name="Relay Lowgate")
    assert card.is_visible()
    assert tab.evaluate("document.activeElement.getAttribute('role')") == "dialog"
    words = card.inner_text()
    assert all(
        part in words for part in ("Aerial", "30 m above ground, vertical", "Fed by", "Mux B", "658", "17.0")
    )
    tab.keyboard.press("Escape")
    tab.wait_for_function("() => !document.querySelector('.station-card')")
    assert (
        tab.evaluate("document.activeElement.getAttribute('aria-label')") == "Relay Lowgate: what it radiates"
    )


def test_a_mast_tells_by_the_pointer_and_the_readout_is_not_moved(tab: Any) -> None:
    tab.evaluate("() => { combe.clicked = () => { window.clickedGround = true; }; }")
    tab.locator(".station .mast").first.click()
    assert tab.get_by_role("dialog", name="Parent station Highmoor").is_visible()
    assert tab.evaluate("window.clickedGround") is None


@pytest.mark.parametrize("typed", ["elan", "ÉLAN-SUR-Ô", "orle"])
def test_names_are_found_whatever_their_letters_and_accents(tab: Any, typed: str) -> None:
    tab.fill("#find", typed)
    assert tab.locator("#find-list li").first.inner_text().startswith("Élan-sur-Ôrle") or typed == "elan"
    assert "Élan-sur-Ôrle" in tab.locator("#find-list").inner_text()
    assert tab.get_attribute("#find", "aria-expanded") == "true"


def test_enter_goes_to_the_place_and_tells_its_people_and_whether_it_is_served(tab: Any) -> None:
    tab.fill("#find", "strassend")
    tab.keyboard.press("Enter")
    said = tab.locator("#find-said").inner_text()
    assert said.startswith("Straßend, people: 77; the ground there is ")
    assert said.removesuffix(".").endswith(("unserved", "newly served", "served before"))
    lon, lat = support.lonlat(GRID, 60, 75)
    assert tab.evaluate("(at) => combe.map.distance(combe.map.getCenter(), at)", [lat, lon]) < 60.0
    assert tab.locator("#read-place").inner_text().startswith(f"{lat:.5f}° N")


def test_the_list_of_names_is_walked_by_arrow_keys(tab: Any) -> None:
    tab.fill("#find", "el")
    tab.keyboard.press("ArrowDown")
    tab.keyboard.press("ArrowDown")
    at = tab.get_attribute("#find", "aria-activedescendant")
    assert tab.get_attribute(f"#{at}", "aria-selected") == "true"
    name = tab.evaluate("(id) => document.getElementById(id).firstChild.textContent", at)
    tab.keyboard.press("Enter")
    assert tab.input_value("#find") == name
    assert tab.locator("#find-list").is_hidden()
    tab.keyboard.press("Escape")
    assert tab.input_value("#find") == ""


def test_of_a_station_the_people_around_are_told(tab: Any) -> None:
    tab.fill("#find", "lowgate")
    tab.keyboard.press("Enter")
    assert "within 1 km" in tab.locator("#find-said").inner_text()
    tab.fill("#find", "nowhere at all")
    tab.keyboard.press("Enter")
    assert tab.locator("#find-said").inner_text() == "No name on this map is like that."


def test_hostile_words_show_as_written_in_cards_and_names(open_html: Any) -> None:
    opened = open_html(render_map(reading_page(HOSTILE)))
    tab = opened.page
    tab.fill("#find", "strassend")
    assert (
        tab.evaluate("document.querySelector('#find-list li').firstChild.textContent") == f"Straßend{HOSTILE}"
    )
    tab.keyboard.press("Enter")
    assert HOSTILE in tab.locator("#find-said").text_content()
    tab.locator(".station-icon").last.focus()
    tab.keyboard.press("Enter")
    assert f"Mux A{HOSTILE}" in tab.locator(".card").text_content()
    assert tab.locator(".card h2").text_content() == f"Lowgate{HOSTILE} relay"
    assert opened.complaints == []
    assert len(opened.requests) == 1


@pytest.mark.parametrize(("width", "height"), [(1300, 900), (390, 844)])
def test_a_card_and_names_fit_the_screen(tab: Any, width: int, height: int) -> None:
    tab.set_viewport_size({"width": width, "height": height})
    tab.locator(".station-icon").last.focus()
    tab.keyboard.press("Enter")
    card, frame = tab.locator(".station-card").bounding_box(), tab.locator(".folium-map").bounding_box()
    assert card["width"] <= frame["width"]
    tab.fill("#find", "e")
    assert tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0


def test_north_and_a_scale_in_kilometres_are_on_the_map(tab: Any) -> None:
    assert tab.get_by_role("img", name="North is up").is_visible()
    assert tab.locator(".leaflet-control-scale-line").inner_text().endswith("km")


@pytest.mark.parametrize("width", [390, 1300])
def test_card_names_and_cross_hair_have_no_fault_that_axe_finds(tab: Any, width: int) -> None:
    tab.set_viewport_size({"width": width, "height": 844})
    tab.locator(".station-icon").last.focus()
    tab.keyboard.press("Enter")
    tab.evaluate("combe.toggleCross()")
    tab.fill("#find", "e")
    tab.keyboard.press("ArrowDown")
    assert tab.locator(".station-card, .cross-hair, #find-list").count() == 3
    # While the card fades in, its letters are paler than they are to be.
    from playwright.sync_api import expect

    expect(tab.locator(".leaflet-popup")).to_have_css("opacity", "1")
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    assert len(found["passes"]) > 8
    assert [(rule["id"], rule["nodes"][0]["target"]) for rule in found["violations"]] == []


def test_the_desk_is_searched_and_read_by_the_keyboard_too(chromium: Any) -> None:
    for desk in opened_on(chromium):
        tab = desk.tab
        tab.fill("#find", "lowgate")
        tab.keyboard.press("Enter")
        assert tab.locator("#find-said").inner_text().startswith("Lowgate, relay: ")
        tab.evaluate("combe.map.getContainer().focus()")
        tab.keyboard.press("x")
        tab.keyboard.press("ArrowLeft")
        tab.wait_for_function("() => document.getElementById('read-spoken').textContent.includes('margin')")
        # Its masts are moved, and told of in the panel: no card.
        tab.keyboard.press("Escape")
        tab.locator(".station .mast").last.click()
        assert tab.locator(".station-card").count() == 0
