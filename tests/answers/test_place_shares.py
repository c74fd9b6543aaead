"""Shares of places over the network: the best station of each service, the worst-off service of all."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.place_shares import place_shares
from combe.reception.service import location_probability
from combe.study.project_of import load_project
from support_study import edited, write_study


def shares_of(found):
    return location_probability(
        found.field_dbuv_m, found.minimum.at_a_place_dbuv_m, found.minimum.location_deviation_db
    )


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(write_study(tmp_path_factory.mktemp("shares"))))


def test_a_service_has_the_greatest_share_of_its_stations_and_all_the_least_of_services(report):
    overall, *each = place_shares(report)
    assert [found.name for found in (overall, *each)] == ["All services", "Mux 1", "Mux 2"]
    shares = []
    for index, found in enumerate(each):
        stations = [station.services[index].location_probability for station in report.stations]
        np.testing.assert_allclose(shares_of(found), np.fmax(*stations), atol=1e-6)
        shares.append(shares_of(found))
    np.testing.assert_allclose(shares_of(overall), np.minimum(*shares), atol=1e-6)


def test_95_percent_of_places_is_what_counts_as_served(report):
    overall = place_shares(report)[0]
    assert overall.planning_percent == 95.0
    assert overall.required_fields_dbuv_m[95.0] == pytest.approx(overall.minimum.median_dbuv_m, abs=1e-9)
    served = overall.field_dbuv_m >= overall.required_fields_dbuv_m[95.0]
    differs = served != (report.all_services.noise_margin_db >= 0.0)
    assert differs.sum() <= 2


def test_needs_with_other_deviations_are_carried_over(report):
    """Analogue services of two bands have two deviations; shares stay what they are at each."""
    parent, relay = report.stations
    wider = replace(
        relay,
        services=tuple(
            replace(one, minimum=one.minimum._replace(location_deviation_db=9.5)) for one in relay.services
        ),
    )
    overall, *each = place_shares(replace(report, stations=(parent, wider)))
    for index, found in enumerate(each):
        stations = [station.services[index].location_probability for station in (parent, wider)]
        np.testing.assert_allclose(shares_of(found), np.fmax(*stations), atol=1e-6)
    np.testing.assert_allclose(shares_of(overall), np.minimum(*map(shares_of, each)), atol=1e-6)


def test_one_service_is_all_services(tmp_path):
    changes = [
        (f'\n[[stations.services]]\nname = "Mux 2"\nchannel = {c}\nerp_w = {p}\n', "")
        for c, p in ((31, "1000.0"), (45, "20.0"))
    ]
    report = cover_report(load_project(write_study(tmp_path, edited(*changes))))
    assert [found.name for found in place_shares(report)] == ["All services"]
