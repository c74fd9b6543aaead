"""Checking a study against its rasters."""

import numpy as np
import pytest

from combe.answers.check import check_report
from combe.errors import StudyError
from combe.library import check_file
from combe.study.project_of import load_project
from combe.terrain import tiles
from support_study import SETTLED, edited, strip_crs, void_under, write_study
from support_terrain import write_tif


def test_a_good_study_is_summed_up(tmp_path):
    report = check_report(load_project(write_study(tmp_path, SETTLED)))
    assert report.people_total == 8960.0
    assert report.people_nodata_cells == 0
    assert report.notes == ()
    parent = report.stations[0]
    assert 236.0 < parent.ground_m < 1076.0, "within the sample's heights"
    assert [each.service.channel for each in parent.services] == [27, 31]
    assert "EGM96" in report.provenance["terrain"]


def test_each_raster_is_opened_once_and_the_project_is_the_one_that_is_loaded(tmp_path, monkeypatch):
    clutter = ("[people]", '[clutter]\nraster = "cover.tif"\ncanopy = true\n\n[people]')
    path = write_study(tmp_path, edited(clutter))
    write_tif(tmp_path / "cover.tif", np.zeros((40, 40)), -84.45, 36.75, 0.01)
    opened, read_header = [], tiles.read_header

    def counted(file, *others):
        opened.append(file.name)
        return read_header(file, *others)

    monkeypatch.setattr(tiles, "read_header", counted)
    project = check_file(path).project
    assert sorted(opened) == ["cover.tif", "terrain.tif"]
    monkeypatch.undo()
    loaded = load_project(path)
    assert (project.terrain, project.conditions) == (loaded.terrain, loaded.conditions)
    assert (project.cover.raster, project.cover.words) == (loaded.cover.raster, loaded.cover.words)


def test_a_void_under_a_feed_is_noted(tmp_path):
    """The midpoint of the path from Parent Hill to Combe Relay lies near 84.265° W, 36.65° N."""
    path = write_study(tmp_path, SETTLED)
    void_under(path, -84.265, 36.65)
    note, hole = check_report(load_project(path)).notes
    assert "have no height" in hole
    assert note.startswith(
        "the feed of Combe Relay cannot be predicted: no terrain height at longitude -84.26"
    )
    assert "(tile terrain.tif)" in note


def test_all_faults_of_the_rasters_are_told_at_once(tmp_path):
    path = write_study(tmp_path, edited(("longitude_deg = -84.20", "longitude_deg = -80.0")))
    void_under(path, -84.33, 36.70)
    strip_crs(tmp_path / "people.tif")
    with pytest.raises(StudyError) as caught:
        check_report(load_project(path))
    first, second, third = caught.value.faults
    assert first.startswith("stations[0]: no terrain height at longitude -84.33")
    assert 'station "Parent Hill"' in first
    assert second.startswith("stations[1]: no terrain height at longitude -80.0")
    assert third.startswith("people: raster")
    assert "\n" not in str(caught.value)


def test_terrain_that_cannot_be_opened_is_told_alone(tmp_path):
    path = write_study(tmp_path)
    strip_crs(tmp_path / "terrain.tif")
    with pytest.raises(StudyError, match=r"1 fault: terrain: raster .*terrain\.tif: it has no CRS"):
        check_file(path)


def test_negative_people_that_are_not_declared_are_remarked_on(tmp_path):
    path = write_study(tmp_path, SETTLED)
    counts = np.full((28, 32), 10.0, dtype=np.float32)
    counts[10, 10:13], counts[11, 10:12] = -5.0, np.nan
    write_tif(tmp_path / "people.tif", counts, -84.405, 36.73, 0.01)
    report = check_report(load_project(path))
    assert (report.people_nodata_cells, report.people_total) == (5, 8910.0)
    assert report.notes == (
        "5 population cells have no data and count as nobody",
        "3 population cells are negative, and the raster does not declare that as no data; they are taken as "
        "such: declare its nodata value, or correct the counts",
    )
    write_tif(tmp_path / "people.tif", counts, -84.405, 36.73, 0.01, nodata=-5.0)
    assert check_report(load_project(path)).notes == ("5 population cells have no data and count as nobody",)


def test_an_impossible_grid_is_a_fault(tmp_path):
    path = write_study(tmp_path, edited(("cell_size_m = 300", 'cell_size_m = 300\ncrs = "EPSG:3857"')))
    with pytest.raises(StudyError, match=r"1 fault: grid: crs of the study grid is WGS 84 / Pseudo-Mercator"):
        check_report(load_project(path))


def test_notes_say_what_to_think_about(tmp_path):
    text = edited(
        ('vertical_datum = "EGM96"', "surface_model = true"),
        ("channel = 41", "channel = 27"),
        ('[people]\nraster = "people.tif"\n', ""),
    )
    assert check_report(load_project(write_study(tmp_path, text))).notes == (
        "the terrain is a surface model: trees and roofs count as ground",
        "terrain.vertical_datum is unknown; write what the heights are counted from",
        'no climate is stated: temperate is taken; write climate = "temperate" or another in [air]',
        "no [people] section: nobody will be counted",
        "Combe Relay radiates on channel 27, which its parent uses as well: its feed cannot be judged "
        "without isolation_db in a [stations.feed.own_output] table",
        "Combe Relay repeats Parent Hill on its channel and counts as its interferer; if both are one "
        'network on one frequency, write [[sfn]] with members = ["Parent Hill", "Combe Relay"]',
    )
