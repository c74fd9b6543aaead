"""Pages in a made-up language: each text stands in brackets, and each decimal sign is a comma."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from dataclasses import replace
from typing import Any, Final
from xml.etree import ElementTree

import numpy as np
import pytest

import support_hills
from combe.answers.compare import compare_report
from combe.answers.cover import CoverReport, cover_report
from combe.desk.work import Work
from combe.planning.visits.judge import judge_log
from combe.planning.visits.sheet import SheetSite, sheet_rows
from combe.publishing import (
    chain_diagrams,
    page_language,
    pattern_diagram,
    profile_diagram,
    served_picture,
    spectrum_diagram,
    trend_diagram,
)
from combe.publishing.as_html import as_html
from combe.publishing.map_page import render_map
from combe.publishing.page_language import PageLanguage, current_language, pages_in, texts_of_script
from combe.reports import sheet
from combe.reports.compare_map import write_map
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_desk_page import Opened, kept_variants, opened_on
from support_recount import DISTRICTS, write_uneven
from support_visits import half_yearly, laid_out

pytestmark = pytest.mark.browser

TRIAL: Final = PageLanguage("art", "Trial", ",", lambda text: f"⟦{text}⟧")

NAMES: Final = (
    *("Relay for Long Combe", "Parent Hill", "Combe Relay", "Mux 1", "Mux 2", " (A)", " (B)", *DISTRICTS),
    *("Highmoor", "Lowgate", "Multiplex 1", "Multiplex 2", "Alone"),
    *(
        "omni",
        "panel",
        "All of kind parent",
        "All of kind relay",
        "North Hundred",
        "South Hundred",
        "first",
        "weak",
    ),
    *("All that was found.", "Valley", "aerial_height_m", "fifty"),
)
"""Names that the owner of a study chose, a key of its file, and what is typed."""

FILES: Final = re.compile(r"(?:[A-Z]: )?\S*\.(?:toml|csv)")
UNITS: Final = re.compile(
    r"dB\(µV/m\)|(?<!\w)(?:ohm|m?V|dB(?:m|W|uV(?:/m)?|mV)?|km²|km|m|[kM]?Hz|[km]?W|ppm|degC)(?!\w)"
)

TEXTS: Final = """() => {
  const kinds = ["aria-label", "title", "aria-valuetext", "aria-roledescription", "alt", "placeholder"];
  const words = [document.title], shown = [], attributes = [];
  const walk = (node, foot) => {
    if (node.nodeType === Node.TEXT_NODE) { words.push(node.data); if (!foot) shown.push(node.data); }
    if (node.nodeType !== Node.ELEMENT_NODE || ["SCRIPT", "STYLE", "NOSCRIPT"].includes(node.tagName)) return;
    kinds.forEach((kind) => { if (node.hasAttribute(kind)) attributes.push(node.getAttribute(kind)); });
    if (node.tagName === "OPTGROUP") attributes.push(node.label);
    node.childNodes.forEach((child) => walk(child, foot || node.matches(".foot")));
  };
  walk(document.body, false);
  const [all, outsideFoot, told] = [words, shown, attributes].map((some) => some.join("\\u0001"));
  return { words: all, shown: outsideFoot, attributes: told };
}"""


def untold(text: str) -> list[str]:
    """Return what stands outside all brackets and has letters, but names and units."""
    text = FILES.sub("", without_brackets(text))
    for name in sorted(NAMES, key=len, reverse=True):
        text = text.replace(name, "")
    return [each for each in text.split("\u0001") if re.search(r"[^\W\d_]", UNITS.sub("", each))]


def without_brackets(text: str) -> str:
    shorter = re.sub("⟦[^⟦⟧]*⟧", "", text)
    return text if shorter == text else without_brackets(shorter)


def check(tab: Any) -> None:
    """Find no text of the page outside brackets, and no decimal point."""
    found = tab.evaluate(TEXTS)
    assert untold(found["words"]) == []
    assert untold(found["attributes"]) == []
    # Numbers of rules keep their points.
    numbers = re.sub(r"CFR [\d.]+", "", found["shown"] + found["attributes"])
    assert re.findall(r".{0,40}\d\.\d.{0,20}", numbers) == []


def use(tab: Any, name: str, value: object, event: str = "input") -> None:
    tab.evaluate(
        "([name, value, event]) => { const one = document.getElementById(name); one.value = value; "
        "one.dispatchEvent(new Event(event, { bubbles: true })); combe.refresh(); }",
        [name, value, event],
    )


@pytest.fixture(scope="module")
def report(tmp_path_factory: Any) -> CoverReport:
    path = write_uneven(tmp_path_factory.mktemp("words"))
    path.write_text(path.read_text(encoding="utf-8").replace("cell_size_m = 300", "cell_size_m = 900"))
    return cover_report(load_project(path), feeds=True)


def test_the_map_of_a_coverage(report: CoverReport, open_html: Any) -> None:
    with pages_in(TRIAL):
        opened = open_html(render_map(replace(map_content(report, shares=True), street_tiles=True)))
    tab = opened.page
    assert tab.locator("html").get_attribute("lang") == "art"
    check(tab)
    use(tab, "excess", 3.5)
    assert "3,5" in tab.locator("#excess-value").inner_text()
    check(tab)
    for layer in tab.evaluate("[...document.querySelectorAll('#show option')].map((one) => one.value)"):
        use(tab, "show", layer, "change")
        tab.locator("#map_combe").hover(position={"x": 300, "y": 400})
        check(tab)
    use(tab, "show", "story", "change")
    tab.locator("#find").fill("combe")
    tab.locator("#find").press("Enter")
    check(tab)
    tab.locator("#find").fill("nowhere at all")
    tab.locator("#find").press("Enter")
    check(tab)
    tab.locator("#map_combe").click(position={"x": 340, "y": 420})
    assert tab.locator("#cut-words").inner_text().startswith("⟦")
    tab.locator(".station-icon").first.press("Enter")
    tab.locator("#swipe").click()
    tab.locator(".cross-button").click()
    check(tab)
    assert opened.complaints == []


def test_the_page_of_a_siting(open_html: Any) -> None:
    with pages_in(TRIAL):
        opened = open_html(support_hills.page_html())
    tab = opened.page
    check(tab)
    use(tab, "filter-search_margin_db", 40.5)
    tab.locator("#map_combe").hover(position={"x": 300, "y": 300})
    tab.locator(".hill-list button").first.click()
    check(tab)
    assert "40,5" in tab.locator("#filter-search_margin_db-value").inner_text()
    assert opened.complaints == []


def test_the_map_of_studies_side_by_side(report: CoverReport, tmp_path: Any, open_html: Any) -> None:
    moved = replace(report.project.moved("Combe Relay", -84.26, 36.62), source="moved.toml")
    with pages_in(TRIAL):
        opened = open_html(write_map(compare_report([report.project, moved]), tmp_path))
    check(opened.page)
    for layer in opened.page.evaluate("combe.data.layers.map((one) => one.key)"):
        use(opened.page, "show", layer, "change")
        check(opened.page)
    assert opened.complaints == []


@pytest.fixture
def desk(chromium: Any, monkeypatch: Any) -> Iterator[Opened]:
    # Its server makes the page and tells of layers in threads of its own.
    monkeypatch.setattr(page_language, "_CURRENT", ContextVar("trial", default=TRIAL))
    monkeypatch.setattr("support_desk_page.RELAY", "[aria-label*='Relay Lowgate']")
    yield from opened_on(chromium)


def test_the_desk(desk: Opened) -> None:
    check(desk.tab)
    desk.tab.evaluate("combe.change({ station: 'Lowgate', aerial_height_m: 15.5 })")
    desk.reaches(2)
    check(desk.tab)
    kept_variants(desk)
    desk.unfold("hills-part")
    desk.tab.locator("#hills").click()
    desk.tab.locator("#hills-list button").first.wait_for()
    desk.tab.locator("#save").click()
    desk.tab.locator("#save-answer li").first.wait_for()
    check(desk.tab)
    revision = desk.desk.revision
    desk.tab.evaluate("combe.change({ station: 'Highmoor', on_air: false })")
    desk.reaches(revision + 1)
    desk.tab.locator("#map_combe").click(position={"x": 300, "y": 300})
    desk.tab.locator("#add").click()
    check(desk.tab)


def test_the_sheet_on_a_phone(open_on_phone: Any) -> None:
    log, site = half_yearly([-50.0, -50.5]), SheetSite("Combe Relay", ("Mux 1", "Mux 2"), splitter_ports=2)
    with pages_in(TRIAL):
        page = sheet.document(laid_out(site.station, sheet_rows(site, {}, judge_log(log, {}))))
        opened = open_on_phone(as_html(page), ready=False)
    tab = opened.page
    check(tab)
    boxes = tab.locator(".fill-value")
    for number, reading in enumerate(("-50,4", "-46,9", "50,2", "-520", "fifty", "38,25")):
        boxes.nth(number).fill(reading)
    tab.locator(".fill-check").nth(1).click()
    tab.get_by_role("button", name="Save the table (CSV)").click()
    tab.get_by_role("button", name="Clear this visit").click()
    check(tab)
    assert opened.complaints == []


X: Final = np.linspace(0.0, 2.5, 60)
DAYS: Final = (datetime.date(2024, 5, 1), datetime.date(2025, 5, 1))
PICTURES: Final[dict[str, Callable[[], str]]] = {
    "profile": lambda: profile_diagram.profile_svg(
        X,
        100.0 + 60.0 * np.exp(-(((X - 1.0) / 0.2) ** 2)),
        tx_height_amsl_m=130.0,
        rx_height_amsl_m=110.0,
        frequency_mhz=600.0,
        effective_radius_km=8500.0,
        edge_index=24,
        tx_name="Parent Hill",
        rx_name="Combe Relay",
        title="The way of the feed",
        cover_height_m=np.full(60, 5.0),
        rare=profile_diagram.RareAir(3000.0, 99.5, 26),
    ),
    "waterfall": lambda: chain_diagrams.waterfall_svg(
        chain_diagrams.Waterfall(
            ("aerial", "receiver"),
            (chain_diagrams.WaterfallLine("Mux 1", (-40.5, -42.0), (-105.0, -99.0)),),
            (None, -15.5),
        )
    ),
    "window": lambda: chain_diagrams.window_svg(
        chain_diagrams.WindowPicture(
            -62.0, -26.0, -74.0, 99.5, (chain_diagrams.WindowBar("Mux 1", -48.5, -44.0, -41.0),)
        )
    ),
    "heights": lambda: chain_diagrams.height_gain_svg(
        chain_diagrams.HeightGain(
            (5.0, 5.5, 6.0),
            (chain_diagrams.HeightLine("Mux 1", (60.0, 62.0, 63.0), (50.0, 51.0, 52.0), (5.2,)),),
            5.4,
        )
    ),
    "trend": lambda: trend_diagram.trend_svg(
        trend_diagram.TrendDrawing(
            "feeder: level", "dBm", DAYS, (-50.2, -50.9), (False, True), -50.6, -49.8, -50.1, -50.3,
            tuple(zip(DAYS, (-50.2, -50.9), strict=True)), "drift of a year",
            ((*DAYS, "a step"),),
        )
    ),
    "spectrum": lambda: spectrum_diagram.spectrum_svg(
        spectrum_diagram.SpectrumDrawing(
            470.5, 500.0, -40.0, -100.0, 12.5, (470.5, 500.0), (-99.0, -99.0),
            (spectrum_diagram.SpectrumMark(1, "Mux 1", "wanted", 480.0, 488.0, -50.5),),
        )
    ),
    "pattern": lambda: pattern_diagram.vertical_svg((-90.0, 0.0, 90.0), (-20.0, 0.0, -20.0)),
    "served": lambda: served_picture.served_svg(
        served_picture.ServedPicture(
            np.arange(100.0).reshape(10, 10),
            (np.arange(100) % 5).astype(np.int8).reshape(10, 10),
            250.0,
            (
                served_picture.ServedMark("relay", 2.0, 2.0, "Combe Relay"),
                served_picture.ServedMark("people", 4.0, 4.0),
                served_picture.ServedMark("place", 6.0, 6.0, "1", words="another hill"),
            ),
        )
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture(name: str) -> None:
    with pages_in(TRIAL):
        svg = PICTURES[name]()
    texts = ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")
    words = "\u0001".join("".join(each.itertext()) for each in texts)
    assert "⟦" in words
    assert untold(words) == []
    assert re.findall(r".{0,20}\d\.\d.{0,20}", words) == []


def test_the_threads_of_the_desk_know_its_language() -> None:
    with pages_in(TRIAL):
        done = Work().started(lambda: current_language().code)
    assert done.result(10.0) == "art"


def test_the_texts_of_scripts_are_found_by_their_call() -> None:
    script = (
        'tell("one"); tell( "two {x}", { x }); tellNumber(list.length, "{count} a", "{count} b"); say("no")'
    )
    assert texts_of_script(script) == ["one", "two {x}", "{count} a", "{count} b"]
