"""The relay's receiving aerial: one or a stack, where it looks, and what it hears from elsewhere."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

from combe.errors import RangeError, require_range
from combe.standards import DIRECTIVITY_BANDS_IV_V, ORTHOGONAL_DB, Curve, directivity_db
from combe.stations import Pattern, pattern_gain_db, require_choice

Polarization = Literal["horizontal", "vertical"]


_RANGES: Final = {
    "gain_dbi": (-20.0, 40.0),
    "bearing_deg": (0.0, 360.0),
    "stacking_loss_db": (0.0, 6.0),
    "cross_polar_db": (0.0, 60.0),
}


@dataclass(frozen=True)
class ReceiveAerial:
    """One aerial, or a stack of equal ones combined in phase.

    Parameters
    ----------
    gain_dbi : float
        Of one aerial on its axis [dBi].
    bearing_deg : float
        Of the axis, clockwise from true north [degrees], 0 to 360.
    polarization : {"horizontal", "vertical"}
    count : int
        How many are stacked, 1 to 16.
    stacking_loss_db : float
        What the stack falls short of 10 log ``count`` [dB].
    pattern : Pattern or None
        Horizontal pattern of the whole stack about its axis (bearing 0 is the axis); None takes BT.419-3.
    cross_polar_db : float
        Discrimination against the other polarization [dB], 0 to 60; BT.419-3 has 16 dB (from memory).
    curve : tuple of Corner
        Of BT.419-3, for the band that the aerial is made for.

    Raises
    ------
    RangeError
        Naming the field.
    """

    gain_dbi: float
    bearing_deg: float
    polarization: Polarization
    count: int = 1
    stacking_loss_db: float = 0.0
    pattern: Pattern | None = None
    cross_polar_db: float = -ORTHOGONAL_DB.value
    curve: Curve = DIRECTIVITY_BANDS_IV_V

    def __post_init__(self) -> None:
        for name, (low, high) in _RANGES.items():
            require_range(f"{name} of the receive aerial", getattr(self, name), low, high)
        require_choice("polarization of the receive aerial", self.polarization, get_args(Polarization))
        if not (isinstance(self.count, int) and 1 <= self.count <= 16):
            raise RangeError("count of the receive aerial", self.count, "a whole number, 1 to 16")
        if self.pattern is not None and self.pattern.kind != "horizontal":
            raise RangeError("pattern of the receive aerial", f"a {self.pattern.kind} pattern", "horizontal")


def stack_gain_dbi(aerial: ReceiveAerial) -> float:
    """Return the gain on the axis [dBi]: one aerial, 10 log of their number, less the stacking loss."""
    return aerial.gain_dbi + 10.0 * math.log10(aerial.count) - aerial.stacking_loss_db


def discrimination_db(aerial: ReceiveAerial, bearing_deg: float, polarization: Polarization) -> float:
    """Return how much weaker than on the axis a signal is heard [dB], 0 or more.

    Parameters
    ----------
    aerial : ReceiveAerial
    bearing_deg : float
        From where the signal comes [degrees from true north].
    polarization : {"horizontal", "vertical"}
        Of the signal.

    Notes
    -----
    Against the other polarization the greater of the two discriminations counts, never their sum: BT.419-3
    gives one combined value.
    """
    require_choice("polarization of a signal", polarization, get_args(Polarization))
    off_axis_deg = bearing_deg - aerial.bearing_deg
    if aerial.pattern is None:
        by_direction = -directivity_db(float(off_axis_deg), aerial.curve)
    else:
        by_direction = -pattern_gain_db(aerial.pattern, float(off_axis_deg))
    # A pattern may exceed its axis by a little; nothing is heard better than the axis says.
    by_direction = max(by_direction, 0.0)
    if polarization == aerial.polarization:
        return by_direction
    # Not the sum: BT.419 has one value for the other polarization, from everywhere.
    return max(by_direction, aerial.cross_polar_db)
