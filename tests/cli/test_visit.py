"""``combe visit``: readings in, verdict out, the sheet, the log, and what a wrong command line says."""

import csv
import html
import json
import re

import pytest
import rasterio

from combe.publishing.cautions import CAUTIONS
from support_cli import complaint, run, run_json
from support_study import edited, write_study
from support_visits import row, write_table

FREE_SPACE = edited(("invented = true", 'invented = true\nmodel = "free-space"'))


@pytest.fixture
def study(tmp_path):
    return write_study(tmp_path, FREE_SPACE)


@pytest.fixture
def expected(study):
    rows = run_json("visit", study, "--sheet")["stations"][0]["rows"]
    return {(each["service"], each["test_point"], each["quantity"]): each["expected"] for each in rows}


def readings(study, *rows):
    return write_table(study.parent / "readings.csv", *rows)


def test_within_tolerance_leaves_with_0(study, expected):
    level = expected["Mux 1", "feeder", "level"]
    result = run("visit", study, readings(study, row(value=f"{level:.1f}")))
    assert result.exit_code == 0
    assert "Within tolerance; 1 reading of 2026-05-01, stored in visits.gpkg." in result.stdout
    assert f"stored: {study.parent / 'visits.gpkg'}" in result.stdout
    assert "written: " in result.stdout
    page = html.unescape((study.parent / "results" / "visit.html").read_text(encoding="utf-8"))
    assert "Combe Relay" in page
    assert all(caution in page for caution in CAUTIONS)


def test_out_of_tolerance_leaves_with_1_and_says_why(study, expected):
    level = expected["Mux 1", "feeder", "level"]
    first = readings(study, row(value=f"{level:.1f}"))
    run("visit", study, first)
    result = run("visit", study, readings(study, row(value=f"{level - 7.0:.1f}", date="2026-05-20")))
    assert result.exit_code == 1
    why = "feeder, level of Mux 1 out: −7.0 dB from the record, allowed ±3 dB; alarm at 6 dB"
    assert why in " ".join(result.stdout.split())
    assert run("visit", study, "--log").exit_code == 1


def test_json_keys(study):
    rows = [row(date=f"{year}-05-01", meter_calibrated_on="") for year in range(2019, 2026)]
    printed = run_json("visit", study, readings(study, *rows))
    assert printed.keys() == {
        "format", "headline", "study", "title", "log", "provenance", "cautions", "status", "stored", "taken",
        "first_day", "last_day", "rows_left_blank", "counts", "page", "index", "judgements",
    }  # fmt: skip
    (judgement,) = printed["judgements"]
    assert judgement.keys() == {
        "station", "service", "test_point", "quantity", "date", "value", "unit", "expected", "record",
        "record_on", "commissioned", "last", "last_on", "status", "reason", "comparisons", "steps", "drift",
        "air", "note", "photos", "visit_note",
    }  # fmt: skip
    assert judgement["drift"].keys() == {"per_year", "low", "high", "chance", "significant"}
    assert judgement["comparisons"][0].keys() == {
        "against", "difference", "difference_unit", "status", "decides", "words",
    }  # fmt: skip
    assert (printed["taken"], printed["stored"]) == (7, True)
    assert (judgement["record_on"], judgement["last_on"]) == ("2019-05-01", "2024-05-01")


def test_a_step_is_in_the_json(study):
    printed = run_json(
        "visit", study, readings(study, row(), row(date="2026-05-20", value="-60")), "--dry-run", code=1
    )
    assert printed["judgements"][0]["steps"] == [
        {"from": "2026-05-01", "to": "2026-05-20", "size": pytest.approx(-7.7)}
    ]
    assert printed["stored"] is False
    assert not (study.parent / "visits.gpkg").exists()


