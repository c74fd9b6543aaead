"""P.2001-4 for kernels: the losses of one path for several services and shares of time at once.

Compiled from the very functions that :func:`combe.propagation.p2001.predict_path` runs, into this kernel; so
the same path has the same loss either way, but for a step of the search for the fade (0.005 dB) where
rounding differs.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.propagation.p2001.clear_air import occurrence_percent
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import Conditions, conditions_of
from combe.propagation.p2001.ducting import duct_time, ducting
from combe.propagation.p2001.gases import total_db
from combe.propagation.p2001.normal import normal
from combe.propagation.p2001.path import Path, diffraction_summary, draw_path
from combe.propagation.p2001.scatter import scatter
from combe.propagation.p2001.sporadic_e import least_sporadic_e_db, sporadic_e
from combe.propagation.p2001.troposcatter import troposcatter
from combe.propagation.summary import PathSummary

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


_FAR_DB: Final = 60.0
"""A loss by so much greater than another adds nothing to it that a number could hold (1e-11 dB)."""


class LossesAsked(NamedTuple):
    """What all paths have in common: the air, the services, and the share of time [%] beside the median."""

    air: Air
    vertical: bool
    frequencies_mhz: FloatArray
    time_percent: float


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
    """Fill the basic transmission losses [dB] of a path: (services, 2), of the median and of the time asked.

    Distance [km] from 0 ascending, bare ground [m] and zones, each of shape (n,), n of 3 or more, or no zones
    at all where all is inland; aerials above the ground [m]; gains do not count. Nothing is checked.
    """
    air, vertical, seldom_percent = asked.air, asked.vertical, asked.time_percent
    # Refraction goes by the time and not by the frequency. The wavelength only chooses between horizons that
    # are equal but for rounding: that of one service does for all.
    median = conditions_of(air, asked.frequencies_mhz[0], 50.0, vertical)
    other = conditions_of(air, asked.frequencies_mhz[0], seldom_percent, vertical)
    path = draw_path(distance, ground, zone, tx_height_m, rx_height_m, median)
    median_drawn = diffraction_summary(distance, ground, path, median)
    other_drawn = diffraction_summary(distance, ground, path, other)
    ducts = duct_time(path, median.median_radius_km, middle_latitude_deg).duct_time_percent
    for k in range(asked.frequencies_mhz.size):
        median = conditions_of(air, asked.frequencies_mhz[k], 50.0, vertical)
        other = conditions_of(air, asked.frequencies_mhz[k], seldom_percent, vertical)
        multipath = occurrence_percent(path, median, air, middle_latitude_deg)
        losses[k, 0] = _basic_loss_db(path, median_drawn, median, air, multipath, ducts)
        losses[k, 1] = _basic_loss_db(path, other_drawn, other, air, multipath, ducts)


@kernel
def _basic_loss_db(
    path: Path,
    drawn: PathSummary,
    conditions: Conditions,
    air: Air,
    multipath_percent: float,
    duct_time_percent: float,
) -> float:
    """Return Lb [dB] of one service for one share of time, between isotropic aerials.

    Scatter and sporadic E are left out where they come in by far too weak to count.
    """
    near = normal(path, drawn, conditions, air, multipath_percent)
    duct = ducting(path, conditions, duct_time_percent)
    surface_loss_db = surface_db(near.loss_db, duct.loss_db + total_db(near.gases))  # (4.2.1)
    scatter_db = sporadic_db = surface_loss_db + _FAR_DB
    scattered = troposcatter(path, conditions, air.troposcatter_climate, 0.0)
    if scattered.loss_db < scatter_db:
        scatter_db = scatter(path, conditions, air, scattered, near.free_space_db).loss_db
    if least_sporadic_e_db(path, conditions, air) < sporadic_db:
        sporadic_db = sporadic_e(path, conditions, air).loss_db
    return joined_db(surface_loss_db, scatter_db, sporadic_db)
