"""What is said of how sure people are: sentences, tables by district, JSON, the map page, one place."""

import html
import json
from dataclasses import replace

import geopandas
import numpy as np
import pytest
from scipy.stats import norm
from shapely.geometry import box

from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.answers.network import Network
from combe.planning import CountRanges, PeopleCount, PeopleRange
from combe.publishing.as_json import as_json
from combe.publishing.as_text import as_text
from combe.publishing.document import Table
from combe.publishing.map_page import render_map
from combe.reports.cover import document
from combe.reports.cover_map import map_content
from combe.reports.explain import document as explained
from combe.reports.how_sure import range_remarks, range_sentences, range_words
from combe.study.project_of import load_project
from support_study import edited, write_study

THIN = "\u202f"


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sure")
    halves = [box(-84.5, 36.4, -84.26, 36.8), box(-84.26, 36.4, -84.0, 36.8)]
    frame = geopandas.GeoDataFrame({"name": ["West", "East"]}, geometry=halves, crs="EPSG:4326")
    frame.to_file(folder / "districts.gpkg")
    changes = ('raster = "people.tif"', 'raster = "people.tif"\ndistricts = "districts.gpkg"')
    return cover_report(load_project(write_study(folder, edited(changes))))


def ranges(*numbers):
    return CountRanges(*(PeopleRange(low, (low + high) / 2.0, high) for low, high in numbers))


SOME = ranges((1000.4, 2000.0), (10.0, 20.0), (5.0, 6.0), (300.0, 400.0), (0.0, 0.2))


def test_sentences_and_words():
    (said,) = range_sentences(SOME, relays=True)
    assert said == (
        f"By the prediction's error, eight times in ten 1{THIN}000 to 2{THIN}000 are served, "
        "300 to 400 newly."
    )
    (alone,) = range_sentences(SOME, relays=False)
    assert alone.endswith("are served.")
    assert range_sentences(None, relays=True) == ()
    assert [range_words(each) for each in (SOME.lost, SOME.unserved, None)] == ["0", "10 to 20", None]


def network(found, newly):
    people = PeopleCount(3000.0, 1500.0, 1500.0, 0.0, newly_served=newly)
    return Network("All services", dict, people, draw=lambda: (found,))


def test_a_best_figure_over_its_range_is_remarked():
    (said,) = range_remarks(network(SOME, 401.0))
    assert said.startswith("The 401 newly served lie over their range")
    for newly in (350.0, 400.2, 250.0, None):
        assert range_remarks(network(SOME, newly)) == ()
    assert range_remarks(network(None, 401.0)) == ()


def test_the_ranges_of_services_and_districts_are_in_tables(report):
    tables = {part.title: part for part in document(report).parts if isinstance(part, Table)}
    whole = tables["How sure"]
    assert [row.name for row in whole.rows] == ["All services", "Mux 1", "Mux 2"]
    heads = [field.head for field in whole.fields]
    assert heads == ["people", "served before", "newly served", "served", "unserved"]
    told = {field.head: field.of(whole.rows[0]) for field in whole.fields}
    assert told["served"] == range_words(report.all_services.ranges.served)
    assert told["newly served"] == range_words(report.all_services.ranges.newly_served)
    districts = tables["How sure, Mux 2, by district"]
    assert [row.name for row in districts.rows] == [name for name, _ in report.services[1].districts]
    for row, found in zip(districts.rows, report.services[1].district_ranges, strict=False):
        assert districts.fields[3].of(row) == range_words(found.served)


def test_people_who_lose_a_service_have_a_range_where_there_are_any(report):
    people = replace(report.all_services.people, lost=20.0)
    lossy = replace(report, all_services=replace(report.all_services, people=people, draw=lambda: (SOME,)))
    table = next(part for part in document(lossy).parts if part.title == "How sure")
    assert [field.head for field in table.fields][3] == "lost"


def test_the_json_has_ends_and_expectation_of_every_count(report):
    printed = json.loads(as_json(document(report)))
    assert printed["prediction_error"]["common_db"] == 4.0
    assert printed["prediction_error"]["place_db"] == 7.5
    assert "from memory" in printed["prediction_error"]["source"]
    found = printed["all_services"]["ranges"]
    assert set(found) == {"served", "unserved", "served_before", "newly_served", "lost"}
    wanted = report.all_services.ranges.served
    assert found["served"] == {
        "low": round(wanted.low, 3), "expected": round(wanted.expected, 3), "high": round(wanted.high, 3)
    }  # fmt: skip
    district = printed["services"][0]["districts"][1]
    assert district["name"] == "East"
    assert district["ranges"]["served"]["low"] == round(report.services[0].district_ranges[1].served.low, 3)


def test_the_short_answer_has_the_range_and_its_table_still(report):
    lines = as_text(document(report)).splitlines()
    assert len(lines) <= 12
    assert any(line.startswith("By the prediction's error, eight times in ten") for line in lines)
    assert any(line.strip().startswith("All services") for line in lines)


def test_the_map_says_the_range_below_its_headline(report):
    content = map_content(report)
    (said,) = range_sentences(report.all_services.ranges, relays=True)
    assert content.sure == said
    assert said in html.unescape(render_map(content))
    assert map_content(replace(report, all_services=replace(report.all_services, draw=None))).sure == ""


def test_a_place_is_told_its_chance(report):
    found = explain_place(report.project, -84.20, 36.60)
    printed = json.loads(as_json(explained(found)))
    for service, each in zip(found.services, printed["services"], strict=True):
        margin_db = service.candidates[0].margin_db
        chance = norm.cdf(margin_db / np.hypot(4.0, 7.5))
        assert service.chance == pytest.approx(chance, abs=1e-9)
        assert each["chance_served_percent"] == pytest.approx(100.0 * chance)
        assert not any("chance" in each for each in service.words)
    assert "chance of service" in as_text(explained(found), full=True)
    assert found.provenance["error of the prediction"] == report.provenance["error of the prediction"]


def test_a_place_that_is_not_served_has_a_chance_all_the_same(report):
    weak = [
        replace(each, services=tuple(replace(one, erp_w=one.erp_w / 1e8) for one in each.services))
        for each in report.project.stations
    ]
    found = explain_place(replace(report.project, stations=tuple(weak)), -84.20, 36.60).services[0]
    assert found.candidates[0].margin_db < 0.0
    assert found.chance == pytest.approx(norm.cdf(found.candidates[0].margin_db / np.hypot(4.0, 7.5)))
    assert 0.0 < found.chance < 0.5
    assert found.words[1] == (
        "Given the prediction's error, the chance that it is served all the same is "
        f"{100.0 * found.chance:.0f} %."
    )
