"""Whose error a margin has, cell by cell: that of the strongest station, and of the weakest service."""

import math

import numpy as np
import pytest

from combe.answers.corrections import corrections_of, station_error
from combe.answers.cover import cover_report
from combe.answers.margin_errors import network_errors
from combe.planning import take_census
from combe.terrain import people_on_grid
from combe.terrain.grid import cell_centres_m
from support_survey import measured_off_by, study_with


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("errors")
    rows = measured_off_by(folder, [4.0] * 8)
    return cover_report(study_with(folder / "study", rows, apply="true"))


def test_a_margin_is_as_unsure_as_the_field_of_its_strongest_station(report):
    """The relay alone was measured, at eight places: 8/13 of the variance of its common error is known."""
    corrections = corrections_of(report.project)
    census = take_census(report.people, report.grid)
    every, *services = network_errors(report.run, corrections, report.error, census)
    left_db = 4.0 * math.sqrt(5.0 / 13.0)
    parents, relay = report.stations
    by_service = []
    for found, parent, other in zip(services, parents.services, relay.services, strict=True):
        wins = np.nan_to_num(other.margin_db, nan=-999.0) > np.nan_to_num(parent.margin_db, nan=-999.0)
        known = ~np.isnan(parent.margin_db) & ~np.isnan(other.margin_db)
        assert 0.05 < wins[known].mean() < 0.95
        np.testing.assert_allclose(found.after.common_db[known], np.where(wins, left_db, 4.0)[known])
        np.testing.assert_allclose(found.before.common_db[known], 4.0)
        lived = known & (people_on_grid(report.grid, report.people) > 0.0)
        assert lived.any()
        np.testing.assert_allclose(found.after.place_db[lived], 7.5)
        by_service.append((np.fmax(parent.margin_db, other.margin_db), found.after.common_db))
    (one, one_db), (two, two_db) = by_service
    known = ~np.isnan(one) & ~np.isnan(two)
    expected = np.where(one <= two, one_db, two_db)
    np.testing.assert_allclose(every.after.common_db[known], expected[known])


def test_without_a_correction_the_error_is_that_of_the_project(report):
    census = take_census(report.people, report.grid)
    found = network_errors(report.run, {}, report.error, census)
    assert len(found) == 3
    assert all(each.after == each.before == (4.0, 7.5) for each in found)


def test_a_station_that_was_not_measured_keeps_its_error(report):
    corrections = corrections_of(report.project)
    places = np.meshgrid(*cell_centres_m(report.grid))
    here = tuple(each.ravel()[:5] for each in places)
    assert station_error(corrections, "Parent Hill", report.error, here, here) == (4.0, 7.5)
    assert station_error(corrections, "Combe Relay", report.error, here, here) == (
        pytest.approx(4.0 * math.sqrt(5.0 / 13.0)),
        7.5,
    )
