"""What is not known, not asked or not counted is null in JSON and said in words: never no, nought or none."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from combe.answers.explain import ServiceExplained, explain_place
from combe.answers.site_sets import ChosenSite
from combe.planning.people_count import PeopleCount
from combe.planning.tile_judge import Harm
from combe.publishing.as_json import _object, as_object
from combe.publishing.map_people import headline_html
from combe.reports.cover import most_harmed, rest_words
from combe.reports.site import FORM
from combe.reports.site_words import gap_words
from combe.reports.visit import document
from combe.study.project_of import load_project
from support_cli import run, run_json
from support_feed_study import DIGITAL, FEEDS, untold
from support_study import SITING, STUDY, edited, write_study
from support_visits import half_yearly, visited

COARSE = ("cell_size_m = 300", "cell_size_m = 900")
UNCOUNTED = ("[television]", "[interference]\ncounted = false\n\n[television]")
NOBODY = ('[people]\nraster = "people.tif"\n', "")
INTERFERENCE = ("people_limited_by_interference", "people_interference_unknown")


@pytest.fixture(scope="module")
def uncounted(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("uncounted"), edited(COARSE, UNCOUNTED))


def test_interference_that_is_not_counted_harms_an_unknown_number(uncounted):
    printed = run_json("cover", uncounted, "--no-cache")
    assert (printed["interference"], printed["harm"]) == (None, None)
    for each in (printed["all_services"], *printed["services"]):
        assert [each[key] for key in INTERFERENCE] == [None, None]
        assert each["people_unserved"] > 0.0
    words = "Outgoing harm: not looked at, since the study does not count interference"
    assert words in " ".join(run("cover", uncounted, "--no-cache", "--full").stdout.split())


def test_interference_that_is_counted_and_cannot_be_is_none(tmp_path):
    printed = run_json("cover", write_study(tmp_path, edited(COARSE)), "--no-cache")
    assert (printed["interference"], printed["harm"]) == (False, [])
    assert [printed["all_services"][key] for key in INTERFERENCE] == [0.0, 0.0]


def test_the_headline_says_nothing_of_what_is_not_counted():
    people = PeopleCount(48.0, 8.0, 40.0, 0.0, served_before=5.0, newly_served=3.0, lost=0.0)
    assert people.limited_by_interference is None
    assert "by interference" not in headline_html("A", people)
    counted = replace(people, limited_by_interference=12.0)
    assert "12 of them by interference" in headline_html("A", counted)


def test_settlements_of_nobody_are_not_none(tmp_path):
    study = write_study(tmp_path, edited(COARSE, NOBODY))
    assert run_json("cover", study, "--no-cache", "--unserved")["unserved"] is None
    assert "nobody is counted" in run("cover", study, "--unserved").stdout


def test_harm_that_is_not_shown_counts_people_only_where_there_are_any():
    def told(people):
        rows = [Harm(f"R{n}", "S", "A", 40, 3, people, people, people, people) for n in range(42)]
        shown, rest = most_harmed(rows)
        assert len(shown) == 40
        return rest_words(rest)

    assert told(None) == "2 of them with harm"
    assert told(7.0) == "2 of them with harm, 14 people"


def test_a_place_without_prediction_is_not_unserved(tmp_path):
    found = explain_place(load_project(write_study(tmp_path, edited(COARSE))), -84.2, 36.6).services[0]
    best = found.candidates[0]
    assert found.served is True
    assert replace(found, candidates=(replace(best, margin_db=-1.0),)).served is False
    unknown = replace(found, candidates=(replace(best, margin_db=math.nan),))
    assert (unknown.served, unknown.server) == (None, None)


def test_explain_names_interferers_without_prediction(tmp_path):
    text = edited(("channel = 41", "channel = 27"), text=STUDY)
    found = explain_place(load_project(write_study(tmp_path, text)), -84.2, 36.6).services[0]
    best = found.candidates[0]
    (known,) = best.disturbers
    gone = replace(known, nuisance=known.nuisance._replace(nuisance_dbuv_m=math.nan))
    assert found.unknown == ()
    changed: ServiceExplained = replace(found, candidates=(replace(best, disturbers=(gone,)),))
    assert [each.station.name for each in changed.unknown] == ["Parent Hill"]


def test_a_digital_service_has_no_offset_of_its_carrier(tmp_path):
    keys = ("offset_twelfths", "precision_offset", "offset_khz")

    def offsets(text):
        first = run_json("check", write_study(tmp_path, text))["stations"][0]["services"][0]
        return [first[key] for key in keys]

    assert offsets(DIGITAL) == [None, None, None]
    analogue = edited(("channel = 22", "channel = 22, offset_twelfths = 8"), text=FEEDS["analogue"])
    assert offsets(analogue) == [8, False, 0.0]


def test_what_a_feed_does_not_state_is_null_and_not_empty(tmp_path):
    whole = run_json("feed", write_study(tmp_path, DIGITAL))["relays"][0]["services"][0]
    assert whole["image_and_oscillator"] == []
    assert len(whole["own_output"]) == 3
    less = edited(("image_rejection_db = 60.0\n", ""), text=untold(DIGITAL))
    bare = run_json("feed", write_study(tmp_path, less))["relays"][0]["services"][0]
    assert (bare["image_and_oscillator"], bare["own_output"], bare["own_output_cost_db"]) == (
        None,
        None,
        None,
    )


def test_every_model_has_the_enhancement_of_p2001(tmp_path):
    def told(model):
        text = edited(("invented = true", f'invented = true\nmodel = "{model}"'), text=DIGITAL)
        study = write_study(tmp_path / model, text)
        first = run_json("feed", study)["relays"][0]["services"][0]
        return first, run("feed", study, "--full").stdout

    rises = []
    for model in ("p1812", "p526"):
        first, words = told(model)
        rises.append(first["enhancement_db"])
        assert first["enhancement_db"] > 0.5
        enhanced_dbm = first["window"]["median_dbm"] + first["enhancement_db"]
        assert first["window"]["enhanced_dbm"] == pytest.approx(enhanced_dbm)
        assert first["window"]["headroom_db"] == pytest.approx(-26.0 - enhanced_dbm)
        assert "levels for 50 %, 99 % and 1 % of time" in " ".join(words.split())
    assert rises[0] == rises[1]


def test_harm_that_a_siting_does_not_look_at(tmp_path):
    text = edited(COARSE, UNCOUNTED) + edited(("cell_size_m = 300.0", "cell_size_m = 900.0"), text=SITING)
    printed = run_json("site", write_study(tmp_path, text), "--no-cache")
    assert {each["people_harmed"] for each in printed["list"]} == {None}
    assert {each["people_harmed"] for each in printed["sets"]} == {None}
    assert printed["list"][0]["score"] == printed["list"][0]["people"] > 0.0
    page = (tmp_path / "results" / "hill-01.html").read_text("utf-8")
    assert "not looked at" in page


def test_a_site_on_which_nobody_depends_has_no_least_power():
    place = SimpleNamespace(longitude_deg=-84.0, latitude_deg=36.0)
    nobody = ChosenSite(place, 3, 0.0, None, "omni", math.nan, (20.0,))
    found = _object(FORM["chosen"].fields, nobody)
    assert (found["down_db"], found["radiated_db"], found["spill_db"]) == (None, None, None)


def test_a_set_of_which_nothing_is_proved():
    assert gap_words(0.0) == "proved, gap 0"
    assert gap_words(0.02) == "gap 2 % left unproved"
    assert gap_words(math.nan) == gap_words(math.inf) == "nothing proved"


def test_steps_are_not_looked_for_without_a_tolerance():
    def steps(place, quantity, unit, *values):
        log = half_yearly([*values], test_point=place, quantity=quantity, unit=unit)
        return as_object(document(visited(log)))["judgements"][0]["steps"]

    assert steps("receiver", "AGC voltage", "V", 3.0, 4.0) is None
    assert steps("receiver", "level", "dBm", -50.0, -50.5) == []
