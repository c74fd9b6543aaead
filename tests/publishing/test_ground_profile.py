"""The ground between a station and a place that is clicked on the map page."""

import re
from dataclasses import replace
from importlib.resources import files
from typing import Final

import numpy as np
import pyproj
import pytest

import support_map_page as support
from combe.publishing.content import Sight
from combe.publishing.map_page import render_map
from support_reports import HOSTILE

RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
FREQUENCY_MHZ, RADIUS_KM, RECEIVE_M, GROUND_M = 600.0, 8500.0, 10.0, 120.0
SPHERE = pyproj.Geod(a=6_371_000.0, b=6_371_000.0)

pytestmark = pytest.mark.browser


def with_sight(page):
    """Return a page whose fields of single services have a frequency."""
    layers = [
        layer if layer.key.endswith("all") else replace(layer, frequency_mhz=FREQUENCY_MHZ)
        for layer in page.layers
    ]
    return replace(page, layers=tuple(layers), sight=Sight(RADIUS_KM, RECEIVE_M))


def ground(grid, ridge_m=0.0):
    """Return level ground with a ridge from north to south across the middle of the grid."""
    heights = np.full((grid.rows, grid.columns), GROUND_M)
    middle = grid.columns // 2
    heights[:, middle - 2 : middle + 3] += ridge_m
    return heights


def cut(tab, page, row, column):
    """Click on a cell and return what the page knows of the profile."""
    lon, lat = support.lonlat(page.grid, row, column)
    tab.evaluate(
        "([lng, lat]) => combe.clicked({ latlng: { lat, lng }, containerPoint: L.point(0, 0) })", [lon, lat]
    )
    return tab.evaluate(
        "() => combe.cut && { from: byId('cut-from').value, km: combe.cut.profile?.whole_km,"
        " worst: combe.cut.profile?.worst, words: byId('cut-words').textContent }"
    )


def worst_by_hand(page, mast, row, column):
    """Return the least share of the zone that is free, and the distances [km] of it and of the place."""
    lon, lat = support.lonlat(page.grid, row, column)
    *_, whole_m = SPHERE.inv(mast.longitude_deg, mast.latitude_deg, lon, lat)
    count = 4000
    between = np.array(SPHERE.npts(mast.longitude_deg, mast.latitude_deg, lon, lat, count - 1))
    to = pyproj.Transformer.from_crs("EPSG:4326", page.grid.crs, always_xy=True)
    x, y = to.transform(between[:, 0], between[:, 1])
    at = (
        ((page.grid.north_m - y) / page.grid.cell_size_m).astype(int),
        ((x - page.grid.west_m) / page.grid.cell_size_m).astype(int),
    )
    share = np.arange(1, count) / count
    near, far = share * whole_m, (1 - share) * whole_m
    # ITU-R P.526: the zone has the radius sqrt(wavelength d1 d2 / d), and the Earth rises by d1 d2 / 2a.
    zone = np.sqrt(299.792458 / FREQUENCY_MHZ * near * far / whole_m)
    rise = near * far / (2 * RADIUS_KM * 1000.0)
    start, end = GROUND_M + mast.aerial_height_m, GROUND_M + RECEIVE_M
    free = (start + share * (end - start) - page.heights_m[at] - rise) / zone
    least = int(free.argmin())
    return free[least], near[least] / 1000.0, whole_m / 1000.0


@pytest.mark.parametrize("ridge_m", [0.0, 25.0, 200.0])
def test_the_narrowest_place_is_that_of_the_recommendation(open_html, ridge_m):
    grid = support.ridge_grid(rows=200, columns=300)
    page = with_sight(support.map_page(grid=grid, heights_m=ground(grid, ridge_m)))
    tab = open_html(render_map(page)).page
    mast = next(station for station in page.stations if station.role == "parent")
    tab.select_option("#show", "parent-1")
    for row, column in ((30, 280), (150, 260), (190, 290)):
        told = cut(tab, page, row, column)
        if told["from"] != mast.name:
            tab.select_option("#cut-from", mast.name)
            told = {
                **told,
                **tab.evaluate("() => ({ km: combe.cut.profile.whole_km, worst: combe.cut.profile.worst })"),
            }
        free, near_km, whole_km = worst_by_hand(page, mast, row, column)
        assert told["km"] == pytest.approx(whole_km, abs=0.001)
        # The page looks once a cell of 90 m, and its ridge has the width of five.
        assert told["worst"]["free"] == pytest.approx(free, rel=0.02, abs=0.02)
        assert told["worst"]["km"] == pytest.approx(near_km, abs=0.4)


