"""Decibels: ratios, and the way between field strength, power and voltage.

All functions take floats or arrays and return the same shape. Sources: ITU-R P.525 (field and power),
constants from the exact speed of light and the impedance of free space.
"""

from __future__ import annotations

import math
from typing import Any, Final, TypeVar, cast

import numpy as np
import numpy.typing as npt

from combe.constants import (
    BOLTZMANN_J_K,
    DIPOLE_GAIN_DBI,
    REFERENCE_TEMPERATURE_K,
    SPEED_OF_LIGHT_M_S,
    WAVE_IMPEDANCE_OHM,
)

FloatArray = npt.NDArray[np.float64]
Number = TypeVar("Number", float, FloatArray)

_ISOTROPIC_CAPTURE_DB: Final = 10.0 * math.log10(
    (1e-6) ** 2 / WAVE_IMPEDANCE_OHM * (SPEED_OF_LIGHT_M_S / 1e6) ** 2 / (4.0 * math.pi) * 1e3
)
"""dBm out of an isotropic aerial at 1 MHz in a field of 0 dB(µV/m); −77.216, see P.525."""


def ratio_from_db(value_db: Number) -> Number:
    """Return the power ratio of ``value_db`` [dB]."""
    return _like(np.power(10.0, value_db / 10.0), value_db)


def db_from_ratio(ratio: Number) -> Number:
    """Return the decibels of a power ratio (−inf for 0, NaN below 0)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return _like(10.0 * np.log10(ratio), ratio)


def dbw_from_watt(power_w: Number) -> Number:
    """Return dBW of ``power_w`` [W]."""
    return db_from_ratio(power_w)


def watt_from_dbw(power_dbw: Number) -> Number:
    """Return W of ``power_dbw`` [dBW]."""
    return ratio_from_db(power_dbw)


def eirp_from_erp_dbw(erp_dbw: Number) -> Number:
    """Return e.i.r.p. [dBW] of an e.r.p. [dBW]: 2.15 dB more (P.525)."""
    return erp_dbw + DIPOLE_GAIN_DBI


def power_dbm_from_field(field_dbuv_m: Number, frequency_mhz: float, gain_dbi: float) -> Number:
    """Return the available power [dBm] of a matched aerial of ``gain_dbi`` [dBi] in a field [dB(µV/m)].

    P = E − 20 log f + G − 77.216, from S·λ²·G/4π.
    """
    return field_dbuv_m - 20.0 * math.log10(frequency_mhz) + gain_dbi + _ISOTROPIC_CAPTURE_DB


def field_from_power_dbm(power_dbm: Number, frequency_mhz: float, gain_dbi: float) -> Number:
    """Return the field [dB(µV/m)] that gives ``power_dbm`` [dBm]; inverse of :func:`power_dbm_from_field`."""
    return power_dbm + 20.0 * math.log10(frequency_mhz) - gain_dbi - _ISOTROPIC_CAPTURE_DB


def field_from_loss_dbuv_m(erp_dbw: Number, basic_loss_db: Number, frequency_mhz: float) -> Number:
    """Return the field [dB(µV/m)] that an e.r.p. [dBW] leaves after a basic transmission loss [dB].

    E = ERP − Lb + 20 log f + 109.366: an isotropic aerial in that field would be given e.i.r.p. − Lb.
    For 1 kW the constant is 139.366, which P.1812 prints as 199.36 with f in GHz and P.1546 as 139.3.
    """
    isotropic_dbm = eirp_from_erp_dbw(erp_dbw) + 30.0 - basic_loss_db
    return field_from_power_dbm(isotropic_dbm, frequency_mhz, 0.0)


def dbuv_from_dbm(power_dbm: Number, impedance_ohm: float = 50.0) -> Number:
    """Return the voltage [dBµV] across a matched load: 106.990 more at 50 Ω, 108.751 at 75 Ω."""
    return power_dbm + 90.0 + 10.0 * math.log10(impedance_ohm)


def dbm_from_dbuv(voltage_dbuv: Number, impedance_ohm: float = 50.0) -> Number:
    """Return the power [dBm] in a matched load; inverse of :func:`dbuv_from_dbm`."""
    return voltage_dbuv - 90.0 - 10.0 * math.log10(impedance_ohm)


def antenna_factor_db_m(frequency_mhz: float, gain_dbi: float, impedance_ohm: float = 50.0) -> float:
    """Return the antenna factor [dB/m]: field minus voltage across the matched load."""
    return -dbuv_from_dbm(power_dbm_from_field(0.0, frequency_mhz, gain_dbi), impedance_ohm)


def power_flux_dbw_m2_from_field(field_dbuv_m: Number) -> Number:
    """Return the power flux density [dB(W/m²)] of a field [dB(µV/m)]: 145.76 less."""
    return field_dbuv_m - 120.0 - 10.0 * math.log10(WAVE_IMPEDANCE_OHM)


def thermal_noise_dbm(bandwidth_mhz: float) -> float:
    """Return k·T0·B [dBm] of a bandwidth [MHz] at 290 K."""
    return 10.0 * math.log10(BOLTZMANN_J_K * REFERENCE_TEMPERATURE_K * bandwidth_mhz * 1e9)


def power_sum_db(*levels_db: Number) -> Number:
    """Return the level [dB] of several powers added: 10 log Σ 10^(L/10)."""
    total = sum(ratio_from_db(level) for level in levels_db)
    return db_from_ratio(cast(Number, total))


def _like(value: Any, model: Number) -> Number:
    """Give back a plain float where a plain float came in."""
    result: Number = float(value) if isinstance(model, int | float) else value
    return result
