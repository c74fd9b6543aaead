"""What a brief says: three lines to decide by, what was not asked, what limits a feed, what stands where."""

from __future__ import annotations

import json
from dataclasses import replace
from types import SimpleNamespace

import pytest

import combe
from combe.digits import spoken
from combe.planning import Harm, PeopleRange
from combe.publishing.as_text import as_text
from combe.publishing.document import Facts, Section, Table, Words, all_parts
from combe.publishing.served_picture import served_svg
from combe.reports.brief import document
from combe.reports.brief_map import picture_of
from combe.reports.brief_next import decision_lines, next_lines
from combe.reports.brief_words import (
    cost_lines,
    feed_line,
    harm_line,
    limit_words,
    people_line,
    uncertain_lines,
)
from support_brief import whole_brief
from support_delays import write_networked

THIN = "\u202f"


@pytest.fixture(scope="module")
def brief(tmp_path_factory):
    return whole_brief(tmp_path_factory.mktemp("said"))


def titles(made):
    return [each.title for each in all_parts(made.parts) if getattr(each, "title", "")]


def words_under(made, title):
    (found,) = [each for each in all_parts(made.parts) if isinstance(each, Words) and each.title == title]
    return " ".join(found.lines)


def ranged(network, ranges):
    """Return what is told of a network whose people lie in other ranges."""
    return SimpleNamespace(people=network.people, ranges=ranges)


def covered(brief, **changes):
    return replace(brief, cover=replace(brief.cover, **changes))


def test_three_lines_tell_people_feed_and_harm(brief):
    people, feed, harm = document(brief).headline
    counted = brief.cover.all_services.people
    assert people.startswith("People: ")
    assert f"{counted.unserved:,.0f} do not".replace(",", THIN) in people
    assert "eight times in ten" in people
    assert feed.startswith("Feed: fails, and coverage counts as if it passed. Combe Relay, Mux 2: noise, ")
    assert feed.endswith(" dB short.")
    alone = "Harm: none to viewers; no relay is on a channel that another station's viewers can hear."
    assert harm == alone
    over = SimpleNamespace(held=lambda state: [1] if state == "over" else [])
    assert harm_line(replace(brief, coordination=over)) == f"{alone} The neighbour has to be asked."


def test_the_number_to_count_on_is_that_of_the_range_where_the_map_counts_beyond_it(brief):
    network, ranges = brief.cover.all_services, brief.cover.all_services.ranges
    counted = network.people.newly_served

    def told(low, expected, high):
        found = replace(ranges, newly_served=PeopleRange(low, expected, high))
        return people_line(covered(brief, all_services=ranged(network, found)))

    within = told(counted - 9, counted, counted + 9)
    assert within.startswith(f"People: {spoken(counted)} ({spoken(counted - 9)} to {spoken(counted + 9)}, ")
    assert "to whom Combe Relay newly brings all services; " in within
    beyond = told(counted - 30, counted - 20, counted - 10)
    assert beyond.startswith(f"People: count on {spoken(counted - 20)} ({spoken(counted - 30)} to ")
    assert f"the map, each place as predicted, counts {spoken(counted)}: " in beyond


def test_what_is_to_be_decided_and_what_is_open_until_then(brief):
    hill = SimpleNamespace(rank=4)
    found = SimpleNamespace(
        others=(SimpleNamespace(hill=hill, fewer=-30.0), SimpleNamespace(hill=1, fewer=None))
    )
    over = SimpleNamespace(held=lambda state: [1] if state == "over" else [])
    (told,) = decision_lines(replace(brief, alternatives=found, coordination=over))
    assert told == (
        "Decide whether Combe Relay is built as the study has it, or hill 4 is looked into first, which "
        "would serve more; open until then: whether the signal arrives; whether the neighbour agrees; "
        f"readings at {len(brief.measuring)} places."
    )
    settled = replace(brief, coordination=None, measuring=(), alternatives=None)
    assert decision_lines(settled) == (
        "Decide whether Combe Relay is built as the study has it; open until then: whether the signal "
        "arrives.",
    )
    assert next_lines(settled)[0] == decision_lines(settled)[0]
    free = replace(brief.costs, relays=(replace(brief.costs.relays[0], yearly=None),), sites=None)
    assert "what it costs; " in decision_lines(replace(brief, costs=free))[0]
    assert decision_lines(replace(brief, project=brief.project.only(["Parent Hill"]))) == ()


