"""What is said of the clearance of a path: the sentence, the line, the rows and the keys."""

import json
from dataclasses import replace

import pytest

import combe.reports.feed
import combe.reports.path
from combe.answers.feed import feed_report
from combe.answers.path import path_report
from combe.prediction import Clearance, ClearanceOverTime
from combe.publishing.as_json import as_json
from combe.publishing.as_text import as_text
from combe.publishing.document import Table, all_parts
from combe.reports.clearance import clearance_in_short, clearance_table, clearance_words
from combe.reports.profile import sight_words
from combe.study.project_of import load_project
from support_feed_study import DIGITAL
from support_study import write_study


def air(clearance_m, distance_km=8.31, radius_km=8500.0, percent=50.0):
    """Return a clearance of a zone of 20 m; the place tells the edge."""
    return Clearance(round(100 * distance_km), distance_km, clearance_m, 20.0, radius_km, percent)


def rare(clearance_m, distance_km=8.31, radius_km=5564.0):
    return air(clearance_m, distance_km, radius_km, 99.9)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    return path_report(
        load_project(write_study(tmp_path_factory.mktemp("path"))), "Parent Hill", "Combe Relay"
    )


def told(found, median, other, *, sight=True, **changes):
    """Return a path whose first service has such clearances."""
    first = found.services[0]
    first = replace(
        first,
        clearance=ClearanceOverTime(median, other) if median else None,
        prediction=replace(first.prediction, line_of_sight=sight),
    )
    return replace(found, services=(first, *found.services[1:]), **changes), first.service.name


def test_a_line_that_is_clear_in_both_airs(found):
    given = told(found, air(28.0), rare(14.0))
    assert clearance_words(*given) == (
        "at k 1.33 the line clears the ground at 8.31 km by 28 m, 1.4 first Fresnel radii at 522 MHz; at "
        "k 0.87, exceeded for 99.9 % of the time, by 14 m, 0.7 radii"
    )
    assert clearance_in_short(*given) == (
        "In line of sight, clear by 1.4 first Fresnel radii at 8.31 km; by 0.7 at k 0.87 (99.9 % of time)"
    )
    assert sight_words(*given) == f"The ends see one another: {clearance_words(*given)}."


def test_a_line_that_is_blocked(found):
    given = told(found, air(-12.0), rare(-16.0), sight=False)
    assert clearance_words(*given) == (
        "at k 1.33 the ground at 8.31 km blocks the line by 12 m, −0.6 first Fresnel radii at 522 MHz; at "
        "k 0.87, exceeded for 99.9 % of the time, by 16 m, −0.8 radii"
    )
    assert clearance_in_short(*given) == (
        "Blocked by 12 m, −0.6 first Fresnel radii, at 8.31 km; by 16 m, −0.8, at k 0.87 (99.9 % of time)"
    )
    assert sight_words(*given).startswith("The ground hides the ends: at k 1.33 ")


def test_a_line_that_is_blocked_on_bad_days_by_another_edge(found):
    given = told(found, air(4.0), rare(-4.0, 5.2))
    assert clearance_words(*given).endswith(
        "; at k 0.87, exceeded for 99.9 % of the time, the ground at 5.20 km blocks the line "
        "by 4.0 m, −0.2 radii"
    )
    assert clearance_in_short(*given) == (
        "In line of sight, clear by 0.2 first Fresnel radii at 8.31 km; blocked by 4.0 m, −0.2, at 5.20 km "
        "at k 0.87 (99.9 % of time)"
    )


def test_ground_cover_and_the_rule_are_named(found):
    covered, name = told(found, air(4.0), rare(3.0), clutter_height_m=found.profile.height_m * 0.0)
    assert "clears the ground and its cover at 8.31 km" in clearance_words(covered, name)
    note = clearance_table(covered, [name]).note
    assert "over the ground and its cover, the Earth's curve counted" in note
    assert "From 0.6 of the radius on an edge costs next to nothing (common practice)" in note
    assert "by ITU-R P.2001-4, temperate climate, typical values from memory." in note


def test_no_rounding_puts_a_clearance_on_the_other_side_of_the_rule(found):
    given = told(found, air(11.98), rare(0.02))
    assert "0.599 first Fresnel radii" in clearance_words(*given)


def test_a_study_whose_air_contradicts_its_climate_is_told_so(found):
    odd = "the study's own k is less than that, so one of both is not of this place"
    given = told(found, air(20.0, radius_km=5000.0), rare(21.0))
    assert clearance_words(*given).endswith(odd)
    assert odd in clearance_table(given[0], [given[1]]).note
    plain = told(found, air(20.0), rare(19.0))
    assert odd not in clearance_words(*plain) + clearance_table(plain[0], [plain[1]]).note


def test_where_no_ground_lies_between_the_ends(found):
    path, name = told(found, None, None)
    assert clearance_words(path, name) == "no ground lies between the ends"
    assert clearance_in_short(path, name) == "In line of sight"
    assert clearance_table(path, [name]).rows == ()
    document = combe.reports.path.document(path)
    assert json.loads(as_json(document))["services"][0]["clearance"] is None


def test_path_and_feed_tell_the_same_clearance(tmp_path):
    project = load_project(write_study(tmp_path, DIGITAL))
    path = path_report(project, "Long Moor", "Upper Combe")
    feed = feed_report(project)
    of_path = json.loads(as_json(combe.reports.path.document(path)))["services"]
    document = combe.reports.feed.document(feed)
    of_feed = json.loads(as_json(document))["relays"][0]["clearance"]
    for one, other in zip(of_path, of_feed, strict=True):
        assert one["name"] == other["name"]
        for key, percent in (("median", 50.0), ("exceeded_99_9", 99.9)):
            values = one["clearance"][key]
            assert values == other[key]
            assert values["time_percent"] == percent
            assert values["clearance_radii"] == pytest.approx(
                values["clearance_m"] / values["first_fresnel_m"]
            )
            assert values["k"] == pytest.approx(values["effective_radius_km"] / 6371.0)
    (table,) = (
        each for each in all_parts(document.parts) if getattr(each, "title", "") == "Clearance of the path"
    )
    assert isinstance(table, Table)
    assert len(table.rows) == 2 * len(of_feed)
    assert sight_words(feed.relays[0].path, feed.relays[0].scantiest.received.name) in document.parts[0].note


def test_the_answer_of_a_path_tells_it_in_a_line(found):
    document = combe.reports.path.document(found)
    assert document.headline[1] == clearance_in_short(found, found.services[0].service.name)
    assert document.headline[1] in as_text(document)
