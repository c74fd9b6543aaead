"""The page on the year: its table of fades is what the package works out."""

import re

import numpy as np
import pytest

from combe.evidence import p530_fades
from combe.guide import guide_page
from combe.prediction import YEAR_MINUTES, PathOverTime
from combe.propagation.p2001 import TYPICAL_CLIMATES
from combe.terrain import TerrainProfile

PAGE = guide_page("year").markdown
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if re.match(r"\| (temperate|maritime|humid tropical) \|", line)
]
PER_DEGREE_KM = 71.5
"""Kilometres of a degree of longitude at 50 degrees of latitude."""


def clear_path(climate, km):
    count = 10 * km + 1
    return PathOverTime(
        TerrainProfile(
            np.linspace(0.0, km, count),
            np.full(count, 100.0),
            np.linspace(10.0, 10.0 + km / PER_DEGREE_KM, count),
            np.full(count, 50.0),
        ),
        tx_height_m=150.0,
        rx_height_m=30.0,
        frequency_mhz=600.0,
        polarization="horizontal",
        climate=TYPICAL_CLIMATES[climate],
    )


def test_the_table_has_all_paths():
    assert len(ROWS) == 12


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]} {row[1]} km")
def test_fades_are_those_of_the_page(row):
    climate, km, *fades, in_clear_air, _, _ = row
    path = clear_path(climate, int(km))
    found = [path.fade_db(percent) for percent in (99.0, 99.9, 99.99)]
    assert found == pytest.approx([float(each) for each in fades], abs=0.0501)
    clear_air_db = path.at(99.99).clear_air_fade_db - path.at(50.0).clear_air_fade_db
    assert clear_air_db == pytest.approx(float(in_clear_air), abs=0.0501)


def test_deep_fades_by_p530_are_those_of_the_evidence():
    told = {(row[0], float(row[1])): float(row[6]) for row in ROWS if row[6] != "–"}
    known = {(climate, km): depth for climate, km, percent, depth in p530_fades.DEPTHS if percent == 99.99}
    for place, depth_db in known.items():
        assert told[place] == pytest.approx(depth_db, abs=0.0501)


def test_hours_of_the_year_are_right():
    year_h = YEAR_MINUTES / 60.0
    for share, words in ((0.01, f"{0.01 * year_h:.0f} hours"), (0.001, f"{0.001 * year_h:.0f} hours")):
        assert f"| {100.0 - 100.0 * share:g} % | {words} |" in PAGE
    assert f"| 99.99 % | {60.0 * 0.0001 * year_h:.0f} minutes |" in PAGE
