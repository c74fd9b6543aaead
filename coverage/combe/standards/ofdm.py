"""How long the symbols of OFDM systems last: useful part, guard interval, and how far a receiver equalises.

From these follows which echoes of a network on one frequency add to the wanted signal, and which harm it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import RangeError
from combe.standards.cited import Cited, Confidence

_MEMORY: Final[Confidence] = "from memory"
_EN302755: Final = "ETSI EN 302 755, elementary period of each channel width"
_TR295: Final = "EBU Technical Review 295 (2003), limit of equalisation of planning"

ELEMENTARY_PERIOD_US: Final[Mapping[float, Cited]] = MappingProxyType(
    {
        8.0: Cited(7.0 / 64.0, _EN302755, "read"),
        7.0: Cited(1.0 / 8.0, _EN302755, "read"),
        6.0: Cited(7.0 / 48.0, _EN302755, "read"),
        5.0: Cited(7.0 / 40.0, _EN302755, "read"),
        10.0: Cited(7.0 / 80.0, _EN302755, "read"),
        1.7: Cited(71.0 / 131.0, _EN302755, "read"),
    }
)
"""Of DVB-T and DVB-T2 [µs] by channel width [MHz]; a symbol's useful part is as many as it has points."""

_POINTS: Final = MappingProxyType(
    {"1k": 1024, "2k": 2048, "4k": 4096, "8k": 8192, "16k": 16384, "32k": 32768}
)
_ISDBT_USEFUL_US: Final = MappingProxyType({"mode 1": 252.0, "mode 2": 504.0, "mode 3": 1008.0})
"""In channels of 6 MHz; in wider ones the symbols are shorter as the channel is wider."""

_ISDBT_WIDTH_MHZ: Final = 6.0

_GUARDS: Final = MappingProxyType(
    {
        "1/128": 1 / 128, "1/32": 1 / 32, "1/16": 1 / 16, "19/256": 19 / 256,
        "1/8": 1 / 8, "19/128": 19 / 128, "1/4": 1 / 4,
    }
)  # fmt: skip
_FOUR: Final = ("1/32", "1/16", "1/8", "1/4")
_SEVEN: Final = tuple(_GUARDS)

GUARD_INTERVALS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "DVB-T": {"2k": _FOUR, "4k": _FOUR, "8k": _FOUR},
        "DVB-T2": {
            "1k": ("1/16", "1/8", "1/4"),
            "2k": _FOUR,
            "4k": _FOUR,
            "8k": _SEVEN,
            "16k": _SEVEN,
            "32k": _SEVEN[:-1],
        },
        "ISDB-T": {"mode 1": _FOUR, "mode 2": _FOUR, "mode 3": _FOUR},
    }
)
"""Guard intervals that exist, as parts of the useful symbol, by standard and size (EN 302 755, EN 300 744 and
STD-B31; those of 1k and 32k at the ends from memory)."""

PILOT_SPACING: Final[Mapping[str, int]] = MappingProxyType(
    {"PP1": 3, "PP2": 6, "PP3": 6, "PP4": 12, "PP5": 12, "PP6": 24, "PP7": 24, "PP8": 6}
)
"""Carriers between known ones once a receiver has interpolated over time, by pilot pattern of DVB-T2 (Dx of
EN 302 755, read in a public program)."""

PILOT_PATTERNS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "1k": ("PP1", "PP2", "PP3", "PP4", "PP5"),
        "2k": ("PP1", "PP2", "PP3", "PP4", "PP5", "PP7"),
        "4k": ("PP1", "PP2", "PP3", "PP4", "PP5", "PP7"),
        "8k": ("PP1", "PP2", "PP3", "PP4", "PP5", "PP7", "PP8"),
        "16k": tuple(PILOT_SPACING),
        "32k": ("PP2", "PP4", "PP6", "PP7", "PP8"),
    }
)
"""Pilot patterns of DVB-T2 by size (EN 302 755; PP6 to PP8 of 32k from memory)."""

T2_EQUALISED: Final = Cited(57.0 / 64.0, "DVB-T2: part of the limit of the pilots in planning", _MEMORY)
DVBT_EQUALISED: Final = Cited(7.0 / 24.0, _TR295, _MEMORY)
ISDBT_EQUALISED: Final = Cited(1.0 / 3.0, "ISDB-T: limit of its pilots, one known carrier in three", _MEMORY)
"""How late a signal may come and still be equalised, as a part of the useful symbol (DVB-T2: of 1/Dx)."""

USUAL_SYMBOLS: Final[Mapping[str, tuple[str, str, str]]] = MappingProxyType(
    {"DVB-T": ("8k", "1/4", ""), "DVB-T2": ("32k", "1/8", "PP2"), "ISDB-T": ("mode 3", "1/8", "")}
)
"""Size, guard interval and pilot pattern taken where none is told (common practice of networks on one
frequency, no source)."""


