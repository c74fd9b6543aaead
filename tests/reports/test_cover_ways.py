"""What a coverage and a place say of several ways of receiving, as text, as JSON and on the map."""

from __future__ import annotations

import json

import pytest

import combe.reports.cover
import combe.reports.explain
from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.digits import spoken
from combe.publishing.as_json import as_json
from combe.publishing.as_text import as_text
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_flat import HEAD, NORTH_M, SIDE_M, WEST_M, lonlat_of, station_text, write_plain_study

MIDDLE_M = WEST_M + SIDE_M / 2.0, NORTH_M - SIDE_M / 2.0
THREE = '\n[reception]\nways = ["fixed roof", "portable outdoor", "portable indoor"]\n'


def project(folder, head: str = HEAD + THREE):
    station = station_text("Mast", *MIDDLE_M, [("Mux", 41, 100.0)])
    return load_project(write_plain_study(folder, station, head=head))


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(project(tmp_path_factory.mktemp("ways")))


def test_readers_see_the_people_of_each_way(report) -> None:
    document = combe.reports.cover.document(report)
    outdoor, indoor = (spoken(way.people.served) for way in report.ways[1:])
    counted = f"by portable outdoor: {outdoor}, by portable indoor: {indoor}"
    assert f"All services {counted}; all else is for fixed roof." in document.headline
    text = as_text(document)
    assert "People with all services, by way of receiving" in text
    assert all(way.name in text for way in report.ways)


def test_json_has_the_people_of_each_way(report) -> None:
    printed = json.loads(as_json(combe.reports.cover.document(report)))
    assert [way["name"] for way in printed["ways"]] == [way.name for way in report.ways]
    for way, found in zip(printed["ways"], report.ways, strict=True):
        assert way["people_served"] == pytest.approx(found.people.served, abs=0.1)
        assert [each["name"] for each in way["services"]] == ["Mux"]
    assert printed["ways"][0]["people_served"] == printed["all_services"]["people_served"]
    assert printed["ways"][2]["words"].endswith("building entry loss of GE06")


def test_the_map_has_a_layer_of_each_further_way(report) -> None:
    layers = {layer.key: layer for layer in map_content(report).layers}
    assert layers["way-1"].title == "All services, portable outdoor"
    assert layers["way-2"].title == "All services, portable indoor"
    assert "way-0" not in layers
    rows = map_content(report).people_rows
    assert [name for name, _ in rows] == [
        "All services", "Mux", "All services, portable outdoor", "All services, portable indoor",
    ]  # fmt: skip
    assert rows[3][1] == report.ways[2].people
    served = [(layers[key].field_dbuv_m >= 0.0).sum() for key in ("after", "way-1", "way-2")]
    assert served[0] > served[1] > served[2] > 0


def test_a_place_tells_of_each_way(report) -> None:
    place = explain_place(report.project, *lonlat_of(MIDDLE_M[0], MIDDLE_M[1] + 10_000.0))
    document = combe.reports.explain.document(place)
    assert document.headline[-1] == "All is for fixed roof."
    assert "By way of receiving" in as_text(document)
    ways = json.loads(as_json(document))["services"][0]["ways"]
    assert [(way["name"], way["served"]) for way in ways] == [
        ("fixed roof", True), ("portable outdoor", True), ("portable indoor", False),
    ]  # fmt: skip


def test_with_the_roof_alone_nothing_more_is_said(tmp_path) -> None:
    alone = project(tmp_path, HEAD)
    place = combe.reports.explain.document(explain_place(alone, *lonlat_of(*MIDDLE_M)))
    assert "way of receiving" not in as_text(place)
    assert "All is for" not in " ".join(place.headline)
    assert "ways of receiving" not in place.made_by
