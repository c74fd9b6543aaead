"""Portable reception: the aerial, its height and the building about it, as the published chains take them.

Of an aerial 1.5 m over the ground, outdoors or in a room of the ground floor: ITU-R BT.2033-2 and the GE06
Final Acts. Both add height loss Lh and building entry loss Lb to the field that the receiver needs, so that
the sum is the median field outdoors at 10 m, which predictions give. The loss over places within buildings
by ITU-R P.2109, which is of another kind, is in the room ``propagation``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import RangeError, require_range
from combe.standards.cited import Cited

AERIAL_HEIGHT_M: Final = Cited(1.5, "GE06 Final Acts and ITU-R BT.2033-2, portable reception", "read")
ROOF_HEIGHT_M: Final = 10.0
"""Height over ground [m] from which Lh counts."""

BANDS_MHZ: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {"VHF": (174.0, 230.0), "UHF": (470.0, 862.0)}
)
"""Band III, and Bands IV and V: in no other is a portable aerial published."""

_COPY: Final = "read in a public copy of its text"
AERIAL_GAIN_DBD: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "VHF": Cited(-2.2, f"GE06 Final Acts, portable reception in Band III, {_COPY}", "read"),
        "UHF": Cited(0.0, f"GE06 Final Acts, portable reception in Bands IV and V, {_COPY}", "read"),
    }
)
"""Gain of the portable aerial, which hears alike from all around; it has no feeder."""

MAN_MADE_NOISE_DB: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "VHF": Cited(2.0, "GE06 reference planning configurations 2 and 3, Band III", "from memory"),
        "UHF": Cited(0.0, "ITU-R BT.2033-2, UHF, an aerial at the receiver, read in a public copy", "read"),
    }
)

HEIGHT_LOSS: Final = ((200.0, 12.0), (500.0, 16.0), (800.0, 18.0))
"""Frequency [MHz] and height loss Lh [dB] from 10 to 1.5 m, suburban."""
_HEIGHT_LOSS: Final = f"GE06 Final Acts, height loss in suburbs, {_COPY}; between by the log of the frequency"


class EntryLoss(NamedTuple):
    """Loss on the way into a building: its mean and its standard deviation over places [dB]."""

    mean: Cited
    deviation: Cited


def _entry(mean_db: float, deviation_db: float, reference: str, *, read: bool) -> EntryLoss:
    confidence: Final = "read" if read else "from memory"
    return EntryLoss(Cited(mean_db, reference, confidence), Cited(deviation_db, reference, confidence))


_BT2033: Final = "ITU-R BT.2033-2, building entry loss in UHF, figures read in a public copy"
_GE06: Final = "GE06 Final Acts, building entry loss"
ENTRY_LOSSES: Final[Mapping[str, Mapping[str, EntryLoss]]] = MappingProxyType(
    {
        "GE06": MappingProxyType(
            {
                "VHF": _entry(9.0, 3.0, f"{_GE06}, Band III", read=False),
                "UHF": _entry(8.0, 5.5, f"{_GE06}, Bands IV and V", read=False),
            }
        ),
        "BT.2033 high": MappingProxyType({"UHF": _entry(7.0, 5.0, f"{_BT2033}, class high", read=True)}),
        "BT.2033 medium": MappingProxyType({"UHF": _entry(11.0, 6.0, f"{_BT2033}, class medium", read=True)}),
        "BT.2033 low": MappingProxyType({"UHF": _entry(15.0, 7.0, f"{_BT2033}, class low", read=True)}),
    }
)
"""By class of building, then by band; high, medium and low say how well signals enter."""


@dataclass(frozen=True)
class PortableTerms:
    """What a portable receiver has in place of the roof's aerial, at one frequency.

    ``height_loss`` is None where the field is predicted at the aerial's own height, ``entry_loss`` outdoors.
    """

    aerial_gain: Cited
    man_made_noise: Cited
    height_loss: Cited | None
    entry_loss: EntryLoss | None = None


def portable_terms(
    frequency_mhz: float, entry_loss: EntryLoss | None = None, *, with_height_loss: bool = True
) -> PortableTerms:
    """Return the terms of portable reception at a frequency [MHz].

    Parameters
    ----------
    frequency_mhz
        In Bands III, IV or V.
    entry_loss
        Of the building, None outdoors.
    with_height_loss
        Whether fields are those of 10 m, so that Lh counts.

    Raises
    ------
    RangeError
        For a frequency in no band for which a portable aerial is published.
    """
    band = portable_band(frequency_mhz)
    height_loss = height_loss_db(frequency_mhz) if with_height_loss else None
    return PortableTerms(AERIAL_GAIN_DBD[band], MAN_MADE_NOISE_DB[band], height_loss, entry_loss)


def portable_band(frequency_mhz: float) -> str:
    """Return ``VHF`` or ``UHF``; RangeError outside the bands of portable reception."""
    for name, (low, high) in BANDS_MHZ.items():
        if low <= frequency_mhz <= high:
            return name
    allowed = " or ".join(f"{low:g} to {high:g}" for low, high in BANDS_MHZ.values())
    raise RangeError("frequency_mhz of portable reception", frequency_mhz, allowed)


def height_loss_db(frequency_mhz: float) -> Cited:
    """Return the height loss Lh [dB] from 10 to 1.5 m in suburbs, linear in the log of the frequency.

    Beyond the listed frequencies the nearest slope goes on.

    Raises
    ------
    RangeError
        Outside 174 to 862 MHz.

    Examples
    --------
    >>> round(height_loss_db(650.0).value, 2)
    17.12
    """
    require_range("frequency_mhz of the height loss", frequency_mhz, BANDS_MHZ["VHF"][0], BANDS_MHZ["UHF"][1])
    (low_mhz, low_db), (high_mhz, high_db) = next(
        (pair for pair in pairwise(HEIGHT_LOSS) if frequency_mhz <= pair[1][0]), HEIGHT_LOSS[-2:]
    )
    part = math.log(frequency_mhz / low_mhz) / math.log(high_mhz / low_mhz)
    return Cited(low_db + part * (high_db - low_db), _HEIGHT_LOSS, "computed")


def class_entry_loss(building: str, frequency_mhz: float) -> EntryLoss:
    """Return the entry loss of a class of buildings.

    Raises
    ------
    RangeError
        For an unknown class, or a band for which it has no figure.
    """
    if building not in ENTRY_LOSSES:
        raise RangeError("building", repr(building), ", ".join(ENTRY_LOSSES))
    rows, band = ENTRY_LOSSES[building], portable_band(frequency_mhz)
    if band not in rows:
        raise RangeError(
            f"frequency_mhz of {building}", frequency_mhz, "470 to 862, it has no figure for VHF"
        )
    return rows[band]
