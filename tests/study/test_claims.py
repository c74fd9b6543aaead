"""Claims of a study are tied to what they were written of; of another tile or station they are a fault."""

import re
import shutil
import tomllib

import pytest

from combe.errors import StudyError
from combe.library import check_file
from combe.study.claims import claim_faults, renamed
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.template import study_text
from support_cli import run_json
from support_study import edited, write_study

HEAD = "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w\n"
NORTH = "North Hill,parent,-84.31,36.71,40,vertical,Mux 1,33,50\n"


@pytest.fixture
def study(tmp_path):
    return new_study(tmp_path / "own")


def change(study, *changes):
    study.write_text(edited(*changes, text=study.read_text("utf-8")), "utf-8")


def faults(study):
    try:
        load_study(study)
    except StudyError as error:
        return list(error.faults)
    return []


def advised(fault):
    return re.search(r"then write (speaks_of = \[.*\])$", fault)[1]


def follow(study, fault):
    """Write what a fault says, in its section."""
    section = fault.partition(".")[0]
    before, heading, after = study.read_text("utf-8").partition(f"\n[{section}]\n")
    line = re.compile(r"^speaks_of = \[.*?\]", re.MULTILINE)
    study.write_text(before + heading + line.sub(lambda _: advised(fault), after, count=1), "utf-8")


def test_the_study_of_the_demo_and_a_new_one_claim_what_is_there(study):
    content = load_study(study).content
    assert content.terrain.speaks_of == ("ridges_srtm3.tif #e0afc738",)
    assert [entry.partition(" #")[0] for entry in content.study.speaks_of] == [
        "Tarnbeacon",
        "Larkcombe",
        "people.tif",
        "ridges_srtm3.tif",
    ]


def test_another_tile_with_the_credit_of_the_old_one_is_a_fault(study):
    shutil.copyfile(study.parent / "ridges_srtm3.tif", study.parent / "own.tif")
    change(study, ('tiles = ["ridges_srtm3.tif"]', 'tiles = ["own.tif"]'))
    ground, about = faults(study)
    assert ground == (
        "terrain.speaks_of: credit, vertical_datum and surface_model may no longer hold: "
        '"ridges_srtm3.tif" is not in the study, "own.tif" is new; correct them, then write '
        'speaks_of = ["own.tif #e0afc738"]'
    )
    assert about.startswith(
        'study.speaks_of: note and invented may no longer hold: "ridges_srtm3.tif" is not'
    )
    for fault in (ground, about):
        follow(study, fault)
    assert faults(study) == []


def test_a_tile_changed_under_its_old_name_is_a_fault_of_check(study):
    with (study.parent / "ridges_srtm3.tif").open("ab") as file:
        file.write(b"another ground")
    with pytest.raises(StudyError) as caught:
        check_file(study)
    assert [fault.partition(":")[0] for fault in caught.value.faults] == [
        "terrain.speaks_of",
        "study.speaks_of",
    ]
    assert '"ridges_srtm3.tif" has changed' in caught.value.faults[0]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('name = "Tarnbeacon"', 'name = "Own Hill"', '"Tarnbeacon" is not in the study, "Own Hill" is new'),
        ("longitude_deg = -84.098", "longitude_deg = -84.1", '"Tarnbeacon" has changed'),
        ("latitude_deg = 36.6108", "latitude_deg = 36.6109", '"Larkcombe" has changed'),
        ('raster = "people.tif"', 'points = "own.csv"', '"people.tif" is not in the study, "own.csv" is new'),
    ],
)
def test_other_stations_and_people_under_the_old_note_are_a_fault(study, old, new, words):
    (study.parent / "own.csv").write_text("longitude_deg,latitude_deg,people\n-84.3,36.6,5\n", "utf-8")
    change(
        study, (old, new), ('from = "Tarnbeacon"', f'from = "{"Own Hill" if "Own" in new else "Tarnbeacon"}"')
    )
    (fault,) = faults(study)
    assert fault.startswith(f"study.speaks_of: note and invented may no longer hold: {words}; correct them")
    follow(study, fault)
    assert faults(study) == []


