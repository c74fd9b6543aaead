"""Districts on the map of a coverage: outlines with names, people at each threshold, and the way to each."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from combe.answers.cover import CoverReport, cover_report
from combe.digits import spoken
from combe.planning import count_by_district
from combe.publishing.map_page import render_map
from combe.reports.cover_districts import map_districts
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_recount import DISTRICTS, EXCESSES_DB, HOSTILE, shifted, write_uneven


@pytest.fixture(scope="module")
def report(tmp_path_factory: Any) -> CoverReport:
    return cover_report(load_project(write_uneven(tmp_path_factory.mktemp("districts"))), feeds=True)


@pytest.fixture(scope="module")
def html(report: CoverReport) -> str:
    return render_map(map_content(report))


@pytest.fixture
def tab(html: str, open_html: Any) -> Any:
    opened = open_html(html)
    yield opened.page
    assert opened.complaints == []


def test_outlines_are_those_of_the_study_within_half_a_cell(report: CoverReport) -> None:
    found = map_districts(report)
    assert [each.name for each in found] == [*DISTRICTS, "elsewhere"]
    assert [len(each.rings) for each in found] == [2, 1, 0, 0]
    for each, drawn in zip(found[:2], DISTRICTS.values(), strict=False):
        outer, *holes = each.rings
        shape = shapely.Polygon(outer, holes)
        # A cell is 300 m, 0.0034 degrees of longitude.
        assert shapely.hausdorff_distance(shape.boundary, drawn.boundary) < 0.6 * 0.0034
        assert shape.area == pytest.approx(drawn.area, rel=0.02)


def test_with_too_many_districts_those_with_most_people_are_there(
    report: CoverReport, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("combe.reports.cover_districts.MOST_DISTRICTS", 2)
    page = map_content(report)
    assert [each.name for each in page.districts] == [HOSTILE, "elsewhere"]
    assert (
        page.districts_left_out
        == "The 2 districts with most people, of 4; combe cover --full has all of them."
    )
    zero = int(np.flatnonzero(page.recount.rows[0].served == round(report.all_services.people.served))[0])
    for shown, counted in zip(page.districts, page.recount.districts, strict=True):
        assert counted.served[zero] == round(shown.people.served)
    assert page.districts_left_out in render_map(page)


@pytest.mark.browser
@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_each_district_has_the_people_of_the_threshold(
    tab: Any, report: CoverReport, excess_db: float
) -> None:
    tab.evaluate("(to) => { byId('excess').value = to; combe.refresh(); }", excess_db)
    want = count_by_district(report.census, shifted(report.all_services, excess_db))
    rows = tab.locator("#district-counts tbody tr")
    assert rows.count() == len(want) == 4
    for row, (name, people) in zip(rows.all(), want, strict=True):
        assert row.locator("th").inner_text() == name
        counts = [people.served, people.newly_served, people.lost, people.unserved]
        assert row.locator("td").all_inner_texts()[:4] == [spoken(each) for each in counts]
    heads = tab.locator("#district-counts thead th").all_inner_texts()
    assert heads[:5] == ["District", "Served after", "Newly served", "Lost", "Unserved"]
    title = tab.locator("#districts-title").inner_text()
    assert title.endswith("all services" if excess_db == 0.0 else "dB or more")


@pytest.mark.browser
def test_outlines_and_names_stand_on_the_map_and_can_be_put_away(tab: Any) -> None:
    names = tab.locator(".district-name").all_inner_texts()
    assert names == ["North Hundred", HOSTILE]
    assert tab.locator(".leaflet-districts-pane path").count() == 4
    assert tab.locator(".district-name b").count() == 0
    tab.uncheck("#mark-districts")
    assert tab.locator(".leaflet-districts-pane path").count() == 0
    assert tab.locator(".district-name").count() == 0


@pytest.mark.browser
def test_a_row_goes_to_its_district_and_back_by_the_keyboard(tab: Any) -> None:
    whole = tab.evaluate("combe.map.getZoom()")
    button = tab.get_by_role("button", name="North Hundred")
    button.focus()
    tab.keyboard.press("Enter")
    assert button.get_attribute("aria-pressed") == "true"
    assert tab.evaluate("combe.map.getZoom()") > whole
    inside = tab.evaluate("combe.map.getBounds().contains(combe.boundsOf(combe.data.districts[0]))")
    assert inside
    centre = tab.evaluate("(() => { const { lat, lng } = combe.map.getCenter(); return [lng, lat]; })()")
    assert centre == pytest.approx([-84.30, 36.66], abs=0.01)
    assert tab.locator(".leaflet-districts-pane path[stroke='#b4520f']").count() == 1
    tab.keyboard.press("Enter")
    assert button.get_attribute("aria-pressed") == "false"
    assert tab.evaluate("combe.map.getZoom()") == whole
    assert tab.locator(".leaflet-districts-pane path[stroke='#b4520f']").count() == 0


@pytest.mark.browser
def test_a_name_waits_where_its_district_is_too_narrow_for_it(tab: Any) -> None:
    assert tab.locator(".district-name.waits").count() == 0
    tab.evaluate("() => { combe.map.setMaxBounds(null); combe.map.setMinZoom(0); }")
    tab.evaluate("() => void combe.map.setZoom(combe.map.getZoom() - 4, { animate: false })")
    assert tab.locator(".district-name.waits").count() == 2
    assert not tab.locator(".district-name").first.is_visible()


@pytest.mark.browser
def test_a_study_without_districts_has_neither_table_nor_switch(report: CoverReport, open_html: Any) -> None:
    network = replace(report.all_services, districts=())
    opened = open_html(render_map(map_content(replace(report, districts=None, all_services=network))))
    assert opened.page.locator("#mark-districts, #district-counts").count() == 0
    assert opened.complaints == []
