"""Readings from a table: all of them, or one line that names every fault with its row."""

import datetime
import re

import pytest

from combe.errors import TableError
from combe.planning.visits.reading_file import read_readings
from support_visits import GOOD, HEADER, STATIONS, TODAY, row, table, write_table


def read(folder, *rows, header=HEADER, known=()):
    return read_readings(
        write_table(folder / "readings.csv", *rows, header=header), STATIONS, today=TODAY, known=known
    )


def complaint(folder, *rows, **settings):
    with pytest.raises(TableError) as caught:
        read(folder, *rows, **settings)
    assert "\n" not in str(caught.value)
    start = f"table {folder / 'readings.csv'}: "
    assert str(caught.value).startswith(start)
    return str(caught.value)[len(start) :]


def test_a_good_row(tmp_path):
    found = read(tmp_path, GOOD)
    (reading,) = found.readings
    assert found.rows_left_blank == 0
    assert (reading.date, reading.value, reading.unit) == (datetime.date(2026, 5, 1), -52.3, "dBm")
    assert (reading.station, reading.service) == ("Combe Relay", "Mux 1")
    assert reading.meter_calibrated_on == datetime.date(2026, 1, 15)
    assert (reading.visit, reading.correction) == ("routine", False)


def test_remarks_on_the_visit_and_names_of_photographs_are_taken(tmp_path):
    line = f"{GOOD},IMG_1.jpg; mast.jpg,gate was open"
    (reading,) = read(tmp_path, line, header=f"{HEADER},photos,visit_note").readings
    assert (reading.photos, reading.visit_note) == ("IMG_1.jpg; mast.jpg", "gate was open")
    formula = f"{GOOD},=1+1,"
    assert "photos '=1+1' looks like a formula" in complaint(
        tmp_path, formula, header=f"{HEADER},photos,visit_note"
    )


def test_names_are_found_whatever_their_case_and_units_in_other_signs(tmp_path):
    line = row(station="combe relay", test_point="Receiver", unit="dBµV 75 Ω", value="56.4", service="MUX 2")
    (reading,) = read(tmp_path, line).readings
    assert (reading.station, reading.service, reading.test_point) == ("Combe Relay", "Mux 2", "receiver")
    assert reading.unit == "dBuV 75 ohm"


@pytest.mark.parametrize("name", ["Combe Relay", "combe  relay"])
def test_a_station_off_the_air_has_no_readings(tmp_path, name):
    path = write_table(tmp_path / "readings.csv", row(station=name))
    with pytest.raises(TableError) as caught:
        read_readings(path, {"Parent Hill": ("Mux 1",)}, today=TODAY, off_air=("Combe Relay",))
    assert str(caught.value).endswith(
        f"row 2: station '{name}' is off the air in this study; put it on the air, or take the reading out"
    )


def test_comments_empty_rows_a_byte_order_mark_and_quotes_are_taken(tmp_path):
    text = "\ufeff" + table("# spring visit", "", row(note='"windy, cold"'))
    (tmp_path / "readings.csv").write_text(text, encoding="utf-8")
    (reading,) = read_readings(tmp_path / "readings.csv", STATIONS, today=TODAY).readings
    assert reading.note == "windy, cold"


