"""Loss of generic 50 ohm coaxial feeders, as read at two frequencies and interpolated between them.

Loss grows nearly as the square root of the frequency, which a power law through the two read values
follows between and over them. Below them nothing was read, and it is taken to go as the square root, by the
skin effect. At 20 °C; a warm feeder loses about 0.2 % more per kelvin (from memory, unverified).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited, Confidence, require_citation

READ_AT_MHZ: Final = (450.0, 850.0)

FREQUENCY_RANGE_MHZ: Final = (40.0, 900.0)
"""From Band I on; upwards the power law is carried a little beyond what was read (our own choice)."""

SKIN_EXPONENT: Final = 0.5

LONGEST_M: Final = 500.0

_TABLE: Final = "public attenuation table of generic 50 ohm feeders, 450 and 850 MHz"
_GUIDE: Final = "published training guide, allowance per connection, on the safe side"


@dataclass(frozen=True)
class Feeder:
    """A size of feeder with its loss [dB per 100 m] at 450 and at 850 MHz."""

    name: str
    loss_450_db: float
    loss_850_db: float
    reference: str = _TABLE
    confidence: Confidence = "read"

    def __post_init__(self) -> None:
        require_citation(self.reference, self.confidence)


_ROWS: Final = (
    Feeder("1/2 in foam", 5.2, 6.8),
    Feeder("7/8 in foam", 2.6, 3.7),
    Feeder("1-5/8 in foam", 1.7, 2.3),
    Feeder("10 mm braided, solid polyethylene", 16.3, 24.7),
)

FEEDERS: Final[Mapping[str, Feeder]] = MappingProxyType({row.name: row for row in _ROWS})

CONNECTOR_LOSS_DB: Final[Mapping[float, Cited]] = MappingProxyType(
    {
        450.0: Cited(0.5, _GUIDE, "read"),
        850.0: Cited(0.6, _GUIDE, "read"),
    }
)
"""Allowance per connection by frequency [MHz]."""


def feeder(name: str) -> Feeder:
    """Return a feeder of the table, or raise :class:`RangeError` naming those there are."""
    if name not in FEEDERS:
        raise RangeError("feeder", repr(name), ", ".join(FEEDERS))
    return FEEDERS[name]


def feeder_loss_db_per_100m(name: str, frequency_mhz: float) -> float:
    """Return the loss [dB per 100 m] at a frequency: as read at 450 and 850 MHz, else a power law.

    L = L450 (f/450)^n with n = ln(L850/L450)/ln(850/450), below 450 MHz 0.5.

    Parameters
    ----------
    name : str
        A name of :data:`FEEDERS`.
    frequency_mhz : float
        40 to 900.

    Raises
    ------
    RangeError
        For another feeder, or a frequency out of range.

    Examples
    --------
    >>> round(feeder_loss_db_per_100m("7/8 in foam", 600.0), 2)
    3.05
    """
    row = feeder(name)
    require_range("frequency_mhz of a feeder", frequency_mhz, *FREQUENCY_RANGE_MHZ)
    return float(row.loss_450_db * (frequency_mhz / READ_AT_MHZ[0]) ** feeder_exponent(name, frequency_mhz))


def feeder_exponent(name: str, frequency_mhz: float) -> float:
    """Return n of the power law that holds at a frequency [MHz]; RangeError for another feeder."""
    row = feeder(name)
    low, high = READ_AT_MHZ
    if frequency_mhz < low:
        return SKIN_EXPONENT
    return math.log(row.loss_850_db / row.loss_450_db) / math.log(high / low)


def feeder_loss_db(name: str, frequency_mhz: float, length_m: float) -> float:
    """Return the loss [dB] of a length of feeder [m], 0 to 500, without its connectors.

    Raises
    ------
    RangeError
        For another feeder, or a frequency or length out of range.
    """
    require_range("length_m of a feeder", length_m, 0.0, LONGEST_M)
    return feeder_loss_db_per_100m(name, frequency_mhz) * length_m / 100.0


def connector_loss_db(frequency_mhz: float) -> float:
    """Return the allowance [dB] per connection, linear between 450 and 850 MHz and level beyond them."""
    require_range("frequency_mhz of a connector", frequency_mhz, *FREQUENCY_RANGE_MHZ)
    low, high = READ_AT_MHZ
    # Nothing was read beyond the two frequencies: there the nearer value stands.
    part = min(max((frequency_mhz - low) / (high - low), 0.0), 1.0)
    first, last = CONNECTOR_LOSS_DB[low].value, CONNECTOR_LOSS_DB[high].value
    return first + part * (last - first)
