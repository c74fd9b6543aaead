"""How much the field scatters over the places of a small area: standard deviations by kind of service."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal, get_args

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited
from combe.standards.dvbt2 import LOCATION_DEVIATION_DB

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
