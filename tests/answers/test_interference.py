"""Interference in coverage: exact answers on a flat plain in free space, and harm counted by hand."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.decibels import field_from_loss_dbuv_m
from combe.digits import spoken
from combe.propagation.p525 import free_space_loss_db
from combe.publishing.map_people import headline_html
from combe.reports.cover_map import map_content
from combe.standards.bt419 import directivity_db
from combe.study.project_of import load_project
from combe.terrain.grid import cell_centres_m
from support_cli import run, run_json
from support_flat import CELL_M, HEAD, NORTH_M, SIDE_M, WEST_M, lonlat_of, station_text, write_plain_study

WEST, EAST = (738_000.0, 4_040_000.0), (762_000.0, 4_040_000.0)
APART_M = 24_000.0
MHZ, PROTECTION_DB = 626.0, 20.0
POWER_SUM = HEAD + '\n[interference]\nmethod = "power sum"\n'
STRONG_W = 10_000.0


def two_stations(folder, *, channel=40, relay_w=STRONG_W, polarization="horizontal", head=POWER_SUM, **more):
    return write_plain_study(
        folder,
        station_text("West", *WEST, [("A", 40, STRONG_W)]),
        station_text("East", *EAST, [("A", channel, relay_w)], parent="West", polarization=polarization),
        head=head,
        **more,
    )


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(two_stations(tmp_path_factory.mktemp("plain"))))


def margin_along(report, which, x_m):
    """Return the judged margin of a station at x on the line through both stations."""
    x, y = cell_centres_m(report.grid)
    row = int(np.argmin(np.abs(y - WEST[1])))
    return report.stations[which].services[0].judged_margin_db[row, int(np.argmin(np.abs(x - x_m)))]


def algebra_margin_db(report, power_w=(STRONG_W, STRONG_W), crossed=False):
    """Return the margin of West by P.525, BT.419-3 and the power sum, on the grid's own coordinates."""
    x, y = cell_centres_m(report.grid)
    ways = [np.stack(np.broadcast_arrays(x0 - x[None, :], y0 - y[:, None])) for x0, y0 in (WEST, EAST)]
    fields = [
        field_from_loss_dbuv_m(10 * np.log10(w), free_space_loss_db(np.hypot(*way) / 1000, MHZ), MHZ)
        for way, w in zip(ways, power_w, strict=True)
    ]
    turn = np.degrees(np.arctan2(*ways[0]) - np.arctan2(*ways[1]))
    gain = np.full(turn.shape, -16.0) if crossed else directivity_db(turn)
    minimum = report.stations[0].services[0].minimum_field_dbuv_m
    nuisance = fields[1] + PROTECTION_DB + gain
    return fields[0] - 10 * np.log10(10 ** (minimum / 10) + 10 ** (nuisance / 10))


def test_the_boundary_lies_where_algebra_says(report):
    # BT.2033-2 Table 2: 256-QAM 2/3, Ricean: 20 dB is the co-channel ratio too. Between the stations the
    # aerial holds off 16 dB (BT.419-3): E1 - E2 = 20 log(d2/d1) = 4 dB. Behind West nothing: d2/d1 = 10.
    between = WEST[0] + APART_M / (1 + 10 ** (4 / 20))
    behind = WEST[0] - APART_M / 9
    for boundary, inwards in ((between, -1.0), (behind, 1.0)):
        assert margin_along(report, 0, boundary + inwards * CELL_M) > 0
        assert margin_along(report, 0, boundary - inwards * CELL_M) < 0


def wrong_share(report, expected):
    """Return in what share of the cells that are predicted West serves and should not, or the reverse."""
    found = report.stations[0].services[0].judged_margin_db
    known = ~np.isnan(found)
    assert known.mean() > 0.8
    return ((found >= 0) != (expected >= 0))[known].mean()


def test_the_whole_map_is_that_of_algebra(report):
    found = report.stations[0].services[0].judged_margin_db
    expected = algebra_margin_db(report)
    x, y = cell_centres_m(report.grid)
    away_m = [np.hypot(x[None, :] - place[0], y[:, None] - place[1]) for place in (WEST, EAST)]
    far = (np.minimum(*away_m) > 1000.0) & ~np.isnan(found)
    assert np.abs(found - expected)[far].max() < 0.05
    assert wrong_share(report, expected) < 0.002


