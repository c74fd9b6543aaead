"""A study whose zones are derived of its terrain and of where the sea is, and a raster held against them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import combe.reports.check
from answers.test_zones import CELL, COLUMNS, NORTH, ROWS, SHORES, WEST, strait, write_strait
from combe.answers.check import check_report
from combe.errors import StudyError
from combe.library import check_file
from combe.prediction.coverage import predict_coverage
from combe.project import project_area, project_grid, shown_conditions
from combe.publishing.as_json import as_json
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from combe.study.template import study_text
from combe.terrain import zones_at
from support_terrain import write_tif

SEA = '[zones]\nsea = ["water.tif"]\n'
BOTH = '[zones]\nraster = "zones.tif"\nsea = ["water.tif"]\n'
LON = WEST + CELL * (np.arange(COLUMNS) + 0.5)


def with_water(folder: Path, section: str, **options):
    classes = np.zeros((ROWS, COLUMNS), np.uint8)
    classes[:, SHORES] = 1
    write_tif(folder / "water.tif", classes, WEST, NORTH, CELL)
    return strait(folder, section, **options)


def test_derived_zones_are_those_of_the_strait(tmp_path: Path) -> None:
    """Land rises by 0.4 m a cell, so all of it is low, near and coast."""
    project = with_water(tmp_path, SEA)
    found = zones_at(project.zones, LON, np.full(COLUMNS, 54.15))
    at_sea = np.zeros(COLUMNS, np.bool_)
    at_sea[SHORES] = True
    assert np.array_equal(found, np.where(at_sea, 1, 3))
    assert project.zones.words.startswith(
        "zones derived from water.tif; sea is class 1; coastal land lies up"
    )
    assert "cells of 200 m" in project.zones.words
    checked = check_file(tmp_path / "study.toml")
    assert checked.provenance["zones"] == project.zones.words
    assert checked.agreement is None


def test_a_field_over_derived_sea_is_that_over_a_raster_of_the_same(tmp_path: Path) -> None:
    codes = np.full(COLUMNS, 3)
    codes[SHORES] = 1
    for name in "ab":
        (tmp_path / name).mkdir()
    both = strait(tmp_path / "a", zones=codes), with_water(tmp_path / "b", SEA)
    fields = []
    for project in both:
        area = project_area(project, project_grid(project))
        found = predict_coverage(area, project.stations[0], conditions=shown_conditions(project))
        fields.append(found[0].field_dbuv_m)
    known = ~np.isnan(fields[0])
    assert np.array_equal(known, ~np.isnan(fields[1]))
    assert np.abs(fields[0] - fields[1])[known].max() < 0.6
    assert np.median(np.abs(fields[0] - fields[1])[known]) < 0.05


def test_a_raster_that_agrees_is_told_in_json_alone(tmp_path: Path) -> None:
    codes = np.full(COLUMNS, 3)
    codes[SHORES] = 1
    project = with_water(tmp_path, BOTH, zones=codes)
    report = check_report(project)
    assert not [note for note in report.notes if "raster of zones" in note]
    told = json.loads(as_json(combe.reports.check.document(report)))["zone_agreement"]
    assert told["same_percent"] > 99.0
    assert {each["zone"] for each in told["zones"]} == {"sea", "coastal land"}
    assert project.zones.words.startswith("zones.tif"), "the raster is what predictions use"


def test_a_raster_that_differs_much_is_a_note(tmp_path: Path) -> None:
    """All land beyond 20 cells is inland in the raster, and coast by the rule."""
    report = check_report(with_water(tmp_path, BOTH))
    (note,) = [each for each in report.notes if "raster of zones" in each]
    assert note.startswith(
        "the raster of zones and the zones derived from the sea and the terrain differ in "
    )
    assert "sea 100%, coastal land 100%, inland 0%" in note
    again = check_file(tmp_path / "study.toml")
    assert again.agreement == report.agreement


@pytest.mark.parametrize(
    ("section", "fault"),
    [
        ("[zones]\n", "zones.raster: is missing"),
        ('[zones]\nraster = "zones.tif"\nsea_codes = [1]\n', "zones.sea_codes: says how zones are derived"),
        ('[zones]\nsea = ["coast.geojson"]\n', "zones.polygons: is missing"),
        ('[zones]\nsea = ["water.tif"]\npolygons = "sea"\n', "zones.polygons: a raster has no polygons"),
        ('[zones]\nsea = ["water.tif", "coast.geojson"]\n', "zones.sea: polygons are one file"),
        ('[zones]\nsea = ["other.tif"]\n', 'zones.sea[0]: "other.tif": there is no such file'),
    ],
)
def test_a_sea_told_by_half_is_a_fault(tmp_path: Path, section: str, fault: str) -> None:
    (tmp_path / "coast.geojson").write_text("{}")
    with pytest.raises(StudyError) as caught:
        with_water(tmp_path, section)
    assert any(each.startswith(fault) for each in caught.value.faults)


def test_a_copied_study_has_its_sea_with_it(tmp_path: Path) -> None:
    with_water(tmp_path, SEA + "sea_at = [[6.8, 54.15]]\n")
    new_study(tmp_path / "copy", tmp_path / "study.toml")
    copied = load_project(tmp_path / "copy" / "study.toml")
    assert int(zones_at(copied.zones, 6.8, 54.15)) == 1
    study = load_study(tmp_path / "copy" / "study.toml")
    assert 'sea = ["water.tif"]' in study_text(study.content)


def test_nothing_is_derived_where_nothing_asks(tmp_path: Path) -> None:
    project = with_water(tmp_path, SEA)
    write_strait(tmp_path)
    assert project.zones.raster.tiles[0].make._made is None
