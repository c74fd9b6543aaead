"""Checks of the ICNIRP 2020 reference levels, 10 MHz to 6 GHz."""

from __future__ import annotations

import math

import pytest

from combe.constants import WAVE_IMPEDANCE_OHM
from combe.errors import RangeError
from combe.evidence.exposure import LEVELS
from combe.standards.exposure import (
    REFERENCE_LEVELS,
    field_limit_v_m,
    flux_limit_w_m2,
    magnetic_limit_a_m,
    reactive_distance_m,
)


# ICNIRP 2020, whole body: f/200 and f/40 W/m², 1.375 sqrt f and 3 sqrt f V/m, worked out.
@pytest.mark.parametrize(("frequency_mhz", "audience", "flux", "field"), [row[:4] for row in LEVELS])
def test_whole_body(frequency_mhz: float, audience: str, flux: float, field: float) -> None:
    assert flux_limit_w_m2(frequency_mhz, audience) == pytest.approx(flux, abs=0.005)
    assert field_limit_v_m(frequency_mhz, audience) == pytest.approx(field, abs=0.05)


# ICNIRP 2020, local: 0.058 f^0.86 and 0.29 f^0.86 W/m², 4.72 f^0.43 and 10.58 f^0.43 V/m.
@pytest.mark.parametrize(
    ("audience", "flux_factor", "field_factor"), [("public", 0.058, 4.72), ("occupational", 0.29, 10.58)]
)
def test_local(audience: str, flux_factor: float, field_factor: float) -> None:
    assert flux_limit_w_m2(600.0, audience, "local") == pytest.approx(flux_factor * 600.0**0.86)
    assert field_limit_v_m(600.0, audience, "local") == pytest.approx(field_factor * 600.0**0.43)


# Limits of all bands are cases of evidence (combe.evidence.exposure), which tests/evidence runs.


# The limits of a row are one limit in a plane wave: E² = S·377 ohm, E = H·377 ohm.
@pytest.mark.parametrize(
    "row",
    [row for row in REFERENCE_LEVELS if row.electric and row.high_mhz > 30.0],
    ids=lambda row: f"{row.audience}, {row.averaging}, {row.high_mhz:g}",
)
def test_flux_and_fields_agree(row) -> None:
    mhz = math.sqrt(row.low_mhz * row.high_mhz)
    flux = flux_limit_w_m2(mhz, row.audience, row.averaging)
    field = field_limit_v_m(mhz, row.audience, row.averaging)
    magnetic = magnetic_limit_a_m(mhz, row.audience, row.averaging)
    assert field == pytest.approx(math.sqrt(flux * WAVE_IMPEDANCE_OHM), rel=0.025)
    assert field == pytest.approx(magnetic * WAVE_IMPEDANCE_OHM, rel=0.025)


@pytest.mark.parametrize("averaging", ["whole body", "local"])
@pytest.mark.parametrize("audience", ["public", "occupational"])
def test_bands_join_without_a_step(audience: str, averaging: str) -> None:
    """ICNIRP 2020: the lines meet at 30, 400 and 2000 MHz within the rounding of their factors."""
    for edge_mhz, limits in (
        (30.0, (field_limit_v_m, magnetic_limit_a_m)),
        (400.0, (flux_limit_w_m2, field_limit_v_m, magnetic_limit_a_m)),
        (2000.0, (flux_limit_w_m2,)),
    ):
        for limit in limits:
            below, above = (limit(edge_mhz + step, audience, averaging) for step in (0.0, 1e-6))
            assert above == pytest.approx(below, rel=0.03)


def test_the_table_is_the_one_tested() -> None:
    bands = [(row.low_mhz, row.high_mhz) for row in REFERENCE_LEVELS]
    assert bands == [(0.1, 30.0), (30.0, 400.0), (400.0, 2000.0), (2000.0, 6000.0)] * 4
    read = [row for row in REFERENCE_LEVELS if row.flux and row.flux.confidence == "read"]
    assert len(read) == 12
    recalled = [row for row in REFERENCE_LEVELS if row.electric and row.electric.confidence == "from memory"]
    assert {row.averaging for row in recalled} == {"whole body"}
    assert len(recalled) == 5


def test_reactive_near_field() -> None:
    """λ/2π: 0.95 m at 50 MHz, 0.24 m at 200 MHz, 0.10 m at 474 MHz; worked."""
    found = [reactive_distance_m(mhz) for mhz in (50.0, 200.0, 474.0)]
    assert found == pytest.approx([0.954, 0.239, 0.101], abs=0.001)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((9.9, "public"), "frequency_mhz of exposure limits is 9.9; allowed: 10 to 6000"),
        ((math.nan, "public"), "frequency_mhz of exposure limits is nan; allowed: 10 to 6000"),
        ((600.0, "all"), "audience of exposure limits is 'all'; allowed: public or occupational"),
        ((600.0, "public", "limbs"), "averaging of exposure limits is 'limbs'; allowed: whole body or local"),
    ],
)
def test_refused(arguments: tuple, message: str) -> None:
    for limit in (flux_limit_w_m2, field_limit_v_m, magnetic_limit_a_m):
        with pytest.raises(RangeError) as caught:
            limit(*arguments)
        assert str(caught.value) == message


def test_a_quantity_without_a_limit_is_refused() -> None:
    with pytest.raises(RangeError, match=r"of the flux is 27.0; allowed: over 30 to 6000"):
        flux_limit_w_m2(27.0, "public")
    with pytest.raises(RangeError, match=r"of the electric field is 2400.0; allowed: 10 to 2000"):
        field_limit_v_m(2400.0, "public")
    with pytest.raises(RangeError, match=r"of the magnetic field is 2400.0; allowed: 10 to 2000"):
        magnetic_limit_a_m(2400.0, "public")
