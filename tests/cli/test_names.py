"""Names as long as a study allows, with blanks and signs of tables: every command takes its own back."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from support_cli import complaint, run, run_json
from support_study import STUDY, write_study

LONG_SERVICE, LONG_STATION = "Service".ljust(80, "x"), "谷" * 80
MORE = {"date": "2026-05-01", "meter": "M", "who": "A. Hand"}


def named(folder: Path, service: str, station: str, second: str = "Mux 2") -> Path:
    """Write a study in free space with these names for its services and its relay."""
    text = STUDY.replace("invented = true", 'invented = true\nmodel = "free-space"')
    text = text.replace('"Mux 2"', f'"{second}"').replace('"Mux 1"', f'"{service}"')
    return write_study(folder, text.replace('"Combe Relay"', f'"{station}"'))


def filled_in(study: Path) -> Path:
    """Write the sheet and fill in the levels at the feeder, another for each service."""
    assert run("visit", study, "--sheet").exit_code == 0
    sheet = study.parent / "results" / "sheet.csv"
    with sheet.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    levels = [each for each in rows if (each["test_point"], each["quantity"]) == ("feeder", "level")]
    for number, each in enumerate(levels):
        each |= MORE | {"value": f"{-40 - number}"}
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        table = csv.DictWriter(stream, rows[0])
        table.writeheader()
        table.writerows(rows)
    return sheet


@pytest.fixture(scope="module")
def longest(tmp_path_factory):
    return named(tmp_path_factory.mktemp("long"), LONG_SERVICE, LONG_STATION)


def test_a_feed_of_the_longest_names(longest):
    (relay,) = run_json("feed", longest, code=run("feed", longest).exit_code)["relays"]
    assert relay["name"] == LONG_STATION
    assert relay["services"][0]["name"] == LONG_SERVICE
    assert run("feed", longest).exit_code in (0, 1)


def test_the_coverage_of_the_longest_names_has_a_raster_for_each(longest):
    printed = run_json("cover", longest)
    services = [(each["name"], one) for each in printed["stations"] for one in each["services"]]
    assert {name for name, _ in services} == {"Parent Hill", LONG_STATION}
    assert {one["name"] for _, one in services} == {LONG_SERVICE, "Mux 2"}
    rasters = {Path(one["raster"]) for _, one in services}
    assert len(rasters) == 4
    assert all(each.is_file() for each in rasters)


@pytest.mark.parametrize(
    ("service", "station"),
    [
        (LONG_SERVICE, LONG_STATION),
        ("Mux  1", " Combe Relay"),
        (" Mux 1 ", "Combe  Relay"),
        ("Mux Z", "'=Relay"),
        ("=Mux", "'Relay'"),
        ("Mux  3", "#1, Relay"),
    ],
)
def test_the_sheet_is_taken_back(tmp_path, service, station):
    study = named(tmp_path, service, station)
    sheet = filled_in(study)
    status = run("visit", study, sheet, "--dry-run").exit_code
    taken = run_json("visit", study, sheet, "--dry-run", code=status)["judgements"]
    found = {(each["station"], each["service"]): each["value"] for each in taken}
    assert found == {(station, service): -40.0, (station, "Mux 2"): -41.0}


@pytest.mark.parametrize("twin", [" Mux 2", "Mux  2 ", "mux 2"])
def test_names_that_tables_cannot_tell_apart_are_a_fault_of_the_study(tmp_path, twin):
    words = 'two services of this station are called "Mux 2"; rename one'
    assert words in complaint("check", named(tmp_path, twin, "Combe Relay"))


def test_stations_that_tables_cannot_tell_apart_are_a_fault_of_the_study(tmp_path):
    words = 'two stations are called "Parent Hill" (also stations[0]); rename one'
    assert words in complaint("check", named(tmp_path, "Mux 1", "Parent  Hill"))