def test_what_it_says_of_a_ridge_in_the_way(open_html):
    grid = support.ridge_grid(rows=200, columns=300)
    page = with_sight(support.map_page(grid=grid, heights_m=ground(grid, 200.0)))
    opened = open_html(render_map(page))
    told = cut(opened.page, page, 30, 280)
    opened.page.select_option("#cut-from", "Highmoor")
    words = opened.page.locator("#cut-words").inner_text()
    told_over = r"Highmoor, [\d.]+ km: hidden\. [\d.]+ km from the mast, the ground stands (\d+) m over"
    over = re.search(told_over, words)
    assert over, words
    worst = opened.page.evaluate("() => combe.cut.profile.worst")
    assert float(over[1]) == pytest.approx(worst["ground"] - worst["line"], abs=0.5)
    # The ridge rises 200 m over level ground, and the line falls from 60 m to 10 m above it.
    assert 140 < float(over[1]) < 200
    assert told is not None
    assert opened.complaints == []


def test_the_stations_that_serve_stand_first_and_each_can_be_chosen(open_html):
    page = with_sight(support.map_page())
    tab = open_html(render_map(page)).page
    row, column = 100, 120
    told = cut(tab, page, row, column)
    excess = {
        station.name: max(
            float(layer.field_dbuv_m[row, column]) - layer.threshold_dbuv_m
            for layer in page.layers
            if layer.station == station.name and layer.frequency_mhz
        )
        for station in page.stations
    }
    first = max(excess, key=excess.get)
    assert told["from"] == first
    options = tab.locator("#cut-from option").all_inner_texts()
    assert [words.split(" (")[0] for words in options] == sorted(excess, key=excess.get, reverse=True)
    other = min(excess, key=excess.get)
    tab.select_option("#cut-from", other)
    assert tab.locator("#cut-words").inner_text().startswith(f"{other}, ")


def test_it_opens_at_a_click_closes_by_escape_and_all_may_read_it(open_html):
    opened = open_html(render_map(with_sight(support.map_page())))
    tab = opened.page
    assert not tab.locator("#cut").is_visible()
    tab.mouse.click(900, 300)
    assert tab.locator("#cut").is_visible()
    assert tab.locator("#cut-picture path").count() >= 3
    tab.evaluate(RULES)
    found = tab.evaluate("axe.run()")
    assert [rule["id"] for rule in found["violations"] if rule["impact"] != "minor"] == []
    tab.keyboard.press("Escape")
    assert not tab.locator("#cut").is_visible()
    tab.mouse.click(900, 300)
    tab.locator("#cut button").press("Enter")
    assert not tab.locator("#cut").is_visible()
    assert opened.complaints == [] and len(opened.requests) == 1


def test_where_nothing_is_predicted_there_is_no_profile(open_html):
    page = with_sight(support.map_page())
    tab = open_html(render_map(page)).page
    assert cut(tab, page, page.grid.rows - 2, 2) is None
    assert not tab.locator("#cut").is_visible()


def test_heights_that_are_not_known_are_said(open_html):
    grid = support.ridge_grid()
    heights = support.ridge_heights(grid)
    page = with_sight(support.map_page(grid=grid, heights_m=heights))
    holed = heights.copy()
    holed[:, 60:64] = np.nan
    tab = open_html(render_map(replace(page, heights_m=holed))).page
    cut(tab, page, 100, 120)
    tab.select_option("#cut-from", "Highmoor")
    assert "Some heights on the way are not known" in tab.locator("#cut-words").inner_text()
    holed[99:102, 119:122] = np.nan
    tab = open_html(render_map(replace(page, heights_m=holed))).page
    cut(tab, page, 100, 120)
    assert "the heights at one of its ends are not known" in tab.locator("#cut-words").inner_text()
    assert not tab.locator("#cut-picture").is_visible()


def test_a_page_without_sight_has_none(open_html):
    tab = open_html(render_map(support.map_page())).page
    tab.mouse.click(900, 300)
    assert tab.locator("#cut").count() == 0


def test_hostile_names_stand_as_they_are(open_html):
    page = with_sight(support.map_page(word=HOSTILE))
    opened = open_html(render_map(page))
    cut(opened.page, page, 100, 120)
    # No page holds a sign that files may not hold; in its place stands that for an unknown one.
    assert HOSTILE.replace("\x1b", "\ufffd") in opened.page.locator("#cut-words").text_content()
    assert opened.complaints == [] and len(opened.requests) == 1


def test_it_fits_a_phone(open_on_phone):
    tab = open_on_phone(render_map(with_sight(support.map_page()))).page
    box = tab.locator(".folium-map").bounding_box()
    tab.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 3)
    tab.wait_for_selector("#cut:not([hidden])")
    frame = tab.locator("#cut").bounding_box()
    assert frame["x"] >= 0 and frame["x"] + frame["width"] <= 390
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
