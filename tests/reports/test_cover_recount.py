"""The numbers that a map's slider shows are those of counts at each threshold."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.network import Network
from combe.answers.people_places import people_places
from combe.planning import Standing, count_standing
from combe.publishing.content import PEOPLE_STATES
from combe.publishing.recount import thresholds_db
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_recount import EXCESSES_DB, NAMES, shifted, write_uneven


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(write_uneven(tmp_path_factory.mktemp("recount"))), feeds=True)


@pytest.fixture(scope="module")
def page(report):
    return map_content(report)


def step_of(excess_db):
    (step,) = np.flatnonzero(thresholds_db() == excess_db)
    return int(step)


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_each_row_of_the_table_is_counted_anew(report, page, excess_db):
    networks = (report.all_services, *report.services)
    assert len(page.recount.rows) == len(page.people_rows) == 3
    for network, row in zip(networks, page.recount.rows, strict=True):
        people = count_standing(report.census, shifted(network, excess_db))
        for ours, theirs in NAMES.items():
            assert f"{getattr(row, ours)[step_of(excess_db)]}" == f"{getattr(people, theirs):.0f}"
        assert f"{row.without_prediction}" == f"{people.without_prediction:.0f}"
    assert page.recount.rows[0].newly.max() > 20
    assert page.recount.rows[0].limited.max() > 20


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_each_layer_has_the_people_under_what_it_paints(report, page, excess_db):
    for layer in (each for each in page.layers if not each.classes):
        over_db = layer.field_dbuv_m.astype(np.float64) - layer.threshold_dbuv_m - excess_db
        people = count_standing(report.census, Standing(over_db))
        found = page.recount.layers[layer.key]
        assert f"{found.served[step_of(excess_db)]}" == f"{people.served:.0f}", layer.key
        assert f"{found.unserved[step_of(excess_db)]}" == f"{people.unserved:.0f}", layer.key


@pytest.mark.parametrize("excess_db", EXCESSES_DB)
def test_marks_have_the_state_of_most_of_their_people(report, page, excess_db):
    network = report.all_services
    moved = Network("moved", lambda name: network.read(name).astype(np.float64) - excess_db, None)
    places = people_places(report.people, report.grid, moved)
    states = [PEOPLE_STATES[code] for code in page.recount.marks[:, step_of(excess_db)]]
    differ = [one for one, place in zip(states, places, strict=True) if one != place.state]
    # Halves may fall to either side.
    assert len(differ) <= len(places) / 200
    assert len(set(states)) >= 2
    if excess_db == 0.0:
        assert [mark.state for mark in page.people] == [place.state for place in places]


def test_at_the_minimum_the_numbers_are_those_of_the_report(report, page):
    for (_, people), row in zip(page.people_rows, page.recount.rows, strict=True):
        assert row.served[step_of(0.0)] == round(people.served)
        assert row.newly[step_of(0.0)] == round(people.newly_served)


def test_without_people_there_is_nothing_to_recount(report):
    alone = replace(report, census=None, people=None, all_services=replace(report.all_services, people=None))
    assert map_content(replace(alone, services=())).recount is None
    assert map_content(report, recounted=False).recount is None