def test_the_sheet(study):
    result = run("visit", study, "--sheet", "--aerial-size-m", "2")
    assert result.exit_code == 0
    assert "Combe Relay: 34 readings and 10 checks" in result.stdout
    assert re.search(r"\n  in its main beam, at least  free space m  with ground reflection m", result.stdout)
    assert re.search(r"\n  the public +1\.3 +2\.0 +within its 1\d\.\d m\n", result.stdout)
    whole = run("visit", study, "--sheet", "--aerial-size-m", "2", "--full").stdout
    assert "ICNIRP guidelines 2020" in whole
    assert "within the near field" in whole
    page = (study.parent / "results" / "sheet.html").read_text(encoding="utf-8")
    for words in ("ICNIRP guidelines 2020", "All 2 services summed", "☐", "trained people at work"):
        assert words in page
    with (study.parent / "results" / "sheet.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    assert len(lines) == 44
    assert lines[0]["test_point"] == "feeder"


def test_the_sheet_in_json(study):
    printed = run_json("visit", study, "--sheet")
    (station,) = printed["stations"]
    assert [each["audience"] for each in station["exposure"]] == ["public", "occupational"] * 2
    assert station["exposure"][0]["standard"].startswith("ICNIRP guidelines 2020")
    assert station["rows"][0].keys() == {
        "service", "test_point", "quantity", "unit", "expected", "record", "lowest", "highest", "basis",
        "source", "air",
    }  # fmt: skip
    assert json.dumps(printed)
    sources = {each["quantity"]: each["source"] for each in station["rows"]}
    assert sources["shoulders"] == "common practice, no source"
    assert sources["BER after LDPC"].endswith("1e-7 before the BCH decoder (from memory, unverified)")
    page = html.unescape((study.parent / "results" / "sheet.html").read_text(encoding="utf-8"))
    assert f"BER after LDPC: {sources['BER after LDPC']}" in page
    assert "all other limits and tolerances: common practice, no source." in page


@pytest.mark.parametrize(
    ("system", "mode", "has"),
    [("DVB-T2 7 MHz", "256-QAM", "BER after LDPC"), ("ISDB-T Japan", "64-QAM", "BER after inner decoding")],
)
def test_the_sheet_of_a_system_on_another_raster_is_no_empty_one(tmp_path, system, mode, has):
    text = FREE_SPACE.replace("[television]", f'[television]\nsystem = "{system}"').replace("256-QAM", mode)
    path = write_study(tmp_path, text.replace("channel = 27", "channel = 29"))
    (station,) = run_json("visit", path, "--sheet")["stations"]
    assert len(station["rows"]) == 44
    assert has in {each["quantity"] for each in station["rows"]}


def test_a_reading_of_another_system_is_refused(study):
    strange = row(test_point="receiver", quantity="BER after inner decoding", value="1e-6", unit="ratio")
    said = complaint("visit", study, readings(study, strange))
    assert "BER after inner decoding at receiver is a reading of DVB-T and ISDB-T, not of DVB-T2" in said


@pytest.mark.parametrize(
    "words", [(), ("--sheet", "--log"), ("readings.csv", "--sheet"), ("readings.csv", "--log")]
)
def test_one_thing_at_a_time(study, words):
    said = complaint("visit", study, *words)
    assert said == "name a file of readings, or ask for --sheet, --log or --survey: one of them"


def test_bad_readings_are_one_line(study):
    said = complaint("visit", study, readings(study, row(unit=""), row(date="1.5.2026", value='"1,5"')))
    assert said.startswith(
        f"table {study.parent / 'readings.csv'}: 2 faults, nothing was taken: row 2: unit is"
    )
    assert not (study.parent / "visits.gpkg").exists()


def surveyed(folder, section=""):
    """Write a study with six survey points, in free space."""
    folder.mkdir(exist_ok=True)
    points = ["longitude_deg,latitude_deg,station,service,field_dbuv_m"]
    points += [f"-84.2{step},36.58,Combe Relay,Mux 1,{70 + step}" for step in range(1, 7)]
    (folder / "points.csv").write_text("\n".join(points), encoding="utf-8")
    section = f'[survey]\npoints = "points.csv"\n{section}\n[[stations]]'
    return write_study(folder, edited(("[[stations]]", section), text=FREE_SPACE))


def test_a_correction_stands_on_every_map(tmp_path):
    printed = run_json("cover", surveyed(tmp_path, "apply_correction = true\n"))
    words = "6 survey places of points.csv, weighted 0.55)"
    assert words in printed["provenance"]["local correction"]
    assert words in html.unescape((tmp_path / "results" / "map.html").read_text(encoding="utf-8"))
    for station in printed["stations"]:
        for service in station["services"]:
            with rasterio.open(service["raster"]) as dataset:
                assert words in dataset.tags()["local correction"]


def test_the_survey(tmp_path):
    path = surveyed(tmp_path)
    result = run("visit", path, "--survey")
    assert result.exit_code == 0
    assert "measured less predicted, points.csv" in result.stdout
    assert "Local correction, not applied; write apply_correction = true: Combe Relay" in result.stdout
    printed = run_json("visit", path, "--survey")
    page = html.unescape((tmp_path / "results" / "survey.html").read_text(encoding="utf-8"))
    assert printed["page"] == str(tmp_path / "results" / "survey.html")
    assert "Measured less predicted, points.csv" in page
    assert all(caution in page for caution in CAUTIONS)
    assert printed["all"].keys() == {
        "label", "count", "places", "mean_db", "deviation_db", "rms_db", "percentiles_db",
    }  # fmt: skip
    assert printed["all"]["percentiles_db"].keys() == {"10", "50", "90"}
    assert (printed["all"]["count"], printed["applied"], len(printed["errors"])) == (6, False, 6)
    assert printed["by_obstruction"][0]["label"] == "line of sight"
    assert printed["errors"][0]["measured_dbuv_m"] == 71.0
    assert "survey: is missing" in complaint("visit", write_study(tmp_path / "without"), "--survey")


def test_no_log_yet(study):
    assert "no reading is in the log" in complaint("visit", study, "--log")
    assert "there is no such file" in complaint("visit", study, study.parent / "none.csv")


def test_readings_that_are_stored_are_said_to_be_when_the_page_fails(study):
    (study.parent / "results").mkdir()
    (study.parent / "results" / "visit.html").mkdir()
    told = complaint("visit", study, readings(study, row()))
    log = study.parent / "visits.gpkg"
    assert f"the readings are stored in {log}; make the page with --log" in told
    assert log.is_file()
    (study.parent / "results" / "visit.html").rmdir()
    assert run("visit", study, "--log").exit_code in (0, 1)


def test_a_dry_run_whose_page_fails_says_that_nothing_was_stored(study):
    (study.parent / "results").mkdir()
    (study.parent / "results" / "visit.html").mkdir()
    told = complaint("visit", study, readings(study, row()), "--dry-run")
    assert told.endswith("; nothing was stored")
    assert not (study.parent / "visits.gpkg").exists()


@pytest.mark.parametrize("name", ["Mux  1", " Mux 1", "Mux 1 "])
def test_the_sheet_is_taken_back_whatever_blanks_a_name_has(tmp_path, name):
    path = write_study(tmp_path, FREE_SPACE.replace('"Mux 1"', f'"{name}"'))
    assert run("visit", path, "--sheet").exit_code == 0
    sheet = path.parent / "results" / "sheet.csv"
    with sheet.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))
    at = {head: number for number, head in enumerate(rows[0])}
    filled = next(line for line in rows[1:] if line[at["service"]] and line[at["quantity"]] == "level")
    more = {"date": "2026-05-01", "value": "-50.0", "unit": "dBm", "meter": "M", "who": "A. Hand"}
    for head, text in more.items():
        filled[at[head]] = text
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    printed = run("visit", path, sheet, "--json")
    assert printed.exit_code in (0, 1), printed.output
    assert json.loads(printed.stdout)["judgements"][0]["service"] == name