def test_viewers_are_told_what_aerial_they_need(brief):
    relay = brief.relays[0]
    channels = ", ".join(str(service.channel) for service in relay.services)
    told = [line for line in next_lines(brief) if line.startswith("Viewers: ")]
    assert told == [
        "Viewers: tell them that they need an aerial towards Combe Relay, "
        f"{relay.polarization}, for channels {channels}."
    ]


def test_places_told_of_are_on_the_map_under_the_same_names(brief):
    marks = [each for each in picture_of(brief).marks if each.kind == "place"]
    hills = [str(each.hill.rank) for each in brief.alternatives.others]
    assert [each.name for each in marks] == [*hills, *"ABCD"[: len(brief.measuring)]]
    svg = served_svg(picture_of(brief))
    assert ">where to measure</text>" in svg and ">another hill</text>" in svg and ">not served</text>" in svg
    (table,) = [
        each for each in all_parts(document(brief).parts) if getattr(each, "title", "") == "Where to measure"
    ]
    assert [table.fields[0].of(row) for row in table.rows] == [*"ABCD"[: len(brief.measuring)]]


def test_harm_is_told_and_its_absence_only_where_it_was_looked_at(brief):
    harm = Harm("Combe Relay", "Parent Hill", "Mux 1", 27, 9, 40.0, 25.0, 15.0, 0.0)
    told = harm_line(covered(brief, harm=(harm, replace(harm, fall_below=3.0))))
    assert (
        "At worst Combe Relay takes Mux 1 of Parent Hill from 40, and 15 of them get it from nobody" in told
    )
    assert told.startswith("Harm: nobody who had all services before would lose one. At worst")
    assert "not looked at" in harm_line(covered(brief, interference=None))
    none = replace(harm, fall_below=0.0)
    assert "so far as interference is counted" in harm_line(covered(brief, harm=(none,)))
    asked = next_lines(covered(brief, harm=(harm,)))
    assert any("ask for the consent of those who radiate Parent Hill" in line for line in asked)


def test_without_people_or_relay_nothing_is_made_up(brief):
    nobody = covered(brief, all_services=replace(brief.cover.all_services, people=None, draw=None))
    assert "nobody is counted" in people_line(nobody)
    parent = replace(brief, project=brief.project.only(["Parent Hill"]))
    assert feed_line(covered(parent, feeds=None)) == "Feed: the study has no relay."
    assert harm_line(parent) == "Harm: the study has no relay."
    assert "newly" not in people_line(parent)
    (facts,) = [each for each in all_parts(document(parent).parts) if isinstance(each, Facts)]
    assert [each.head for each in facts.fields] == ["served", "unserved", "in all"]


def test_a_limit_says_on_which_side_it_lies():
    def limit(spare_db):
        return limit_words(SimpleNamespace(limit="AGC top", spare_db=spare_db))

    assert limit(3.14) == "highest input of the receiver, 3.1 dB to spare"
    assert limit(-0.04) == "highest input of the receiver, 0.04 dB short"
    assert limit(float("nan")) == "highest input of the receiver, by how much is not known"


def test_what_was_not_asked_is_said(brief):
    title = "Could it stand elsewhere"
    unasked = replace(brief, site=None, alternatives=None)
    assert "ask again with --alternatives" in words_under(document(unasked), title)
    no_question = replace(unasked, project=replace(brief.project, siting=None))
    assert "the study has no [siting]" in words_under(document(no_question), title)
    (table,) = [each for each in all_parts(document(brief).parts) if getattr(each, "title", "") == title]
    assert isinstance(table, Table)
    assert len(table.rows) == 2


def test_costs_are_told_or_that_there_are_none(brief):
    yearly, once = cost_lines(brief)
    assert f"Combe Relay 1{THIN}200; for each person newly served 0." in yearly
    assert once.startswith("To build, once: 40; for each person newly served 0.0")
    free = replace(brief.costs, relays=(replace(brief.costs.relays[0], yearly=None),), sites=None)
    assert cost_lines(replace(brief, costs=free))[0].startswith(
        "No cost is given in the study. Before anybody decides, somebody"
    )
    unknown = replace(brief.costs, sites=None, each_person=None)
    assert cost_lines(replace(brief, costs=unknown))[0].endswith("for each person newly served not known.")


