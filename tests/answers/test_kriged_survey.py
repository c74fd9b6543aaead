"""A survey kriged into the maps of its station: what they gain, and how the range narrows, or nothing."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.corrections import corrections_of, station_error
from combe.answers.cover import cover_report
from combe.answers.explain import explain_place
from combe.answers.model_change import time_change
from combe.answers.prediction_error import error_of
from combe.answers.survey import survey_report
from combe.digits import true_minus
from combe.errors import RangeError
from combe.planning.survey import LocalCorrection
from combe.project import project_grid
from combe.reports.survey import document
from combe.terrain.grid import cell_centres_m, to_grid_m
from support_survey import measured_off_by, study_with

pytest.importorskip("sklearn")

PLACES = [(-84.24 + 0.02 * (step % 5), 36.55 + 0.02 * (step // 5)) for step in range(25)]


def slope(places, mean_db=4.0):
    """Return errors that rise from west to east, so that they hang together, about a mean."""
    return [mean_db + 120.0 * (lon + 84.20) for lon, _ in places]


@pytest.fixture(scope="module")
def studies(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kriged")
    rows = measured_off_by(folder, slope(PLACES), places=PLACES)
    return {
        name: study_with(folder / name, rows, apply=apply)
        for name, apply in (("plain", "false"), ("mean", "true"), ("kriged", '"kriged"'))
    }


@pytest.fixture(scope="module")
def covers(studies):
    return {name: cover_report(study) for name, study in studies.items()}


def test_the_maps_follow_what_was_measured(studies, covers):
    (found,) = corrections_of(studies["kriged"]).values()
    assert found.kind == "kriged"
    plain, other = covers["plain"], covers["kriged"]
    x_m, y_m = np.meshgrid(*cell_centres_m(plain.grid))
    expected = found.correction_db(x_m, y_m)
    for one, two in zip(plain.stations, other.stations, strict=True):
        for old, new in zip(one.services, two.services, strict=True):
            moved = new.field_map.field_dbuv_m - old.field_map.field_dbuv_m
            wanted = expected if one.station.name == "Combe Relay" else 0.0
            assert np.nanmax(np.abs(moved - wanted)) < 1e-4
            assert new.field_map.field_dbuv_m.dtype == np.float32
    for (lon, lat), error in zip(PLACES, slope(PLACES), strict=True):
        x, y = to_grid_m(plain.grid, lon, lat)
        assert float(found.correction_db(x, y)) == pytest.approx(error, abs=1.5)


def test_margins_and_people_are_judged_with_the_corrected_fields(covers):
    plain, other = covers["plain"], covers["kriged"]
    relay = other.stations[1].services[0]
    alone = relay.field_map.field_dbuv_m - relay.minimum_field_dbuv_m
    network = other.services[0]
    best = np.fmax(alone, other.stations[0].services[0].margin_db)
    np.testing.assert_allclose(network.noise_margin_db, best, atol=1e-4)
    assert network.people.served != plain.services[0].people.served
    assert "Combe Relay" in other.provenance["local correction"]
    assert "kriged over" in other.provenance["local correction"]


def test_the_range_is_narrower(covers):
    def width(name):
        served = covers[name].all_services.ranges.served
        return served.high - served.low

    # Most of the people are served by the parent, of which nothing was measured.
    assert width("kriged") < 0.98 * width("plain")
    assert "what the survey tells of it taken off" in covers["kriged"].provenance["error of the prediction"]
    assert "taken off" not in covers["plain"].provenance["error of the prediction"]


def test_what_kriging_leaves_is_common_as_far_as_homes_have_it_in_common(studies):
    """With 3 dB of each place alone, and the homes two that are near one another, or far apart."""
    (known,) = corrections_of(studies["kriged"]).values()
    found = replace(known, alone_db=3.0)
    grid = project_grid(studies["kriged"])
    x_m, y_m = (np.array([grid.west_m, grid.west_m + 3000.0]), np.array([grid.north_m] * 2))
    near_m = x_m * np.array([1.0, 0.0]) + (x_m[0] + 1.0) * np.array([0.0, 1.0]), y_m
    error = error_of(studies["kriged"])
    left_db = found.deviation_db(x_m, y_m)
    far, near = (
        station_error({"Combe Relay": found}, "Combe Relay", error, (x_m, y_m), homes_m)
        for homes_m in ((x_m, y_m), near_m)
    )
    assert far.common_db < near.common_db == pytest.approx(left_db[0], rel=1e-3)
    for each in (far, near):
        own = np.maximum(left_db**2 - each.common_db**2, 0.0)
        np.testing.assert_allclose(each.place_db, np.sqrt(own + 9.0))


def test_another_survey_is_another_run(studies, covers, tmp_path):
    again = cover_report(studies["kriged"], cache_folder=tmp_path, tile_bytes=20_000)
    assert again.taken_up.tiles > 1
    np.testing.assert_array_equal(again.all_services.margin_db, covers["kriged"].all_services.margin_db)
    plain = cover_report(studies["plain"], cache_folder=tmp_path)
    np.testing.assert_array_equal(plain.all_services.margin_db, covers["plain"].all_services.margin_db)


def test_a_place_is_explained_with_the_kriged_correction(studies):
    plain, other = (explain_place(studies[name], -84.18, 36.59) for name in ("plain", "kriged"))
    (found,) = corrections_of(studies["kriged"]).values()

    def relay(explained):
        return next(each for each in explained.services[0].candidates if each.station.name == "Combe Relay")

    moved = relay(other).field_dbuv_m - relay(plain).field_dbuv_m
    x, y = to_grid_m(project_grid(studies["plain"]), -84.18, 36.59)
    assert moved == pytest.approx(float(found.correction_db(x, y)), abs=1e-6)
    assert moved > 3.0


def test_the_change_of_a_model_leaves_the_correction_out(covers):
    for change in time_change(covers["kriged"], 50.0):
        assert (change.lowest_db, change.highest_db) == (pytest.approx(0.0, abs=1e-4),) * 2


def test_the_survey_tells_what_is_left_where_each_place_is_left_out(studies):
    report = survey_report(studies["kriged"])
    (found,) = report.kriged
    assert found.left_out_db < found.uncorrected_db
    said = document(report).headline[-1]
    assert said == f"Kriged, applied to the maps: {true_minus(found.words)}."
    assert survey_report(studies["plain"]).kriged == ()
    assert isinstance(survey_report(studies["plain"]).corrections[0], LocalCorrection)


def test_a_survey_of_too_few_places_is_refused_and_noted(tmp_path):
    rows = measured_off_by(tmp_path, [4.0] * 8)
    study = study_with(tmp_path / "few", rows, apply='"kriged"')
    words = r"survey places of Combe Relay in points\.csv is 8; allowed: 10 or more"
    with pytest.raises(RangeError, match=words):
        cover_report(study)
    assert any("allowed: 10 or more" in each for each in survey_report(study).refusals)


def test_a_survey_that_does_not_help_changes_nothing(tmp_path):
    random = np.random.default_rng(8)
    errors = random.normal(0.0, 6.0, len(PLACES))
    rows = measured_off_by(tmp_path, list(errors - errors.mean()), places=PLACES)
    study = study_with(tmp_path / "noise", rows, apply='"kriged"')
    (found,) = corrections_of(study).values()
    assert found.kind == "none"
    plain, other = cover_report(replace(study, survey=None)), cover_report(study)
    np.testing.assert_array_equal(plain.all_services.margin_db, other.all_services.margin_db)
    assert plain.all_services.ranges == other.all_services.ranges
    assert "not corrected, since it does not help" in other.provenance["local correction"]
