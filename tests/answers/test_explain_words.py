"""What is said of a place, served or not, searched or not, is borne out by its own figures."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import combe
from combe.answers.explain import words_of
from combe.answers.site_report import _why_not


def candidate(margin_db):
    """Return a candidate for a place; it needs 51.61 dB(µV/m) against noise alone."""
    return SimpleNamespace(
        echoes=(),
        station=SimpleNamespace(name="Combe Relay"),
        service=SimpleNamespace(name="Mux 1", channel=41),
        field_dbuv_m=51.61 + margin_db,
        needed_dbuv_m=51.61,
        noise_margin_db=margin_db,
        margin_db=margin_db,
        disturbers=(),
        unknown=(),
        feed_words="",
    )


@pytest.mark.parametrize(
    ("margin_db", "words"),
    [
        (
            -0.04,
            "not served. Best is Combe Relay on channel 41, 51.57 dB(µV/m) where 51.61 are needed; 0.1 dB",
        ),
        (0.02, "served by Combe Relay on channel 41, 51.63 dB(µV/m) where 51.61 are needed; margin 0.02 dB."),
        (8.0, "served by Combe Relay on channel 41, 59.6 dB(µV/m) where 51.6 are needed; margin 8.0 dB."),
    ],
)
def test_a_place_that_is_just_served_or_just_not(margin_db, words):
    assert words_of("Mux 1", candidate(margin_db))[0].startswith(f"Mux 1: {words}")


@pytest.mark.parametrize(
    ("best_db", "words"),
    [(9.98, "with 9.98 dB of the 10 dB asked"), (-3.21, "with −3.2 dB of the 10 dB asked")],
)
def test_a_hill_that_hears_its_parent_just_too_weakly(best_db, words):
    feed = SimpleNamespace(worst_margin_db=np.array([best_db]), parent="Parent Hill", cells=np.array([0]))
    work = SimpleNamespace(
        area=SimpleNamespace(grid=SimpleNamespace(columns=1)),
        question=SimpleNamespace(chain=SimpleNamespace(required_margin_db=10.0)),
        feeds=[feed],
    )
    assert _why_not(work, 0, 0) == f"not searched: it hears Parent Hill {words}"


def test_at_the_foot_of_a_mast_there_is_no_way_to_be_drawn():
    valley = combe.demo()
    relay = valley.station("Larkcombe")
    assert combe.explain(valley, relay.longitude_deg, relay.latitude_deg).path is None
    assert combe.explain(valley, relay.longitude_deg, relay.latitude_deg + 0.01).path is not None
