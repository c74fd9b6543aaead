"""The classes of ground that a map shows are those of an export's rasters, and of what is counted."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.class_maps import best_map, served_map
from combe.answers.cover import cover_report
from combe.answers.export import networks_of
from combe.publishing.colours import AREA_COLOURS
from combe.reports.cover_classes import class_layers, classes_left_out, harm_words
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_recount import write_uneven


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(write_uneven(tmp_path_factory.mktemp("classes"))), feeds=True)


@pytest.fixture(scope="module")
def layers(report):
    return {each.key: each for each in class_layers(report)}


def words_of(layer):
    """Return what a layer says of each cell; empty where nothing is predicted."""
    words = {each.code: each.words for each in layer.classes}
    codes = np.nan_to_num(layer.field_dbuv_m, nan=0.0).astype(int)
    return np.array(["", *(words.get(code, "?") for code in range(1, codes.max() + 1))])[codes]


def words_of_map(found):
    words = np.array([found.classes.get(code, "?") for code in range(max(found.classes) + 1)])
    words[0] = ""
    return words[found.read()]


def test_the_page_has_each_layer_once_and_in_order(report, layers):
    kinds = [
        "served-0",
        "served-1",
        "served-2",
        "best-0",
        "best-1",
        "overlap-0",
        "overlap-1",
        "overlap-2",
        "harm",
    ]
    assert list(layers) == kinds
    page = map_content(report)
    assert [each.key for each in page.layers if each.classes] == kinds
    assert not set(kinds) & set(page.recount.layers)
    assert not any(each.classes for each in map_content(report, recounted=False).layers)


def test_what_changes_and_who_is_best_are_the_classes_of_rasters(report, layers):
    for number, network in enumerate(networks_of(report)):
        want = words_of_map(served_map(network))
        assert (
            words_of(layers[f"served-{number}"])
            == np.where(want == "served before", "served, as before", want)
        ).all()
    for number, network in enumerate(report.services):
        best = words_of(layers[f"best-{number}"])
        assert (best == words_of_map(best_map(report, network))).all()
        assert {"Parent Hill", "Combe Relay", "served by no station"} <= set(best.ravel())


def test_overlap_counts_the_stations_that_serve(report, layers):
    said = words_of(layers["overlap-2"])
    serving = report.services[1].serving
    known = ~np.isnan(report.services[1].margin_db)
    assert ((said == "no station") == (known & (serving == 0))).all()
    assert ((said == "1 station") == (known & (serving == 1))).all()
    assert ((said == "2 stations") == (known & (serving == 2))).all()
    assert (said == "2 stations").any()


def test_what_relays_take_is_what_is_counted_as_harm(report, layers):
    said = words_of(layers["harm"])
    (harm,) = [each for each in report.harm if each.cells]
    taken = {each.words: each.people for each in layers["harm"].classes}
    with_other, without = (
        "a service taken, and had from another station",
        "a service taken, and had from no other",
    )
    assert np.isin(said, [with_other, without]).sum() == harm.cells
    assert taken[with_other] == pytest.approx(harm.served_otherwise, rel=1e-6)
    assert taken[without] == pytest.approx(harm.left_without, rel=1e-6)
    assert harm.left_without > 1.0
    assert harm_words(report).startswith("The relays take a service of another station from ")


def test_people_of_the_classes_are_all_who_have_a_prediction(report, layers):
    people = report.all_services.people
    told = {each.words: each.people for each in layers["served-0"].classes}
    assert told["newly served"] == pytest.approx(people.newly_served, rel=1e-6)
    assert sum(told.values()) == pytest.approx(people.total - people.without_prediction, rel=1e-6)
    assert {each.words: each.colour for each in layers["served-0"].classes}["lost"] == AREA_COLOURS["lost"]


def test_a_study_too_large_to_tell_the_best_station_says_so(report, monkeypatch):
    assert classes_left_out(report) == ""
    monkeypatch.setattr("combe.reports.cover_classes.MOST_JUDGED", 100)
    monkeypatch.setattr("combe.reports.cover_classes.MOST_SERVICES", 1)
    keys = [each.key for each in class_layers(report)]
    assert keys == ["served-0", "overlap-0", "harm"]
    told = (
        "This page leaves out the best station of each cell and the classes of each service; "
        "combe export writes them."
    )
    assert map_content(report).left_out == told


def test_where_nobody_is_counted_or_nothing_looked_at_nothing_is_said(report):
    assert harm_words(replace(report, interference=None)) == ""
    alone = replace(report, census=None)
    assert all(each.people is None for layer in class_layers(alone) for each in layer.classes)
    assert (
        harm_words(replace(report, harm=())) == "The relays take no service of another station from anybody."
    )