def test_the_command_counts_the_people_of_algebra(tmp_path, report):
    path = two_stations(tmp_path)
    printed = run_json("cover", path, "--no-cache")
    x, y = cell_centres_m(report.grid)
    lived = np.outer((y < NORTH_M) & (y > NORTH_M - SIDE_M), (x > WEST_M) & (x < WEST_M + SIDE_M))
    expected = int((lived & (algebra_margin_db(report) >= 0)).sum())
    station = printed["stations"][0]["services"][0]
    assert station["people_served"] == pytest.approx(expected, abs=40)
    assert 0 < expected < 39_000
    everybody = printed["all_services"]
    assert everybody["people_served_before"] == pytest.approx(40_000)
    lost_and_won = everybody["people_newly_served"] - everybody["people_lost"]
    assert everybody["people_served"] == pytest.approx(everybody["people_served_before"] + lost_and_won)
    assert everybody["people_limited_by_interference"] == pytest.approx(everybody["people_unserved"])


def test_the_other_polarization_is_held_off_everywhere(tmp_path):
    report = cover_report(load_project(two_stations(tmp_path, polarization="vertical", people=False)))
    assert wrong_share(report, algebra_margin_db(report, crossed=True)) < 0.002
    text = POWER_SUM + "cross_polarization = false\n"
    open_report = cover_report(
        load_project(two_stations(tmp_path / "open", polarization="vertical", head=text, people=False))
    )
    assert wrong_share(open_report, algebra_margin_db(open_report)) < 0.002


def test_nothing_changes_where_nothing_interferes(tmp_path):
    far = cover_report(load_project(two_stations(tmp_path, channel=45)))
    assert not far.interference
    assert far.harm == ()
    assert "interference" not in far.provenance
    for covered in far.stations:
        service = covered.services[0]
        np.testing.assert_array_equal(service.judged_margin_db, service.margin_db)
    people = far.all_services.people
    assert (people.lost, people.limited_by_interference) == (0.0, 0.0)
    assert people.served_twice == pytest.approx(40_000)
    off = cover_report(
        load_project(two_stations(tmp_path / "off", head=HEAD + "\n[interference]\ncounted = false\n"))
    )
    assert (far.interference, off.interference) == (False, None)
    assert off.all_services.people == replace(people, limited_by_interference=None, interference_unknown=None)
    assert "not counted" in off.provenance["interference"]


def test_harm_on_a_used_channel_is_counted_and_never_nought(report):
    (harm,) = report.harm
    assert (harm.relay, harm.station, harm.service, harm.channel) == ("East", "West", "A", 40)
    x, y = cell_centres_m(report.grid)
    lived = np.outer((y < NORTH_M) & (y > NORTH_M - SIDE_M), (x > WEST_M) & (x < WEST_M + SIDE_M))
    expected = int((lived & (algebra_margin_db(report) < 0)).sum())
    assert harm.fall_below == pytest.approx(expected, abs=40)
    assert harm.served_otherwise + harm.left_without == pytest.approx(harm.fall_below)
    assert harm.left_without == pytest.approx(report.all_services.people.lost)
    assert harm.not_known == 0.0


def test_harm_by_hand_in_a_small_circle(tmp_path):
    # A relay 50 dB under West on its channel. With the ratio of 20 dB it harms where d1/d2 is over
    # 10**(30/20) = 31.6 and the aerial holds off nothing: within 24 km / 31.6 = 0.76 km, less to the west.
    weak_w = STRONG_W / 1e5
    report = cover_report(load_project(two_stations(tmp_path, relay_w=weak_w)))
    expected = algebra_margin_db(report, (STRONG_W, weak_w))
    x, y = cell_centres_m(report.grid)
    hit = np.argwhere(expected < 0)
    assert 5 < len(hit) < 40
    away_m = np.hypot(x[hit[:, 1]] - EAST[0], y[hit[:, 0]] - EAST[1])
    assert away_m.max() < 24_000 / (10**1.5 - 1) + CELL_M
    assert report.harm[0].cells == pytest.approx(len(hit), abs=2)
    assert report.harm[0].fall_below == pytest.approx(len(hit), abs=2)


