"""The planning field of every kind of system, item by item, each item with its source.

That of DVB-T2 reception, fixed or portable, is the minimum median field of ITU-R BT.2033-2 Attachment 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, get_args

from combe.errors import RangeError, require_range
from combe.standards import atsc, dvbt2
from combe.standards.analogue import Lines, band_field
from combe.standards.cited import Cited, Confidence
from combe.standards.dvbt2 import LOCATION_DEVIATION_DB, location_factor
from combe.standards.man_made_noise import NoiseEnvironment, cited_rise
from combe.standards.minimum_median import PMMN, ReceivingTerms, items, minimum_median_field, receiving_terms
from combe.standards.portable import PortableTerms

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

EXTERNAL_NOISE: Final = "external noise"


def noise_item(field: PlanningField) -> ChainItem | None:
    """Return what a planning field allows for the noise about the aerial, None where it does not say."""
    return next((item for item in field.chain if item.name in (PMMN, EXTERNAL_NOISE)), None)


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

    ``minimum_field_dbuv_m`` is needed at the aerial; ``median_field_dbuv_m`` is the median over places
    outdoors, at 10 m unless the chain says otherwise, that gives it in ``location_percent`` of them;
    ``time_percent`` is the time for which it has to stand.
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
    portable: PortableTerms | None = None,
    noise_environment: NoiseEnvironment | None = None,
) -> PlanningField:
    """Work out the chain of ITU-R BT.2033-2, which GE06 has for DVB-T alike; errors as its parts'."""
    margin_db = implementation_margin.value if implementation_margin else 0.0
    field = minimum_median_field(
        frequency_mhz,
        mode_cn.value + margin_db,
        location_percent=location_percent,
        noise_figure_db=noise_figure.value,
        bandwidth_mhz=bandwidth.value,
        portable=portable,
        noise_environment=noise_environment,
    )
    terms = receiving_terms(frequency_mhz, portable, noise_environment, noise_figure.value)
    sources = _ofdm_sources(location_percent, mode_cn, noise_figure, bandwidth) | _terms_sources(terms)
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


def atsc_noise_rise(frequency_mhz: float, noise_environment: NoiseEnvironment | None) -> Cited | None:
    """Return by how much external noise lifts an ATSC threshold [dB]; None where the published one stands."""
    if noise_environment is None:
        return None
    factors = atsc.planning_factors(frequency_mhz)
    return cited_rise(
        noise_environment,
        frequency_mhz,
        noise_figure_db=factors.noise_figure.value,
        feeder_loss_db=factors.downlead_loss.value,
    )


def atsc_field(
    frequency_mhz: float,
    location_percent: float,
    *,
    time_percent: float,
    noise_environment: NoiseEnvironment | None = None,
) -> PlanningField:
    """Work out the published chain of ATSC for the band; errors as its parts'."""
    threshold, factors = atsc.atsc_threshold(frequency_mhz), atsc.planning_factors(frequency_mhz)
    at = f"at {factors.reference_frequency.value:g} MHz"
    cited = (
        ("required C/N", atsc.REQUIRED_CN_DB, "dB"),
        (f"dipole factor Kd {at}", factors.dipole_factor, "dBm less dB(µV/m)"),
        ("aerial gain G", factors.aerial_gain, "dBd"),
        ("downlead loss L", factors.downlead_loss, "dB"),
        ("thermal noise Nt", atsc.THERMAL_NOISE_DBM, "dBm"),
        ("receiver noise figure Ns", factors.noise_figure, "dB"),
        (f"threshold {at}, computed", Cited(threshold.computed_dbuv_m, _OET, "computed"), "dB(µV/m)"),
        (f"threshold {at}, printed", factors.threshold, "dB(µV/m)"),
        ("dipole adjustment Ka", Cited(threshold.dipole_adjustment_db, _OET, "computed"), "dB"),
        ("threshold", Cited(threshold.threshold_dbuv_m, _OET, "computed"), "dB(µV/m)"),
    )
    chain = tuple(_item(name, value, unit) for name, value, unit in cited)
    minimum_dbuv_m = threshold.threshold_dbuv_m
    if (rise := atsc_noise_rise(frequency_mhz, noise_environment)) is not None:
        chain += (_item(EXTERNAL_NOISE, rise, "dB"),)
        minimum_dbuv_m += rise.value
    return _with_places(
        frequency_mhz,
        minimum_dbuv_m,
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
    location_percent: float, mode_cn: Cited, noise_figure: Cited, bandwidth: Cited
) -> dict[str, _Source]:
    asked: _Source = ("as asked", "computed")
    return {
        "frequency": asked,
        "locations": asked,
        "noise bandwidth B": _source(bandwidth),
        "receiver noise figure F": _source(noise_figure),
        "required C/N": _source(mode_cn),
        "location factor μ": _source(location_factor(location_percent)),
    }


def _terms_sources(terms: ReceivingTerms) -> dict[str, _Source]:
    sources = {
        "aerial gain G": _source(terms.aerial_gain),
        "feeder loss Lf": _source(terms.feeder_loss),
        PMMN: _source(terms.man_made_noise),
        "location standard deviation σ": _source(terms.deviation),
    }
    if terms.height_loss:
        sources["height loss Lh"] = _source(terms.height_loss)
    if terms.entry_loss:
        sources["building entry loss Lb"] = _source(terms.entry_loss.mean)
        sources["deviation of the entry loss σb"] = _source(terms.entry_loss.deviation)
    return sources


def _source(value: Cited) -> _Source:
    return value.reference, value.confidence


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
