"""What a signal is made of on an analyser's screen: carriers and blocks, and how its power is shared out."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.standards.analogue import VISION_TO_SOUND_DB, AnalogueSystem
from combe.standards.cited import Cited
from combe.standards.protection import SignalKind

COLOUR_DB: Final = Cited(
    -16.0, "three-tone test of television transposers, as of a full colour", "from memory"
)
"""Colour subcarrier over vision at peak sync [dB]; a pale picture has less, a grey one its burst alone."""

DIGITAL_SOUND_DB: Final = Cited(-20.0, "EN 300 163, NICAM 728 with system I", "from memory")
"""Mean power of the digital sound over vision at peak sync [dB]."""

DIGITAL_SOUND_WIDTH_MHZ: Final = Cited(
    0.728, "EN 300 163, NICAM 728 with system I: 364 kBd, roll-off of 100 %", "from memory"
)

ATSC_WIDTH_MHZ: Final = Cited(5.381119, "ATSC A/53 Part 2, 10.762238 MBd of one sideband", "from memory")
ATSC_PILOT_OVER_EDGE_MHZ: Final = Cited(
    0.309441, "ATSC A/53 Part 2, pilot over the lower edge", "from memory"
)
ATSC_PILOT_DB: Final = Cited(-11.3, "ATSC A/53 Part 2, pilot over the mean power of the data", "from memory")


class SpectrumPart(NamedTuple):
    """One part of a signal.

    ``offset_mhz`` is that of its middle over the carrier by which the signal is named, vision or the centre
    of the channel. ``width_mhz`` is 0 for a carrier, and else that over which its power lies evenly.
    ``level_db`` is over the signal's power: the mean of a digital one, that at peak sync of an analogue one.
    """

    name: str
    offset_mhz: float
    width_mhz: float
    level_db: float


def analogue_parts(system: AnalogueSystem) -> tuple[SpectrumPart, ...]:
    """Return the carriers of an analogue signal; what lies between them is the picture, and is left out."""
    parts = [
        SpectrumPart("vision", 0.0, 0.0, 0.0),
        SpectrumPart("colour", system.chroma_over_vision_mhz, 0.0, COLOUR_DB.value),
        SpectrumPart("sound", system.sound_over_vision_mhz, 0.0, -VISION_TO_SOUND_DB.value),
    ]
    if system.digital_sound_over_vision_mhz is not None:
        offset, width = system.digital_sound_over_vision_mhz, DIGITAL_SOUND_WIDTH_MHZ.value
        parts.append(SpectrumPart("digital sound", offset, width, DIGITAL_SOUND_DB.value))
    return tuple(parts)


def digital_parts(
    signal: SignalKind, bandwidth_mhz: float, channel_width_mhz: float
) -> tuple[SpectrumPart, ...]:
    """Return a digital signal as a block over its occupied bandwidth; of ATSC with its pilot.

    Examples
    --------
    >>> [part.name for part in digital_parts("ATSC", 6.0, 6.0)]
    ['data', 'pilot']
    """
    if signal != "ATSC":
        return (SpectrumPart("block", 0.0, bandwidth_mhz, 0.0),)
    # The power of the signal is that of data and pilot together.
    data_db = -10.0 * math.log10(1.0 + 10.0 ** (ATSC_PILOT_DB.value / 10.0))
    pilot_mhz = ATSC_PILOT_OVER_EDGE_MHZ.value - channel_width_mhz / 2.0
    return (
        SpectrumPart("data", 0.0, ATSC_WIDTH_MHZ.value, data_db),
        SpectrumPart("pilot", pilot_mhz, 0.0, data_db + ATSC_PILOT_DB.value),
    )
