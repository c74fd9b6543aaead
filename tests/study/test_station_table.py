"""Stations from a table: the same study as by hand, and every fault with its row."""

import geopandas
import numpy as np
import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import project_of
from combe.study.station_table import read_station_table
from support_study import STUDY, write_study

HEADER = (
    "name,role,longitude_deg,latitude_deg,aerial_height_m,polarization,service,channel,erp_w,horizontal_pattern,"
    "feed_from,feed_aerial_height_m,feed_aerial_gain_dbi,feed_feeder_loss_db,feed_splitter_loss_db,"
    "feed_noise_figure_db,feed_required_margin_db\n"
)
PARENT = "Parent Hill,parent,-84.33,36.70,60,horizontal,Mux 1,27,1000,,,,,,,,\n"
SECOND = "Parent Hill,,,,,,Mux 2,31,1000,,,,,,,,\n"
RELAY = "Combe Relay,relay,-84.20,36.60,20,vertical,Mux 1,41,20,,Parent Hill,12,14,2,3.5,6,10\n"
RELAY_2 = "Combe Relay,,,,,,Mux 2,45,20,,,,,,,,\n"
ROWS = PARENT + SECOND + RELAY + RELAY_2
ALONE = STUDY.partition("[[stations]]")[0] + '[network]\nstations = "stations.csv"\n'


def study_with(folder, rows, text=ALONE):
    path = write_study(folder, text)
    (folder / "stations.csv").write_text(HEADER + rows, encoding="utf-8")
    return path


def faults(folder, rows, text=ALONE):
    with pytest.raises(StudyError) as caught:
        load_study(study_with(folder, rows, text))
    return list(caught.value.faults)


def test_a_table_says_what_the_file_would(tmp_path):
    by_hand = load_study(write_study(tmp_path / "hand"))
    by_table = load_study(study_with(tmp_path / "table", ROWS))
    assert by_table.content.stations == by_hand.content.stations
    assert project_of(by_table).stations == project_of(by_hand).stations


def test_a_table_stands_behind_the_stations_of_the_file(tmp_path):
    far = "Far Hill,parent,-84.25,36.55,30,horizontal,Mux 3,50,10,,,,,,,,\n"
    study = load_study(study_with(tmp_path, far, STUDY + '\n[network]\nstations = "stations.csv"\n'))
    assert [station.name for station in study.content.stations] == ["Parent Hill", "Combe Relay", "Far Hill"]
    assert study.content.stations[2].services[0].channel == 50


def test_points_of_a_geopackage(tmp_path):
    path = write_study(tmp_path, ALONE.replace("stations.csv", "stations.gpkg"))
    table = {
        "name": ["Far Hill", "Far Hill"],
        "role": ["parent", None],
        "aerial_height_m": [30.0, np.nan],
        "polarization": ["horizontal", None],
        "service": ["Mux 1", "Mux 2"],
        "channel": [27, 31],
        "erp_w": [5.0, 5.0],
    }
    places = geopandas.points_from_xy([-84.25, -84.25], [36.55, 36.55])
    frame = geopandas.GeoDataFrame(table, geometry=places, crs="EPSG:4326").to_crs("EPSG:32616")
    frame.to_file(tmp_path / "stations.gpkg", layer="stations", driver="GPKG")
    (station,) = load_study(path).content.stations
    assert (station.name, station.aerial_height_m) == ("Far Hill", 30.0)
    assert (station.longitude_deg, station.latitude_deg) == pytest.approx((-84.25, 36.55), abs=1e-7)
    assert [service.channel for service in station.services] == [27, 31]


def test_a_table_turns_and_tilts_an_aerial(tmp_path):
    header = HEADER.replace("horizontal_pattern", "horizontal_pattern,bearing_deg,tilt_deg")
    path = write_study(tmp_path, ALONE)
    (tmp_path / "stations.csv").write_text(
        header + PARENT.replace(",1000,", ",1000,omni,20,1.5", 1), encoding="utf-8"
    )
    (section,) = load_study(path).content.stations
    assert (section.bearing_deg, section.tilt_deg) == (20.0, 1.5)
    (station,) = project_of(load_study(path)).stations
    assert (station.bearing_deg, station.tilt_deg) == (20.0, 1.5)


