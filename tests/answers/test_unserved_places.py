"""Settlements that stay unserved: size and missing decibels, for noise and interference, by algebra."""

import math

import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.propagation.p525 import free_space_loss_db
from combe.standards.systems import planning_field, television_system
from support_cli import run_json
from support_flat import HEAD, lonlat_of, station_text, write_plain_study

WEST = (738_000.0, 4_040_000.0)
MHZ, WEAK_W, STRONG_W = 626.0, 0.005, 10_000.0
CELL_DB = 0.25
"""A settlement is judged in the middle of its cell of 200 m, up to 141 m beside it."""


def study_of(folder, stations, places):
    text = HEAD + '\n[interference]\nmethod = "power sum"\n\n[people]\npoints = "people.csv"\n'
    path = write_plain_study(folder, *stations, head=text, people=False)
    rows = ["longitude_deg,latitude_deg,people,name"]
    for x_m, people, name in places:
        lon, lat = lonlat_of(x_m, WEST[1])
        rows.append(f"{lon:.8f},{lat:.8f},{people},{name}")
    (folder / "people.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def field(power_w, km):
    return field_from_loss_dbuv_m(10.0 * math.log10(power_w), free_space_loss_db(km, MHZ), MHZ)


def test_missing_decibels_against_noise(tmp_path):
    """P.525 and the chain of BT.2033-2: what is missing is the minimum field less the field of free space."""
    places = [(746_000.0, 500, "Eight"), (754_000.0, 70, "Sixteen"), (738_500.0, 9, "Near")]
    path = study_of(tmp_path, [station_text("West", *WEST, [("A", 40, WEAK_W)])], places)
    found = {each["name"]: each for each in run_json("cover", path, "--no-cache", "--unserved")["unserved"]}
    assert {name: each["people_unserved"] for name, each in found.items()} == {"Eight": 500, "Sixteen": 70}
    minimum = planning_field(television_system("DVB-T2"), MHZ, 50.0).median_field_dbuv_m
    for name, km in (("Eight", 8.0), ("Sixteen", 16.0)):
        expected = minimum - field(WEAK_W, km)
        assert found[name]["missing_db"] == pytest.approx(expected, abs=CELL_DB)


def test_missing_decibels_against_interference(tmp_path):
    """Two of 10 kW on one channel, 24 km apart: past the boundary the margin is 20 log(d2/d1) − 20 + 16."""
    stations = [
        station_text("West", *WEST, [("A", 40, STRONG_W)]),
        station_text("East", 762_000.0, WEST[1], [("B", 40, STRONG_W)]),
    ]
    path = study_of(tmp_path, stations, [(756_000.0, 300, "Eighteen"), (740_000.0, 20, "Near")])
    printed = run_json("cover", path, "--no-cache", "--unserved")
    # Service A at 18 km from West and 6 km from East lacks 4 + 20 log(18/6) dB; B there has 5.5 dB to spare.
    by_service = {each["name"]: each for each in printed["services"]}
    assert by_service["A"]["people_limited_by_interference"] == 300
    eighteen = next(each for each in printed["unserved"] if each["name"] == "Eighteen")
    assert eighteen["missing_db"] == pytest.approx(4.0 + 20.0 * math.log10(3.0), abs=0.3)
