"""Stations of another table go into a study's own: all of them or none, and all else stays as it was."""

import pytest

from combe.errors import OutputError, TableError
from combe.study.file import load_study
from combe.study.stations_import import import_stations
from combe.tables import Layout
from support_cli import complaint, run, run_json
from support_edits import ALONE, ROWS, write_table_study
from support_study import STUDY, write_study

TABLE = (
    "Standort;Länge;Breite;Höhe;Pol;Mux;Kanal;Leistung\n"
    "Made-up Hill;84°15'W;36°33'N;30;H;Mux 3;50;{}\n"
    "Made-up Hill;;;;;Mux 4;53;{}\n"
)
NAMES = {
    "name": "Standort",
    "longitude_deg": "Länge",
    "latitude_deg": "Breite",
    "aerial_height_m": "Höhe",
    "polarization": "Pol",
    "service": "Mux",
    "channel": "Kanal",
}


def table(folder, powers=("0,5", "0,5"), text=TABLE, name="foreign.csv"):
    (folder / name).write_text(text.format(*powers), encoding="utf-8")
    return folder / name


def taken(path, source, unit="erp_kw", write=True, **more):
    layout = Layout({**NAMES, unit: "Leistung"}, command=True, **more)
    return import_stations(path, source, layout, {"role": "parent"}, write=write)


@pytest.mark.parametrize(
    ("unit", "power"),
    [
        ("erp_w", "500"),
        ("erp_kw", "0,5"),
        ("erp_dbw", "26,9897"),
        ("erp_dbm", "56,9897"),
        ("erp_dbk", "-3,0103"),
    ],
)
def test_powers_in_every_unit(tmp_path, unit, power):
    made = taken(write_study(tmp_path), table(tmp_path, (power, power)), unit, write=False)
    assert made.faults == ()
    assert [each["erp_w"] for each in made.stations[0]["services"]] == pytest.approx([500.0, 500.0], rel=1e-5)


def test_a_study_without_a_table_gets_one_and_keeps_its_text(tmp_path):
    path = write_study(tmp_path, STUDY + "# the last words\n")
    made = taken(path, table(tmp_path))
    assert made.written
    assert path.read_text() == STUDY + '# the last words\n\n[network]\nstations = "stations.csv"\n'
    study = load_study(path)
    assert [each.name for each in study.content.stations] == ["Parent Hill", "Combe Relay", "Made-up Hill"]
    station = study.content.stations[2]
    assert (station.longitude_deg, station.latitude_deg, station.polarization) == (
        -84.25,
        36.55,
        "horizontal",
    )
    assert [(each.name, each.channel, each.erp_w) for each in station.services] == [
        ("Mux 3", 50, 500.0),
        ("Mux 4", 53, 500.0),
    ]


def test_rows_go_behind_those_of_the_study(tmp_path):
    path = write_table_study(tmp_path)
    assert taken(path, table(tmp_path)).written
    assert path.read_text() == ALONE
    text = (tmp_path / "stations.csv").read_text()
    assert text.startswith(ROWS)
    assert text.removeprefix(ROWS) == (
        "Made-up Hill,parent,-84.25,36.55,30,horizontal,Mux 3,50,500,,,,,,\n"
        "Made-up Hill,parent,-84.25,36.55,30,horizontal,Mux 4,53,500,,,,,,\n"
    )
    assert len(load_study(path).content.stations) == 4


def test_claims_follow(tmp_path):
    claims = 'note = "as built"\nspeaks_of = ["Parent Hill", "Combe Relay", "people.tif"]\n'
    path = write_study(tmp_path, STUDY.replace("invented = true\n", f"invented = true\n{claims}"))
    assert taken(path, table(tmp_path)).written
    assert '"stations.csv' in path.read_text()
    load_study(path)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (("0,5", "x"), "foreign.csv row 3: erp_kw 'x' is no number"),
        (("0,5", "-1"), "foreign.csv row 3, erp_w: -1000.0 is out of range"),
    ],
)
def test_one_bad_row_and_nothing_is_written(tmp_path, change, fault):
    path = write_study(tmp_path)
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}
    made = taken(path, table(tmp_path, change))
    assert not made.written
    assert made.faults[0].startswith(fault), made.faults
    (tmp_path / "foreign.csv").unlink()
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before


def test_a_station_that_is_there_already(tmp_path):
    text = TABLE.replace("Made-up Hill", "Parent Hill")
    made = taken(write_study(tmp_path), table(tmp_path, text=text))
    assert made.faults == ('"Parent Hill" is a station of the study already; take its rows out',)


def test_places_far_away_are_told(tmp_path):
    text = TABLE.replace("84°15'W", "84°15'E")
    made = taken(write_study(tmp_path), table(tmp_path, text=text), write=False)
    assert made.far == ("Made-up Hill",)


def test_a_table_in_the_way(tmp_path):
    path = write_study(tmp_path)
    (tmp_path / "stations.csv").write_text("mine")
    with pytest.raises(OutputError, match="it is already there"):
        taken(path, table(tmp_path))
    assert (tmp_path / "stations.csv").read_text() == "mine"
    assert path.read_text() == STUDY


def test_a_table_that_lacks_a_column(tmp_path):
    text = TABLE.replace("Leistung", "Leistung;tilt_deg").replace(";{}", ";{};2")
    with pytest.raises(TableError, match="it has no column 'tilt_deg'; write that name behind its header"):
        taken(write_table_study(tmp_path), table(tmp_path, text=text))


def test_an_empty_table(tmp_path):
    with pytest.raises(TableError, match="it holds no rows"):
        taken(write_study(tmp_path), table(tmp_path, text=""))
    made = taken(write_study(tmp_path), table(tmp_path, text=TABLE.splitlines()[0] + "\n"))
    assert made.faults == ("it holds no station",)


def test_the_command_shows_before_it_writes(tmp_path):
    path, source = write_study(tmp_path), table(tmp_path)
    words = [f"--column={ours}={theirs}" for ours, theirs in NAMES.items()]
    words += ["--column", "erp_w=Leistung", "--unit", "kW", "--set", "role=parent"]
    asked = ("stations", "import", path, source, *words)
    shown = run(*asked)
    assert shown.exit_code == 0, shown.output
    assert len(shown.stdout.splitlines()) <= 12
    assert "1 station with 2 services; nothing is written yet." in shown.stdout
    assert path.read_text() == STUDY
    assert run_json(*asked, "--write")["written"] is True
    assert run(*asked, "--write").exit_code == 1
    told = complaint("stations", "import", path, source)
    assert "--column name=Standort --set role=… --column longitude_deg=Länge" in told