def test_checks_are_words_and_need_no_meter(tmp_path):
    given = {
        "service": "",
        "test_point": "mast",
        "quantity": "aerials and mountings",
        "meter": "",
        "unit": "",
    }
    found = read(tmp_path, row(**given, value="not ok"), row(**given, value="OK", date="2026-05-02"))
    assert [reading.value for reading in found.readings] == [0.0, 1.0]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"unit": ""}, "row 2: unit is missing; write dBm or dBuV 75 ohm or dBuV 50 ohm"),
        ({"unit": "dBuV"}, "row 2: unit 'dBuV' does not fit level; state the impedance; write dBm or"),
        ({"unit": "MHz"}, "row 2: unit 'MHz' does not fit level; write dBm or"),
        ({"test_point": "feedr"}, "row 2: test point 'feedr' is unknown; did you mean feeder?"),
        ({"test_point": "splitter port"}, "row 2: test point 'splitter port' is unknown; did you mean"),
        ({"test_point": ""}, "row 2: test point is empty; allowed: feeder, splitter port 1, receiver"),
        ({"quantity": "colour"}, "row 2: quantity 'colour' is unknown; allowed: level"),
        ({"value": '"-52,3"'}, "row 2: value '-52,3' has a decimal comma; write -52.3"),
        ({"value": ""}, "row 2: value is empty; write a number"),
        ({"value": "low"}, "row 2: value 'low' is no number; write it as -52.3"),
        ({"value": "=1+2"}, "row 2: value '=1+2' is no number"),
        ({"value": "nan"}, "row 2: value 'nan' is no number"),
        ({"value": "1e9"}, "row 2: value of level is 1000000000.0; allowed: -200 to 100 dBm"),
        ({"date": "01/05/2026"}, "row 2: date '01/05/2026' is no date; write year-month-day, for example"),
        ({"date": "2026-02-30"}, "row 2: date '2026-02-30' is no date"),
        ({"date": "2026-06-02"}, "row 2: date 2026-06-02 lies after 2026-06-01; correct it"),
        ({"date": "1926-05-01"}, "row 2: date 1926-05-01 lies before 1950-01-01"),
        ({"date": ""}, "row 2: date is empty; write year-month-day"),
        ({"meter_calibrated_on": "2026-05-02"}, "row 2: meter_calibrated_on 2026-05-02 lies after"),
        ({"meter": ""}, "row 2: meter is empty; write its type and number"),
        ({"who": ""}, "row 2: who is empty; write who took the reading"),
        ({"who": "=cmd()"}, "row 2: who '=cmd()' looks like a formula; begin it with a letter or digit"),
        ({"note": "@x"}, "row 2: note '@x' looks like a formula"),
        ({"weather": "+1"}, "row 2: weather '+1' looks like a formula"),
        ({"note": "bell\x07"}, r"row 2: note 'bell\x07' holds a sign that does not print"),
        ({"note": '"two\nlines"'}, r"row 2: note 'two\nlines' holds a sign that does not print"),
        ({"note": "x" * 301}, "row 2: note is longer than 300 characters"),
        ({"station": "Comb Relay"}, "row 2: station 'Comb Relay' is unknown; did you mean Combe Relay?"),
        ({"service": "Mux 3"}, "row 2: service of Combe Relay 'Mux 3' is unknown; did you mean Mux"),
        ({"service": ""}, "row 2: service of Combe Relay is empty; allowed: Mux 1, Mux 2"),
        ({"test_point": "output coupler", "quantity": "return loss", "unit": "dB", "value": "24"},
         "row 2: service 'Mux 1' stands at return loss, which is of the whole station; leave it empty"),
        ({"test_point": "mast", "quantity": "feeders and connectors", "value": "good", "service": ""},
         "row 2: value of feeders and connectors 'good' is unknown; allowed: ok, not ok"),
    ],
)  # fmt: skip
def test_a_bad_cell_is_named_with_its_row(tmp_path, changes, words):
    said = complaint(tmp_path, row(**changes))
    assert said.startswith("1 fault, nothing was taken: ")
    assert words in said


def test_an_unquoted_decimal_comma_is_one_cell_too_many(tmp_path):
    assert complaint(tmp_path, GOOD.replace("-52.3", "-52,3")) == (
        "1 fault, nothing was taken: row 2: 13 cells where the header has 12; is there a decimal comma? "
        "write 2026-05-01,STATION,SERVICE,feeder,level,-52.3,dBm,METER,2026-01-15,NAME,dry,"
    )


def test_a_missing_cell(tmp_path):
    assert "row 2: 11 cells where the header has 12; write 2026" in complaint(tmp_path, GOOD[:-1])


def test_all_faults_are_told_in_the_order_of_the_rows(tmp_path):
    said = complaint(tmp_path, row(unit=""), GOOD, GOOD[:-1], row(date="x", service="Mux 2"))
    assert said.startswith("3 faults, nothing was taken: ")
    assert re.findall(r"row (\d+):", said) == ["2", "4", "5"]


def test_many_faults_are_counted(tmp_path):
    said = complaint(tmp_path, *[row(unit=f"unit{number}") for number in range(20)])
    assert said.startswith("20 faults")
    assert said.endswith("| and 12 more")


