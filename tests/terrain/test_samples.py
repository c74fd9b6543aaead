"""Tests that each shipped sample is listed with its hash, and is the ground it says it is."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest
import rasterio
from matplotlib import cbook

from combe.errors import RasterError
from combe.terrain import samples
from combe.terrain.sampling import height_at
from combe.terrain.tiles import open_terrain, terrain_bounds_deg

FOLDER = samples.sample_folder()
NOT_LISTED = {"README.md", "__pycache__"}


def listed() -> dict[str, list[str]]:
    """Return the table of README.md: file name to the other cells of its row."""
    rows = [
        line.strip().strip("|").split("|")
        for line in (FOLDER / "README.md").read_text("utf-8").splitlines()
        if line.startswith("| `")
    ]
    return {row[0].strip().strip("`"): [cell.strip() for cell in row[1:]] for row in rows}


def test_every_file_is_listed_and_every_listed_file_is_there():
    found = {path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*") if path.is_file()}
    found = {name for name in found if not NOT_LISTED & set(Path(name).parts)}
    assert set(listed()) == found


@pytest.mark.parametrize("name", sorted(listed()))
def test_row_is_complete(name):
    cells = listed()[name]
    assert len(cells) == 6
    assert all(cells)


@pytest.mark.parametrize("name", sorted(name for name, cells in listed().items() if cells[5] != "–"))
def test_hash(name):
    stated = listed()[name][5].strip("`")
    assert re.fullmatch("[0-9a-f]{64}", stated)
    assert hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() == stated


def test_only_scripts_may_lack_a_hash():
    assert {Path(name).suffix for name, cells in listed().items() if cells[5] == "–"} <= {".py"}


def test_ridges_are_where_they_should_be():
    terrain = open_terrain([FOLDER / samples.SRTM_SAMPLE])
    assert terrain_bounds_deg(terrain) == pytest.approx(
        (-84.41375, 36.44625, -84.07791667, 36.73291667), abs=1e-8
    )
    assert (terrain.rows, terrain.columns) == (344, 403)
    with rasterio.open(FOLDER / samples.SRTM_SAMPLE) as dataset:
        assert "NASA" in dataset.tags()["TIFFTAG_COPYRIGHT"]
        assert dataset.tags()["AREA_OR_POINT"] == "Area"
        heights = dataset.read(1)
    assert (heights.min(), heights.max()) == (236, 1076)
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        assert np.array_equal(heights, sample["elevation"])


def test_ridges_are_north_up():
    terrain = open_terrain([FOLDER / samples.SRTM_SAMPLE])
    first = -84.41375 + 0.5 / 1200, 36.73292 - 0.5 / 1200
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        heights = sample["elevation"]
    for row, column in ((10, 20), (300, 50), (171, 390)):
        place = first[0] + column / 1200, 36.73291667 - (row + 0.5) / 1200
        assert height_at(terrain, *place) == pytest.approx(heights[row, column], abs=0.1)


def test_missing_samples_are_said(monkeypatch, tmp_path):
    monkeypatch.setattr(samples, "__file__", str(tmp_path / "a" / "b" / "terrain" / "samples.py"))
    with pytest.raises(RasterError, match="no such folder; install the package again"):
        samples.sample_folder()


def test_samples_inside_an_installed_package_come_first(monkeypatch, tmp_path):
    inside = tmp_path / "combe" / "terrain_samples"
    inside.mkdir(parents=True)
    (inside / samples.SRTM_SAMPLE).touch()
    monkeypatch.setattr(samples, "__file__", str(tmp_path / "combe" / "terrain" / "samples.py"))
    assert samples.sample_folder() == inside.resolve()
