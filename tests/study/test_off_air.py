"""Stations off the air: left out of all, with what only they feed, and held to be sound all the same."""

from dataclasses import fields, replace

import pytest

from combe.errors import RangeError, StudyError
from combe.library import check_file
from combe.project import Project
from combe.study import project_of
from combe.study.climate import climate_of
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from support_study import SETTLED, SITING, edited, write_study

START = SETTLED.index('[[stations]]\nname = "Combe Relay"')
END = SETTLED.index("[air]")
RELAY = SETTLED[START:END]
FAR = (
    RELAY.replace("Combe Relay", "Far Relay")
    .replace('from = "Parent Hill"', 'from = "Combe Relay"')
    .replace("-84.20", "-84.15")
    .replace("channel = 41", "channel = 23")
    .replace("channel = 45", "channel = 25")
)
THIRD = (
    RELAY.replace("Combe Relay", "Third Relay")
    .replace("latitude_deg = 36.60", "latitude_deg = 36.62")
    .replace("channel = 41", "channel = 33")
    .replace("channel = 45", "channel = 35")
)
CHAIN = SETTLED + FAR + THIRD
OFF = ('name = "Combe Relay"\nrole = "relay"', 'name = "Combe Relay"\nrole = "relay"\non_air = false')
PARENT_OFF = ('role = "parent"', 'role = "parent"\non_air = false')
NAMED = """
[[sfn]]
members = ["Parent Hill", "Combe Relay"]

[coordination]
points = "border.csv"
stations = ["Combe Relay"]

[survey]
points = "points.csv"
apply_correction = true
"""
POINTS = "longitude_deg,latitude_deg,station,service,field_dbuv_m\n"


def project(folder, text) -> Project:
    return load_project(write_study(folder, text))


def faults(folder, text):
    with pytest.raises(StudyError) as caught:
        load_study(write_study(folder, text))
    return list(caught.value.faults)


