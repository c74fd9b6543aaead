"""A study by the sea: for little time ducts carry further over it, on path, feed and map."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.answers.feed import feed_report
from combe.answers.path import path_report, predict_between
from combe.errors import RangeError, RasterError, StudyError
from combe.library import check_file
from combe.prediction.coverage import predict_coverage
from combe.project import project_area, project_grid, shown_conditions
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from combe.study.template import study_text
from combe.terrain.grid import to_grid_m
from support_cli import run, run_json
from support_study import STUDY, edited
from support_terrain import write_tif

WEST, NORTH, CELL = 6.0, 54.3, 0.005
ROWS, COLUMNS = 60, 320
"""An invented strait, 104 km from west to east: land rises from both shores, the sea lies at 0 m."""
SHORES = slice(60, 270)
ZONES = '[zones]\nraster = "zones.tif"\n'
CHANGES = (
    ("longitude_deg = -84.33\nlatitude_deg = 36.70", "longitude_deg = 6.2\nlatitude_deg = 54.15"),
    ("longitude_deg = -84.20\nlatitude_deg = 36.60", "longitude_deg = 7.45\nlatitude_deg = 54.15"),
    ('[people]\nraster = "people.tif"\n', "[air]\ntime_percent = 1.0\n"),
    ("cell_size_m = 300", "cell_size_m = 500"),
)


def write_strait(folder, *, gap=None, zones=None):
    """Write terrain and zones: inland, 20 cells of coast, the sea; some columns without a zone if asked."""
    across = np.arange(COLUMNS)
    from_shore = np.maximum(np.maximum(SHORES.start - across, across - SHORES.stop + 1), 0)
    heights = np.tile(0.4 * from_shore, (ROWS, 1)).astype(np.float32)
    write_tif(folder / "terrain.tif", heights, WEST, NORTH, CELL)
    codes = np.where(from_shore == 0, 1, np.where(from_shore <= 20, 3, 4)) if zones is None else zones
    cells = np.tile(codes, (ROWS, 1)).astype(np.uint8)
    if gap is not None:
        cells[:, gap] = 0
    write_tif(folder / "zones.tif", cells, WEST, NORTH, CELL, nodata=0)


def strait(folder, section=ZONES, *changes, **options):
    write_strait(folder, **options)
    text = edited(*CHANGES, *changes, ("[grid]", f"{section}\n[grid]"), text=STUDY)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return load_project(folder / "study.toml")


def path_field(study, rx_height_m=10.0):
    project = study
    project = replace(project, conditions=shown_conditions(project))
    parent, relay = project.stations
    return predict_between(project, parent, relay, rx_height_m).services[0].field_strength_dbuv_m


def map_field(study):
    project = study
    grid, relay = project_grid(project), project.stations[1]
    x, y = to_grid_m(grid, relay.longitude_deg, relay.latitude_deg)
    row, column = int((grid.north_m - y) / grid.cell_size_m), int((x - grid.west_m) / grid.cell_size_m)
    area, shown = project_area(project, grid), shown_conditions(project)
    return float(predict_coverage(area, project.stations[0], conditions=shown)[0].field_dbuv_m[row, column])


def test_for_little_time_the_sea_carries_further_on_path_and_map_alike(tmp_path):
    inland = strait(tmp_path, "")
    land = path_field(inland), map_field(inland)
    coastal = strait(tmp_path)
    sea = path_field(coastal), map_field(coastal)
    assert sea[0] - land[0] > 8.0
    assert sea[1] - land[1] > 8.0
    assert sea[0] == pytest.approx(sea[1], abs=0.7)
    assert land[0] == pytest.approx(land[1], abs=0.7)


def test_in_the_median_of_time_the_sea_changes_little(tmp_path):
    median = ("time_percent = 1.0", "time_percent = 50.0")
    assert path_field(strait(tmp_path, ZONES, median)) == pytest.approx(
        path_field(strait(tmp_path, "", median)), abs=3.0
    )


def test_the_path_tells_its_share_of_sea(tmp_path):
    report = path_report(strait(tmp_path), "Parent Hill", "Combe Relay")
    assert report.sea_fraction == pytest.approx(210 * CELL / 1.25, abs=0.01)
    assert set(report.zone.tolist()) == {1, 3, 4}
    words = "zones.tif; 1 sea, 3 coastal land, 4 inland; nearest cell"
    assert report.provenance["zones"] == words
    plain = path_report(strait(tmp_path, ""), "Parent Hill", "Combe Relay")
    assert (plain.zone, plain.sea_fraction) == (None, None)
    assert plain.provenance["zones"] == "inland everywhere; no sea and no coast"


def test_the_feed_is_judged_with_the_sea(tmp_path):
    """Ducts over the sea lift the field for little of the time; fades of a short path hardly know of it."""

    def rise_db(study):
        return feed_report(study).relays[0].services[0].enhancement_db

    assert rise_db(strait(tmp_path)) > rise_db(strait(tmp_path, "")) + 1.0


def test_an_unknown_zone_on_the_path_is_an_error_and_on_the_map_no_prediction(tmp_path):
    study = strait(tmp_path, gap=slice(200, 204))
    with pytest.raises(RasterError, match=r"zones\.tif: it holds no zone at longitude 7\.00"):
        path_field(study)
    field = cover_report(study).stations[0].services[0].field_map.field_dbuv_m
    middle = field[field.shape[0] // 2]
    known = np.flatnonzero(~np.isnan(middle))
    assert 0.55 < known[-1] / middle.size < 0.66
    (note,) = [note for note in check_report(study).notes if "zone" in note]
    assert note.endswith("% of the terrain in and around the grid has no zone: no prediction there")


def test_a_code_that_is_no_zone_and_a_station_in_none(tmp_path):
    wrong = strait(tmp_path, zones=np.full(COLUMNS, 2))
    words = r"zone in zones\.tif is 2; allowed: 1 sea, 3 coastal land, 4 inland"
    with pytest.raises(RangeError, match=words):
        path_field(wrong)
    for ask in (cover_report, check_report):
        with pytest.raises(StudyError, match=rf"1 fault: zones: {words}"):
            ask(wrong)
    nowhere = strait(tmp_path, gap=slice(0, 60))
    words = r"it holds no zone at longitude 6\.200000, latitude 54\.150000"
    for ask in (cover_report, check_report):
        with pytest.raises(StudyError, match=rf"1 fault: stations\[0\]: station .*: raster .*{words}"):
            ask(nowhere)
    (tmp_path / "zones.tif").write_text("no raster", encoding="utf-8")
    with pytest.raises(StudyError, match=r"1 fault: zones: raster .*zones\.tif: its format is unknown"):
        check_file(nowhere.key)


@pytest.mark.parametrize("model", ["p526", "free-space"])
def test_other_models_take_no_zones(tmp_path, model):
    changed = ("invented = true", f'invented = true\nmodel = "{model}"'), ("time_percent = 1.0", "")
    words = f'zones: model "{model}" does not tell sea from land; take the section out, or write study.model'
    with pytest.raises(StudyError, match=words):
        strait(tmp_path, ZONES, *changed)
    other = strait(tmp_path).by_model(model)
    assert other.zones is None
    assert path_field(other) > 0.0


def test_a_zone_raster_that_is_not_there(tmp_path):
    with pytest.raises(StudyError, match=r'1 fault: zones\.raster: "sea\.tif": there is no such file'):
        strait(tmp_path, ZONES.replace("zones.tif", "sea.tif"))


def test_zones_are_copied_into_a_new_study_and_read_back(tmp_path):
    study = strait(tmp_path)
    new = load_study(new_study(tmp_path / "new", Path(study.key)))
    assert new.content == load_study(study.key).content
    assert (tmp_path / "new" / "zones.tif").read_bytes() == (tmp_path / "zones.tif").read_bytes()
    assert "# [zones]" in study_text(load_study(strait(tmp_path, "").key).content)


def test_the_command_tells_the_share_of_sea(tmp_path):
    study = strait(tmp_path)
    asked = ("path", Path(study.key), "--from", "Parent Hill", "--to", "Combe Relay")
    assert run_json(*asked)["sea_fraction"] == pytest.approx(0.84, abs=0.01)
    assert "84 % of the way over sea" in run(*asked).stdout
    plain = strait(tmp_path, "")
    assert run_json("path", Path(plain.key), *asked[2:])["sea_fraction"] is None
    assert "over sea" not in run("path", Path(plain.key), *asked[2:]).stdout
