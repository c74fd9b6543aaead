"""Checks of the ICNIRP 2020 reference levels, 400 to 2000 MHz."""

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


# The two limits of a row are one limit in a plane wave: E² = S·377 ohm.
@pytest.mark.parametrize("row", REFERENCE_LEVELS, ids=lambda row: f"{row.audience}, {row.averaging}")
def test_flux_and_field_agree(row) -> None:
    flux = flux_limit_w_m2(900.0, row.audience, row.averaging)
    field = field_limit_v_m(900.0, row.audience, row.averaging)
    assert field == pytest.approx(math.sqrt(flux * WAVE_IMPEDANCE_OHM), rel=0.025)


def test_the_table_is_the_one_tested() -> None:
    assert len(REFERENCE_LEVELS) == 4
    recalled = [
        row for row in REFERENCE_LEVELS if "from memory" in (row.flux_confidence, row.field_confidence)
    ]
    assert [(row.audience, row.averaging) for row in recalled] == [("public", "whole body")]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((300.0, "public"), "frequency_mhz of exposure limits is 300.0; allowed: 400 to 2000"),
        ((math.nan, "public"), "frequency_mhz of exposure limits is nan; allowed: 400 to 2000"),
        ((600.0, "all"), "audience of exposure limits is 'all'; allowed: public or occupational"),
        ((600.0, "public", "limbs"), "averaging of exposure limits is 'limbs'; allowed: whole body or local"),
    ],
)
def test_refused(arguments: tuple, message: str) -> None:
    for limit in (flux_limit_w_m2, field_limit_v_m):
        with pytest.raises(RangeError) as caught:
            limit(*arguments)
        assert str(caught.value) == message
