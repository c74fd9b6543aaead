"""The page of a siting in a browser: filters, pointer, list and marks, paper and phone, hostile names."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files
from typing import Final

import numpy as np
import pypdfium2
import pytest

import support_hills
from combe.errors import RangeError
from combe.publishing.cautions import CAUTIONS
from combe.publishing.colours import (
    GROUND_DARK,
    GROUND_LIGHT,
    GROUND_POWER,
    HILL_COLOURS,
    HILL_OPAQUE,
    rgb_of,
)
from combe.publishing.hills_page import HillsShown, hill_classes, render_hills
from support_map_page import lonlat, ridge_grid

HOSTILE: Final = (
    " <script>alert(1)</script><img src=x onerror=alert(2)> \u202e ${alert(3)} \\ \" ' {{7*7}} [[data]]"
)
RULES: Final = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")

SETTINGS: Final = (
    {"score": 400.0},
    {"search_margin_db": 24.0, "slope_deg": 12.0},
    {"above_valley_m": 300.0, "access_m": 4000.0},
    {"slope_deg": 5.0},
    {
        "score": 100.0,
        "search_margin_db": 12.5,
        "above_valley_m": 220.0,
        "slope_deg": 29.0,
        "access_m": 8500.0,
    },
)

SET = """(values) => {
  for (const [key, value] of Object.entries(values)) {
    const slider = document.getElementById(`filter-${key}`);
    slider.value = value;
    if (Number(slider.value) !== value) throw new Error(`${key} cannot be ${value}, but ${slider.value}`);
    slider.dispatchEvent(new Event("input", { bubbles: true }));
  }
  combe.refresh();
}"""


@pytest.fixture(scope="module")
def hills() -> HillsShown:
    return support_hills.hills()


@pytest.fixture(scope="module")
def rendered() -> str:
    return support_hills.page_html()


def left_by(hills: HillsShown, setting: dict[str, float], *, keeps_unknown: bool) -> tuple[int, int]:
    """Count the hills that a setting leaves, and of these the ones with a value that is not known."""
    left, unknown = hills.searched.copy(), np.zeros(hills.searched.shape, dtype=bool)
    for each in hills.quantities:
        if each.key in setting:
            inside = each.values <= setting[each.key] if each.at_most else each.values >= setting[each.key]
            left &= inside | np.isnan(each.values)
            unknown |= np.isnan(each.values)
    unknown &= left
    return int((left if keeps_unknown else left & ~unknown).sum()), int(unknown.sum())


@pytest.mark.browser
def test_counts_under_filters_are_those_of_the_answer(hills, rendered, open_html):
    tab = open_html(rendered).page
    every = int(hills.searched.sum())
    for setting in SETTINGS:
        tab.click("#every-hill") if tab.is_enabled("#every-hill") else None
        tab.evaluate(SET, setting)
        for keeps in (True, False):
            tab.set_checked("#keep-unknown", keeps)
            left, unknown = left_by(hills, setting, keeps_unknown=keeps)
            assert 0 < left < every
            words = tab.locator("#hills-left").inner_text().replace("\u202f", "")
            assert words.startswith(f"{left} of {every} hills")
            assert (f", {unknown} of them with a value that is not known" in words) == (keeps and unknown > 0)
            assert tab.evaluate("combe.hills.kept.reduce((sum, one) => sum + one, 0)") == left


@pytest.mark.browser
def test_the_value_under_200_random_pointers_is_that_of_the_score(hills, rendered, open_html):
    tab = open_html(rendered).page
    grid, rng = support_hills.ground().grid, np.random.default_rng(5)
    rows, columns = rng.integers(grid.rows, size=200), rng.integers(grid.columns, size=200)
    places = [lonlat(grid, row, column) for row, column in zip(rows, columns, strict=True)]
    read = tab.evaluate(
        """(places) => places.map(([lon, lat]) => {
          const line = combe.readLines(lon, lat).fields.find((one) => one.key === "score");
          return line ? line.value : "no hill";
        })""",
        places,
    )
    score, searched = hills.worth[rows, columns], hills.searched[rows, columns]
    want = [
        "no hill" if not hill else None if np.isnan(value) else np.floor(value * 10) / 10
        for hill, value in zip(searched, score, strict=True)
    ]
    assert read == want
    assert sum(isinstance(one, float) for one in want) > 60


@pytest.mark.browser
def test_what_is_asked_to_be_at_most_is_told_as_it_is(hills, rendered, open_html):
    tab = open_html(rendered).page
    slope = next(each for each in hills.quantities if each.key == "slope_deg").values
    for row, column in (
        np.argwhere(hills.searched & ~np.isnan(slope))[77],
        np.argwhere(np.isnan(slope) & hills.searched)[0],
    ):
        lon, lat = lonlat(support_hills.ground().grid, row, column)
        read = tab.evaluate(
            "([lon, lat]) => combe.readLines(lon, lat).fields.map((one) => [one.key, one.text])", [lon, lat]
        )
        value = slope[row, column]
        want = "not known" if np.isnan(value) else f"{np.ceil(value * 10) / 10:.1f}°"
        assert dict(read)["slope_deg"] == want


@pytest.mark.browser
def test_filters_go_by_the_keyboard_and_say_their_value(rendered, open_html):
    tab = open_html(rendered).page
    slider = tab.locator("#filter-search_margin_db")
    assert slider.get_attribute("aria-valuetext") == "all"
    slider.focus()
    for _ in range(4):
        tab.keyboard.press("ArrowRight")
    low, step = float(slider.get_attribute("min")), float(slider.get_attribute("step"))
    tab.wait_for_function(
        "() => document.getElementById('filter-search_margin_db-value').textContent !== 'all'"
    )
    assert slider.get_attribute("aria-valuetext") == f"{low + 4 * step:.1f} dB"
    before = tab.locator("#hills-left").inner_text()
    tab.click("#every-hill")
    assert tab.locator("#hills-left").inner_text() != before
    assert slider.get_attribute("aria-valuetext") == "all"
    assert not tab.is_enabled("#every-hill")


@pytest.mark.browser
def test_bare_ground_is_where_no_hill_is_left(hills, rendered, open_html):
    tab = open_html(rendered).page
    alphas = """() => {
      const { width, height } = combe.coverage;
      const { data } = combe.coverage.getContext("2d").getImageData(0, 0, width, height);
      let painted = 0;
      combe.cellOfPixel.forEach((cell, at) => { painted += data[4 * at + 3] > 0 ? 1 : 0; });
      return painted;
    }"""
    every = tab.evaluate(alphas)
    tab.evaluate(SET, {"score": 700.0})
    some = tab.evaluate(alphas)
    assert 0 < some < every / 3


@pytest.mark.browser
def test_the_best_class_lies_over_the_others_and_is_larger(hills, rendered, open_html):
    tab = open_html(rendered).page
    classes = hill_classes(hills.worth, hills.searched)
    row, column = np.argwhere(classes[2:-2, 2:-2] == 6)[0] + 2
    shown = tab.evaluate("() => Array.from(combe.shownClasses())")
    around = np.array(shown).reshape(classes.shape)[row - 1 : row + 2, column - 1 : column + 2]
    assert (around == 6 + 2).all()
    assert np.isfinite(classes[row - 1 : row + 2, column - 1 : column + 2]).sum() > 0
    low = np.argwhere((classes == 1) & (np.array(shown).reshape(classes.shape) == 3))
    assert len(low) > 10


PAINTED = """() => {
  const of = (canvas, wanted) => {
    const at = combe.cellOfPixel.findIndex((cell) => cell >= 0 && wanted(cell));
    const { width } = canvas, pen = canvas.getContext("2d");
    const pixel = pen.getImageData(at % width, Math.floor(at / width), 1, 1);
    return [combe.numberAt(combe.grids.shade, combe.cellOfPixel[at]), ...pixel.data];
  };
  const shown = combe.shownClasses(), looks = getComputedStyle(combe.coverage).mixBlendMode;
  const classes = [3, 4, 5, 6, 7, 8].map((one) => of(combe.coverage, (cell) => shown[cell] === one));
  return { looks, ground: of(combe.ground, () => true), classes };
}"""


@pytest.mark.browser
def test_colours_are_those_that_were_tried_for_eyes_of_all_kinds(rendered, open_html):
    """What test_colours.py holds apart is what the browser paints: colours over the relief, unmixed."""
    found = open_html(rendered).page.evaluate(PAINTED)
    assert found["looks"] == "normal"
    for colour, (_, *rgb, opaque) in zip(HILL_COLOURS, found["classes"], strict=True):
        assert opaque == HILL_OPAQUE
        assert rgb == pytest.approx(rgb_of(colour), abs=1.0)  # canvases hold colours times their opacity
    shade, *rgb, opaque = found["ground"]
    dark, light = (np.array(rgb_of(each), dtype=float) for each in (GROUND_DARK, GROUND_LIGHT))
    relief = np.round(dark + (light - dark) * (shade / 255.0) ** GROUND_POWER)
    assert (rgb, opaque) == (relief.tolist(), 255)


@pytest.mark.browser
def test_a_row_and_a_mark_choose_the_same_hill(rendered, open_html):
    tab = open_html(rendered).page
    pressed = """() => [...document.querySelectorAll("[aria-pressed=true]")].map((one) => one.textContent)"""
    tab.click('.hill-list tr[data-rank="3"] td')
    assert tab.evaluate(pressed) == ["3", "3"]
    assert tab.locator("#chosen h3").inner_text() == "Hill 3"
    assert tab.locator("#chosen a").get_attribute("href") == "hill-03.html"
    assert tab.evaluate("combe.data.people.map((one) => one.state)")[:5] == [
        "newly served", "unserved", "unserved", "unserved", "newly served",
    ]  # fmt: skip
    tab.locator(".hill-icon").nth(0).evaluate("(one) => one.click()")
    assert tab.evaluate(pressed) == ["1", "1"]
    assert "newly serves 999 people" in tab.locator("#chosen").inner_text()
    assert tab.locator(".leaflet-feeds-pane path").count() == 2
    tab.locator(".hill-icon").nth(0).evaluate("(one) => one.click()")
    assert tab.evaluate(pressed) == []
    assert tab.locator("#chosen").inner_text() == ""
    assert tab.locator(".leaflet-feeds-pane path").count() == 0


@pytest.mark.browser
@pytest.mark.parametrize("part", ['.hill-list tr[data-rank="2"] button', ".hill-icon >> nth=1"])
def test_enter_space_and_arrows_choose(part, rendered, open_html):
    tab = open_html(rendered).page
    names = (
        """() => [...document.querySelectorAll("[aria-pressed=true]")].map((one) => one.textContent).join()"""
    )
    tab.locator(part).focus()
    tab.keyboard.press("Enter")
    assert tab.evaluate(names) == "2,2"
    tab.keyboard.press("Space")
    assert tab.evaluate(names) == ""
    for key, want in (
        ("ArrowDown", "3,3"),
        ("ArrowLeft", "2,2"),
        ("End", "4,4"),
        ("ArrowRight", "4,4"),
        ("Home", "1,1"),
    ):
        tab.keyboard.press(key)
        assert tab.evaluate(names) == want
        assert tab.evaluate("() => document.activeElement.textContent") == want[0]


@pytest.mark.browser
def test_rows_and_marks_that_fall_out_say_by_what(hills, rendered, open_html):
    tab = open_html(rendered).page
    scores = [hill.values["score"] for hill in hills.listed]
    between = 10.0 * round(0.05 * (scores[1] + scores[2]))
    assert scores[2] < between < scores[1]
    step = float(tab.locator("#filter-score").get_attribute("step"))
    tab.evaluate(SET, {"score": step * round(between / step)})
    assert tab.locator(".hill-list tr.out").count() == 2
    assert tab.locator('.hill-list tr[data-rank="4"] .fallen').inner_text() == "left out by score"
    assert tab.locator(".hill-icon.out").count() == 2
    assert tab.locator(".hill-icon").nth(3).get_attribute("aria-label").endswith("left out by score")
    assert "; 2 of the 4 listed." in tab.locator("#hills-left").inner_text()
    tab.click("#every-hill")
    assert tab.locator(".out, .fallen").count() == 0


@pytest.mark.browser
def test_hostile_words_stay_words(open_html):
    opened = open_html(support_hills.page_html(HOSTILE))
    tab = opened.page
    tab.click('.hill-list tr[data-rank="1"] button')
    tab.evaluate(SET, {"score": 700.0})
    assert opened.complaints == []
    assert len(opened.requests) == 1
    for place in ("h1", "#chosen", ".panel"):
        assert "<script>alert(1)</script>" in tab.locator(place).inner_text()
    assert tab.locator("img").count() == tab.locator(".leaflet-pane img").count()


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1300])
def test_no_fault_for_those_who_see_or_move_little(width, rendered, open_html):
    tab = open_html(rendered).page
    tab.set_viewport_size({"width": width, "height": 844})
    tab.click('.hill-list tr[data-rank="2"] button')
    tab.evaluate(SET, {"score": 700.0})
    tab.context.new_cdp_session(tab).send("Runtime.evaluate", {"expression": RULES})
    found = tab.evaluate("axe.run()")
    faults = [
        (rule["id"], rule["nodes"][0]["target"], rule["nodes"][0]["failureSummary"])
        for rule in found["violations"]
        if rule["impact"] != "minor"
    ]
    assert faults == []
    assert len(found["passes"]) > 8


@pytest.mark.browser
def test_a_phone_shows_the_page_whole(rendered, open_on_phone):
    tab = open_on_phone(rendered).page
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    assert tab.locator(".folium-map").bounding_box()["height"] > 300
    tab.tap('.hill-list tr[data-rank="1"] button')
    assert tab.locator("#chosen h3").inner_text() == "Hill 1"


@pytest.mark.browser
def test_it_prints_with_its_map_its_list_and_all_cautions(rendered, open_html):
    tab = open_html(rendered).page
    document = pypdfium2.PdfDocument(tab.pdf(format="A4", landscape=True))
    sizes = {tuple(sorted(round(side / 72 * 25.4) for side in page.get_size())) for page in document}
    assert sizes == {(210, 297)}
    words = "".join("".join(page.get_textpage().get_text_range().split()) for page in document)
    for caution in CAUTIONS:
        assert "".join(caution.split()) in words
    assert "Allthatwasfound." in words
    first = document[0].render(scale=2).to_numpy()[..., 2::-1].astype(float)
    # A best hill is dark violet, which nothing else on the sheet is.
    best = (np.abs(first - np.array([0x14, 0x0A, 0x3C]) * 0.85 - 25.0) < 22.0).all(axis=-1)
    assert best.sum() > 200
    assert "999" in document[0].get_textpage().get_text_range()


def test_the_page_is_the_same_each_time_and_names_no_host(rendered):
    assert support_hills.page_html() == rendered
    policy = re.search(r'content="(default-src[^"]*)"', rendered).group(1)
    assert "http" not in policy
    assert len(rendered.encode()) < 3_000_000


def test_hills_over_another_grid_are_refused(hills):
    page = support_hills.ground()
    other = ridge_grid(rows=60, columns=70)
    with pytest.raises(RangeError, match="shape of hills"):
        render_hills(replace(page, grid=other, heights_m=page.heights_m[:60, :70]), hills)
    with pytest.raises(RangeError, match="shape of what is known of hills"):
        replace(hills, worth=hills.worth[:-1])


def test_a_quantity_of_one_value_has_no_filter_and_a_wide_one_is_held_more_coarsely(hills):
    score, margin, *others = hills.quantities
    flat = replace(margin, values=np.where(hills.searched, 12.0, np.nan))
    wide = replace(score, values=hills.worth * 1000.0)
    html = render_hills(support_hills.ground(), replace(hills, quantities=(wide, flat, *others)))
    assert 'id="filter-search_margin_db"' not in html
    assert 'id="filter-score"' in html
    steps = re.findall(r'"key":"(\w+)","packed":"[^"]*","base":-?\d+,"steps_per_unit":([\d.]+)', html)
    assert float(dict(steps)["score"]) in (0.1, 0.01)
    assert float(dict(steps)["slope_deg"]) == 10.0
