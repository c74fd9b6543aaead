"""Television systems: what a receiver of each needs, gathered from the tables for one mode."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combe.errors import RangeError
from combe.standards import atsc
from combe.standards.analogue import PLANNING_FIELDS, Lines, analogue_system
from combe.standards.cited import Citation, describe, memory_note
from combe.standards.dvbt2 import FIXED_BANDS
from combe.standards.families import FAMILIES, ModeCn, SystemFamily, channel_models_of, mode_cn, modes_of
from combe.standards.man_made_noise import NoiseEnvironment
from combe.standards.planning_fields import (
    PlanningField,
    analogue_field,
    atsc_field,
    atsc_noise_rise,
    ofdm_field,
)
from combe.standards.portable import PortableTerms
from combe.standards.protection import SignalKind
from combe.standards.rasters import channel_raster
from combe.words import tell

TELEVISION_SYSTEMS: Final[Mapping[str, SystemFamily]] = MappingProxyType({row.name: row for row in FAMILIES})
"""Systems by name."""

PORTABLE_SIGNALS: Final = ("DVB", "ISDB-T")
"""Kinds of signals for which there is a published chain of portable reception."""


@dataclass(frozen=True)
class TelevisionSystem:
    """One mode of a television system, as planning sees it.

    Parameters
    ----------
    name : str
        A key of :data:`TELEVISION_SYSTEMS`.
    signal : str
        Its kind in the tables of protection ratios.
    analogue_name : str or None
        Its row of :data:`combe.standards.analogue.ANALOGUE_SYSTEMS`; None when it is digital.
    modulation, code_rate, channel_model : str
        Of the mode; empty for an analogue system, which has no modes.
    bandwidth_mhz : float
        Noise bandwidth [MHz].
    required_cn_db : float or None
        With the implementation margin [dB]; None for an analogue system, whose planning states a field.
    implementation_margin_db : float
        Part of ``required_cn_db`` that is added to the mode's own [dB].
    noise_figure_db : float or None
        Of the receiver of the planning model [dB]; None for an analogue system.
    channel_raster : str
        A key of :data:`combe.standards.rasters.CHANNEL_RASTERS`.
    sigma_db : float
        Standard deviation over places in the UHF bands [dB].
    location_percent : float
        Places that the system's planning serves unless told otherwise [%].
    wanted_time_percent, interferer_time_percent : float
        Time for which the wanted field stands, and for which a tropospheric interferer is exceeded [%].
    reference : str
        Where the required C/N, or the field, is from.
    citations : tuple of Citation
        Where each of the values is from.
    """

    name: str
    signal: SignalKind
    analogue_name: str | None
    modulation: str
    code_rate: str
    channel_model: str
    bandwidth_mhz: float
    required_cn_db: float | None
    implementation_margin_db: float
    noise_figure_db: float | None
    channel_raster: str
    sigma_db: float
    location_percent: float
    wanted_time_percent: float
    interferer_time_percent: float
    reference: str
    citations: tuple[Citation, ...]


def television_system(
    name: str, modulation: str | None = None, code_rate: str | None = None, channel_model: str | None = None
) -> TelevisionSystem:
    """Return a mode of a television system.

    Parameters
    ----------
    name : str
        A key of :data:`TELEVISION_SYSTEMS`, such as ``DVB-T2`` (8 MHz channels) or ``PAL I``.
    modulation, code_rate : str or None
        Such as ``256-QAM`` and ``2/3``; the system's usual ones unless given. An analogue system has none.
    channel_model : str or None
        ``gaussian``, ``ricean`` (fixed aerials on the roof) or ``rayleigh``; the system's usual one unless
        given.

    Raises
    ------
    RangeError
        Naming what the table has.

    Examples
    --------
    >>> television_system("DVB-T", "64-QAM", "2/3").required_cn_db
    20.1
    """
    if name not in TELEVISION_SYSTEMS:
        raise RangeError("television system", repr(name), ", ".join(TELEVISION_SYSTEMS))
    family = TELEVISION_SYSTEMS[name]
    if family.analogue_name is not None:
        _require_no_mode(family, modulation, code_rate, channel_model)
        return _system(family, None)
    return _system(family, mode_cn(family, modulation, code_rate, channel_model))


def in_channel_model(system: TelevisionSystem, channel_model: str) -> TelevisionSystem:
    """Return a system's mode in another channel model; as it is where the table has no C/N for that.

    Examples
    --------
    >>> in_channel_model(television_system("DVB-T2"), "rayleigh").required_cn_db
    22.1
    >>> in_channel_model(television_system("ISDB-T"), "rayleigh").channel_model
    'gaussian'
    """
    mode = (system.modulation, system.code_rate)
    if channel_model not in TELEVISION_SYSTEMS[system.name].modes.get(mode, ()):
        return system
    return television_system(system.name, *mode, channel_model)


def same_signal(one: TelevisionSystem, other: TelevisionSystem) -> bool:
    """Tell whether what is received as one system can be radiated again as the other, without any decoding.

    PAL B and PAL G are one signal on channels of two widths: colour and carriers count for an analogue one.
    """
    if one.analogue_name is None or other.analogue_name is None:
        return one.name == other.name
    return _picture(one) == _picture(other)


def _picture(system: TelevisionSystem) -> tuple[object, ...]:
    """Return what makes an analogue signal: its colour system, and how its carriers lie."""
    row = analogue_system(str(system.analogue_name))
    return system.name.partition(" ")[0], row.sound_over_vision_mhz, row.noise_bandwidth_mhz


def planning_field(
    system: TelevisionSystem,
    frequency_mhz: float,
    location_percent: float | None = None,
    portable: PortableTerms | None = None,
    noise_environment: NoiseEnvironment | None = None,
) -> PlanningField:
    """Return the minimum median field of a system, itemised.

    Parameters
    ----------
    system : TelevisionSystem
    frequency_mhz : float
        Centre of the channel [MHz].
    location_percent : float or None
        Share of the places that shall be served [%], 1 to 99.9; the system's own unless given.
    portable : PortableTerms or None
        Of a portable receiver; None for an aerial on the roof.
    noise_environment : NoiseEnvironment or None
        Surroundings whose noise by ITU-R P.372 counts in place of what the system's planning allows for it;
        None for that. The fields that are published for analogue systems hold their noise already, and none
        is added.

    Raises
    ------
    RangeError
        For a frequency or a percentage out of range, or portable reception of a system that has no published
        chain for it.
    """
    percent = system.location_percent if location_percent is None else location_percent
    if portable is not None and system.signal not in PORTABLE_SIGNALS:
        raise RangeError(
            "portable reception", f"asked of {system.name}", "DVB-T2, DVB-T, ISDB-T", "use fixed roof"
        )
    time = system.wanted_time_percent
    if system.signal in ("analogue 625", "analogue 525"):
        lines: Lines = "analogue 625" if system.signal == "analogue 625" else "analogue 525"
        return analogue_field(lines, frequency_mhz, percent, time_percent=time)
    if system.signal == "ATSC":
        return atsc_field(frequency_mhz, percent, time_percent=time, noise_environment=noise_environment)
    return _ofdm(system, frequency_mhz, percent, portable, noise_environment)


def planning_bands_mhz(signal: SignalKind) -> tuple[tuple[float, float], ...]:
    """Return from where to where planning values hold for a kind of signal [MHz], lowest band first."""
    if signal == "ATSC":
        return tuple((row.low_mhz, row.high_mhz) for row in atsc.PLANNING_FACTORS)
    if signal in ("analogue 625", "analogue 525"):
        return tuple((row.low_mhz, row.high_mhz) for row in PLANNING_FIELDS if row.lines == signal)
    return tuple((band.low_mhz, band.high_mhz) for band in FIXED_BANDS)


def in_planning_bands(signal: SignalKind, frequency_mhz: float) -> bool:
    """Tell whether planning values hold at a frequency [MHz] for a kind of signal."""
    return any(low <= frequency_mhz < high for low, high in planning_bands_mhz(signal))


def sharing_noise_dbuv_m(
    system: TelevisionSystem, frequency_mhz: float, noise_environment: NoiseEnvironment | None = None
) -> float:
    """Return the field that noise asks for beside interference [dB(µV/m)]; NaN where it is the minimum field.

    Only ATSC has one of its own, see :func:`combe.standards.atsc.sharing_noise_dbuv_m`.
    """
    if system.signal != "ATSC":
        return math.nan
    rise = atsc_noise_rise(frequency_mhz, noise_environment)
    return atsc.sharing_noise_dbuv_m(frequency_mhz) + (rise.value if rise else 0.0)


def system_note(system: TelevisionSystem) -> str:
    """Return what of a system's values is from memory, in words for print; empty when nothing is."""
    return memory_note(system.citations)


