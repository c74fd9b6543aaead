"""The planning field of every kind of system, item by item, each item with its source.

That of fixed DVB-T2 reception is the minimum median field of ITU-R BT.2033-2 Attachment 1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, get_args

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError, require_range
from combe.standards import atsc, dvbt2
from combe.standards.analogue import Lines, band_field
from combe.standards.cited import Cited, Confidence
from combe.standards.dvbt2 import LOCATION_DEVIATION_DB, FixedAerial, location_factor


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


Kind = Literal["digital", "analogue"]

LOWEST_UHF_MHZ: Final = 300.0

LOCATION_DEVIATION: Final[Mapping[tuple[Kind, str], Cited]] = MappingProxyType(
    {
        ("digital", "VHF"): LOCATION_DEVIATION_DB,
        ("digital", "UHF"): LOCATION_DEVIATION_DB,
        ("analogue", "VHF"): Cited(8.3, "ITU-R P.1546, analogue broadcasting at 100 MHz", "from memory"),
        ("analogue", "UHF"): Cited(9.5, "ITU-R P.1546, analogue broadcasting at 600 MHz", "from memory"),
    }
)
"""Standard deviation [dB] of the field over places, by kind of service and band."""


_OET: Final = "FCC OET Bulletin 69, E = C/N - Kd - Ka - G + L + Nt + Ns"


def location_deviation(kind: Kind, frequency_mhz: float) -> Cited:
    """Return the standard deviation [dB] that planning takes for a service, with its source.

    ITU-R P.1812 has its own, by cell size: :func:`combe.propagation.p1812.location_sigma_db`.

    Raises
    ------
    RangeError
        For an unknown kind, or a frequency outside 30 to 3000 MHz.
    """
    if kind not in get_args(Kind):
        raise RangeError("kind of service", repr(kind), " or ".join(get_args(Kind)))
    require_range("frequency_mhz", frequency_mhz, 30.0, 3000.0)
    return LOCATION_DEVIATION[kind, "UHF" if frequency_mhz >= LOWEST_UHF_MHZ else "VHF"]


_CHAIN: Final = "ITU-R BT.2033-2 Attachment 1"


class ChainItem(NamedTuple):
    """One line of a chain as printed: its name, value and unit, and where the value is from."""

    name: str
    value: float
    unit: str
    reference: str
    confidence: Confidence


@dataclass(frozen=True)
class PlanningField:
    """The field that a system's planning asks for at one frequency.

    ``minimum_field_dbuv_m`` is needed at a place; ``median_field_dbuv_m`` is the median over places at 10 m
    that gives it in ``location_percent`` of them; ``time_percent`` is the time for which it has to stand.
    """

    frequency_mhz: float
    minimum_field_dbuv_m: float
    location_percent: float
    location_deviation_db: float
    location_correction_db: float
    median_field_dbuv_m: float
    time_percent: float
    chain: tuple[ChainItem, ...]


def ofdm_field(
    frequency_mhz: float,
    location_percent: float,
    *,
    mode_cn: Cited,
    implementation_margin: Cited | None,
    noise_figure: Cited,
    bandwidth: Cited,
    time_percent: float,
) -> PlanningField:
    """Work out the chain of ITU-R BT.2033-2, which GE06 has for DVB-T alike; errors as its parts'."""
    margin_db = implementation_margin.value if implementation_margin else 0.0
    field = minimum_median_field(
        frequency_mhz,
        mode_cn.value + margin_db,
        location_percent=location_percent,
        noise_figure_db=noise_figure.value,
        bandwidth_mhz=bandwidth.value,
    )
    sources = _ofdm_sources(frequency_mhz, location_percent, mode_cn, noise_figure, bandwidth)
    chain = [
        ChainItem(name, value, unit, *sources.get(name, (_CHAIN, "computed")))
        for name, value, unit in items(field)
    ]
    return PlanningField(
        frequency_mhz=frequency_mhz,
        minimum_field_dbuv_m=field.minimum_field_dbuv_m,
        location_percent=location_percent,
        location_deviation_db=field.location_deviation_db,
        location_correction_db=field.location_correction_db,
        median_field_dbuv_m=field.median_field_dbuv_m,
        time_percent=time_percent,
        chain=(*_mode_items(mode_cn, implementation_margin), *chain),
    )