def test_a_fault_of_many_rows_is_told_once(tmp_path):
    said = complaint(tmp_path, *[row(meter="")] * 4, row(unit=""), row(meter=""))
    assert said == (
        "6 faults, nothing was taken: rows 2 to 5, 7: meter is empty; write its type and number | "
        "row 6: unit is missing; write dBm or dBuV 75 ohm or dBuV 50 ohm"
    )


def test_a_duplicate_in_the_file(tmp_path):
    assert complaint(tmp_path, GOOD, row(value="-60")) == (
        "1 fault, nothing was taken: row 3: is a duplicate of row 2 (same day, place and quantity); "
        "take one out"
    )


def test_a_duplicate_of_the_log_unless_it_is_a_correction(tmp_path):
    (known,) = read(tmp_path, GOOD).readings
    said = complaint(tmp_path, row(value="-60"), known=[known])
    assert "row 2: level at feeder of 2026-05-01 is a duplicate: it stands in the log; take it out" in said
    header = f"{HEADER},correction"
    (reading,) = read(tmp_path, row(value="-60") + ",yes", header=header, known=[known]).readings
    assert (reading.value, reading.correction) == (-60.0, True)
    assert "corrects a reading of 2026-05-01 that the log does not hold" in complaint(
        tmp_path, GOOD + ",yes", header=header
    )
    assert "correction 'perhaps' is unknown" in complaint(tmp_path, GOOD + ",perhaps", header=header)


def test_a_commissioning_is_marked(tmp_path):
    header = f"visit,{HEADER}"
    (reading,) = read(tmp_path, f"Commissioning,{GOOD}", header=header).readings
    assert reading.visit == "commissioning"
    assert "visit 'annual' is unknown; allowed: routine, commissioning" in complaint(
        tmp_path, f"annual,{GOOD}", header=header
    )


def test_rows_of_the_blank_sheet_without_a_value_are_passed_over(tmp_path):
    header = f"{HEADER},expected"
    found = read(tmp_path, GOOD + ",-50.0", row(value="", date="", who="") + ",-50.0", header=header)
    assert (len(found.readings), found.rows_left_blank) == (1, 1)
    assert complaint(tmp_path, row(value="") + ",-50.0", header=header) == (
        "1 fault, nothing was taken: it holds no reading; fill in the column value"
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "it holds no rows; begin with the header date,station,"),
        (HEADER + "\n", "1 fault, nothing was taken: it holds no reading"),
        (HEADER.replace("unit,", "") + "\n", "row 1: no column 'unit'; write the header date,"),
        (HEADER + ",colour\n", "row 1: column 'colour' is unknown; write the header"),
        (HEADER + ",unit\n", "row 1: column 'unit' stands twice"),
        (HEADER.replace(",", ";") + "\n", "row 1: cells are parted by semicolons; save it with commas and"),
        (HEADER + '\n"open\n', "it is no CSV table (unexpected end of data); check the quotes"),
    ],
)
def test_a_table_that_is_none(tmp_path, text, words):
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TableError) as caught:
        read_readings(path, STATIONS, today=TODAY)
    assert words in str(caught.value)


def test_files_that_are_no_tables(tmp_path):
    for name, words in (("none.csv", "there is no such file"), (".", "it is no regular file")):
        with pytest.raises(TableError, match=words):
            read_readings(tmp_path / name, STATIONS, today=TODAY)
    (tmp_path / "latin.csv").write_bytes(b"\xe9\xff")
    with pytest.raises(TableError, match="it is not UTF-8 text; save it as CSV in UTF-8"):
        read_readings(tmp_path / "latin.csv", STATIONS, today=TODAY)
    (tmp_path / "large.csv").write_bytes(b"x" * 4_000_001)
    with pytest.raises(TableError, match="it is larger than 4 MB"):
        read_readings(tmp_path / "large.csv", STATIONS, today=TODAY)


def test_a_station_whose_name_a_spreadsheet_would_take_for_a_formula(tmp_path):
    stations = {"-Relay": ("Mux 1",)}
    path = write_table(tmp_path / "readings.csv", row(station="'-Relay"))
    (reading,) = read_readings(path, stations, today=TODAY).readings
    assert reading.station == "-Relay"
