"""Checks of exposure distances: worked cases, several services together, the near-field caution."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.planning.exposure import (
    RadiatedPower,
    compliance_distance_m,
    near_field_m,
    radiated_powers,
)
from combe.standards.exposure import flux_limit_w_m2
from combe.stations.transmitter import Service


def one(erp_w: float, frequency_mhz: float = 600.0) -> list[RadiatedPower]:
    return [RadiatedPower("Mux 1", frequency_mhz, erp_w)]


# d = sqrt(e.i.r.p./(4π S)), e.i.r.p. = 1.64 e.r.p., S of ICNIRP 2020: worked out.
@pytest.mark.parametrize(
    ("erp_w", "frequency_mhz", "public_m", "occupational_m"),
    [
        (10.0, 600.0, 0.660, 0.295),
        (50.0, 474.0, 1.660, 0.742),
        (100.0, 600.0, 2.086, 0.933),
        (1000.0, 600.0, 6.597, 2.950),
    ],
)
def test_worked_distances(erp_w: float, frequency_mhz: float, public_m: float, occupational_m: float) -> None:
    erps = one(erp_w, frequency_mhz)
    assert compliance_distance_m(erps).distance_m == pytest.approx(public_m, abs=0.0015)
    found = compliance_distance_m(erps, audience="occupational")
    assert found.distance_m == pytest.approx(occupational_m, abs=0.0015)
    assert (found.audience, found.standard[:11]) == ("occupational", "ICNIRP guid")


# A reflection of 2.56 in power is 1.6 in distance (3.338 m for 100 W at 600 MHz), one of 4 is 2.
@pytest.mark.parametrize(("factor", "distance_m"), [(1.0, 2.086), (2.56, 3.338), (4.0, 4.172)])
def test_reflection(factor: float, distance_m: float) -> None:
    found = compliance_distance_m(one(100.0), reflection_factor=factor)
    assert found.distance_m == pytest.approx(distance_m, abs=0.002)


@given(st.lists(st.tuples(st.floats(470.0, 860.0), st.floats(0.1, 1e4)), min_size=1, max_size=6))
def test_all_services_together_reach_the_limit(services: list[tuple[float, float]]) -> None:
    erps = [RadiatedPower(f"Mux {n}", f, p) for n, (f, p) in enumerate(services)]
    found = compliance_distance_m(erps)
    total = sum(
        1.6406
        * each.erp_w
        / (4 * math.pi * found.distance_m**2)
        / flux_limit_w_m2(each.frequency_mhz, "public")
        for each in erps
    )
    assert total == pytest.approx(1.0, rel=1e-4)
    assert sum(share.share_fraction for share in found.shares) == pytest.approx(1.0)
    assert found.distance_m >= max(share.alone_distance_m for share in found.shares) - 1e-12


def test_four_equal_services_double_the_distance() -> None:
    four = [RadiatedPower(f"Mux {n}", 600.0, 100.0) for n in range(4)]
    found = compliance_distance_m(four)
    assert found.distance_m == pytest.approx(2 * 2.086, abs=0.002)
    assert [share.share_fraction for share in found.shares] == pytest.approx([0.25] * 4)
    assert {share.limit_w_m2 for share in found.shares} == {3.0}


# 2D²/λ of a 2 m array at 600 MHz is 16 m.
def test_near_field() -> None:
    assert near_field_m(2.0, 600.0) == pytest.approx(16.0, abs=0.02)
    inside = compliance_distance_m(one(100.0), aerial_size_m=2.0)
    assert inside.in_near_field
    assert inside.near_field_m == pytest.approx(16.0, abs=0.02)
    assert inside.caution.startswith("within the near field (16.0 m): an upper guide in the main beam")
    outside = compliance_distance_m(one(100.0), aerial_size_m=0.5)
    assert not outside.in_near_field
    assert outside.caution.startswith("beyond the near field (1.0 m)")
    unknown = compliance_distance_m(one(100.0))
    assert (unknown.near_field_m, unknown.in_near_field) == (None, None)
    assert unknown.caution == "the size of the aerial is not given: near-field not judged"


def test_reactive_near_field_is_told_whatever_the_aerial() -> None:
    """λ/2π at 50 MHz is 0.95 m; 10 W of e.r.p. meet 2 W/m² in 0.81 m: 16.4/(4π·2) = 0.6525 m²; worked."""
    for size_m in (None, 3.0):
        found = compliance_distance_m(one(10.0, 50.0), aerial_size_m=size_m)
        assert found.distance_m == pytest.approx(0.808, abs=0.001)
        assert found.caution.startswith("within the reactive near field (0.95 m)")
    assert "reactive" not in compliance_distance_m(one(20.0, 50.0)).caution


def test_near_field_is_that_of_the_highest_frequency() -> None:
    pair = [*one(100.0, 500.0), RadiatedPower("Mux 2", 800.0, 1.0)]
    assert compliance_distance_m(pair, aerial_size_m=2.0).near_field_m == near_field_m(2.0, 800.0)


def test_a_silent_station() -> None:
    found = compliance_distance_m(one(0.0))
    assert (found.distance_m, found.shares[0].share_fraction) == (0.0, 0.0)


def test_powers_of_a_station() -> None:
    services = (Service("Mux 1", 34, 578.0, 100.0), Service("Mux 2", 37, 602.0, 10.0))
    assert radiated_powers(services) == (
        RadiatedPower("Mux 1", 578.0, 100.0),
        RadiatedPower("Mux 2", 602.0, 10.0),
    )


@pytest.mark.parametrize(
    ("erps", "options", "message"),
    [
        ([], {}, "services of an exposure distance is empty; allowed: at least one service"),
        (one(1.0, 9.0), {}, "frequency_mhz of exposure limits is 9.0; allowed: 10 to 6000"),
        (one(0.0, 9.0), {}, "frequency_mhz of exposure limits is 9.0; allowed: 10 to 6000"),
        (one(1.0), {"audience": "x"}, "audience of exposure limits is 'x'; allowed: public or occupational"),
        (one(1.0), {"reflection_factor": 0.5}, "reflection_factor is 0.5; allowed: 1, 2.56 or 4"),
        (one(1.0), {"aerial_size_m": 0.0}, "aerial_size_m is 0.0; allowed: 0.05 to 100"),
    ],
)
def test_refused(erps: list[RadiatedPower], options: dict[str, Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        compliance_distance_m(erps, **options)
    assert str(caught.value) == message


def test_power_refused() -> None:
    with pytest.raises(RangeError, match=r"erp_w of service 'Mux 1' is -1.0; allowed: 0 to 1e"):
        RadiatedPower("Mux 1", 600.0, -1.0)
