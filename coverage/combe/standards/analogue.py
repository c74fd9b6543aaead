"""Analogue television: carriers, depth of modulation, median fields to be protected, 525-line contours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from combe.errors import RangeError
from combe.standards.cited import Cited, Confidence, require_citation


@dataclass(frozen=True)
class AnalogueSystem:
    """One row of the table of systems; levels are fractions of the carrier's voltage at peak sync.

    ``vision_over_edge_mhz`` is the vision carrier over the lower edge of the channel; sound, digital sound
    and chroma lie over the vision carrier, chroma being that of the colour system used with it most.
    ``noise_bandwidth_mhz`` is the width of the picture signal, in which C/N is counted.
    """

    name: str
    channel_width_mhz: float
    vision_over_edge_mhz: float
    sound_over_vision_mhz: float
    digital_sound_over_vision_mhz: float | None
    chroma_over_vision_mhz: float
    noise_bandwidth_mhz: float
    blanking_fraction: float
    white_fraction: float
    line_us: float
    vision_if_mhz: float
    sound_if_mhz: float
    reference: str
    confidence: Confidence

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)


_BT470: Final = (
    "ITU-R BT.470-6 and BT.1701, characteristics of analogue television; usual intermediate frequencies"
)
_PAL_MHZ: Final = 4.43361875
_NTSC_MHZ: Final = 3.579545
_MEMORY: Final[Confidence] = "from memory"

_ROWS: Final = (
    AnalogueSystem(
        "I", 8.0, 1.25, 5.9996, 6.552, _PAL_MHZ, 5.5, 0.76, 0.20, 64.0, 39.5, 33.5, _BT470, _MEMORY
    ),
    AnalogueSystem(
        "B", 7.0, 1.25, 5.5, None, _PAL_MHZ, 5.0, 0.75, 0.10, 64.0, 38.9, 33.4, _BT470, _MEMORY
    ),
    AnalogueSystem(
        "G", 8.0, 1.25, 5.5, None, _PAL_MHZ, 5.0, 0.75, 0.10, 64.0, 38.9, 33.4, _BT470, _MEMORY
    ),
    AnalogueSystem(
        "D/K", 8.0, 1.25, 6.5, None, _PAL_MHZ, 6.0, 0.75, 0.10, 64.0, 38.0, 31.5, _BT470, _MEMORY
    ),
    AnalogueSystem(
        "M", 6.0, 1.25, 4.5, None, _NTSC_MHZ, 4.2, 0.75, 0.125, 63.556, 45.75, 41.25, _BT470, _MEMORY
    ),
)  # fmt: skip

ANALOGUE_SYSTEMS: Final[Mapping[str, AnalogueSystem]] = MappingProxyType({row.name: row for row in _ROWS})
"""Systems by letter."""

WEIGHTING_DB: Final = Cited(7.4, "unified weighting for white noise in 5 MHz, ITU-R BT.1204", "from memory")
"""How much better noise looks when weighted as the eye sees it [dB]."""

SYNC_US: Final = Cited(4.7, "ITU-R BT.470-6, line-synchronizing pulse", "from memory")

VISION_TO_SOUND_DB: Final = Cited(
    10.0, "vision carrier at peak sync to first sound carrier, usual", "from memory"
)
"""Power ratio of vision to sound carrier [dB]; the older usage was 7 dB."""


def analogue_system(name: str) -> AnalogueSystem:
    """Return a row of the table, or raise :class:`RangeError` naming those there are."""
    if name not in ANALOGUE_SYSTEMS:
        raise RangeError("analogue television system", repr(name), ", ".join(ANALOGUE_SYSTEMS))
    return ANALOGUE_SYSTEMS[name]


def modulation_fraction(system: AnalogueSystem) -> float:
    """Return m: blanking level less white level, as a fraction of peak sync."""
    return system.blanking_fraction - system.white_fraction


def video_sn_over_cn_db(system: AnalogueSystem) -> float:
    """Return unweighted video S/N less C/N [dB]: 20 log(m/2) + 3.01.

    The carrier is its r.m.s. power at peak sync, the noise that of the picture's bandwidth; the signal is the
    picture from blanking to white, peak to peak, the noise r.m.s. Derived, not a printed value: the vestigial
    filter halves the carrier's voltage (its −6 dB point), so the picture is m/2 of the peak carrier, whose
    square is twice the r.m.s. power; noise arrives from one sideband.

    Examples
    --------
    >>> round(video_sn_over_cn_db(analogue_system("I")), 2)
    -8.05
    """
    return 20.0 * math.log10(modulation_fraction(system) / 2.0) + 10.0 * math.log10(2.0)


def black_picture_power_db(system: AnalogueSystem) -> float:
    """Return the mean power of a black picture relative to the power at peak sync [dB].

    Sync at full carrier for its part of the line, the rest at blanking level.
    """
    sync = SYNC_US.value / system.line_us
    # Full power while the sync pulse lasts, that of blanking for the rest of the line: levels are voltages.
    return 10.0 * math.log10(sync + (1.0 - sync) * system.blanking_fraction**2)


Lines = Literal["analogue 625", "analogue 525"]

_BT417: Final = "ITU-R BT.417-5"
_GRADES: Final = "47 CFR 73.683, F(50,50)"
_RELAYS: Final = "47 CFR 74.707(a)(1), low power stations and translators"


_AS_BAND_I: Final = "as Band I of ITU-R BT.417-5, for channels R3 to R5"
_AS_CHANNELS_2_6: Final = "as channels 2-6 of 47 CFR 73.683"
_AS_CHANNELS_7_13: Final = "as channels 7-13 of 47 CFR 73.683"


class BandField(NamedTuple):
    """Median field [dB(µV/m)] at 10 m that planning protects, from ``low_mhz`` to below ``high_mhz``."""

    lines: Lines
    band: str
    low_mhz: float
    high_mhz: float
    median_dbuv_m: float
    reference: str
    confidence: Confidence


PLANNING_FIELDS: Final = (
    BandField("analogue 625", "Band I", 41.0, 68.0, 48.0, _BT417, "from memory"),
    BandField("analogue 625", "76-108 MHz", 76.0, 108.0, 48.0, _AS_BAND_I, "own choice"),
    BandField("analogue 625", "Band III", 162.0, 230.0, 55.0, _BT417, "from memory"),
    BandField("analogue 625", "Band IV", 470.0, 582.0, 65.0, _BT417, "from memory"),
    BandField("analogue 625", "Band V", 582.0, 960.0, 70.0, _BT417, "from memory"),
    BandField("analogue 525", "channels 2-6", 54.0, 88.0, 47.0, f"{_GRADES}, Grade B", "read"),
    BandField("analogue 525", "channels 7-13", 174.0, 216.0, 56.0, f"{_GRADES}, Grade B", "read"),
    BandField("analogue 525", "Japan 1-3", 90.0, 108.0, 47.0, _AS_CHANNELS_2_6, "own choice"),
    BandField("analogue 525", "Japan 4", 170.0, 174.0, 56.0, _AS_CHANNELS_7_13, "own choice"),
    BandField("analogue 525", "Japan 12", 216.0, 222.0, 56.0, _AS_CHANNELS_7_13, "own choice"),
    BandField("analogue 525", "channels 14-69", 470.0, 806.0, 64.0, f"{_GRADES}, Grade B", "read"),
)
"""The limit of service; for 625 lines the median never to be lower than this where protection is asked."""


class FieldGrade(NamedTuple):
    """Another field [dB(µV/m)] of a band, with its name."""

    lines: Lines
    band: str
    name: str
    field_dbuv_m: float
    reference: str
    confidence: Confidence


FIELD_GRADES: Final = (
    FieldGrade("analogue 625", "Band IV", "satisfactory without interference", 62.0, _BT417, "from memory"),
    FieldGrade("analogue 625", "Band V", "satisfactory without interference", 67.0, _BT417, "from memory"),
    FieldGrade("analogue 525", "channels 2-6", "Grade A", 68.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 7-13", "Grade A", 71.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 14-69", "Grade A", 74.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 2-6", "Grade B", 47.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 7-13", "Grade B", 56.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 14-69", "Grade B", 64.0, _GRADES, "read"),
    FieldGrade("analogue 525", "channels 2-6", "relay's protected contour", 62.0, _RELAYS, "read"),
    FieldGrade("analogue 525", "channels 7-13", "relay's protected contour", 68.0, _RELAYS, "read"),
    FieldGrade("analogue 525", "channels 14-69", "relay's protected contour", 74.0, _RELAYS, "read"),
)


class DigitalContour(NamedTuple):
    """Protected contour [dB(µV/m)], F(50,90), of a digital relay under the 525-line rules (ATSC)."""

    band: str
    field_dbuv_m: float
    reference: str = "47 CFR 74.792, F(50,90)"
    confidence: Confidence = "read"


DIGITAL_RELAY_CONTOURS: Final = (
    DigitalContour("channels 2-6", 43.0),
    DigitalContour("channels 7-13", 48.0),
    DigitalContour("channels 14-69", 51.0),
)


def band_field(lines: Lines, frequency_mhz: float) -> BandField:
    """Return the row of the band in which a frequency lies.

    Raises
    ------
    RangeError
        Naming the bands of that line standard.

    Examples
    --------
    >>> band_field("analogue 625", 600.0).median_dbuv_m
    70.0
    """
    rows = [row for row in PLANNING_FIELDS if row.lines == lines]
    for row in rows:
        if row.low_mhz <= frequency_mhz < row.high_mhz:
            return row
    bands = ", ".join(f"{row.low_mhz:g} to {row.high_mhz:g} MHz ({row.band})" for row in rows)
    raise RangeError(f"frequency_mhz of {lines} lines", frequency_mhz, bands)
