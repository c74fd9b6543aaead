"""The survey of a study: errors over the exact path, and the correction on the maps that says so."""

import numpy as np
import pytest

from combe.answers.corrections import corrections_of
from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.answers.path import path_report
from combe.answers.survey import survey_report
from combe.errors import RangeError, StudyError, TerrainGapError
from combe.study.project_of import load_project
from support_study import edited, write_study
from support_survey import measured_off_by, study_with


def test_the_prediction_is_that_of_the_exact_path(tmp_path):
    rows = ["-84.20,36.60,Parent Hill,Mux 2,60.0,12", "-84.20,36.60,Parent Hill,Mux 1,61.0,12"]
    study = study_with(tmp_path, rows)
    path = path_report(study, "Parent Hill", "Combe Relay")
    errors = survey_report(study).errors
    by_name = {each.service.name: each for each in path.services}
    assert [each.point.service for each in errors] == ["Mux 2", "Mux 1"]
    for each, measured in zip(errors, (60.0, 61.0), strict=True):
        expected = by_name[each.point.service]
        assert each.predicted_dbuv_m == pytest.approx(expected.field_strength_dbuv_m, abs=1e-9)
        assert each.error_db == pytest.approx(measured - expected.field_strength_dbuv_m)
        assert each.line_of_sight == expected.prediction.line_of_sight
        assert each.diffraction_loss_db == expected.prediction.diffraction_loss_db


def test_the_report(tmp_path):
    rows = measured_off_by(tmp_path, [4.0] * 8)
    report = survey_report(study_with(tmp_path / "study", rows))
    assert (report.whole.count, report.whole.places) == (8, 8)
    assert report.whole.mean_db == pytest.approx(4.0, abs=1e-5)
    assert report.whole.deviation_db == pytest.approx(0.0, abs=1e-5)
    (correction,) = report.corrections
    assert correction.offset_db == pytest.approx(4.0 * 8.0 / 13.0, abs=1e-5)
    assert (report.applied, report.refusals) == (False, ())
    assert sum(each.count for each in report.distances) == 8
    assert sum(each.count for each in report.obstructions) == 8


def test_a_survey_too_small_is_reported_and_not_applied(tmp_path):
    rows = measured_off_by(tmp_path, [4.0] * 8)[:3]
    report = survey_report(study_with(tmp_path / "study", rows))
    assert report.corrections == ()
    assert "survey places of Combe Relay in points.csv is 3; allowed: 5 or more" in report.refusals[0]
    with pytest.raises(RangeError, match=r"survey places of Combe Relay in points\.csv is 3"):
        cover_report(study_with(tmp_path / "applied", rows, apply="true"))


def test_the_correction_raises_the_maps_of_its_station_and_is_stated(tmp_path):
    rows = measured_off_by(tmp_path, [4.0] * 8)
    plain = cover_report(study_with(tmp_path / "plain", rows))
    raised = cover_report(study_with(tmp_path / "raised", rows, apply="true"))
    offset = 4.0 * 8.0 / 13.0
    for before, after in zip(plain.stations, raised.stations, strict=True):
        expected = offset if before.station.name == "Combe Relay" else 0.0
        for old, new in zip(before.services, after.services, strict=True):
            assert new.field_map.field_dbuv_m.dtype == np.float32
            moved = new.field_map.field_dbuv_m - old.field_map.field_dbuv_m
            assert np.nanmax(np.abs(moved - expected)) < 1e-4
            stated = "local correction" in new.field_map.provenance
            assert stated == (before.station.name == "Combe Relay")
    assert "local correction" not in plain.provenance
    assert raised.provenance["local correction"] == (
        "fields raised or lowered by survey: Combe Relay +2.5 dB (mean error +4.0 dB at 8 survey places of "
        "points.csv, weighted 0.62)"
    )
    assert raised.all_services.people.served >= plain.all_services.people.served


def test_a_study_without_a_survey(tmp_path):
    study = load_project(write_study(tmp_path))
    with pytest.raises(
        StudyError, match=r'survey: is missing; write a \[survey\] table with points = "points'
    ):
        survey_report(study)


def test_a_point_beyond_the_terrain_is_named(tmp_path):
    study = study_with(tmp_path, ["-84.20,38.0,Combe Relay,Mux 1,50.0,10"])
    with pytest.raises(TerrainGapError, match="survey point in row 2"):
        survey_report(study)


def test_a_file_that_is_not_there_is_a_fault_of_the_study(tmp_path):
    text = edited(("[[stations]]", '[survey]\npoints = "none.csv"\n\n[[stations]]'))
    with pytest.raises(StudyError, match=r'survey\.points: "none\.csv": there is no such file'):
        load_project(write_study(tmp_path, text))


def test_a_place_is_explained_with_the_correction(tmp_path):
    rows = measured_off_by(tmp_path, [6.0] * 8)
    plain = explain_place(study_with(tmp_path / "plain", rows), -84.22, 36.58)
    study = study_with(tmp_path / "raised", rows, apply="true")
    raised = explain_place(study, -84.22, 36.58)
    offset_db = corrections_of(study)["Combe Relay"].offset_db
    change = {
        one.station.name: other.field_dbuv_m - one.field_dbuv_m
        for one in plain.services[0].candidates
        for other in raised.services[0].candidates
        if one.station.name == other.station.name
    }
    assert change == {"Parent Hill": 0.0, "Combe Relay": pytest.approx(offset_db, abs=1e-6)}
    assert offset_db > 1.0
    assert "local correction" in raised.provenance
    assert "local correction" not in plain.provenance
