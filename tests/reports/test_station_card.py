"""What the map tells of a station: power in watts and decibels, main bearing, and how its feed stands."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

import combe
from combe.answers.feed import feed_report
from combe.reports.station_card import pattern_words, station_card


@pytest.fixture(scope="module")
def report():
    """Return as much of a coverage of the demo as a card asks for."""
    project = combe.demo()
    feeds = feed_report(project)
    return SimpleNamespace(project=project, relay_feeds=feeds.relays, standings=())


def test_a_relays_card_tells_power_bearing_and_feed(report) -> None:
    relay = report.project.station("Larkcombe")
    card = station_card(report, relay)
    assert card.services[0] == ("Mux A", "41", "634", "100", "20.0")
    assert card.services[2] == ("Mux C", "47", "682", "50", "17.0")
    lines = dict(card.lines)
    assert lines["Aerial"] == "30 m above ground, vertical"
    assert lines["Pattern"] == "most towards 270° true"
    worst = report.relay_feeds[0].scantiest.budget
    assert lines["Fed by"] == f"Tarnbeacon: passes, least margin {worst.margin_db:.1f} dB, 10 dB asked"


def test_a_parents_card_has_no_feed_and_its_thousands_apart(report) -> None:
    card = station_card(report, report.project.station("Tarnbeacon"))
    assert dict(card.lines)["Pattern"] == "alike in all directions"
    assert "Fed by" not in dict(card.lines)
    assert card.services[0][3:] == ("20\u202f000", "43.0")


def test_a_turned_pattern_looks_elsewhere(report) -> None:
    relay = report.project.station("Larkcombe")
    assert pattern_words(replace(relay, bearing_deg=100.0)) == "most towards 10° true"


def test_of_a_feed_that_was_not_asked_for_nothing_is_told_but_who_feeds(report) -> None:
    bare = SimpleNamespace(project=report.project, relay_feeds=(), standings=())
    assert dict(station_card(bare, report.project.station("Larkcombe")).lines)["Fed by"] == "Tarnbeacon"
    standing = SimpleNamespace(relay="Larkcombe", verdict="not judged", reason="the path has a gap")
    told = SimpleNamespace(project=report.project, relay_feeds=(), standings=(standing,))
    words = dict(station_card(told, report.project.station("Larkcombe")).lines)["Fed by"]
    assert words == "Tarnbeacon: not judged, the path has a gap"
