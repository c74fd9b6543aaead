"""Checks of combe.decibels against published and worked values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe import decibels
from combe.constants import DIPOLE_GAIN_DBI
from combe.evidence.fields import ANTENNA_FACTORS, FIELDS, RECEIVED

levels = st.floats(-200.0, 200.0)
frequencies = st.floats(30.0, 3000.0)
gains = st.floats(-10.0, 40.0)


def free_space_loss_db(distance_km: float, frequency_mhz: float) -> float:
    """Lbf = 20 log(4πd/λ), ITU-R P.525 §2.2, in its exact form."""
    return 20.0 * math.log10(4.0 * math.pi * distance_km * 1e3 * frequency_mhz * 1e6 / 299_792_458.0)


IMPEDANCE_ROUNDING_DB = 0.003
"""ITU-R P.525 takes free space as 120π Ω (e = sqrt(30 p)/d), 0.003 dB over the exact impedance used here."""


# ITU-R P.525-5 §2.1 (e = sqrt(30 p)/d), with 1 kW e.r.p. as in P.1546-6 Annex 5 §2: worked in double.
@pytest.mark.parametrize(("erp_w", "distance_km", "expected_dbuv_m"), FIELDS)
def test_field_left_after_free_space_loss(erp_w: float, distance_km: float, expected_dbuv_m: float) -> None:
    loss_db = free_space_loss_db(distance_km, 600.0)
    field = decibels.field_from_loss_dbuv_m(decibels.dbw_from_watt(erp_w), loss_db, 600.0)
    assert field == pytest.approx(expected_dbuv_m, abs=IMPEDANCE_ROUNDING_DB + 0.001)


def test_field_of_1_kw_erp_at_1_km_as_printed() -> None:
    """ITU-R P.1546-6 Annex 5 §2 prints 106.9 dB(µV/m)."""
    field = decibels.field_from_loss_dbuv_m(30.0, free_space_loss_db(1.0, 474.0), 474.0)
    assert field == pytest.approx(106.9, abs=0.03)


def test_field_of_1_kw_eirp_at_1_km() -> None:
    """ITU-R P.525: 1 kW e.i.r.p. gives 173 mV/m at 1 km, 104.77 dB(µV/m)."""
    field = decibels.field_from_loss_dbuv_m(30.0 - DIPOLE_GAIN_DBI, free_space_loss_db(1.0, 474.0), 474.0)
    assert field == pytest.approx(104.771, abs=IMPEDANCE_ROUNDING_DB + 0.001)


def test_constant_between_loss_and_field_of_1_kw_erp() -> None:
    """Lb = 139.366 - E + 20 log f: P.1546-6 Annex 5 prints 139.3, P.1812 (199.36 with GHz) 139.36."""
    constant_db = decibels.field_from_loss_dbuv_m(30.0, 0.0, 1.0)
    assert constant_db == pytest.approx(139.366, abs=0.001)
    assert constant_db == pytest.approx(139.36, abs=0.01)
    assert constant_db == pytest.approx(139.3, abs=0.07)


# Matched aerial, P = E - 20 log f + G - 77.216 (S·λ²·G/4π); U = P + 90 + 10 log R, worked in double.
@pytest.mark.parametrize(
    ("field_dbuv_m", "frequency_mhz", "gain_dbi", "power_dbm", "dbuv_50", "dbuv_75"), RECEIVED
)
def test_power_and_voltage_of_an_aerial_in_a_field(
    field_dbuv_m: float,
    frequency_mhz: float,
    gain_dbi: float,
    power_dbm: float,
    dbuv_50: float,
    dbuv_75: float,
) -> None:
    power = decibels.power_dbm_from_field(field_dbuv_m, frequency_mhz, gain_dbi)
    assert power == pytest.approx(power_dbm, abs=0.001)
    assert decibels.dbuv_from_dbm(power) == pytest.approx(dbuv_50, abs=0.006)
    assert decibels.dbuv_from_dbm(power, 75.0) == pytest.approx(dbuv_75, abs=0.006)


# Antenna factor of a half-wave dipole: AF = 20 log f - G - 29.774 at 50 Ω, -31.535 at 75 Ω.
@pytest.mark.parametrize(("frequency_mhz", "impedance_ohm", "expected_db_m"), ANTENNA_FACTORS)
def test_antenna_factor_of_a_dipole(frequency_mhz: float, impedance_ohm: float, expected_db_m: float) -> None:
    factor = decibels.antenna_factor_db_m(frequency_mhz, DIPOLE_GAIN_DBI, impedance_ohm)
    assert factor == pytest.approx(expected_db_m, abs=0.001)


@pytest.mark.parametrize(("impedance_ohm", "step_db"), [(50.0, 106.990), (75.0, 108.751)])
def test_voltage_over_power_in_a_matched_load(impedance_ohm: float, step_db: float) -> None:
    assert decibels.dbuv_from_dbm(0.0, impedance_ohm) == pytest.approx(step_db, abs=0.0005)


def test_power_flux_density_of_a_field() -> None:
    """E - 145.76 dB; ITU-R BT.2033-2 and the GE06 Final Acts print 145.8."""
    assert decibels.power_flux_dbw_m2_from_field(0.0) == pytest.approx(-145.76, abs=0.002)
    assert decibels.power_flux_dbw_m2_from_field(0.0) == pytest.approx(-145.8, abs=0.05)


# k·T0·B at 290 K, worked in double precision; FCC OET-69 prints -106.2 dBm for 6 MHz.
@pytest.mark.parametrize(
    ("bandwidth_mhz", "expected_dbm"),
    [(5.0, -106.99), (5.5, -106.57), (6.0, -106.20), (7.61, -105.16), (8.0, -104.95)],
)
def test_thermal_noise(bandwidth_mhz: float, expected_dbm: float) -> None:
    assert decibels.thermal_noise_dbm(bandwidth_mhz) == pytest.approx(expected_dbm, abs=0.01)


def test_power_sums() -> None:
    """Two equal powers are 3.01 dB more; 60, 55 and 50 make 61.511; four of 60 make 66.021."""
    assert decibels.power_sum_db(60.0, 60.0) == pytest.approx(63.010, abs=0.001)
    assert decibels.power_sum_db(60.0, 55.0, 50.0) == pytest.approx(61.511, abs=0.001)
    assert decibels.power_sum_db(60.0, 60.0, 60.0, 60.0) == pytest.approx(66.021, abs=0.001)


def test_power_sum_of_arrays_has_their_shape() -> None:
    total = decibels.power_sum_db(np.full((2, 3), 60.0), np.full((2, 3), 60.0))
    np.testing.assert_allclose(total, np.full((2, 3), 63.0103), atol=1e-4)


def test_ratio_of_nothing_and_of_nonsense() -> None:
    assert decibels.db_from_ratio(0.0) == -math.inf
    assert math.isnan(decibels.db_from_ratio(-1.0))


def test_floats_stay_floats_and_arrays_arrays() -> None:
    assert type(decibels.watt_from_dbw(30.0)) is float
    assert type(decibels.dbw_from_watt(1000)) is float
    np.testing.assert_allclose(decibels.watt_from_dbw(np.array([0.0, 30.0])), [1.0, 1000.0])


@given(levels)
def test_ratio_round_trip(value_db: float) -> None:
    assert decibels.db_from_ratio(decibels.ratio_from_db(value_db)) == pytest.approx(value_db, abs=1e-9)


@given(levels, frequencies, gains)
def test_field_round_trip(field_dbuv_m: float, frequency_mhz: float, gain_dbi: float) -> None:
    power = decibels.power_dbm_from_field(field_dbuv_m, frequency_mhz, gain_dbi)
    assert decibels.field_from_power_dbm(power, frequency_mhz, gain_dbi) == pytest.approx(
        field_dbuv_m, abs=1e-9
    )


@given(levels, st.sampled_from([50.0, 75.0]))
def test_voltage_round_trip(power_dbm: float, impedance_ohm: float) -> None:
    voltage = decibels.dbuv_from_dbm(power_dbm, impedance_ohm)
    assert decibels.dbm_from_dbuv(voltage, impedance_ohm) == pytest.approx(power_dbm, abs=1e-9)


@given(levels, st.floats(0.0, 200.0), frequencies)
def test_power_through_the_field_is_eirp_less_loss(
    erp_dbw: float, loss_db: float, frequency_mhz: float
) -> None:
    field = decibels.field_from_loss_dbuv_m(erp_dbw, loss_db, frequency_mhz)
    power_dbm = decibels.power_dbm_from_field(field, frequency_mhz, 0.0)
    assert power_dbm == pytest.approx(erp_dbw + DIPOLE_GAIN_DBI + 30.0 - loss_db, abs=1e-9)
