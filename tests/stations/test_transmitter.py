"""Checks of stations and services: what is refused at creation, and the ERP towards a direction."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, replace
from typing import Any

import numpy as np
import pytest

from combe.errors import RangeError
from combe.stations.pattern import Pattern
from combe.stations.transmitter import Service, Station, erp_towards_dbw, horizontal_gain_db

# All of these stations are invented.
ONE = Service("Mux 1", 34, 578.0, 1000.0)
TWO = Service("Mux 2", 37, 602.0, 10.0)
HORIZONTAL = Pattern(tuple(range(0, 360, 30)), (0.0,) + (-12.0,) * 11, "horizontal", "invented")
VERTICAL = Pattern(
    (-90, -60, -30, -2, 0, 30, 60, 90), (-20, -20, -20, 0, -1, -20, -20, -20), "vertical", "invented"
)
PARENT = Station("Upper Fell", "parent", 7.1, 46.2, 50.0, "horizontal", (ONE, TWO))
RELAY = replace(PARENT, name="Nether Combe", role="relay", parent="Upper Fell")


def test_erp_of_an_omnidirectional_station() -> None:
    assert erp_towards_dbw(PARENT, ONE, 123.0, -3.0) == pytest.approx(30.0)
    assert erp_towards_dbw(PARENT, TWO, 123.0, -3.0) == pytest.approx(10.0)


def test_both_patterns_add_in_db() -> None:
    station = replace(PARENT, horizontal_pattern=HORIZONTAL, vertical_pattern=VERTICAL)
    assert erp_towards_dbw(station, ONE, 0.0, -2.0) == pytest.approx(30.0)
    assert erp_towards_dbw(station, ONE, 15.0, -2.0) == pytest.approx(30.0 - 6.0)
    assert erp_towards_dbw(station, ONE, 90.0, -1.0) == pytest.approx(30.0 - 12.0 - 0.5)


def test_elevation_is_positive_upwards() -> None:
    station = replace(PARENT, vertical_pattern=VERTICAL)
    assert erp_towards_dbw(station, ONE, 0.0, -2.0) > erp_towards_dbw(station, ONE, 0.0, 2.0)


def test_a_turned_pattern_is_the_table_written_turned() -> None:
    turned = Pattern(tuple(range(20, 360, 30)), (0.0,) + (-12.0,) * 11, "horizontal", "invented")
    bearing = np.arange(-360.0, 720.0, 0.5)
    by_key = replace(PARENT, horizontal_pattern=HORIZONTAL, bearing_deg=20.0)
    by_hand = replace(PARENT, horizontal_pattern=turned)
    np.testing.assert_allclose(
        erp_towards_dbw(by_key, ONE, bearing, 0.0), erp_towards_dbw(by_hand, ONE, bearing, 0.0), atol=1e-9
    )
    assert erp_towards_dbw(by_key, ONE, 20.0, 0.0) == pytest.approx(30.0)
    assert horizontal_gain_db(by_key, 35.0) == pytest.approx(-6.0)
    np.testing.assert_allclose(
        horizontal_gain_db(replace(by_key, bearing_deg=360.0), bearing),
        horizontal_gain_db(replace(by_key, bearing_deg=0.0), bearing),
        atol=1e-9,
    )


def test_a_tilt_turns_the_vertical_pattern_down_alike_in_all_directions() -> None:
    station = replace(PARENT, vertical_pattern=VERTICAL, tilt_deg=3.0)
    for bearing in (0.0, 90.0, 180.0):
        # The maximum, at −2° in the table, and the level of its 0°.
        assert erp_towards_dbw(station, ONE, bearing, -5.0) == pytest.approx(30.0)
        assert erp_towards_dbw(station, ONE, bearing, -3.0) == pytest.approx(29.0)
    up = replace(station, tilt_deg=-4.0)
    assert erp_towards_dbw(up, ONE, 0.0, 2.0) == pytest.approx(30.0)


def test_beyond_the_ends_of_a_tilted_table_its_end_holds() -> None:
    ends = Pattern((-90, -60, -30, 0, 30, 60, 90), (-7, -20, -20, 0, -20, -20, -9), "vertical", "invented")
    down = replace(PARENT, vertical_pattern=ends, tilt_deg=10.0)
    assert erp_towards_dbw(down, ONE, 0.0, 85.0) == pytest.approx(30.0 - 9.0)
    assert erp_towards_dbw(replace(down, tilt_deg=-10.0), ONE, 0.0, -85.0) == pytest.approx(30.0 - 7.0)


def test_erp_of_arrays_broadcasts() -> None:
    station = replace(PARENT, horizontal_pattern=HORIZONTAL, vertical_pattern=VERTICAL)
    erp = erp_towards_dbw(station, ONE, np.array([[0.0], [90.0]]), np.array([-2.0, 0.0, np.nan]))
    np.testing.assert_allclose(erp, [[30.0, 29.0, np.nan], [18.0, 17.0, np.nan]])


def test_erp_of_anothers_service() -> None:
    other = Service("Mux 9", 50, 706.0, 1.0)
    with pytest.raises(RangeError, match="service of station 'Upper Fell' is 'Mux 9'; allowed: Mux 1, Mux 2"):
        erp_towards_dbw(PARENT, other, 0.0, 0.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"name": ""}, "name of a service is ''; allowed: 1 to 80 printable characters, not only spaces"),
        ({"name": "two\nlines"}, "name of a service is 'two\\nlines'; allowed: 1 to 80 printable"),
        ({"name": "x" * 81}, "name of a service is 'xxx"),
        ({"channel": 0}, "channel of service 'Mux 1' is 0; allowed: 1 to 999"),
        ({"channel": 34.5}, "channel of service 'Mux 1' is 34.5; allowed: a whole number, 1 to 999"),
        ({"channel": True}, "channel of service 'Mux 1' is True; allowed: 1 to 999"),
        ({"frequency_mhz": 0.578}, "frequency_mhz of service 'Mux 1' is 0.578; allowed: 30 to 3000"),
        ({"frequency_mhz": math.nan}, "frequency_mhz of service 'Mux 1' is nan; allowed: 30 to 3000"),
        ({"erp_w": -10.0}, "erp_w of service 'Mux 1' is -10.0; allowed: more than 0, up to 1e+07 W"),
        (
            {"erp_w": 0.0},
            "erp_w of service 'Mux 1' is 0.0; allowed: more than 0, up to 1e+07 W; leave a silent ",
        ),
        ({"erp_w": math.inf}, "erp_w of service 'Mux 1' is inf; allowed: more than 0, up to 1e+07 W"),
        ({"erp_w": "10"}, "erp_w of service 'Mux 1' is '10'; allowed: more than 0, up to 1e+07 W"),
    ],
)
def test_service_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(ONE, **change)
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"name": "  "}, "name of a station is '  '; allowed: 1 to 80 printable"),
        ({"role": "main"}, "role of station 'Nether Combe' is 'main'; allowed: parent or relay"),
        (
            {"polarization": "H"},
            "polarization of station 'Nether Combe' is 'H'; allowed: horizontal or vertical",
        ),
        ({"longitude_deg": 180.5}, "longitude_deg of station 'Nether Combe' is 180.5; allowed: -180 to 180"),
        ({"latitude_deg": -91.0}, "latitude_deg of station 'Nether Combe' is -91.0; allowed: -90 to 90"),
        ({"latitude_deg": math.nan}, "latitude_deg of station 'Nether Combe' is nan; allowed: -90 to 90"),
        ({"aerial_height_m": 0.0}, "aerial_height_m of station 'Nether Combe' is 0.0; allowed: 1 to 500"),
        ({"services": ()}, "services of station 'Nether Combe' is empty; allowed: at least one service"),
        (
            {"services": (ONE, replace(TWO, name="Mux 1"))},
            "service name of station 'Nether Combe' is 'Mux 1' more than once; allowed: each once only",
        ),
        (
            {"services": (ONE, replace(TWO, channel=34))},
            "channel of station 'Nether Combe' is 34 more than once; allowed: each once only",
        ),
        (
            {"horizontal_pattern": VERTICAL},
            "horizontal_pattern of station 'Nether Combe' is a vertical pattern; allowed: horizontal",
        ),
        (
            {"vertical_pattern": HORIZONTAL},
            "vertical_pattern of station 'Nether Combe' is a horizontal pattern; allowed: vertical",
        ),
        ({"bearing_deg": 361.0}, "bearing_deg of station 'Nether Combe' is 361.0; allowed: 0 to 360"),
        ({"tilt_deg": -10.5}, "tilt_deg of station 'Nether Combe' is -10.5; allowed: -10 to 30"),
        (
            {"role": "parent"},
            "parent of station 'Nether Combe' is 'Upper Fell'; allowed: none, for its role is parent",
        ),
        (
            {"parent": "Nether Combe"},
            "parent of station 'Nether Combe' is 'Nether Combe'; allowed: another station",
        ),
        ({"parent": ""}, "parent of station 'Nether Combe' is ''; allowed: 1 to 80 printable"),
    ],
)
def test_station_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        replace(RELAY, **change)
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1


def test_station_is_frozen_and_its_services_too() -> None:
    services = [ONE]
    station = replace(PARENT, services=services)  # type: ignore[arg-type]
    services.append(TWO)
    assert station.services == (ONE,)
    with pytest.raises(FrozenInstanceError):
        station.name = "other"  # type: ignore[misc]