def mode_words(system: TelevisionSystem) -> str:
    """Return the system and its mode for print.

    Examples
    --------
    >>> mode_words(television_system("DVB-T2"))
    'DVB-T2, 256-QAM 2/3, ricean channel, C/N 20 dB'
    """
    if system.required_cn_db is None:
        return system.name
    margin = system.implementation_margin_db
    words = tell(" with {margin:g} dB for the receiver", margin=margin) if margin else ""
    return tell(
        "{name}, {modulation} {code_rate}, {channel_model} channel, C/N {required_cn_db:g} dB{words}",
        name=system.name,
        modulation=system.modulation,
        code_rate=system.code_rate,
        channel_model=system.channel_model,
        required_cn_db=system.required_cn_db,
        words=words,
    )


def _require_no_mode(family: SystemFamily, *given: str | None) -> None:
    for name, value in zip(("modulation", "code rate", "channel model"), given, strict=True):
        if value:
            raise RangeError(f"{name} of {family.name}", repr(value), "none: an analogue system has no modes")


def _system(family: SystemFamily, mode: ModeCn | None) -> TelevisionSystem:
    margin = family.implementation_margin
    margin_db = margin.value if margin else 0.0
    source = mode.cn if mode else family.field_source
    return TelevisionSystem(
        name=family.name,
        signal=family.signal,
        analogue_name=family.analogue_name,
        modulation=mode.modulation if mode else "",
        code_rate=mode.code_rate if mode else "",
        channel_model=mode.channel_model if mode else "",
        bandwidth_mhz=family.bandwidth.value,
        required_cn_db=round(mode.cn.value + margin_db, 6) if mode else None,
        implementation_margin_db=margin_db,
        noise_figure_db=family.noise_figure.value if family.noise_figure else None,
        channel_raster=family.channel_raster,
        sigma_db=family.sigma.value,
        location_percent=family.location_percent.value,
        wanted_time_percent=family.wanted_time.value,
        interferer_time_percent=family.interferer_time.value,
        reference=describe(source.reference, source.confidence),
        citations=_citations(family, mode),
    )