class SymbolTiming(NamedTuple):
    """How long a symbol lasts [µs].

    ``useful_us`` its useful part, ``guard_us`` its guard interval, ``equalised_us`` how late after the start
    of the receiver's window a signal may come and still be of use.
    """

    useful_us: float
    guard_us: float
    equalised_us: float
    words: str


def ofdm_standard(system_name: str) -> str | None:
    """Return the standard of a television system whose echoes can add; None for any other.

    Examples
    --------
    >>> ofdm_standard("DVB-T2 7 MHz"), ofdm_standard("PAL I")
    ('DVB-T2', None)
    """
    standard = system_name.partition(" ")[0]
    return standard if standard in USUAL_SYMBOLS else None


def symbol_timing(
    standard: str,
    channel_width_mhz: float,
    size: str | None = None,
    guard_interval: str | None = None,
    pilot_pattern: str | None = None,
) -> SymbolTiming:
    """Return the durations of a symbol.

    Parameters
    ----------
    standard : {"DVB-T", "DVB-T2", "ISDB-T"}
    channel_width_mhz : float
    size : str or None
        Of the transform, such as ``8k``; the ``mode 1`` to ``mode 3`` of ISDB-T.
    guard_interval : str or None
        As a part of the useful symbol, such as ``1/8``.
    pilot_pattern : str or None
        Of DVB-T2, ``PP1`` to ``PP8``; the others have one. All three are the usual ones unless given.

    Raises
    ------
    RangeError
        Naming what exists.

    Examples
    --------
    >>> [round(each, 2) for each in symbol_timing("DVB-T", 8.0, "8k", "1/4")[:3]]
    [896.0, 224.0, 261.33]
    """
    if standard not in USUAL_SYMBOLS:
        raise RangeError("standard of a network on one frequency", repr(standard), ", ".join(USUAL_SYMBOLS))
    usual_size, usual_guard, usual_pattern = USUAL_SYMBOLS[standard]
    sizes = GUARD_INTERVALS[standard]
    chosen = _one_of(f"size of {standard}", size or usual_size, tuple(sizes))
    guards = sizes[chosen]
    # A size that does not have the usual guard interval takes its longest.
    guard = guard_interval or (usual_guard if usual_guard in guards else guards[-1])
    guard = _one_of(f"guard interval of {standard} {chosen}", guard, guards)
    useful_us = _useful_us(standard, channel_width_mhz, chosen)
    pattern = _pattern(standard, chosen, pilot_pattern, usual_pattern)
    part = T2_EQUALISED.value / PILOT_SPACING[pattern] if pattern else _EQUALISED[standard].value
    guard_us = useful_us * _GUARDS[guard]
    words = f"{standard} {chosen}, guard interval {guard} ({guard_us:.4g} µs)" + f", {pattern}" * bool(
        pattern
    )
    # A receiver bears at least what its guard interval allows, whatever its pilots do.
    return SymbolTiming(useful_us, guard_us, max(useful_us * part, guard_us), words)


_EQUALISED: Final = {"DVB-T": DVBT_EQUALISED, "ISDB-T": ISDBT_EQUALISED}


def _useful_us(standard: str, channel_width_mhz: float, size: str) -> float:
    if standard == "ISDB-T":
        if channel_width_mhz not in (6.0, 7.0, 8.0):
            raise RangeError("channel width of ISDB-T [MHz]", f"{channel_width_mhz:g}", "6, 7 or 8")
        return _ISDBT_USEFUL_US[size] * _ISDBT_WIDTH_MHZ / channel_width_mhz
    if channel_width_mhz not in ELEMENTARY_PERIOD_US:
        widths = ", ".join(f"{each:g}" for each in sorted(ELEMENTARY_PERIOD_US))
        raise RangeError(f"channel width of {standard} [MHz]", f"{channel_width_mhz:g}", widths)
    return _POINTS[size] * ELEMENTARY_PERIOD_US[channel_width_mhz].value


def _pattern(standard: str, size: str, given: str | None, usual: str) -> str:
    if standard != "DVB-T2":
        if given:
            raise RangeError(f"pilot pattern of {standard}", repr(given), "none: it has one alone")
        return ""
    patterns = PILOT_PATTERNS[size]
    return _one_of(f"pilot pattern of DVB-T2 {size}", given or usual, patterns)


def _one_of(what: str, given: str, allowed: tuple[str, ...]) -> str:
    if given not in allowed:
        raise RangeError(what, repr(given), ", ".join(allowed))
    return given
