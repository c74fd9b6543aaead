"""Survey points from a table: all of them, or one line that names every fault with its row."""

import pytest

from combe.errors import TableError
from combe.study.survey_file import read_survey
from support_visits import STATIONS

HEADER = "longitude_deg,latitude_deg,station,service,field_dbuv_m"
GOOD = "-84.21,36.61,Combe Relay,Mux 1,61.5"


def read(folder, *rows, header=HEADER):
    path = folder / "points.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return read_survey(path, STATIONS)


def complaint(folder, *rows, **settings):
    with pytest.raises(TableError) as caught:
        read(folder, *rows, **settings)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_good_points(tmp_path):
    first, second = read(
        tmp_path, GOOD + ",", GOOD.replace("Mux 1", "mux 2") + ",4.5", header=HEADER + ",height_m"
    )
    assert (first.row, first.longitude_deg, first.latitude_deg, first.field_dbuv_m) == (
        2,
        -84.21,
        36.61,
        61.5,
    )
    assert (first.height_m, second.height_m, second.service) == (10.0, 4.5, "Mux 2")


def test_columns_for_people_are_left_alone(tmp_path):
    (point,) = read(tmp_path, f"by the church,{GOOD},2026-05-01", header=f"note,{HEADER},date")
    assert point.station == "Combe Relay"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("-84.21,36.61,Combe Relay,Mux 1,=A1", "row 2: field_dbuv_m '=A1' is no number"),
        (
            '-84.21,36.61,Combe Relay,Mux 1,"61,5"',
            "row 2: field_dbuv_m '61,5' has a decimal comma; write 61.5",
        ),
        (
            "-84.21,36.61,Combe Relay,Mux 1,61,5",
            "row 2: 6 cells where the header has 5; is there a decimal comma?",
        ),
        ("-84.21,136.61,Combe Relay,Mux 1,61.5", "row 2: latitude_deg is 136.61; allowed: -90 to 90"),
        ("-84.21,36.61,Combe Relay,Mux 1,615", "row 2: field_dbuv_m is 615.0; allowed: -50 to 180"),
        (
            "-84.21,36.61,Com Relay,Mux 1,61.5",
            "row 2: station 'Com Relay' is unknown; did you mean Combe Relay?",
        ),
        ("-84.21,36.61,Combe Relay,,61.5", "row 2: service of Combe Relay is empty; allowed: Mux 1, Mux 2"),
        ("", "it holds no point"),
    ],
)
def test_bad_points(tmp_path, row, words):
    assert words in complaint(tmp_path, row)


def test_duplicates_and_several_faults(tmp_path):
    said = complaint(tmp_path, GOOD, GOOD, "x,y,z,a,b")
    assert (
        "2 faults, nothing was taken: row 3: is a duplicate of row 2 (same place and service); take one"
        in said
    )
    assert "row 4: longitude 'x' is no angle" in said


def test_a_wrong_header(tmp_path):
    assert "row 1: no column 'longitude_deg'; write the header" in complaint(tmp_path, header="a,b")
