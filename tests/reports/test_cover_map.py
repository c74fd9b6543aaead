"""What the map shows of a coverage."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.reports.cover_map import map_content
from combe.study.project_of import load_project
from support_study import write_study


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return cover_report(load_project(write_study(tmp_path_factory.mktemp("map"))), feeds=True)


@pytest.fixture(scope="module")
def page(report):
    return map_content(report)


def test_the_first_view_is_all_services_before_and_after(page, report):
    layers = {layer.key: layer for layer in page.layers}
    assert (page.before_keys, page.after_keys) == (("before",), ("after",))
    for key, margin_db in (
        ("before", report.all_services.margin_before_db),
        ("after", report.all_services.margin_db),
    ):
        layer = layers[key]
        # Several services with minima of their own have no common field: the layer tells the margin itself.
        assert (layer.shows, layer.threshold_dbuv_m) == ("margin", 0.0)
        np.testing.assert_array_equal(layer.field_dbuv_m, np.maximum(margin_db, -150.0))


def test_there_is_a_layer_for_each_service_of_each_station(page, report):
    assert [layer.title for layer in page.layers[2:] if not layer.classes] == [
        "Parent Hill: Mux 1, channel 27",
        "Parent Hill: Mux 2, channel 31",
        "Combe Relay: Mux 1, channel 41",
        "Combe Relay: Mux 2, channel 45",
    ]
    np.testing.assert_array_equal(
        page.layers[2].field_dbuv_m, report.stations[0].services[0].field_map.field_dbuv_m
    )


def test_people_and_rows_agree_with_the_report(page, report):
    people = report.all_services.people
    assert page.people_rows[0] == ("All services", people)
    assert [name for name, _ in page.people_rows[1:]] == ["Mux 1", "Mux 2"]
    assert sum(mark.people for mark in page.people) == pytest.approx(people.total, rel=1e-6)


def test_stations_and_feeds(page):
    assert [mark.services for mark in page.stations] == ["ch 27, 31 · 1 kW ERP", "ch 41, 45 · 20 W ERP"]
    (feed,) = page.feeds
    assert (feed.parent, feed.relay, feed.verdict) == ("Parent Hill", "Combe Relay", "fails")
    assert (feed.longitude_deg[0], feed.latitude_deg[0]) == pytest.approx((-84.33, 36.70))
    assert (feed.longitude_deg[-1], feed.latitude_deg[-1]) == pytest.approx((-84.20, 36.60))


def test_the_map_is_drawn_without_a_feed(report):
    assert map_content(replace(report, feeds=None)).feeds == ()


def test_with_too_many_fields_the_page_says_what_it_leaves_out(report, page, monkeypatch):
    assert page.left_out == ""
    monkeypatch.setattr("combe.reports.cover_layers.MOST_STATION_LAYERS", 3)
    short = map_content(report)
    # Relays first: of four fields the two of the relay fit whole, and each service has a layer of its own.
    assert [layer.title for layer in short.layers[2:] if not layer.classes] == [
        "Mux 1, every station",
        "Mux 2, every station",
        "Combe Relay: Mux 1, channel 41",
        "Combe Relay: Mux 2, channel 45",
    ]
    assert short.left_out == (
        "This page holds the fields of 2 of the 4 services of single stations, relays first; all of them are "
        "rasters beside it."
    )
    layer, network = short.layers[2], report.services[0]
    served = layer.field_dbuv_m >= layer.threshold_dbuv_m
    assert abs(served.sum() - (network.margin_db >= 0.0).sum()) <= 2
