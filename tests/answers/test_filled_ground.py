"""A study with a void: unknown without a fill, marked and counted with one; and a study of two terrains."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import combe.reports.check
import combe.reports.cover
from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.answers.provenance import provenance
from combe.errors import StudyError
from combe.publishing.as_json import as_json
from combe.reports.cover_classes import class_layers
from combe.study.project_of import load_project
from combe.terrain import StudyGrid, without_fills
from support_study import SETTLED, edited, void_under, write_study

FILL = ("[grid]", 'fill_voids = "inverse distance"\nfill_within_m = 400.0\n\n[grid]')
BIG = ("cell_size_m = 300", "cell_size_m = 900")
VOID = (-84.30, 36.66)


def made(folder: Path, *changes: tuple[str, str]) -> Path:
    path = write_study(folder, edited(BIG, *changes, text=SETTLED))
    void_under(path, *VOID)
    return path


def test_a_void_is_unknown_without_a_fill(tmp_path: Path) -> None:
    project = load_project(made(tmp_path))
    report = cover_report(project)
    assert report.filled is None
    assert "Paths across filled ground" not in [getattr(part, "title", "") for part in _parts(report)]
    told = json.loads(as_json(combe.reports.cover.document(report)))
    assert told["filled_ground"] is None
    (note,) = check_report(project).notes
    assert note.startswith("25 cells of the terrain on the grid have no height (0.")
    assert "in one patch around longitude -84.3" in note
    assert "in terrain.tif: no prediction there and behind" in note


def _parts(report):
    return combe.reports.cover.document(report).parts


def test_cells_across_a_fill_are_counted_with_their_people(tmp_path: Path) -> None:
    """They are those that have no prediction without the fill; what does not cross it is the same bits."""
    project = load_project(made(tmp_path, FILL))
    report = cover_report(project)
    bare = cover_report(replace(project, terrain=without_fills(project.terrain)))
    assert report.filled is not None
    each = {one.station: one for one in report.filled.stations}
    for covered, other in zip(report.stations, bare.stations, strict=True):
        field, without = (one.services[0].field_map.field_dbuv_m for one in (covered, other))
        lost = np.isnan(without) & ~np.isnan(field)
        assert np.array_equal(each[covered.station.name].where, lost)
        assert np.array_equal(field[~lost], without[~lost], equal_nan=True)
    assert 0 < each["Parent Hill"].cells < 200
    union = report.filled.any_station
    assert union.cells == (each["Parent Hill"].where | each["Combe Relay"].where).sum()
    assert 0.0 < union.people < report.all_services.people.total
    told = json.loads(as_json(combe.reports.cover.document(report)))["filled_ground"]
    assert told["cells"] == union.cells
    assert [one["name"] for one in told["stations"]] == ["Parent Hill", "Combe Relay"]
    assert "Paths across filled ground" in [getattr(part, "title", "") for part in _parts(report)]
    (layer,) = [one for one in class_layers(report) if one.key == "filled"]
    assert (layer.field_dbuv_m == 2.0).sum() == union.cells


def test_a_check_tells_the_fill_and_feeds_across_it(tmp_path: Path) -> None:
    path = write_study(tmp_path, edited(BIG, FILL, text=SETTLED))
    void_under(path, -84.265, 36.65)
    project = load_project(path)
    report = check_report(project)
    across, filled = report.notes
    assert across == "the feed of Combe Relay crosses ground that was filled in, and is predicted over it"
    assert filled.startswith("25 cells of the terrain were without a height and are filled (0.")
    words = "voids filled by inverse distance from up to 400 m away"
    assert words in report.provenance["terrain"]
    told = json.loads(as_json(combe.reports.check.document(report)))
    assert told["terrains"][0]["fill_within_m"] == 400.0
    assert (told["ground"]["voids"], told["ground"]["filled"]) == (0, 25)


@pytest.mark.parametrize(
    ("key", "fault"),
    [
        ('fill_voids = "inverse distance"', "terrain.fill_within_m: is missing"),
        ("fill_within_m = 300.0", "terrain.fill_voids: is missing"),
    ],
)
def test_a_fill_told_by_half_is_a_fault(tmp_path: Path, key: str, fault: str) -> None:
    path = write_study(tmp_path, edited(("[grid]", f"{key}\n\n[grid]")))
    with pytest.raises(StudyError, match=fault):
        load_project(path)


BEYOND = """
[[terrain.beyond]]
tiles = ["coarse.tif"]
vertical_datum = "EGM2008"
surface_model = true
credit = "Others"

[grid]
"""


def test_terrains_beyond_are_read_named_and_warned_of(tmp_path: Path) -> None:
    path = write_study(tmp_path, edited(BIG, ("[grid]\n", BEYOND), text=SETTLED))
    shutil.copyfile(tmp_path / "terrain.tif", tmp_path / "coarse.tif")
    void_under(path, *VOID)
    project = load_project(path)
    report = check_report(project)
    assert len(report.notes) == 3
    assert report.notes[0] == "the terrain is a surface model: trees and roofs count as ground"
    assert report.notes[1].startswith("heights are counted from EGM96 and from EGM2008, and none is shifted")
    assert report.notes[2].startswith("coarse.tif holds trees and roofs, the other terrain is bare")
    words = provenance(project)["terrain"]
    assert words.startswith("terrain.tif; taken as bare ground; heights above EGM96; cells of 74")
    assert "; then coarse.tif; a surface model" in words
    told = json.loads(as_json(combe.reports.check.document(report)))
    assert [(one["tiles"], one["vertical_datum"], one["kind"]) for one in told["terrains"]] == [
        (["terrain.tif"], "EGM96", "bare ground"),
        (["coarse.tif"], "EGM2008", "surface model"),
    ]
    assert told["ground"]["voids"] == 0, "the second has heights where the first has none"
    assert isinstance(report.grid, StudyGrid)


def test_cover_on_a_surface_model_beyond_is_a_fault(tmp_path: Path) -> None:
    clutter = '[clutter]\nraster = "terrain.tif"\ncanopy = true\n\n[people]'
    path = write_study(tmp_path, edited(("[grid]\n", BEYOND), ("[people]", clutter)))
    shutil.copyfile(tmp_path / "terrain.tif", tmp_path / "coarse.tif")
    with pytest.raises(StudyError, match="clutter: the terrain is a surface model"):
        load_project(path)
    (tmp_path / "coarse.tif").unlink()
    with pytest.raises(StudyError, match=r'terrain.beyond\[0\].tiles\[0\]: "coarse.tif": there is no such'):
        load_project(path)