def test_power_and_channel_are_no_other_station(study):
    change(study, ("erp_w = 20000.0", "erp_w = 500.0"), ("channel = 22", "channel = 23"))
    assert faults(study) == []


def test_who_claims_nothing_is_asked_nothing(study):
    change(
        study,
        ('tiles = ["ridges_srtm3.tif"]', 'tiles = ["own.tif"]'),
        ('vertical_datum = "EGM96"', 'vertical_datum = "unknown"'),
        ("surface_model = true", "surface_model = false"),
        ("credit = ", "# credit = "),
        ("note = ", "# note = "),
        ("invented = true", "invented = false"),
    )
    (study.parent / "ridges_srtm3.tif").rename(study.parent / "own.tif")
    assert faults(study) == []


def test_the_fault_names_only_what_is_claimed(study):
    change(study, ("note = ", "# note = "), ('name = "Larkcombe"', 'name = "Other"'))
    (fault,) = faults(study)
    assert fault.startswith('study.speaks_of: invented may no longer hold: "Larkcombe" is not in the study')
    assert "; correct it, then" in fault


def test_names_without_marks_hold_names_alone(tmp_path):
    claims = (
        'credit = "SRTM (NASA/USGS)"',
        'credit = "SRTM (NASA/USGS)"\nspeaks_of = ["terrain.tif"]',
    )
    about = ("invented = true", 'invented = true\nspeaks_of = ["Parent Hill", "Combe Relay", "people.tif"]')
    path = write_study(tmp_path, edited(claims, about, ("longitude_deg = -84.33", "longitude_deg = -84.32")))
    assert faults(path) == []
    again = tmp_path / "again.toml"
    again.write_text(study_text(load_study(path).content), "utf-8")
    assert load_study(again).content == load_study(path).content


def test_a_table_of_stations_is_spoken_of_as_one(tmp_path):
    listed = 'speaks_of = ["Parent Hill", "Combe Relay", "people.tif", "net.csv"]'
    more = ("[people]", '[network]\nstations = "net.csv"\n\n[people]')
    path = write_study(tmp_path, edited(("invented = true", f"invented = true\n{listed}"), more))
    (tmp_path / "net.csv").write_text(HEAD + NORTH, "utf-8")
    assert faults(path) == []
    made = new_study(tmp_path / "new", path)
    assert load_study(made).content.study.speaks_of == (
        "Parent Hill",
        "Combe Relay",
        "people.tif",
        "North Hill",
    )
    path.write_text(edited((', "net.csv"]', "]"), text=path.read_text("utf-8")), "utf-8")
    (fault,) = faults(path)
    assert '"net.csv" is new' in fault
    assert re.search(r'"net\.csv #[0-9a-f]{8}"\]$', fault)


def test_a_station_may_be_called_as_if_it_had_a_mark():
    station = {"name": "Hill #12345678", "longitude_deg": 1.0, "latitude_deg": 2.0}
    table = {"study": {"note": "x", "speaks_of": ["Hill #12345678"]}, "stations": [station]}
    assert claim_faults(table, None) == []
    assert renamed(("a/t.tif #12345678", "b #1"), {"a/t.tif": "t.tif"}, {}) == ("t.tif #12345678", "b #1")


def test_many_differences_are_counted_and_all_are_in_the_advice():
    stations = [{"name": f"Hill {number}"} for number in range(9)]
    table = {"study": {"invented": True, "speaks_of": []}, "stations": stations}
    (fault,) = claim_faults(table, None)
    assert '"Hill 2" is new and 6 more; correct it' in fault
    assert tomllib.loads(advised(fault))["speaks_of"] == [f"Hill {number}" for number in range(9)]


def test_the_faults_reach_programs_beside_others(study):
    change(study, ('name = "Larkcombe"', 'name = "Other"'), ("cell_size_m = 60.0", "cell_size_m = 1.0"))
    printed = run_json("check", study, code=2)
    assert [fault.partition(":")[0] for fault in printed["faults"]] == ["grid.cell_size_m", "study.speaks_of"]