def test_the_next_channel_counts_too(tmp_path):
    # Adjacent DVB: -30 dB (ITU-R BT.1368-13 Annex 2, from memory).
    report = cover_report(load_project(two_stations(tmp_path, channel=41, relay_w=1_000_000.0)))
    assert report.interference
    assert 0 < report.harm[0].cells < 2000


def test_a_log_normal_sum_asks_more_than_a_power_sum_of_medians(tmp_path, report):
    head = HEAD.replace("location_percent = 50.0", "location_percent = 95.0")
    wide = cover_report(load_project(two_stations(tmp_path, head=head)))
    assert wide.all_services.people.served < report.all_services.people.served


def test_the_table_shows_harm_and_loss(tmp_path):
    result = run("cover", two_stations(tmp_path), "--no-cache", "--full")
    assert result.exit_code == 0, result.output
    words = " ".join(result.stdout.split())
    assert "Outgoing harm: people whose station falls below the standard because of a relay" in words
    assert "served before newly served lost served unserved by interference" in words
    assert "East West A 40" in words


def test_the_map_shows_where_interference_limits_and_only_there(report, tmp_path):
    (layer,) = [each for each in map_content(report).layers if each.shows == "missing"]
    network = report.all_services
    limited = (network.noise_margin_db >= 0) & (network.margin_db < 0)
    np.testing.assert_array_equal(layer.field_dbuv_m >= 0, limited)
    np.testing.assert_allclose(layer.field_dbuv_m[limited], -network.margin_db[limited], atol=1e-5)
    (name, people), told = map_content(report).people_rows[0], network.people.limited_by_interference
    assert people.limited_by_interference == told > 0.5
    assert f"stay unserved, {spoken(told)} of them by interference" in headline_html(name, people)
    nobody = replace(people, limited_by_interference=0.0)
    assert "by interference" not in headline_html(name, nobody)
    far = cover_report(load_project(two_stations(tmp_path, channel=45, people=False)))
    assert {each.shows for each in map_content(far).layers} == {"margin", "field", "classes"}


def test_a_station_beyond_the_edge_of_the_map_disturbs_as_algebra_says(tmp_path):
    (west, south), (east, north) = lonlat_of(731_000.0, 4_025_000.0), lonlat_of(756_000.0, 4_055_000.0)
    area = f"cell_size_m = 200\narea_deg = [{west:.6f}, {south:.6f}, {east:.6f}, {north:.6f}]"
    head = POWER_SUM.replace("cell_size_m = 200", area)
    path = two_stations(tmp_path, head=head)
    found = cover_report(load_project(path))
    assert found.grid.west_m + found.grid.columns * CELL_M < EAST[0] - 4000.0
    assert wrong_share(found, algebra_margin_db(found)) < 0.002
    (harm,) = found.harm
    assert (harm.relay, harm.station) == ("East", "West")
    assert harm.cells == pytest.approx((algebra_margin_db(found) < 0).sum(), abs=40)
    assert found.stations[1].services[0].cells == found.grid.rows * found.grid.columns
    words = run("explain", path, "--at", "{:.5f},{:.5f}".format(*lonlat_of(752_000.0, 4_040_000.0))).stdout
    assert "East" in words
    assert run("check", path).exit_code == 0


def test_tables_of_many_pairs_and_rasters_are_cut_and_say_so(tmp_path, monkeypatch):
    path = two_stations(tmp_path)
    monkeypatch.setattr("combe.reports.cover.MOST_HARM", 0)
    monkeypatch.setattr("combe.reports.cover_layers.MOST_STATION_LAYERS", 1)
    words = " ".join(run("cover", path, "--no-cache", "--full").stdout.split())
    assert "1 more pairs, 1 of them with harm, " in words
    assert "This page holds the fields of 1 of the 2 services of single stations" in words
    assert "map.html, index.html, 2 rasters; --full names them" in run("cover", path, "--no-cache").stdout
    printed = run_json("cover", path, "--no-cache")
    assert len(printed["harm"]) == 1
    assert printed["map_left_out"].startswith("This page holds")
