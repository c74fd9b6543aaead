"""The slider of the map recounts its people: what stands on the page is what is counted at each threshold."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

import support_map_page
from combe.answers.cover import CoverReport, cover_report
from combe.answers.network import Network
from combe.answers.people_places import people_places
from combe.digits import spoken
from combe.planning import PeopleCount, Standing, count_standing
from combe.publishing.map_page import render_map
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_recount import EXCESSES_DB, shifted, write_uneven

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def report(tmp_path_factory: Any) -> CoverReport:
    return cover_report(load_project(write_uneven(tmp_path_factory.mktemp("slider"))), feeds=True)


@pytest.fixture(scope="module")
def html(report: CoverReport) -> str:
    return render_map(map_content(report))


@pytest.fixture
def tab(html: str, open_html: Any) -> Any:
    opened = open_html(html)
    yield opened.page
    assert opened.complaints == []
    assert len(opened.requests) == 1


def slide(tab: Any, excess_db: float) -> None:
    """Move the slider as a person does, and wait until the page has followed."""
    tab.locator("#excess").evaluate(
        "(one, to) => { one.value = to; one.dispatchEvent(new Event('input', { bubbles: true })); }",
        excess_db,
    )
    tab.wait_for_function("(to) => combe.state.excess === to", arg=excess_db)


def counted(report: CoverReport, network: Network, excess_db: float) -> PeopleCount:
    people = count_standing(report.census, shifted(network, excess_db))
    assert people is not None
    return people


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_headline_and_table_have_the_people_of_the_threshold(
    tab: Any, report: CoverReport, excess_db: float
) -> None:
    slide(tab, excess_db)
    people = counted(report, report.all_services, excess_db)
    assert tab.locator("#headline b").inner_text() == spoken(people.newly_served)
    words = tab.locator("#headline p").nth(1).inner_text()
    assert words.startswith(f"{spoken(people.served_before)} before, {spoken(people.served)} after")
    assert f"{spoken(people.unserved)} {'stay unserved' if excess_db == 0.0 else 'have less'}" in words
    assert f", {spoken(people.limited_by_interference)} of them by interference" in words
    table = tab.locator("#people-counts")
    heads = table.locator("thead th").all_inner_texts()
    bodies = table.locator("tbody")
    assert bodies.count() == 3
    for network, body in zip((report.all_services, *report.services), bodies.all(), strict=True):
        people = counted(report, network, excess_db)
        want = {
            "Served before": people.served_before, "Newly served": people.newly_served, "Lost": people.lost,
            "Served after": people.served, "Unserved": people.unserved,
            "No pre\u00addiction": people.without_prediction,
        }  # fmt: skip
        assert body.locator("th").inner_text() == network.name
        assert body.locator("td").all_inner_texts() == [spoken(want[head]) for head in heads]
    assert (
        "At the planning minimum" in tab.evaluate("getComputedStyle(byId('sure'), '::before').content")
    ) == (excess_db != 0.0)


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_the_layer_in_view_tells_its_people(tab: Any, report: CoverReport, excess_db: float) -> None:
    slide(tab, excess_db)
    layers = map_content(report, recounted=False).layers
    for layer in layers:
        tab.select_option("#show", layer.key)
        over_db = layer.field_dbuv_m.astype(np.float64) - layer.threshold_dbuv_m
        fixed = layer.shows == "missing"
        people = count_standing(report.census, Standing(over_db - (0.0 if fixed else excess_db)))
        words = tab.locator("#recounted").inner_text()
        assert f": {spoken(people.served)}{'.' if fixed else ';'}" in words, layer.key
        assert fixed or f"; less: {spoken(people.unserved)}" in words, layer.key
    assert tab.locator("#counted").is_hidden()


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_each_mark_has_the_state_of_the_threshold(tab: Any, report: CoverReport, excess_db: float) -> None:
    slide(tab, excess_db)
    network = report.all_services
    moved = Network("moved", lambda name: network.read(name).astype(np.float64) - excess_db, None)
    want = [each.state for each in people_places(report.people, report.grid, moved)]
    shown = tab.evaluate("combe.marks.people.getLayers().map((mark) => mark.options.one.state)")
    by_place = tab.evaluate("combe.data.people.map((one) => one.state)")
    assert sorted(shown) == sorted(by_place)
    assert np.mean([one != two for one, two in zip(by_place, want, strict=True)]) <= 0.005
    legend = tab.locator("#mark-legend").inner_text()
    for state in ("served before", "newly served", "unserved"):
        assert (f"People {state}" in legend) == (state in by_place)


def test_back_at_the_minimum_all_stands_as_it_was_written(tab: Any) -> None:
    parts = ("#headline", ".bar", "#people-counts", "#people-title", "#mark-legend")
    # A canvas of the legend is drawn, and no part of the text.
    at_first = [tab.locator(part).inner_html() for part in parts]
    slide(tab, 7.5)
    moved = [tab.locator(part).inner_html() for part in parts]
    assert [one != two for one, two in zip(at_first, moved, strict=True)][:4] == [True] * 4
    tab.locator("#reset").click()
    assert [tab.locator(part).inner_html() for part in parts] == at_first


def test_the_bar_follows_the_slider(tab: Any, report: CoverReport) -> None:
    slide(tab, 3.0)
    people = counted(report, report.all_services, 3.0)
    widths = tab.locator(".bar > g rect").evaluate_all(
        "(all) => all.map((one) => parseFloat(one.getAttribute('width')))"
    )
    shares = (people.served - people.newly_served, people.newly_served, people.unserved)
    assert widths[:3] == pytest.approx([100.0 * each / people.total for each in shares], abs=0.02)


def test_the_slider_follows_the_keyboard(tab: Any, report: CoverReport) -> None:
    tab.locator("#excess").focus()
    for _ in range(6):
        tab.keyboard.press("ArrowRight")
    tab.wait_for_function("() => combe.state.excess === 3")
    people = counted(report, report.all_services, 3.0)
    assert tab.locator("#headline b").inner_text() == spoken(people.newly_served)
    assert "3.0 dB weaker, noise and interference as they are" in tab.locator("#headline").inner_text()


def test_a_thinned_page_counts_everybody(report: CoverReport, open_html: Any, monkeypatch: Any) -> None:
    monkeypatch.setattr("combe.publishing.map_page.CELLS_LIMIT", 40)
    tab = open_html(render_map(map_content(report))).page
    assert tab.evaluate("combe.data.cells.every") > 1
    slide(tab, 3.0)
    people = counted(report, report.all_services, 3.0)
    assert tab.locator("#headline b").inner_text() == spoken(people.newly_served)


def test_a_page_without_a_recount_says_where_its_people_stand(open_html: Any) -> None:
    tab = open_html(render_map(support_map_page.map_page())).page
    before = tab.locator("#headline").inner_html()
    slide(tab, 5.0)
    assert "do not follow the slider" in tab.locator("#counted").inner_text()
    assert tab.locator("#headline").inner_html() == before
    assert tab.locator("#recounted").is_hidden()


def test_what_a_page_holds_of_its_people_is_small(html: str) -> None:
    (packed,) = re.findall(r'"packed":"([^"]*)","rows"', html)
    assert len(packed) < 15_000


@pytest.mark.parametrize("excess_db", (0.0, 3.0))
def test_ground_that_loses_its_service_is_told_apart(tab: Any, report: CoverReport, excess_db: float) -> None:
    slide(tab, excess_db)
    before = report.all_services.margin_before_db >= excess_db
    after = report.all_services.margin_db >= excess_db
    known = ~np.isnan(report.all_services.margin_db)
    counts = tab.evaluate("combe.state.counts")
    assert counts["lost"] == (before & known & ~after).sum() > 100
    assert counts["before"] == (before & after).sum()
    assert counts["newly"] == (after & ~before).sum()
    assert "Ground that loses its service" in tab.locator("#legend").inner_text()
    km2 = 0.3**2
    assert f"served before: {before.sum() * km2:.0f}\u00a0km²" in tab.locator("#tally").inner_text()


def test_a_search_says_where_the_ground_loses_its_service(tab: Any, report: CoverReport) -> None:
    lost = (report.all_services.margin_before_db >= 0.0) & (report.all_services.margin_db < 0.0)
    lon, lat = support_map_page.lonlat(report.grid, *np.argwhere(lost)[50])
    said = tab.evaluate("([lon, lat]) => combe.groundVerdict(L.latLng(lat, lon))", [lon, lat])
    assert said == "; the ground there is served no more"