def test_of_many_the_first_are_told_and_how_many_more(brief):
    (exposure,) = brief.exposures
    far = [replace(exposure, relay=f"Relay {n}", distance_m=float(n)) for n in range(1, 8)]
    lines = next_lines(replace(brief, exposures=tuple(far), lacking=tuple("abcde")))
    assert any("Relay 7 7.0 m; Relay 6 6.0 m; and 5 more (ICNIRP" in line for line in lines)
    assert lines[-1] == "Feed: 4 more that are not known, in the JSON."
    fault = replace(exposure, distance_m=None, fault="30 MHz is too low")
    assert "Exposure is not worked out of Combe Relay: 30 MHz is too low." in next_lines(
        replace(brief, exposures=(fault,))
    )


def test_what_is_uncertain_is_told_with_numbers(brief):
    lines = uncertain_lines(brief)
    assert any(line.startswith("Eight times in ten ") for line in lines)
    error = brief.cover.error
    assert any(f"{error.common_db:.1f} dB, that of one place by {error.place_db:.1f} dB" in x for x in lines)
    assert any("Most in doubt: District of the Northern Combes" in line for line in lines)
    assert any(line.startswith("For ") and "no prediction" in line for line in lines)
    assert not any("surface model" in line for line in lines)
    terrain = replace(brief.project.terrain, surface_model=True)
    surface = replace(brief, project=replace(brief.project, terrain=terrain, off_air=("Old Mast",)))
    assert any("surface model" in line for line in uncertain_lines(surface))
    assert "Left out, for they are off the air: Old Mast." in uncertain_lines(surface)


def test_the_neighbour_is_named_as_far_as_he_is_known(brief):
    over = replace(brief.coordination.fields[0], trigger_dbuv_m=-99.0)
    many = replace(brief.coordination, fields=(over, *brief.coordination.fields[1:]))
    told = next_lines(replace(brief, coordination=many))[1]
    assert f" 1 of {len(many.fields)} field strengths are over the trigger from which it has a say" in told
    assert "no neighbour is named" in next_lines(replace(brief, coordination=None))[1]
    fault = replace(brief, coordination=None, coordination_fault="gone.geojson: it is not there")
    assert "cannot be asked yet: gone.geojson" in next_lines(fault)[1]


def test_what_the_sheets_have_no_room_for_stands_in_the_appendix(brief):
    made = document(brief)
    appendix = made.parts[-1]
    assert isinstance(appendix, Section)
    assert appendix.appendix
    (district,) = [each for each in all_parts(made.parts[:-1]) if getattr(each, "title", "") == "By district"]
    (every,) = [each for each in appendix.parts if each.title == "Every district"]
    assert len(district.rows) == 4 < len(every.rows) == len(brief.cover.all_services.districts)
    assert district.note == "5 more in the appendix"
    assert [each.title for each in appendix.parts][-2:] == ["All that was given, part by part", "Files"]


def test_the_terminal_tells_what_more_there_is(brief):
    short = as_text(document(brief))
    assert "More with --full: Who is served; By district" in short
    assert "Could it stand elsewhere" in titles(document(brief))


@pytest.mark.parametrize("kept", [("Tarnbeacon",), ("Tarnbeacon", "Larkcombe")])
def test_a_study_of_little_is_said_in_all_three_ways(kept):
    valley = combe.demo().only(kept)
    bare = replace(valley, grid=replace(valley.grid, cell_size_m=1000.0), people=None, siting=None)
    said = combe.report(combe.brief(bare))
    assert "nobody is counted" in said.text()
    assert '"people_served": null' in said.json()
    assert "Nobody is counted." in said.html()
    assert ("Does the signal arrive" in said.html()) == (len(kept) > 1)


def test_a_pattern_is_told_by_its_file_and_not_its_folder():
    parent, relay = json.loads(combe.report(combe.brief(replace(combe.demo(), people=None))).json())[
        "stations"
    ]
    assert (parent["horizontal_pattern"], relay["horizontal_pattern"]) == (None, "relay_pattern.csv")


def test_what_a_network_on_one_frequency_gives_and_takes_is_told(tmp_path):
    said = combe.report(combe.brief(combe.load(write_networked(tmp_path / "networked")))).text(full=True)
    assert "On one frequency, " in said