def write_named(folder):
    """Write what the sections that name stations ask for."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "border.csv").write_text(
        "longitude_deg,latitude_deg,name\n-84.1,36.6,Border\n", encoding="utf-8"
    )
    rows = [f"-84.2{place},36.61,Combe Relay,Mux 1,61.5\n" for place in range(3)]
    (folder / "points.csv").write_text(POINTS + "".join(rows), encoding="utf-8")


def test_the_project_is_that_of_a_study_without_the_station_and_what_only_it_feeds(tmp_path):
    without = project(tmp_path / "without", SETTLED.replace(RELAY, "") + THIRD)
    off = project(tmp_path / "off", edited(OFF, text=CHAIN))
    assert off.off_air == ("Combe Relay", "Far Relay")
    assert off.labels == ("stations[0]", "stations[3]")
    apart = {"terrain", "cover", "zones", "people", "survey", "source", "key", "labels", "off_air"}
    for name in {each.name for each in fields(Project)} - apart:
        assert getattr(off, name) == getattr(without, name), name
    assert [each.name for each in off.stations] == ["Parent Hill", "Third Relay"]
    assert list(off.feeds) == ["Third Relay"]


def test_the_climate_is_that_amid_the_stations_on_the_air(tmp_path, monkeypatch):
    asked = []

    def noted(air, fall, folder, places):
        asked.extend(places)
        return climate_of(air, fall, folder, places)

    monkeypatch.setattr(project_of, "climate_of", noted)
    project(tmp_path, edited(OFF))
    assert asked == [(-84.33, 36.70)]


def test_all_are_on_the_air_unless_told(tmp_path):
    assert project(tmp_path, CHAIN).off_air == ()
    written = load_study(write_study(tmp_path / "off", edited(OFF, text=CHAIN)))
    assert [each.on_air for each in written.content.stations] == [True, False, True, True]


@pytest.mark.parametrize("text", [SETTLED, CHAIN])
def test_one_station_has_to_be_on_the_air(tmp_path, text):
    assert faults(tmp_path, edited(PARENT_OFF, text=text)) == [
        "stations: none is on the air, and nothing can be worked out; take on_air = false out at a parent"
    ]


def test_keys_of_a_station_off_the_air_are_held_to_be_sound(tmp_path):
    found = faults(
        tmp_path, edited(OFF, ("channel = 41", "channel = 99"), ('from = "Parent Hill"', 'from = "X"'))
    )
    assert [each.partition(":")[0] for each in found] == [
        "stations[1].feed.from",
        "stations[1].services[0].channel",
    ]
    (fault,) = faults(tmp_path, edited((OFF[0], OFF[1].replace("false", '"no"'))))
    assert fault.startswith("stations[1].on_air: ")


def test_sections_that_name_it_stay_without_fault(tmp_path):
    write_named(tmp_path)
    asked = SITING + '\n[siting.feed]\nfrom = ["Parent Hill"]\n'
    changes = OFF, ("channel = 41", "channel = 27"), ("channel = 45", "channel = 31")
    path = write_study(tmp_path, edited(*changes, text=SETTLED + asked + NAMED))
    found = load_project(path)
    assert (found.networks, found.coordination) == ((), None)
    # Too few points for a correction, were the station on the air.
    assert found.survey.points.read() == ()
    assert check_file(path).project.off_air == ("Combe Relay",)
    path.write_text(path.read_text(encoding="utf-8").replace("on_air = false\n", ""), encoding="utf-8")
    assert len(load_project(path).survey.points.read()) == 3
    with pytest.raises(StudyError, match=r"places of Combe Relay in points\.csv is 3; allowed: 5"):
        check_file(path)


def test_points_of_a_survey_at_a_station_off_the_air_are_checked_all_the_same(tmp_path):
    write_named(tmp_path)
    (tmp_path / "points.csv").write_text(POINTS + "-84.2,36.61,Combe Relay,Mux 9,61.5\n", encoding="utf-8")
    with pytest.raises(StudyError, match=r"row 2: service of Combe Relay 'Mux 9' is unknown"):
        check_file(write_study(tmp_path, edited(OFF, text=SETTLED + NAMED)))


def test_check_says_so_and_looks_at_no_ground_under_it(tmp_path):
    off_ground = OFF, ("longitude_deg = -84.20", "longitude_deg = -70.0")
    report = check_file(write_study(tmp_path, edited(*off_ground, text=SETTLED)))
    assert report.notes[0] == "off the air: Combe Relay; left out of all that is worked out"
    assert report.provenance["off the air"] == "Combe Relay; left out of all that is worked out"
    assert [each.station.name for each in report.stations] == ["Parent Hill"]


def test_who_asks_for_it_is_told_that_it_is_off_the_air(tmp_path):
    found = project(tmp_path, edited(OFF, text=CHAIN))
    for name in ("combe relay", "Far Relay"):
        with pytest.raises(RangeError) as caught:
            found.station(name)
        assert str(caught.value) == (
            f'station is "{name}"; allowed: Parent Hill, Third Relay; it is off the air in this study: '
            "on_air = false stands at it, or at a station that feeds it"
        )
    with pytest.raises(RangeError, match="see combe check"):
        found.station("Quite another")


def test_a_project_has_no_station_on_and_off_the_air_at_once(tmp_path):
    found = project(tmp_path, edited(OFF))
    with pytest.raises(RangeError, match='station off the air is "Parent Hill"; allowed: one that is not'):
        replace(found, off_air=("Parent Hill",))
    relay = replace(found.stations[0], name="Combe Relay")
    assert found.with_station(relay).off_air == ()


def test_a_copy_of_the_study_keeps_it_off_the_air(tmp_path):
    made = new_study(tmp_path / "copy", write_study(tmp_path / "study", edited(OFF)))
    assert load_project(made).off_air == ("Combe Relay",)
