"""Seasons in a study file: what they make of the cover, and their faults."""

import numpy as np
import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from combe.terrain import EVERY_CLASS, cover_words
from support_study import edited, write_study
from support_terrain import write_tif

CLASSES = '[clutter]\nraster = "cover.tif"\nlegend = "nlcd"\n'
CANOPY = '[clutter]\nraster = "cover.tif"\ncanopy = true\n'
FACTOR = "[[clutter.leafless]]\nclass_number = 41\nheight_factor = 0.6\n"


def written(folder, section, *changes):
    path = write_study(folder, edited(("[people]", f"{section}\n[people]"), *changes))
    write_tif(folder / "cover.tif", np.full((40, 50), 41, dtype=np.uint8), -84.5, 36.85, 0.01, nodata=0)
    return path


def faults(folder, section, *changes):
    with pytest.raises(StudyError) as caught:
        load_study(written(folder, section, *changes))
    return list(caught.value.faults)


def test_a_study_says_its_season_and_its_factors(tmp_path):
    project = load_project(written(tmp_path / "a", f'{CLASSES}season = "leafless"\n{FACTOR}'))
    assert (project.cover.season, project.cover.leafless_factor) == ("leafless", {41: 0.6})
    assert project.conditions.clutter == cover_words(project.cover)
    assert "leafless: heights of class 41 times 0.6" in project.conditions.clutter
    in_leaf = load_project(written(tmp_path / "b", f"{CLASSES}{FACTOR}"))
    assert in_leaf.conditions.clutter.endswith("; in leaf")
    by_height = load_project(written(tmp_path / "c", f"{CANOPY}[[clutter.leafless]]\nheight_factor = 0.5\n"))
    assert by_height.cover.leafless_factor == {EVERY_CLASS: 0.5}


def test_cover_without_factors_has_the_words_that_it_had(tmp_path):
    project = load_project(written(tmp_path, CLASSES))
    assert project.conditions.clutter == project.cover.words
    assert "leaf" not in project.conditions.clutter


@pytest.mark.parametrize(
    ("section", "words"),
    [
        (f'{CLASSES}season = "leafless"\n', "leafless: is missing; no Recommendation says how high"),
        (f'{CLASSES}season = "autumn"\n', 'season: "autumn" is unknown; allowed: in leaf, leafless'),
        (f"{CLASSES}[[clutter.leafless]]\nheight_factor = 0.5\n", "leafless[0].class_number: is missing"),
        (f"{CANOPY}{FACTOR}", "leafless[0].class_number: the raster holds heights and no classes"),
        (f"{CLASSES}{FACTOR}{FACTOR}", "leafless[1].class_number: 41 stands twice"),
        (f"{CLASSES}{FACTOR.replace('41', '40')}", "leafless[0].class_number: 40 is no class of the cover"),
        (f"{CLASSES}{FACTOR.replace('0.6', '1.6')}", "leafless[0].height_factor: 1.6 is out of range"),
    ],
)  # fmt: skip
def test_each_fault_is_told_once_with_its_place(tmp_path, section, words):
    (found,) = faults(tmp_path, section)
    assert found.startswith(f"clutter.{words}"), found


@pytest.mark.parametrize(
    ("section", "place"), [(f'{CLASSES}season = "leafless"\n', "season"), (CLASSES, "leafless")]
)
def test_on_a_surface_model_no_season_can_be_chosen(tmp_path, section, place):
    surface = ('vertical_datum = "EGM96"', 'vertical_datum = "EGM96"\nsurface_model = true')
    allowed = f"{section}allow_on_surface_model = true\n{FACTOR}"
    (found,) = faults(tmp_path, allowed, surface)
    assert found.startswith(
        f"clutter.{place}: the terrain is a surface model, whose heights hold trees as they stood"
    )


def test_a_copy_says_the_same_and_a_new_study_shows_the_keys(tmp_path):
    first = written(tmp_path / "first", f'{CLASSES}season = "leafless"\n{FACTOR}')
    copy = new_study(tmp_path / "copy", first)
    assert load_study(copy).content.clutter == load_study(first).content.clutter
    text = new_study(tmp_path / "bare", write_study(tmp_path / "without")).read_text("utf-8")
    assert "# [[clutter.leafless]]" in text
    assert "# height_factor" in text