def _citations(family: SystemFamily, mode: ModeCn | None) -> tuple[Citation, ...]:
    """Return where each value of a system is from, in the order in which planning uses them."""
    raster = channel_raster(family.channel_raster)
    values = (
        ("required C/N", mode.cn if mode else None),
        ("median field of the bands", family.field_source if family.analogue_name else None),
        ("implementation margin", family.implementation_margin),
        ("noise bandwidth", family.bandwidth),
        ("receiver noise figure", family.noise_figure),
        ("location standard deviation", family.sigma),
        ("locations to be served", family.location_percent),
        ("time of the wanted field", family.wanted_time),
        ("time of interferers", family.interferer_time),
    )
    citations = [Citation(what, each.reference, each.confidence) for what, each in values if each is not None]
    return (*citations, Citation("channel frequencies", raster.reference, raster.confidence))


def _ofdm(
    system: TelevisionSystem,
    frequency_mhz: float,
    percent: float,
    portable: PortableTerms | None,
    noise_environment: NoiseEnvironment | None,
) -> PlanningField:
    family = TELEVISION_SYSTEMS[system.name]
    mode = mode_cn(family, system.modulation, system.code_rate, system.channel_model)
    assert family.noise_figure is not None, "every OFDM system of the table has one"
    return ofdm_field(
        frequency_mhz,
        percent,
        mode_cn=mode.cn,
        implementation_margin=family.implementation_margin,
        noise_figure=family.noise_figure,
        bandwidth=family.bandwidth,
        time_percent=system.wanted_time_percent,
        portable=portable,
        noise_environment=noise_environment,
    )


__all__ = [
    "PORTABLE_SIGNALS",
    "TELEVISION_SYSTEMS",
    "TelevisionSystem",
    "channel_models_of",
    "in_channel_model",
    "in_planning_bands",
    "mode_words",
    "modes_of",
    "planning_bands_mhz",
    "planning_field",
    "same_signal",
    "sharing_noise_dbuv_m",
    "system_note",
    "television_system",
]
