"""``combe coordinate``: what options ask, what is told, what is written, and what is refused."""

import json

import pytest

from support_cli import complaint, run, run_json
from support_study import STUDY, write_study

LINE = {"type": "LineString", "coordinates": [[-84.3, 36.55], [-84.2, 36.55]]}
SECTION = '\n[coordination]\npoints = "border.geojson"\nspacing_km = 3.0\ntrigger_dbuv_m = 40.0\n'


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("coordinate")
    (folder / "border.geojson").write_text(
        json.dumps({"type": "Feature", "properties": {}, "geometry": LINE})
    )
    return write_study(folder, STUDY + SECTION)


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("bare"))


def test_the_study_asks_and_options_go_before_it(study):
    told = run_json("coordinate", study)
    assert (told["places"], told["spacing_km"], told["time_percent"], told["height_m"]) == (4, 3.0, 1.0, 10.0)
    assert {each["trigger_dbuv_m"] for each in told["fields"]} == {40.0}
    assert len(told["fields"]) == 16
    changed = run_json(
        "coordinate", study, "--spacing", "9", "--trigger", "90", "--time-percent", "50", "--height", "20",
        "--station", "combe relay",
    )  # fmt: skip
    assert (changed["places"], changed["time_percent"], changed["height_m"]) == (2, 50.0, 20.0)
    assert {each["station"] for each in changed["fields"]} == {"Combe Relay"}
    assert {each["trigger_dbuv_m"] for each in changed["fields"]} == {90.0}
    by_table = run_json("coordinate", study, "--trigger-table", "GE06")
    assert {each["channel"]: each["trigger_dbuv_m"] for each in by_table["fields"]} == {
        27: 21,
        31: 21,
        41: 23,
        45: 23,
    }


def test_places_of_options_stand_in_place_of_the_studys(study, tmp_path):
    told = run_json("coordinate", study, "--at=-84.25,36.62", "--at=-84.26,36.62")
    assert {each["place"] for each in told["fields"]} == {"-84.25000, 36.62000", "-84.26000, 36.62000"}
    (tmp_path / "p.csv").write_text("longitude_deg,latitude_deg,name\n-84.25,36.62,Post\n", encoding="utf-8")
    along = run_json(
        "coordinate", study, "--along", tmp_path / "p.csv", "--along", study.parent / "border.geojson"
    )
    assert along["places"] == 5
    assert {"Post", "border, 3.0 km"} < {each["place"] for each in along["fields"]}


def test_the_answer_is_short_and_never_says_that_nothing_is_to_be_done(study):
    result = run("coordinate", study, "--trigger", "149")
    assert result.exit_code == 0
    assert len(result.stdout.splitlines()) <= 12
    assert "0 of 16 fields over the trigger" in result.stdout
    assert "the method of the agreement decides" in result.stdout
    full = run("coordinate", study, "--trigger", "149", "--full").stdout
    assert "no leave to go on the air" in " ".join(full.split())
    assert "no coordination" not in full.casefold()
    assert "not needed" not in full.casefold()
    over = run("coordinate", study).stdout
    assert " dB over." in over
    assert "less towards" in over


def test_without_a_trigger_fields_are_told_and_held_against_nothing(bare):
    told = run_json("coordinate", bare, "--at=-84.25,36.62")
    assert told["has_triggers"] is False
    assert {each["held"] for each in told["fields"]} == {"no trigger"}
    assert "no trigger is given for it" in told["headline"][0]
    assert "held against no trigger" in told["headline"][1]


def test_files_are_written_and_named(study, tmp_path):
    files = {key: tmp_path / f"all.{key}" for key in ("csv", "gpkg")}
    told = run_json(
        "coordinate", study, "--csv", files["csv"], "--gpkg", files["gpkg"], "--html", tmp_path / "p.html"
    )
    assert {key: told[key] for key in files} == {key: str(path) for key, path in files.items()}
    assert (tmp_path / "p.html").read_text("utf-8").count("<img") >= 2
    assert "cannot write" in complaint("coordinate", study, "--csv", tmp_path / "all.csv" / "x.csv")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "coordination: is missing; write a [coordination] table"),
        (("--trigger", "20"), "coordination: is missing"),
        (("--at", "500,1"), "is outside the globe"),
        (("--at=-84.25,36.62", "--trigger", "20", "--trigger-table", "GE06"), "take one out"),
        (
            ("--at=-84.25,36.62", "--time-percent", "60"),
            "time_percent of coordination is 60.0; allowed: 1 to 50",
        ),
        (("--at=-84.25,36.62", "--height", "0"), "height_m of coordination is 0.0; allowed: 1 to 3000"),
        (("--at=-84.25,36.62", "--spacing", "0"), "spacing_km is 0"),
        (("--at=-84.25,36.62", "--trigger", "999"), "field_dbuv_m of a trigger is 999"),
        (("--at=-84.25,36.62", "--station", "Nobody"), 'station is "Nobody"'),
        (("--along", "nowhere.gpkg"), "nowhere.gpkg: there is no such file"),
    ],
)
def test_what_is_refused_is_one_line(bare, words, told):
    assert told in complaint("coordinate", bare, *words)
