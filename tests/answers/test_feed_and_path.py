"""Paths and feeds of a study, against the parts they are made of."""

from dataclasses import replace

import pytest

from combe.answers.feed import feed_report
from combe.answers.path import path_report, predict_between
from combe.errors import RangeError, StudyError
from combe.geodesy import bearing_deg, distance_km
from combe.propagation.p525 import free_space_loss_db
from combe.propagation.p2001 import TYPICAL_CLIMATES
from combe.study.project_of import load_project
from support_study import STUDY, edited, write_study

PLACES = (-84.33, 36.70, -84.20, 36.60)
FREE_SPACE = ("invented = true", 'invented = true\nmodel = "free-space"')


def study_of(folder, *changes):
    return load_project(write_study(folder, edited(*changes)))


def test_the_path_is_the_geodesic_between_the_stations(tmp_path):
    report = path_report(study_of(tmp_path), "Parent Hill", "Combe Relay")
    assert report.services[0].prediction.distance_km == pytest.approx(distance_km(*PLACES), abs=1e-9)
    assert report.bearing_deg == pytest.approx(bearing_deg(*PLACES), abs=1e-9)
    assert report.tx_height_m == 60.0
    assert report.rx_height_m == 12.0, "the relay's receiving aerial"
    assert [each.service.channel for each in report.services] == [27, 31]
    assert all(each.prediction.diffraction_loss_db > 0.0 for each in report.services)


def test_the_clearance_is_that_of_the_air_of_the_study_and_of_its_climate(tmp_path):
    report = path_report(study_of(tmp_path), "Parent Hill", "Combe Relay")
    for each in report.services:
        assert each.clearance.median.effective_radius_km == each.prediction.conditions.effective_radius_km
        assert each.clearance.median.edge_index == each.prediction.controlling_index
        assert each.clearance.median.blocked is not each.prediction.line_of_sight
        assert each.clearance.exceeded_99_9.clearance_m < each.clearance.median.clearance_m
        assert report.of_service(each.service.name) is each
    first, second = (each.clearance.median for each in report.services)
    assert first.clearance_m == second.clearance_m
    assert first.first_fresnel_m > second.first_fresnel_m, "by its frequency"
    desert = replace(study_of(tmp_path), climate=TYPICAL_CLIMATES["desert"])
    other = path_report(desert, "Parent Hill", "Combe Relay").services[0].clearance
    assert other.median == first
    # SΔN 40, sub_slope 40: −40 − 40 log(0.002) = 67.96 N/km; 6371 · 157 / (157 + 67.96) = 4446.4 km.
    assert other.exceeded_99_9.effective_radius_km == pytest.approx(4446.4, abs=0.1)


def test_ends_so_near_that_no_ground_lies_between_them_have_no_clearance(tmp_path):
    project = study_of(tmp_path, FREE_SPACE)
    sender = project.station("Parent Hill")
    near = replace(sender, name="Near", latitude_deg=sender.latitude_deg + 5e-7)
    report = predict_between(project, sender, near, 12.0)
    assert report.profile.distance_km.size == 2
    assert [each.clearance for each in report.services] == [None, None]


def test_the_way_back_ends_at_the_other_aerial(tmp_path):
    report = path_report(study_of(tmp_path), "Combe Relay", "Parent Hill")
    assert (report.tx_height_m, report.rx_height_m) == (20.0, 60.0)
    assert report.bearing_deg == pytest.approx(bearing_deg(*PLACES[2:], *PLACES[:2]), abs=1e-9)


def test_the_field_of_a_station_and_that_of_1_kw_have_two_names(tmp_path):
    weaker = ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 50.0")
    for given in (FREE_SPACE, ("invented = true", 'invented = true\nmodel = "p1812"')):
        first = path_report(study_of(tmp_path, given, weaker), "Parent Hill", "Combe Relay").services[0]
        # 50 W are 13.01 dB under 1 kW.
        lower_dbuv_m = first.prediction.field_strength_1kw_dbuv_m - 13.0103
        assert first.field_strength_dbuv_m == pytest.approx(lower_dbuv_m, abs=1e-4)
        assert not hasattr(first.prediction, "field_strength_dbuv_m")


def test_a_path_needs_two_stations(tmp_path):
    with pytest.raises(RangeError, match='from "Parent Hill" to itself; allowed: two stations'):
        path_report(study_of(tmp_path), "Parent Hill", "parent hill")


def test_the_feed_in_free_space_adds_up_by_hand(tmp_path):
    (relay,) = feed_report(study_of(tmp_path, FREE_SPACE)).relays
    budget = relay.services[0].budget
    loss_db = free_space_loss_db(relay.services[0].prediction.slant_km, 522.0)
    assert budget.free_space_loss_db == pytest.approx(loss_db, abs=1e-9)
    assert budget.diffraction_loss_db == 0.0
    # 1 kW ERP = 30 dBW ERP = 32.15 dBW EIRP = 62.15 dBm; 14 dBi, 2 dB feeder, 3.5 dB splitter.
    assert budget.receiver_input_dbm == pytest.approx(62.15 - loss_db + 14.0 - 2.0 - 3.5, abs=0.01)
    # k T0 B of 7.61 MHz is -105.16 dBm; 6 dB noise figure (ITU-R BT.2033-2).
    assert budget.noise_dbm == pytest.approx(-99.16, abs=0.01)
    # P.2001 knows how the field falls below its median, whatever model gives that.
    assert budget.fade_db > 1.0
    margin_db = budget.receiver_input_dbm - budget.noise_dbm - 20.0 - budget.fade_db
    assert budget.margin_db == pytest.approx(margin_db, abs=1e-9)


def test_the_verdict_is_the_worst_of_all(tmp_path):
    weak = ("channel = 31\nerp_w = 1000.0", "channel = 31\nerp_w = 0.001")
    report = feed_report(study_of(tmp_path, FREE_SPACE, weak))
    assert [service.budget.verdict for service in report.relays[0].services] == ["passes", "fails"]
    assert report.relays[0].verdict == report.verdict == "fails"
    assert feed_report(study_of(tmp_path, FREE_SPACE)).verdict == "passes"


def test_services_are_matched_by_name_and_keep_both_channels(tmp_path):
    swapped = (
        ('name = "Mux 1"\nchannel = 41', 'name = "Mux 2"\nchannel = 41'),
        ('name = "Mux 2"\nchannel = 45', 'name = "Mux 1"\nchannel = 45'),
    )
    (relay,) = feed_report(study_of(tmp_path, *swapped)).relays
    pairs = [(each.received.name, each.received.channel, each.radiated.channel) for each in relay.services]
    assert pairs == [("Mux 2", 31, 41), ("Mux 1", 27, 45)]


def test_the_pattern_of_the_parent_counts_towards_the_relay(tmp_path):
    rows = "\n".join(f"{bearing},{-10.0 if 100 <= bearing <= 170 else 0.0}" for bearing in range(0, 360, 5))
    (tmp_path / "p.csv").write_text(f"bearing_deg,relative_db\n{rows}\n", encoding="utf-8")
    change = ('polarization = "horizontal"', 'polarization = "horizontal"\nhorizontal_pattern = "p.csv"')
    (relay,) = feed_report(study_of(tmp_path, change)).relays
    assert relay.services[0].budget.erp_towards_site_dbw == pytest.approx(20.0, abs=1e-9)


def test_a_study_without_relays_has_no_feed(tmp_path):
    text = STUDY[: STUDY.index('[[stations]]\nname = "Combe Relay"')]
    with pytest.raises(StudyError, match="no relay is there to feed"):
        feed_report(load_project(write_study(tmp_path, text)))
