"""Coverage of a whole study: fields, people, before and after."""

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.people_places import STATES, _people_by_state, people_places
from combe.decibels import field_from_loss_dbuv_m
from combe.errors import StudyError
from combe.geodesy import distance_km
from combe.prediction.path import predict_path
from combe.propagation.p525 import free_space_loss_db
from combe.study.project_of import load_project
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from combe.terrain.sampling import geodesic_profile
from support_study import edited, write_study


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return load_project(write_study(tmp_path_factory.mktemp("cover")))


@pytest.fixture(scope="module")
def report(study):
    return cover_report(study)


def place_of(grid, row, column):
    x, y = cell_centres_m(grid)
    lon, lat = to_lonlat_deg(grid, x[column], y[row])
    return float(lon), float(lat)


def test_there_is_a_field_map_for_each_service(report):
    names = [(each.station.name, s.field_map.service) for each in report.stations for s in each.services]
    assert names == [
        ("Parent Hill", "Mux 1"),
        ("Parent Hill", "Mux 2"),
        ("Combe Relay", "Mux 1"),
        ("Combe Relay", "Mux 2"),
    ]
    for each in report.stations:
        for service in each.services:
            assert service.field_map.field_dbuv_m.shape == (report.grid.rows, report.grid.columns)
            assert service.field_map.field_dbuv_m.dtype == np.float32


def test_free_space_fields_are_p525(tmp_path):
    text = edited(("invented = true", 'invented = true\nmodel = "free-space"'))
    report = cover_report(load_project(write_study(tmp_path, text)))
    field_map = report.stations[0].services[0].field_map
    for row, column in ((30, 40), (60, 80), (90, 20)):
        lon, lat = place_of(report.grid, row, column)
        length_km = distance_km(-84.33, 36.70, lon, lat)
        expected = field_from_loss_dbuv_m(30.0, free_space_loss_db(length_km, 522.0), 522.0)
        assert field_map.field_dbuv_m[row, column] == pytest.approx(expected, abs=0.05)


def test_fields_agree_with_the_exact_path(study, report):
    project = study
    field = report.stations[1].services[0].field_map.field_dbuv_m
    differences = []
    for row in range(15, 100, 10):
        for column in range(15, 95, 10):
            lon, lat = place_of(report.grid, row, column)
            profile = geodesic_profile(project.terrain, -84.20, 36.60, lon, lat)
            exact = predict_path(
                profile, tx_height_m=20.0, rx_height_m=10.0, frequency_mhz=634.0, polarization="vertical"
            )
            erp_dbw = 10.0 * np.log10(20.0)
            differences.append(field[row, column] - (exact.field_strength_1kw_dbuv_m - 30.0 + erp_dbw))
    assert abs(np.median(differences)) < 0.2
    assert np.sqrt(np.mean(np.square(differences))) < 1.0


def test_people_add_up(report):
    assert report.people is not None
    for network in (*report.services, report.all_services):
        people = network.people
        assert people.total == pytest.approx(8960.0, rel=1e-6)
        assert people.served + people.unserved + people.without_prediction == pytest.approx(people.total)
        assert people.served == pytest.approx(people.served_before + people.newly_served, abs=1e-3)
        assert people.newly_served > 0.0


def test_all_services_are_no_more_than_any(report):
    for network in report.services:
        assert report.all_services.people.served <= network.people.served + 1e-6
        below = report.all_services.margin_db <= network.margin_db
        assert np.all(below | np.isnan(report.all_services.margin_db))


def test_before_is_the_parent_alone(report):
    parent = report.stations[0]
    for network, service in zip(report.services, parent.services, strict=True):
        np.testing.assert_array_equal(network.margin_before_db, service.margin_db)
        assert network.people.served_before == service.people.served
    assert parent.people.served == report.all_services.people.served_before


def test_the_margin_is_the_field_over_the_minimum(report):
    service = report.stations[0].services[0]
    np.testing.assert_allclose(
        service.margin_db, service.field_map.field_dbuv_m - service.minimum_field_dbuv_m, atol=1e-5
    )
    # ITU-R BT.2033-2 chain, 256-QAM 2/3 Ricean, 95 %: 51.9 dB(uV/m) at 500 MHz, 54.2 at 650 MHz.
    assert 51.9 < service.minimum_field_dbuv_m < 54.2