def atsc_field(frequency_mhz: float, location_percent: float, *, time_percent: float) -> PlanningField:
    """Work out the published chain of ATSC in the UHF bands; errors as its parts'."""
    threshold = atsc.atsc_threshold(frequency_mhz)
    cited = (
        ("required C/N", atsc.REQUIRED_CN_DB, "dB"),
        ("dipole factor Kd at 615 MHz", atsc.DIPOLE_FACTOR_DB, "dBm less dB(µV/m)"),
        ("aerial gain G", atsc.AERIAL_GAIN_DBD, "dBd"),
        ("downlead loss L", atsc.DOWNLEAD_LOSS_DB, "dB"),
        ("thermal noise Nt", atsc.THERMAL_NOISE_DBM, "dBm"),
        ("receiver noise figure Ns", atsc.NOISE_FIGURE_DB, "dB"),
        ("threshold at 615 MHz, computed", Cited(threshold.computed_dbuv_m, _OET, "computed"), "dB(µV/m)"),
        ("threshold at 615 MHz, printed", atsc.THRESHOLD_DBUV_M, "dB(µV/m)"),
        ("dipole adjustment Ka", Cited(threshold.dipole_adjustment_db, _OET, "computed"), "dB"),
        ("threshold", Cited(threshold.threshold_dbuv_m, _OET, "computed"), "dB(µV/m)"),
    )
    chain = tuple(_item(name, value, unit) for name, value, unit in cited)
    return _with_places(
        frequency_mhz,
        threshold.threshold_dbuv_m,
        location_percent,
        dvbt2.LOCATION_DEVIATION_DB,
        time_percent,
        chain,
    )


def analogue_field(
    lines: Lines, frequency_mhz: float, location_percent: float, *, time_percent: float
) -> PlanningField:
    """Return the published field of the band, carried from half the places to others by the deviation.

    Raises
    ------
    RangeError
        For a frequency in no band of the line standard, or a percentage out of range.
    """
    row = band_field(lines, frequency_mhz)
    published = Cited(row.median_dbuv_m, row.reference, row.confidence)
    chain = (_item(f"median field of {row.band}", published, "dB(µV/m)"),)
    deviation = location_deviation("analogue", frequency_mhz)
    return _with_places(frequency_mhz, row.median_dbuv_m, location_percent, deviation, time_percent, chain)


_Source = tuple[str, Confidence]


def _item(name: str, value: Cited, unit: str) -> ChainItem:
    return ChainItem(name, value.value, unit, value.reference, value.confidence)


def _mode_items(mode_cn: Cited, margin: Cited | None) -> tuple[ChainItem, ...]:
    """Return the two parts of the required C/N where a margin is added to the mode's own."""
    if margin is None:
        return ()
    return (_item("C/N of the mode", mode_cn, "dB"), _item("implementation margin", margin, "dB"))


def _ofdm_sources(
    frequency_mhz: float, location_percent: float, mode_cn: Cited, noise_figure: Cited, bandwidth: Cited
) -> Mapping[str, _Source]:
    aerial: FixedAerial = dvbt2.fixed_aerial(frequency_mhz)
    factor, man_made = location_factor(location_percent), dvbt2.MAN_MADE_NOISE_DB
    return {
        "frequency": ("as asked", "computed"),
        "locations": ("as asked", "computed"),
        "noise bandwidth B": (bandwidth.reference, bandwidth.confidence),
        "receiver noise figure F": (noise_figure.reference, noise_figure.confidence),
        "required C/N": (mode_cn.reference, mode_cn.confidence),
        "aerial gain G": (aerial.reference, aerial.confidence),
        "feeder loss Lf": (aerial.reference, aerial.confidence),
        "man-made noise allowance Pmmn": (man_made.reference, man_made.confidence),
        "location factor μ": (factor.reference, factor.confidence),
        "location standard deviation σ": (
            dvbt2.LOCATION_DEVIATION_DB.reference,
            dvbt2.LOCATION_DEVIATION_DB.confidence,
        ),
    }


def _with_places(
    frequency_mhz: float,
    minimum_dbuv_m: float,
    location_percent: float,
    deviation: Cited,
    time_percent: float,
    chain: tuple[ChainItem, ...],
) -> PlanningField:
    """Add the allowance for places to a field that stands for half of them."""
    factor = location_factor(location_percent)
    correction = Cited(factor.value * deviation.value, "Cl = μσ", "computed")
    median = Cited(minimum_dbuv_m + correction.value, "minimum field and Cl", "computed")
    places = (
        ChainItem("locations", location_percent, "%", "as asked", "computed"),
        _item("location factor μ", factor, ""),
        _item("location standard deviation σ", deviation, "dB"),
        _item("location correction Cl", correction, "dB"),
        _item("minimum median field, at 10 m", median, "dB(µV/m)"),
    )
    return PlanningField(
        frequency_mhz=frequency_mhz,
        minimum_field_dbuv_m=minimum_dbuv_m,
        location_percent=location_percent,
        location_deviation_db=deviation.value,
        location_correction_db=correction.value,
        median_field_dbuv_m=median.value,
        time_percent=time_percent,
        chain=(*chain, *places),
    )
