"""Scans of the receiving aerial's height, and the search of its best bearing."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from combe.answers.feed import feed_report, relay_sites
from combe.answers.path import path_report
from combe.answers.scan import (
    _course,
    bearing_search,
    course_words,
    height_scan,
    margin_words,
    scan_heights,
)
from combe.answers.scan_ground import GroundRay
from combe.errors import RangeError
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FAR_STATION, untold
from support_flat import HEAD, station_text, write_plain_study
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


@pytest.mark.parametrize("text", [STUDY, DIGITAL], ids=["blocked", "clear"])
def test_margins_of_a_scan_are_those_of_feeds_written_with_that_height(tmp_path, text):
    given, heights_m = {STUDY: 12.0, DIGITAL: 15.0}[text], (6.0, 40.0)
    scan = height_scan(site_of(tmp_path, text), heights_m)
    for at, height_m in enumerate(heights_m):
        changed = edited((f"height_m = {given}\ngain" if text == DIGITAL else f"height_m = {given}",
                          f"height_m = {height_m}\ngain" if text == DIGITAL else f"height_m = {height_m}"),
                         text=text)  # fmt: skip
        (relay,) = feed_report(load_project(write_study(tmp_path / f"{at}", changed))).relays
        assert relay.side.aerial_height_m == height_m
        for service, found in zip(relay.services, scan.services, strict=True):
            assert found.margin_db[at] == pytest.approx(service.budget.margin_db, abs=1e-9)
            assert found.fade_db[at] == pytest.approx(service.budget.fade_db, abs=1e-9)
            at_time = service.budget.field_strength_at_time_dbuv_m
            assert found.field_at_time_dbuv_m[at] == pytest.approx(at_time, abs=1e-9)


def test_other_stations_on_the_aerial_leave_the_margins_of_a_scan_as_they_are(tmp_path):
    alone = height_scan(site_of(tmp_path / "alone", DIGITAL), (10.0, 20.0))
    loud = height_scan(
        site_of(tmp_path / "loud", DIGITAL + FAR_STATION.format(channel=22, erp_w=20_000.0)), (10.0, 20.0)
    )
    assert [each.margin_db for each in loud.services] == [each.margin_db for each in alone.services]


def test_the_least_margin_of_a_scan_in_words(tmp_path):
    scan = height_scan(site_of(tmp_path, STUDY), (6.0, 12.0, 40.0))
    low, planned, high = (min(each.margin_db[at] for each in scan.services) for at in (0, 1, 2))
    assert scan.least_margin_db == (low, planned, high)
    assert low < planned < high
    assert margin_words(scan) == (
        f"For 99 % of time the least margin is {planned:.1f} dB at the planned 12 m; "
        f"{low:.1f} to {high:.1f} dB in this scan"
    )


def test_a_margin_that_is_not_known_at_the_planned_height_is_not_known_at_any(tmp_path):
    kept = edited(('"Mux A", channel = 41', '"Mux A", channel = 22'), text=untold(DIGITAL))
    scan = height_scan(site_of(tmp_path, kept), (10.0, 20.0))
    assert scan.services[0].margin_db is None
    assert scan.services[1].margin_db is not None
    assert scan.least_margin_db is None
    assert margin_words(scan) == "For 99 % of time the margin is not known"


SERVICES = [("Mux A", 22, 1000.0), ("Mux C", 28, 1000.0)]
OVER_THE_PLAIN = HEAD.replace('model = "free-space"\n', "").replace("location_percent = 50.0\n", "")


def plain_site(folder, *, tx_height_m=120.0):
    """Return a relay 12 km away on a plain, received at 30 m."""
    parent = station_text("West", 740_000.0, 4_040_000.0, SERVICES)
    relay = station_text(
        "East", 752_000.0, 4_040_000.0, [("Mux A", 41, 10.0), ("Mux C", 47, 10.0)], parent="West"
    )
    study = write_plain_study(
        folder,
        parent.replace("height_m = 10.0", f"height_m = {tx_height_m}"),
        relay.replace("height_m = 12.0", "height_m = 30.0"),
        head=OVER_THE_PLAIN,
        people=False,
    )
    (site,) = relay_sites(load_project(study))
    return site


def test_over_a_plain_nulls_are_expected_at_whole_wavelengths_of_difference(tmp_path):
    """On a flat Earth the first is at λ d / (2 h1), 31.1 m at 482 MHz; the bend of the Earth lifts it."""
    scan = height_scan(plain_site(tmp_path), (5.0, 20.0, 60.0))
    first, last = scan.ground_rays
    assert (first.service, last.service, first.parent) == ("Mux A", "Mux C", "West")
    assert first.ray.expected
    assert first.zone is None
    (null_m,) = first.null_height_m
    assert 31.1 < null_m < 33.0
    assert len(last.null_height_m) == 2
    assert first.lobe_height_m[0] == pytest.approx(null_m / 2.0, abs=0.2)
    assert scan.ground_ray is first
    assert scan.short_words[-1].endswith(
        f"; ground where it is reflected, 9.53 km from West, is even: expect them, Mux A at {null_m:.1f} m"
    )
    assert [words[:15] for words in scan.words[-2:]] == ["Mux A: nulls at", "Mux C: nulls at"]
    assert "0.0 m, less than the 6.5 m of Rayleigh's criterion: expect nulls" in scan.words[-3]


def test_over_hills_no_nulls_are_expected_and_none_is_told(tmp_path):
    scan = height_scan(site_of(tmp_path, DIGITAL), (10.0, 20.0))
    ray = scan.ground_ray.ray
    assert ray.relief_m > 10.0 * ray.allowed_relief_m
    assert scan.words[-1].endswith(
        f"more than the {ray.allowed_relief_m:.1f} m of Rayleigh's criterion: expect no nulls"
    )
    assert scan.short_words[-1].endswith(" km from Long Moor, is too uneven")
    assert not any("nulls at" in each for each in scan.words)


def test_a_path_that_does_not_clear_the_ground_has_no_reflected_ray(tmp_path):
    blocked = height_scan(site_of(tmp_path / "blocked", STUDY), (10.0, 20.0))
    assert (blocked.ground_rays, blocked.ground_ray) == ((), None)
    grazing = plain_site(tmp_path / "grazing", tx_height_m=12.0)
    assert grazing.path.services[0].prediction.line_of_sight
    assert height_scan(grazing, (10.0, 40.0)).ground_rays == (), "seen, but with too little room"


@pytest.mark.parametrize(
    ("code", "words"), [(1, "West, on sea, at"), (3, "West, on coastal land, at"), (4, "West, inland, at")]
)
def test_the_zone_at_the_place_of_reflection_is_named(tmp_path, code, words):
    site = plain_site(tmp_path)
    zone = np.full(site.path.profile.distance_km.size, 4 if code != 4 else 1, dtype=np.uint8)
    index = height_scan(site, (10.0, 20.0)).ground_rays[0].ray.index
    zone[index - 1 : index + 2] = code
    found = height_scan(replace(site, path=replace(site.path, zone=zone)), (10.0, 20.0)).ground_rays[0]
    assert words in found.words
    assert found.zone == {1: "sea", 3: "coastal land", 4: "inland"}[code]


def test_cover_counts_as_ground_that_rises_and_falls(tmp_path):
    site = plain_site(tmp_path)
    cover_m = np.zeros(site.path.profile.distance_km.size)
    cover_m[height_scan(site, (10.0, 20.0)).ground_rays[0].ray.index] = 15.0
    found = height_scan(replace(site, path=replace(site.path, clutter_height_m=cover_m)), (10.0, 20.0))
    assert found.ground_rays[0].ray.relief_m == pytest.approx(15.0, abs=1.0)
    assert not found.ground_rays[0].ray.expected


def test_many_heights_of_nulls_are_not_all_named():
    ray = SimpleNamespace(expected=True)
    found = GroundRay("Mux A", "West", ray, None, (1.0, 2.0, 3.0, 4.0, 5.0), ())
    assert found.null_words == (
        "Mux A: nulls at 1.0, 2.0, 3.0, 4.0 m and on; most field, up to 6 dB over the direct ray, "
        "at none within it"
    )
