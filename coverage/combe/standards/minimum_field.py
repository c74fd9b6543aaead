"""The minimum median field of fixed DVB-T2 reception, item by item (ITU-R BT.2033-2 Attachment 1)."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Final

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import require_range
from combe.standards import dvbt2


@dataclass(frozen=True)
class MinimumMedianField:
    """Items of the published chain, in its order; each with the unit in its name."""

    frequency_mhz: float
    bandwidth_mhz: float
    noise_figure_db: float
    noise_power_dbw: float
    """Pn = F + 10 log(k T0 B)."""
    required_cn_db: float
    minimum_power_dbw: float
    """Ps = C/N + Pn."""
    aerial_gain_dbd: float
    effective_aperture_dbm2: float
    """Aa = G + 10 log(1.64 λ² / 4π)."""
    feeder_loss_db: float
    minimum_flux_dbw_m2: float
    """φ = Ps − Aa + Lf."""
    minimum_field_dbuv_m: float
    """Emin = φ + 145.8."""
    man_made_noise_db: float
    """Pmmn."""
    location_percent: float
    location_factor: float
    """μ."""
    location_factor_reference: str
    """Whether μ is as printed or the exact quantile."""
    location_deviation_db: float
    """σ."""
    location_correction_db: float
    """Cl = μσ."""
    median_field_dbuv_m: float
    """Emed = Emin + Pmmn + Cl, at 10 m."""
    reference: str


_REFERENCE: Final = "ITU-R BT.2033-2 Attachment 1; aerial and feeder ITU-R BT.2036-5"

_NAMES: Final = {
    "frequency_mhz": ("frequency", "MHz"),
    "bandwidth_mhz": ("noise bandwidth B", "MHz"),
    "noise_figure_db": ("receiver noise figure F", "dB"),
    "noise_power_dbw": ("receiver noise power Pn", "dBW"),
    "required_cn_db": ("required C/N", "dB"),
    "minimum_power_dbw": ("minimum receiver input Ps", "dBW"),
    "aerial_gain_dbd": ("aerial gain G", "dBd"),
    "effective_aperture_dbm2": ("effective aperture Aa", "dB(m²)"),
    "feeder_loss_db": ("feeder loss Lf", "dB"),
    "minimum_flux_dbw_m2": ("minimum power flux density", "dB(W/m²)"),
    "minimum_field_dbuv_m": ("minimum field Emin", "dB(µV/m)"),
    "man_made_noise_db": ("man-made noise allowance Pmmn", "dB"),
    "location_percent": ("locations", "%"),
    "location_factor": ("location factor μ", ""),
    "location_deviation_db": ("location standard deviation σ", "dB"),
    "location_correction_db": ("location correction Cl", "dB"),
    "median_field_dbuv_m": ("minimum median field Emed, at 10 m", "dB(µV/m)"),
}


def minimum_median_field(
    frequency_mhz: float,
    required_cn_db: float,
    *,
    location_percent: float = 95.0,
    noise_figure_db: float = dvbt2.NOISE_FIGURE_DB.value,
    bandwidth_mhz: float = dvbt2.NOISE_BANDWIDTH_MHZ[8.0].value,
) -> MinimumMedianField:
    """Work out the minimum median field at 10 m for fixed rooftop reception in Bands IV and V.

    Parameters
    ----------
    frequency_mhz : float
        Centre of the channel [MHz], 470 to 862.
    required_cn_db : float
        Of the mode and channel model [dB], −10 to 60.
    location_percent : float
        Share of the places that shall be served [%], 1 to 99.9.
    noise_figure_db : float
        Of the receiver [dB], 0 to 30.
    bandwidth_mhz : float
        Noise bandwidth [MHz], 0.1 to 20.

    Returns
    -------
    MinimumMedianField

    Raises
    ------
    RangeError
        Outside the ranges above.

    Notes
    -----
    Constants are those that the Recommendation prints (k = 1.38e-23, 145.8 dB, 1.64).

    Examples
    --------
    >>> round(minimum_median_field(650.0, 20.0).median_field_dbuv_m, 1)
    54.2
    """
    require_range("required_cn_db", required_cn_db, -10.0, 60.0)
    require_range("noise_figure_db", noise_figure_db, 0.0, 30.0)
    require_range("bandwidth_mhz", bandwidth_mhz, 0.1, 20.0)
    aerial = dvbt2.fixed_aerial(frequency_mhz)
    factor = dvbt2.location_factor(location_percent)
    noise_dbw = noise_power_dbw(noise_figure_db, bandwidth_mhz)
    aperture_dbm2 = effective_aperture_dbm2(aerial.gain_dbd, frequency_mhz)
    flux_dbw_m2 = required_cn_db + noise_dbw - aperture_dbm2 + aerial.feeder_loss_db
    minimum_dbuv_m = flux_dbw_m2 + dvbt2.FIELD_OVER_FLUX_DB.value
    correction_db = factor.value * dvbt2.LOCATION_DEVIATION_DB.value
    return MinimumMedianField(
        frequency_mhz=frequency_mhz,
        bandwidth_mhz=bandwidth_mhz,
        noise_figure_db=noise_figure_db,
        noise_power_dbw=noise_dbw,
        required_cn_db=required_cn_db,
        minimum_power_dbw=required_cn_db + noise_dbw,
        aerial_gain_dbd=aerial.gain_dbd,
        effective_aperture_dbm2=aperture_dbm2,
        feeder_loss_db=aerial.feeder_loss_db,
        minimum_flux_dbw_m2=flux_dbw_m2,
        minimum_field_dbuv_m=minimum_dbuv_m,
        man_made_noise_db=dvbt2.MAN_MADE_NOISE_DB.value,
        location_percent=location_percent,
        location_factor=factor.value,
        location_factor_reference=factor.reference,
        location_deviation_db=dvbt2.LOCATION_DEVIATION_DB.value,
        location_correction_db=correction_db,
        median_field_dbuv_m=minimum_dbuv_m + dvbt2.MAN_MADE_NOISE_DB.value + correction_db,
        reference=_REFERENCE,
    )


def noise_power_dbw(noise_figure_db: float, bandwidth_mhz: float) -> float:
    """Return Pn = F + 10 log(k T0 B) [dBW] with the constants that BT.2033-2 prints."""
    kt = dvbt2.BOLTZMANN_J_K.value * dvbt2.NOISE_TEMPERATURE_K.value
    return noise_figure_db + 10.0 * math.log10(kt * bandwidth_mhz * 1e6)


def effective_aperture_dbm2(gain_dbd: float, frequency_mhz: float) -> float:
    """Return Aa = G + 10 log(1.64 λ² / 4π) [dB(m²)]."""
    wavelength_m = SPEED_OF_LIGHT_M_S / (frequency_mhz * 1e6)
    return gain_dbd + 10.0 * math.log10(dvbt2.DIPOLE_POWER_RATIO.value * wavelength_m**2 / (4.0 * math.pi))


def items(field: MinimumMedianField) -> list[tuple[str, float, str]]:
    """Return the numbers of the chain in order for print: (name, value, unit)."""
    return [
        (*_NAMES[each.name][:1], getattr(field, each.name), _NAMES[each.name][1])
        for each in fields(field)
        if each.name in _NAMES
    ]
