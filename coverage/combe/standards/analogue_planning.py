"""Analogue planning fields: the median to be protected by band, and the contours of the 525-line rules."""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

from combe.errors import RangeError
from combe.standards.cited import Confidence

Lines = Literal["analogue 625", "analogue 525"]

_BT417: Final = "ITU-R BT.417-5"
_GRADES: Final = "47 CFR 73.683, F(50,50)"
_RELAYS: Final = "47 CFR 74.707(a)(1), low power stations and translators"


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
    BandField("analogue 625", "Band III", 162.0, 230.0, 55.0, _BT417, "from memory"),
    BandField("analogue 625", "Band IV", 470.0, 582.0, 65.0, _BT417, "from memory"),
    BandField("analogue 625", "Band V", 582.0, 960.0, 70.0, _BT417, "from memory"),
    BandField("analogue 525", "channels 2-6", 54.0, 88.0, 47.0, f"{_GRADES}, Grade B", "read"),
    BandField("analogue 525", "channels 7-13", 174.0, 216.0, 56.0, f"{_GRADES}, Grade B", "read"),
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
