"""The brief: its numbers are those of the answers it gathers; settlements, doubts, other places, costs."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

import combe
import combe.reports.brief
import combe.reports.cover
import combe.reports.feed
import combe.reports.site
from combe.answers.brief import brief_report, feeds_by_service
from combe.answers.brief_alternatives import alternatives
from combe.answers.brief_inputs import settings_of
from combe.answers.brief_people import measuring_places, named_settlements
from combe.answers.feed import feed_report
from combe.planning import chance_served
from combe.project import Coordination
from combe.publishing.as_json import as_object
from combe.standards import TriggerBand
from combe.terrain import people_on_grid
from support_brief import VILLAGES, whole_brief


@pytest.fixture(scope="module")
def brief(tmp_path_factory):
    return whole_brief(tmp_path_factory.mktemp("brief"))


@pytest.fixture(scope="module")
def told(brief):
    return as_object(combe.reports.brief.document(brief))


@pytest.fixture(scope="module")
def sited():
    """Return the demo's siting on large cells, after its relay was put on the second hill of the list."""
    valley = combe.demo()
    coarse = replace(valley.siting, cell_size_m=900.0, list_length=6, sites=1)
    valley = replace(valley, siting=coarse)
    second = combe.site(valley).candidates[1].station
    moved = replace(
        valley.station("Larkcombe"),
        longitude_deg=second.longitude_deg,
        latitude_deg=second.latitude_deg,
    )
    feed, output = valley.feeds["Larkcombe"], valley.outputs["Larkcombe"]
    return combe.site(valley.with_station(moved, feed=feed, output=output))


def test_people_and_harm_are_those_of_cover(brief, told):
    covered = as_object(combe.reports.cover.document(brief.cover))
    for key in ("all_services", "prediction_error", "harm", "unserved"):
        assert told[key] == covered[key], key
    assert told["all_services"]["people_newly_served"] > 100


def test_feeds_are_those_of_feed(brief, told):
    (relay,) = as_object(combe.reports.feed.document(feed_report(brief.project)))["relays"]
    theirs = {each["name"]: each for each in relay["services"]}
    assert len(told["feeds"]) == len(theirs) == 2
    for each in told["feeds"]:
        for key in ("margin_db", "required_margin_db", "receiver_input_dbm", "verdict", "time_percent"):
            assert each[key] == theirs[each["service"]][key], key
    assert told["feed_verdict"] == relay["verdict"]


def test_other_places_are_those_of_site(brief, told):
    hills = {each["rank"]: each for each in as_object(combe.reports.site.document(brief.site))["list"]}
    assert len(told["alternatives"]["others"]) == 2
    for each in told["alternatives"]["others"]:
        hill = hills[each["rank"]]
        for key in ("people", "people_harmed", "judged_margin_db", "feed_verdict", "people_range"):
            assert each[key] == hill[key], key


def test_settlements_add_up_to_the_coverage(brief):
    people = brief.cover.all_services.people
    assert {each.name for each in brief.settlements} == set(VILLAGES)
    for name in ("served", "newly_served", "lost", "unserved", "without_prediction"):
        summed = sum(getattr(each, name) for each in brief.settlements)
        assert summed == pytest.approx(getattr(people, name), abs=1e-6), name
    heads = [each.people for each in brief.settlements]
    assert heads == sorted(heads, reverse=True)
    assert named_settlements(replace(brief.cover, points=None)) is None


def test_a_place_to_measure_has_people_whose_margin_is_near_nought(brief):
    places = measuring_places(brief.cover, 1000)
    assert [each.people_in_doubt for each in places] == sorted(
        (each.people_in_doubt for each in places), reverse=True
    )
    cover = brief.cover
    margin, people = cover.all_services.margin_db, people_on_grid(cover.grid, cover.people)
    error = math.hypot(cover.error.common_db, cover.error.place_db)
    known = np.isfinite(margin)
    chance = chance_served(margin[known], 0.0, error)
    doubt = 2.0 * people[known] * np.minimum(chance, 1.0 - chance)
    # Left out are places with less than half a person in doubt, or few of their people.
    assert 0.8 * doubt.sum() < sum(each.people_in_doubt for each in places) <= doubt.sum()
    assert all(each.people_in_doubt >= 0.1 * each.people for each in places)
    assert all(each.people_in_doubt <= each.people + 1e-9 for each in places)
    nearest = sorted(places, key=lambda each: each.people_in_doubt / each.people)
    assert abs(nearest[-1].margin_db) < 2.0 < abs(nearest[0].margin_db)
    assert brief.measuring == places[:4]
    assert brief.measuring[0].name in VILLAGES
    assert measuring_places(replace(cover, people=None)) == ()


def test_districts_in_doubt_have_the_widest_ranges(brief):
    widths = [each.high - each.low for each in brief.in_doubt]
    ranges = [each.served for each in brief.cover.all_services.district_ranges]
    assert widths == sorted((each.high - each.low for each in ranges), reverse=True)[:3]


