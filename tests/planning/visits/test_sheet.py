"""The blank sheet: what should be read and between what, and the way back into the log."""

import csv
import datetime
import io

import pytest

from combe.planning.visits.judge import judge_log
from combe.planning.visits.reading_file import read_readings
from combe.planning.visits.readings import SeriesKey
from combe.planning.visits.sheet import SheetSite, sheet_rows, sheet_text
from combe.standards.visit_readings import ROUTINE_READINGS
from support_visits import STATIONS, TODAY, half_yearly, level

SITE = SheetSite("Combe Relay", ("Mux 1", "Mux 2"), splitter_ports=2)
KEY = SeriesKey("Combe Relay", "Mux 1", "feeder", "level")
EXPECTED = {KEY: -50.0, SeriesKey("Combe Relay", "Mux 1", "output coupler", "ERP"): 20.0}


def found(rows, place, quantity, service="Mux 1"):
    key = SeriesKey("Combe Relay", service, place, quantity)
    return next(row for row in rows if row.key == key)


def test_before_any_visit_the_prediction_counts():
    row = found(sheet_rows(SITE, EXPECTED), "feeder", "level")
    assert (row.expected, row.lowest, row.highest, row.basis) == (-50.0, -60.0, -40.0, "prediction")
    assert (row.record, row.last, row.record_value, row.last_value) == (None, None, None, None)


def test_after_a_visit_the_record_counts():
    log = (level(0, -52.0, visit="commissioning"), level(200, 57.75, unit="dBuV 75 ohm"))
    row = found(sheet_rows(SITE, EXPECTED, judge_log(log, EXPECTED)), "feeder", "level")
    assert (row.lowest, row.highest, row.basis) == (-55.0, -49.0, "record")
    assert (row.record_value, row.last_value) == (-52.0, pytest.approx(-51.0, abs=0.01))


def test_one_side_and_limits():
    log = (
        *half_yearly([24.0], test_point="output coupler", quantity="return loss", unit="dB", service=""),
        *half_yearly([-54.0], test_point="output coupler", quantity="intermodulation", unit="dB"),
    )
    rows = sheet_rows(SITE, {}, judge_log(log, {}))
    loss = found(rows, "output coupler", "return loss", "")
    assert (loss.lowest, loss.highest, loss.basis) == (21.0, None, "limits and record")
    products = found(rows, "output coupler", "intermodulation")
    assert (products.lowest, products.highest) == (None, -52.0)
    fresh = found(sheet_rows(SITE, {}), "output coupler", "shoulders")
    assert (fresh.lowest, fresh.highest, fresh.basis) == (36.0, None, "limits")
    voltage = found(rows, "receiver", "AGC voltage")
    assert (voltage.lowest, voltage.highest, voltage.basis) == (None, None, "")


def test_a_power_may_not_pass_the_licensed_one():
    fresh = found(sheet_rows(SITE, EXPECTED), "output coupler", "ERP")
    # 0.5 dB over and under 20 W.
    assert (fresh.lowest, fresh.highest) == (
        pytest.approx(17.825, abs=0.001),
        pytest.approx(22.440, abs=0.001),
    )
    log = half_yearly([22.0], test_point="output coupler", quantity="ERP", unit="W")
    later = found(sheet_rows(SITE, EXPECTED, judge_log(log, EXPECTED)), "output coupler", "ERP")
    assert later.highest == pytest.approx(22.440, abs=0.001)
    assert later.lowest == pytest.approx(19.608, abs=0.001)
    assert later.basis == "record and licence"


def test_what_belongs_on_a_sheet():
    digital = {(row.row.test_point, row.row.quantity) for row in sheet_rows(SITE, {})}
    assert ("output coupler", "shoulders") in digital
    assert ("demodulated output", "video S/N") not in digital
    analogue = {row.row.quantity for row in sheet_rows(SheetSite("A", ("One",), family="analogue"), {})}
    assert {"vision-to-sound ratio", "video S/N"} <= analogue
    assert "MER" not in analogue
    parent = {row.row.test_point for row in sheet_rows(SheetSite("P", ("M",), receives=False), {})}
    assert not parent & {"feeder", "receiver", "splitter port"}
    assert {"output coupler", "mast", "site"} <= parent


def test_each_service_has_its_splitter_port_and_the_order_is_that_of_the_table():
    rows = sheet_rows(SITE, {})
    ports = [(row.key.service, row.key.test_point) for row in rows if row.row.numbered]
    assert ports == [("Mux 1", "splitter port 1"), ("Mux 2", "splitter port 2")]
    places = [ROUTINE_READINGS.index(row.row) for row in rows]
    assert places == sorted(places)


def test_the_filled_in_sheet_is_read_back(tmp_path):
    text = sheet_text(sheet_rows(SITE, EXPECTED))
    lines = list(csv.DictReader(io.StringIO(text)))
    assert lines[0]["expected"] == "-50"
    assert lines[0]["lowest"] == "-60"
    filled = {"value": "-51.2", "date": "2026-05-01", "who": "A. Hand", "meter": "Meter 7"}
    lines[0] |= filled
    check = next(line for line in lines if line["quantity"] == "feeders and connectors")
    check |= {"value": "ok", "date": "2026-05-01", "who": "A. Hand"}
    out = io.StringIO()
    table = csv.DictWriter(out, lines[0])
    table.writeheader()
    table.writerows(lines)
    (tmp_path / "sheet.csv").write_text(out.getvalue(), encoding="utf-8")
    read = read_readings(tmp_path / "sheet.csv", STATIONS, today=TODAY)
    assert [(reading.quantity, reading.value) for reading in read.readings] == [
        ("level", -51.2),
        ("feeders and connectors", 1.0),
    ]
    assert read.rows_left_blank == len(lines) - 2
    assert read.readings[0].date == datetime.date(2026, 5, 1)


def test_names_that_look_like_formulas_are_quoted_and_come_back(tmp_path):
    site = SheetSite("=Relay", ("-Mux",))
    text = sheet_text(sheet_rows(site, {}))
    assert "'=Relay,'-Mux,feeder" in text
    first = text.splitlines()[1].split(",")
    first[0], first[5], first[7], first[9] = "2026-05-01", "-50", "Meter 7", "A. Hand"
    (tmp_path / "s.csv").write_text("\n".join([text.splitlines()[0], ",".join(first)]), encoding="utf-8")
    (reading,) = read_readings(tmp_path / "s.csv", {"=Relay": ("-Mux",)}, today=TODAY).readings
    assert (reading.station, reading.service) == ("=Relay", "-Mux")
