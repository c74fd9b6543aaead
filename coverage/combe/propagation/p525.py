"""Free space: Recommendation ITU-R P.525-5 (11/2024).

Loss is between isotropic aerials. The Recommendation prints the constant 32.4; the exact one, 32.4478,
follows from the speed of light and is used here: 0.048 dB above results made with the printed constant.
"""

from __future__ import annotations

import math
from typing import Any, Final, TypeVar

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel_part
from combe.constants import SPEED_OF_LIGHT_M_S
from combe.errors import RangeError

FloatArray = npt.NDArray[np.float64]
Number = TypeVar("Number", float, FloatArray)

FREE_SPACE_CONSTANT_DB: Final = 20.0 * math.log10(4.0 * math.pi * 1e9 / SPEED_OF_LIGHT_M_S)
"""Loss [dB] at 1 km and 1 MHz: 32.4478 (P.525-5 §2.2, printed as 32.4)."""


@kernel_part
def free_space_kernel(distance_km: float, frequency_mhz: float) -> float:
    """Return the free-space loss [dB] of one path; −inf at no distance."""
    return FREE_SPACE_CONSTANT_DB + 20.0 * math.log10(frequency_mhz) + 20.0 * math.log10(distance_km)


def free_space_loss_db(distance_km: Number, frequency_mhz: float) -> Number:
    """Return the basic free-space transmission loss [dB] (P.525-5 §2.2).

    Parameters
    ----------
    distance_km
        Distance [km], above 0; float or array.
    frequency_mhz
        Frequency [MHz], above 0.

    Raises
    ------
    RangeError
        For a distance or a frequency not above 0.

    Examples
    --------
    >>> round(free_space_loss_db(10.0, 600.0), 3)
    108.011
    """
    if not frequency_mhz > 0.0:
        raise RangeError("frequency_mhz", frequency_mhz, "above 0")
    if not np.all(np.asarray(distance_km) > 0.0):
        raise RangeError("distance_km", distance_km, "above 0")
    loss: Any = FREE_SPACE_CONSTANT_DB + 20.0 * math.log10(frequency_mhz) + 20.0 * np.log10(distance_km)
    if np.ndim(distance_km) == 0:
        loss = float(loss)
    result: Number = loss
    return result
