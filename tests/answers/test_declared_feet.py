"""A study whose terrain declares feet: converted, and said wherever results say what made them."""

import pytest
import rasterio

from combe.answers.check import check_report
from combe.answers.path import path_report
from combe.project import ground_height_m
from combe.study.project_of import load_project
from support_study import write_study

SAID = "heights of terrain.tif declared in ft, converted to metres"


@pytest.fixture
def study(tmp_path):
    path = write_study(tmp_path)
    with rasterio.open(tmp_path / "terrain.tif", "r+") as dataset:
        dataset.units = ("ft",)
    return load_project(path)


def test_feet_become_metres_and_check_notes_it(study, tmp_path):
    assert SAID in check_report(study).notes
    project, metres = study, load_project(write_study(tmp_path / "metres"))
    for station, same in zip(project.stations, metres.stations, strict=True):
        assert ground_height_m(project, station) == pytest.approx(0.3048 * ground_height_m(metres, same))


def test_every_result_says_that_heights_were_converted(study):
    made = path_report(study, "Parent Hill", "Combe Relay").provenance
    assert made["terrain"] == f"terrain.tif; taken as bare ground; heights above EGM96; {SAID}"
