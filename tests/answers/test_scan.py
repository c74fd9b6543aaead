"""Scans of the receiving aerial's height, and the search of its best bearing."""

import math

import pytest

from combe.answers.feed import relay_sites
from combe.answers.path import path_report
from combe.answers.scan import _course, bearing_search, course_words, height_scan, scan_heights
from combe.errors import RangeError
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FAR_STATION
from support_study import STUDY, edited, write_study


def site_of(folder, text):
    (site,) = relay_sites(load_project(write_study(folder, text)))
    return site


def test_heights_hold_both_ends():
    assert scan_heights(5.0, 8.0, 1.0) == (5.0, 6.0, 7.0, 8.0)
    assert scan_heights(5.0, 8.0, 2.0) == (5.0, 7.0, 8.0)
    assert scan_heights(0.1 * 30, 0.1 * 33, 0.1) == (3.0, 3.1, 3.2, 3.3)


@pytest.mark.parametrize(
    ("heights", "message"),
    [
        ((0.5, 8.0, 1.0), "lowest height of the scan is 0.5; allowed: 1 to 500"),
        ((5.0, 800.0, 1.0), "highest height of the scan is 800.0; allowed: 1 to 500"),
        ((8.0, 5.0, 1.0), "highest height of the scan is 5.0; allowed: more than 8"),
        ((5.0, 8.0, 0.0), "step of the scan is 0.0; allowed: more than 0"),
        ((5.0, 8.0, math.nan), "step of the scan is nan; allowed: more than 0"),
        ((1.0, 500.0, 0.1), "number of heights of the scan is 4991; allowed: 2 to 500; take another step"),
        ((5.0, 8.0, 9.0), "number of heights of the scan is 1; allowed: 2 to 500; take another step"),
    ],
)
def test_heights_refused(heights, message):
    with pytest.raises(RangeError) as caught:
        scan_heights(*heights)
    assert str(caught.value) == message


def test_a_blocked_path_climbs_with_height(tmp_path):
    site = site_of(tmp_path, STUDY)
    scan = height_scan(site, (6.0, 12.0, 24.0, 48.0))
    first = scan.services[0]
    assert list(first.field_dbuv_m) == sorted(first.field_dbuv_m)
    path = path_report(load_project(tmp_path / "study.toml"), "Parent Hill", "Combe Relay").services[0]
    assert (
        first.field_dbuv_m[1] == first.planned_dbuv_m == pytest.approx(path.field_strength_dbuv_m, abs=1e-9)
    )
    assert (first.course, first.best_height_m) == ("climbing", 48.0)
    assert first.best_gain_db == pytest.approx(first.field_dbuv_m[3] - first.planned_dbuv_m)
    assert course_words(scan, first).startswith("Mux 1: climbing at the planned 12 m (+")


def test_a_clear_path_is_level(tmp_path):
    scan = height_scan(site_of(tmp_path, DIGITAL), (10.0, 15.0, 20.0))
    assert [each.course for each in scan.services] == ["level"] * 3
    assert course_words(scan, scan.services[0]).endswith("nowhere more in this scan")


def test_nulls_of_a_reflected_ray_stand_half_a_wavelength_of_path_apart(tmp_path):
    """λd/(2h), plane geometry: common practice, no source; h over the line fitted through the ground."""
    site = site_of(tmp_path, DIGITAL)
    scan = height_scan(site, (10.0, 20.0))
    profile = site.path.profile
    mean_x, mean_y = profile.distance_km.mean(), profile.height_m.mean()
    slope = ((profile.distance_km - mean_x) * (profile.height_m - mean_y)).sum() / (
        (profile.distance_km - mean_x) ** 2
    ).sum()
    over_m = profile.height_m[0] + 150.0 - (mean_y - slope * mean_x)
    expected = 299.792458 / 482.0 * 1000.0 * profile.distance_km[-1] / (2.0 * over_m)
    assert scan.null_spacing_m == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("fields", "slope", "course"),
    [
        ((60.0, 55.0, 61.0), 0.5, "in a null"),
        ((60.0, 58.0, 61.0), 0.5, "climbing"),
        ((50.0, 55.0, 61.0), 0.5, "climbing"),
        ((61.0, 55.0, 50.0), -0.5, "falling"),
        ((55.0, 55.0, 55.0), 0.01, "level"),
    ],
)
def test_the_course_of_a_field(fields, slope, course):
    assert _course((10.0, 15.0, 20.0), fields, 15.0, fields[1], slope) == course


def test_the_aerial_turns_away_from_an_interferer_beside_the_parent(tmp_path):
    """Far Top put 40 degrees off the parent: turning away gains, at no more than 3 dB of the wanted field."""
    near = (
        FAR_STATION.replace("-84.36", "-84.12")
        .replace("36.60", "36.72")
        .replace('"vertical"', '"horizontal"')
    )
    site = site_of(tmp_path, DIGITAL + near.format(channel=22, erp_w=100.0))
    choice = bearing_search(site)
    parent_deg = site.way.arrival_deg
    far_deg = next(each.signal.bearing_deg for each in site.arrivals if each.signal.station == "Far Top")
    assert 20.0 < parent_deg - far_deg < 60.0
    assert choice.bearing_deg > parent_deg
    assert choice.margin_db > choice.margin_at_parent_db
    assert 0.0 <= choice.wanted_loss_db <= 3.0


def test_without_interference_there_is_nothing_to_search(tmp_path):
    assert bearing_search(site_of(tmp_path, DIGITAL)) is None
    off = DIGITAL + FAR_STATION.format(channel=60, erp_w=100.0)
    assert bearing_search(site_of(tmp_path, off)) is None


def test_only_the_services_that_are_re_radiated_are_scanned(tmp_path):
    text = edited(('{ name = "Mux C", channel = 47, erp_w = 50.0 }', ""), text=DIGITAL).replace(
        "[8.3, 8.3, 8.3]", "[8.3, 8.3]"
    )
    scan = height_scan(site_of(tmp_path, text), (10.0, 20.0))
    assert [each.service.name for each in scan.services] == ["Mux A", "Mux B"]