def test_costs_are_shared_by_those_newly_served(brief):
    new = brief.cover.all_services.people.newly_served
    assert brief.costs.total == 1200.0
    assert brief.costs.each_person == pytest.approx(1200.0 / new)
    assert (brief.costs.sites, brief.costs.sites_each_person) == (40.0, pytest.approx(40.0 / new))


def test_the_own_place_is_no_alternative_to_itself(sited):
    found = alternatives(sited)
    assert found.own.name == "Larkcombe"
    (own,) = sited.own
    assert found.own.people == own.people
    assert [each.hill.rank for each in found.others] == [1, 3]
    assert [each.hill.rank for each in alternatives(sited, 99).others] == [1, 3, 4, 5, 6]


def test_a_sentence_says_how_the_hill_compares(sited):
    found = alternatives(sited, 99)
    for each in found.others:
        assert each.fewer == pytest.approx(found.own.people - found.own.harmed - each.hill.score)
        if each.hill.whole_feed.verdict != "passes":
            assert each.words.startswith("its feed")
        elif each.fewer >= 0.5:
            assert each.words.startswith("it would serve")
            assert "fewer people than Larkcombe" in each.words
        else:
            assert " more people than " in each.words or " as many people as " in each.words
        assert 0.0 <= each.own_leads_fraction <= 1.0
    assert any("fewer people" in each.words for each in found.others)
    assert " more people than " in found.others[0].words, "the first of the list is worth more"


def test_a_place_that_was_not_searched_is_held_against_nothing(brief):
    assert brief.alternatives.own is None
    assert "not searched" in brief.alternatives.own_words
    assert all(each.fewer is None for each in brief.alternatives.others)
    passing = [each for each in brief.alternatives.others if each.hill.whole_feed.verdict == "passes"]
    assert "nothing here speaks against it" in passing[0].words


def coarse():
    valley = combe.demo()
    return replace(valley, grid=replace(valley.grid, cell_size_m=1000.0), siting=None)


def test_what_is_not_there_is_not_known():
    bare = replace(coarse(), people=None, coordination=None)
    found = brief_report(bare)
    assert (found.settlements, found.measuring, found.in_doubt) == (None, (), ())
    assert (found.site, found.alternatives, found.coordination) == (None, None, None)
    assert not found.costs.given
    parent = bare.only(["Tarnbeacon"])
    alone = brief_report(parent)
    assert (alone.feed_verdict, alone.feeds, alone.exposures) == (None, (), ())


def test_the_neighbour_is_asked_about_relays_alone_and_a_fault_is_told():
    asked = Coordination(places_deg=((-84.34, 36.61),), triggers=(TriggerBand(470.0, 900.0, 30.0),))
    found = brief_report(replace(coarse(), coordination=asked))
    assert {each.station.name for each in found.coordination.fields} == {"Larkcombe"}
    wrong = replace(coarse(), coordination=replace(asked, layers=(_broken(),)))
    told = brief_report(wrong)
    assert told.coordination is None
    assert "gone.geojson" in told.coordination_fault


def _broken():
    from pathlib import Path

    from combe.errors import TableError
    from combe.project import Given

    def read():
        raise TableError(Path("gone.geojson"), "it is not there", "write it")

    return Given("gone.geojson", read)


def test_feeds_that_do_not_pass_come_first(brief):
    found = feeds_by_service(brief.cover)
    assert [each.spare_db for each in found] == sorted(each.spare_db for each in found)
    assert found[0].limit == found[0].service.judged.findings[0].cause


def test_every_value_given_is_told():
    valley = combe.demo()
    found = dict(settings_of(valley))
    assert "required_margin_db = 10.0" in found["feeds[Larkcombe]"]
    assert found["feeds[Larkcombe].stages[1]"] == "kind = feeder; size = 1/2 in foam; length_m = 25.0"
    assert "delta_n = 40.0" in found["conditions"]
    assert "model = p1812" in found["conditions"]
    assert "power_w = 15.0, 15.0, 7.5" in found["outputs[Larkcombe]"]
    assert "cell_size_m = 60.0" in found["grid"]
    assert "border.geojson" in found["coordination"] + "".join(found)
    changed = dict(settings_of(replace(valley, receive_height_m=11.5)))
    assert "receive_height_m = 11.5" in changed["the study"]
    own = (("own", valley.station("Larkcombe").horizontal_pattern), ("omni", None))
    tried = dict(settings_of(replace(valley, siting=replace(valley.siting, patterns=own))))
    assert "patterns = own, 27 rows of relay_pattern.csv, omni;" in tried["siting"], "no folder is told"


def test_the_library_asks_the_same(brief):
    assert json.loads(combe.report(brief).json())["format"] == "combe/brief/1"
    found = combe.brief(coarse())
    assert found.alternatives is None
    assert [each.name for each in found.files][:1] == ["study.toml"]