def test_shares_of_places(report):
    service = report.stations[0].services[0]
    share, field = service.location_probability, service.field_map.field_dbuv_m
    np.testing.assert_array_equal(np.isnan(share), np.isnan(field))
    # At the minimum for 95 % of places the share is 95 %, but for the rounding of μ to 1.64.
    near = np.abs(service.margin_db) < 0.02
    assert near.any()
    assert np.abs(share[near] - 0.95).max() < 0.001
    medians = service.required_fields_dbuv_m
    assert list(medians) == [50.0, 70.0, 95.0, 99.0]
    assert medians[95.0] == pytest.approx(service.minimum_field_dbuv_m, abs=1e-9)
    # GE06: σ 5.5 dB, μ 0.52 and 2.33.
    assert medians[70.0] - medians[50.0] == pytest.approx(0.52 * 5.5)
    assert medians[99.0] - medians[50.0] == pytest.approx(2.33 * 5.5)


def test_progress_runs_to_the_end(study):
    told = []
    cover_report(study, lambda done, total, what: told.append((done, total, what)))
    assert told[-1] == (300, 300, "judging the cells")
    assert (200, 300, "coverage of Combe Relay, 50 % of time") in told
    assert [done for done, _, _ in told] == sorted(done for done, _, _ in told)


def test_a_study_without_people_counts_nobody(tmp_path):
    report = cover_report(
        load_project(write_study(tmp_path, edited(('[people]\nraster = "people.tif"\n', ""))))
    )
    assert report.people is None
    assert report.all_services.people is None
    assert report.stations[0].people is None


def test_a_station_beyond_the_terrain_stops_before_the_sweep(tmp_path):
    told = []
    study = load_project(write_study(tmp_path, edited(("latitude_deg = 36.60", "latitude_deg = 40.0"))))
    with pytest.raises(StudyError, match=r'1 fault: stations\[1\]: .*station "Combe Relay"'):
        cover_report(study, lambda *step: told.append(step))
    assert told == []


def test_places_of_people_hold_everybody(report):
    everyone = report.all_services.people
    for most in (2000, 50):
        places = people_places(report.people, report.grid, report.all_services, most=most)
        assert len(places) <= most
        assert sum(place.people for place in places) == pytest.approx(everyone.total, rel=1e-6)
        assert {place.state for place in places} <= set(STATES)
        assert all(-84.42 < place.longitude_deg < -84.07 for place in places)
        assert all(36.44 < place.latitude_deg < 36.74 for place in places)


def test_places_stand_in_their_cells_when_there_are_few(report):
    places = people_places(report.people, report.grid, report.all_services, most=2000)
    assert (places[0].longitude_deg, places[0].latitude_deg) == pytest.approx((-84.40, 36.725), abs=1e-9)


def test_people_of_places_are_those_counted_and_a_place_has_the_state_of_most(report):
    """Shares of population cells add up to the counts exactly; a place as a whole goes by its greatest share.

    So places by their state may differ from the counts, by the smaller shares of cells that are partly
    covered: here by just under 1 % of the newly served.
    """
    network, people = report.all_services, report.all_services.people
    shares = _people_by_state(report.people, report.grid, network)
    counted = (people.served_before, people.newly_served, people.unserved, people.without_prediction)
    lost = people.served_before + people.newly_served - people.served
    assert lost == pytest.approx(0.0, abs=1e-6)
    assert shares.sum(axis=(1, 2)) == pytest.approx(counted, rel=1e-6, abs=1e-6)
    inhabited = shares.sum(axis=0) > 0.0
    states = [STATES[each] for each in np.argmax(shares[:, inhabited], axis=0)]
    places = people_places(report.people, report.grid, network, most=2000)
    assert [place.state for place in places] == states
    newly = sum(place.people for place in places if place.state == "newly served")
    assert newly == pytest.approx(people.newly_served, rel=0.01)
