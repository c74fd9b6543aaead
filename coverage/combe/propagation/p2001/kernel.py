"""P.2001-4 for kernels: the losses of one path for several services and shares of time at once.

Compiled from the very functions that :func:`combe.propagation.p2001.predict_path` runs, into this kernel; so
the same path has the same loss either way, but for a step of the search for the fade (0.005 dB) where
rounding differs.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import also_in_kernels, kernel
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import Conditions, conditions_of
from combe.propagation.p2001.ducting import ducting
from combe.propagation.p2001.gases import total_db
from combe.propagation.p2001.normal import normal
from combe.propagation.p2001.path import Path, diffraction_summary, draw_path
from combe.propagation.p2001.scatter import scatter
from combe.propagation.p2001.sporadic_e import sporadic_e
from combe.propagation.summary import PathSummary

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


class LossesAsked(NamedTuple):
    """What all paths have in common: the air, and services and shares of time that losses are asked for."""

    air: Air
    vertical: bool
    frequencies_mhz: FloatArray
    times_percent: FloatArray


@kernel
def fill_losses_db(
    asked: LossesAsked,
    distance: FloatArray,
    ground: FloatArray,
    zone: ZoneArray,
    tx_height_m: float,
    rx_height_m: float,
    middle_latitude_deg: float,
    losses: FloatArray,
) -> None:
    """Fill the basic transmission losses [dB] of a path, shape (services, times).

    Distance [km] from 0 ascending, bare ground [m] and zones, each of shape (n,), n of 3 or more; aerials
    above the ground [m]; gains do not count. Nothing is checked.
    """
    air, vertical, times = asked.air, asked.vertical, asked.times_percent
    first_mhz = asked.frequencies_mhz[0]
    # The wavelength only chooses between horizons that are equal but for rounding: that of one service does.
    median = conditions_of(air, first_mhz, times[0], vertical)
    path = draw_path(distance, ground, zone, tx_height_m, rx_height_m, median)
    for t in range(times.size):
        # Refraction goes by the time and not by the frequency.
        drawn = diffraction_summary(distance, ground, path, conditions_of(air, first_mhz, times[t], vertical))
        for k in range(asked.frequencies_mhz.size):
            conditions = conditions_of(air, asked.frequencies_mhz[k], times[t], vertical)
            losses[k, t] = _basic_loss_db(path, drawn, conditions, air, middle_latitude_deg)


@also_in_kernels
def _basic_loss_db(
    path: Path, drawn: PathSummary, conditions: Conditions, air: Air, middle_latitude_deg: float
) -> float:
    """Return Lb [dB] of one service for one share of time, between isotropic aerials."""
    near = normal(path, drawn, conditions, air, middle_latitude_deg)
    duct = ducting(path, conditions, middle_latitude_deg)
    scattered = scatter(path, conditions, air, 0.0, near.free_space_db)
    sporadic = sporadic_e(path, conditions, air)
    surface_loss_db = surface_db(near.loss_db, duct.loss_db + total_db(near.gases))  # (4.2.1)
    return joined_db(surface_loss_db, scattered.loss_db, sporadic.loss_db)
