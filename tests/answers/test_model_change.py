"""What a model and a share of time change."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.model_change import model_change, time_change
from combe.study.new import demo_study_path
from combe.study.project_of import load_project


@pytest.fixture(scope="module")
def cover():
    study = load_project(demo_study_path())
    return cover_report(replace(study, grid=replace(study.grid, cell_size_m=240.0)))


def test_p1812_is_diffraction_over_short_paths_in_the_median_of_time(cover):
    change = model_change(cover, "p526")
    assert change.other_model == "p526"
    for station in change.stations:
        # P.1812 prints 92.4 where P.525 has 92.4478 for free space: 0.05 dB.
        assert station.median_db == pytest.approx(0.048, abs=0.02)
        assert station.lowest_db <= station.median_db <= station.highest_db
    assert change.served_before == pytest.approx(cover.all_services.people.served_before, rel=0.02)


def test_little_time_brings_more_field(cover):
    for station in time_change(cover, 1.0):
        assert station.median_db < -0.5
        assert station.highest_db <= 0.01


def test_a_study_without_people(cover):
    bare = cover_report(replace(cover.project, people=None))
    change = model_change(bare, "free-space")
    assert change.served_before is None
    assert change.newly_served is None
    assert change.stations[0].highest_db <= 0.06
    assert np.isfinite(change.stations[0].lowest_db)
