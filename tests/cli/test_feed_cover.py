"""The feed page of a study with ground cover: the profile shows it and the words tell of it."""

import numpy as np

from combe.answers.feed import feed_report
from combe.cli.feed_content import feed_content
from combe.study.project_of import load_project
from support_study import edited, write_study
from support_terrain import write_tif


def diagram(study):
    ((svg, words),) = feed_content(feed_report(load_project(study))).relays[0].diagrams
    return svg, words


def test_the_diagram_shows_the_cover_that_the_study_has(tmp_path):
    bare, words = diagram(write_study(tmp_path))
    assert "ground cover" not in bare
    assert words.startswith("Profile of the ground from Parent Hill to Combe Relay")
    write_tif(tmp_path / "cover.tif", np.full((400, 400), 10, dtype=np.uint8), -84.45, 36.80, 0.001)
    section = '[clutter]\nraster = "cover.tif"\nlegend = "worldcover"\n\n[people]'
    covered, words = diagram(write_study(tmp_path, edited(("[people]", section))))
    assert "ground cover" in covered
    assert words.startswith("Profile of the ground and its cover from Parent Hill to Combe Relay")