def test_a_station_of_a_table_may_be_off_the_air(tmp_path):
    path = write_study(tmp_path, ALONE)
    rows = PARENT.replace("parent,", "parent,,", 1) + RELAY.replace("relay,", "relay,false,", 1)
    text = HEADER.replace("role,", "role,on_air,") + rows
    (tmp_path / "stations.csv").write_text(text, encoding="utf-8")
    found = project_of(load_study(path))
    assert (found.off_air, [each.name for each in found.stations]) == (("Combe Relay",), ["Parent Hill"])
    (tmp_path / "stations.csv").write_text(text.replace(",false,", ",no,"), encoding="utf-8")
    with pytest.raises(StudyError, match=r"stations\.csv row 3, on_air: \"no\" is not true or false"):
        load_study(path)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("Mux 2,31,1000", "Mux 2,31,-5", "stations.csv row 3, erp_w: -5.0 is out of range"),
        ("Mux 2,31,1000", "Mux 2,31,lots", 'stations.csv row 3, erp_w: "lots" is not a number'),
        ("Mux 2,31,1000", "Mux 2,99,1000", "stations.csv row 3, channel: channel 99 is unknown"),
        ("Mux 2,31,1000", "Mux 2,27.5,1000", 'stations.csv row 3, channel: "27.5" is not a whole number'),
        ("Hill,parent,-84.33", "Hill,parent,200", "stations.csv row 2, longitude_deg: 200.0 is out of range"),
        ("Hill,parent,-84.33", "Hill,mother,-84.33", 'stations.csv row 2, role: "mother" is unknown'),
        (
            ",,Parent Hill,12",
            ",,Parent Hall,12",
            'stations.csv row 4, feed_from: "Parent Hall" is no station',
        ),
        (",Parent Hill,12", ",,12", "stations.csv row 4, feed_from: is missing"),
        (
            "Parent Hill,,,,,,Mux 2",
            "Parent Hill,,-84.0,,,,Mux 2",
            "stations.csv row 3, longitude_deg: differs",
        ),
        ("Parent Hill,,,,,,Mux 2", ",,,,,,Mux 2", "stations.csv row 3, name: is empty"),
        (SECOND, "Parent Hill,Mux 2\n", "stations.csv row 3: 2 cells where the header has 17"),
        (",1000,,,", ",1000,gone.csv,,", "stations.csv row 2, horizontal_pattern: "),
    ],
)
def test_a_fault_names_its_row(tmp_path, old, new, fault):
    assert old in ROWS
    found = faults(tmp_path, ROWS.replace(old, new, 1))
    assert any(each.startswith(fault) for each in found), found


def test_a_relay_without_feed_is_told_what_to_fill_in(tmp_path):
    found = faults(tmp_path, ROWS.replace("Parent Hill,12,14,2,3.5,6,10", ",,,,,,"))
    assert any(
        "stations.csv row 4, feed: is missing" in each and "column feed_from" in each for each in found
    )


def test_a_station_that_both_have(tmp_path):
    found = faults(tmp_path, PARENT, STUDY + '\n[network]\nstations = "stations.csv"\n')
    twice = 'stations.csv row 2, name: two stations are called "Parent Hill" (also stations[0]); rename one'
    assert twice in found


def test_a_table_that_is_not_there(tmp_path):
    with pytest.raises(StudyError) as caught:
        load_study(write_study(tmp_path, ALONE))
    (fault,) = caught.value.faults
    assert fault.startswith("network.stations: ")
    assert "there is no such file" in fault


def test_a_table_without_a_column(tmp_path):
    path = write_study(tmp_path, ALONE)
    (tmp_path / "stations.csv").write_text("name,role\nA,parent\n", encoding="utf-8")
    with pytest.raises(StudyError, match="no column 'longitude_deg'"):
        load_study(path)


def test_rows_are_told_of_services(tmp_path):
    path = tmp_path / "stations.csv"
    path.write_text(HEADER + ROWS, encoding="utf-8")
    table = read_station_table(path, "stations.csv")
    assert [table.row_of(0, None), table.row_of(0, 1), table.row_of(1, 1), table.row_of(2, 0)] == [
        2,
        3,
        5,
        None,
    ]


def test_a_copy_holds_all_stations(tmp_path):
    new_study(tmp_path / "to", study_with(tmp_path / "from", ROWS))
    again = load_study(tmp_path / "to" / "study.toml")
    assert [station.name for station in again.content.stations] == ["Parent Hill", "Combe Relay"]
