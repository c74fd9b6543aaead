"""P.2001-4 for kernels: the losses of one path for several services and shares of time at once.

Compiled from the very functions that :func:`combe.propagation.p2001.predict_path` runs, into this kernel; so
the same path has the same loss either way, but for a step of the search for the fade (0.005 dB) where
rounding differs.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import also_in_kernels, kernel_part
from combe.propagation.p2001.clear_air import occurrence_percent
from combe.propagation.p2001.climate import Air
from combe.propagation.p2001.combination import joined_db, surface_db
from combe.propagation.p2001.conditions import Conditions, conditions_of
from combe.propagation.p2001.ducting import duct_time, ducting
from combe.propagation.p2001.gases import total_db
from combe.propagation.p2001.normal import normal
from combe.propagation.p2001.path import Path, draw_path
from combe.propagation.p2001.scatter import scatter
from combe.propagation.p2001.sporadic_e import least_sporadic_e_db, sporadic_e
from combe.propagation.p2001.troposcatter import troposcatter
from combe.propagation.summary import PathSummary

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


_FAR_DB: Final = 60.0
"""A loss by so much greater than another adds nothing to it that a number could hold (1e-11 dB)."""

_UNSEEN: Final = (-math.inf, -math.inf, -math.inf)


class LossesAsked(NamedTuple):
    """What all paths have in common: the air, the services, and the share of time [%] beside the median."""

    air: Air
    vertical: bool
    frequencies_mhz: FloatArray
    time_percent: float


@kernel_part
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
    median_drawn, other_drawn = _summaries(distance, ground, path, median, other)
    ducts = duct_time(path, median.median_radius_km, middle_latitude_deg).duct_time_percent
    for k in range(asked.frequencies_mhz.size):
        median = conditions_of(air, asked.frequencies_mhz[k], 50.0, vertical)
        other = conditions_of(air, asked.frequencies_mhz[k], seldom_percent, vertical)
        multipath = occurrence_percent(path, median, air, middle_latitude_deg)
        losses[k, 0] = _basic_loss_db(path, median_drawn, median, air, multipath, ducts)
        losses[k, 1] = _basic_loss_db(path, other_drawn, other, air, multipath, ducts)


@also_in_kernels
def _summaries(
    distance: FloatArray, ground: FloatArray, path: Path, median: Conditions, other: Conditions
) -> tuple[PathSummary, PathSummary]:
    """Return what :func:`~combe.propagation.p2001.path.diffraction_summary` does, for two times at once."""
    total, tx_m, rx_m = path.distance_km, path.tx_amsl_m, path.rx_amsl_m
    flat_tx_m, flat_rx_m = path.tx_effective_diffraction_m, path.rx_effective_diffraction_m
    rise, flat_rise = (rx_m - tx_m) / total, (flat_rx_m - flat_tx_m) / total
    bend, other_bend = 500.0 * median.curvature_per_km, 500.0 * other.curvature_per_km
    flat_bend, other_flat_bend = 500.0 / median.time_radius_km, 500.0 / other.time_radius_km
    seen, other_seen, flat, other_flat = _UNSEEN, _UNSEEN, _UNSEEN, _UNSEEN
    for i in range(1, distance.size - 1):
        x = distance[i]
        y = total - x
        to_tx, to_rx = 1.0 / x, 1.0 / y
        root, bulge = math.sqrt(total * to_tx * to_rx), x * y
        # Over the line between the aerials, for the ground and for the smooth surface under it.
        over_m, flat_over_m = ground[i] - tx_m - rise * x, -flat_tx_m - flat_rise * x
        seen = _seen(seen, over_m + bend * bulge, to_tx, to_rx, root)
        other_seen = _seen(other_seen, over_m + other_bend * bulge, to_tx, to_rx, root)
        flat = _seen(flat, flat_over_m + flat_bend * bulge, to_tx, to_rx, root)
        other_flat = _seen(other_flat, flat_over_m + other_flat_bend * bulge, to_tx, to_rx, root)
    return _summary(path, seen, flat, rise, flat_rise), _summary(
        path, other_seen, other_flat, rise, flat_rise
    )


@also_in_kernels
def _seen(
    seen: tuple[float, float, float], over_m: float, to_tx: float, to_rx: float, root: float
) -> tuple[float, float, float]:
    """Return steepest slopes over the line [m/km] from both ends, and X, with one more point."""
    return max(seen[0], over_m * to_tx), max(seen[1], over_m * to_rx), max(seen[2], over_m * root)


@also_in_kernels
def _summary(
    path: Path,
    seen: tuple[float, float, float],
    flat: tuple[float, float, float],
    rise: float,
    flat_rise: float,
) -> PathSummary:
    # X is asked in line of sight alone, where no point is over the line.
    return PathSummary(
        path.distance_km,
        path.tx_amsl_m,
        path.rx_amsl_m,
        seen[0] + rise,
        seen[1] - rise,
        seen[2] if seen[0] < 0.0 else -math.inf,
        path.tx_effective_diffraction_m,
        path.rx_effective_diffraction_m,
        flat[0] + flat_rise,
        flat[1] - flat_rise,
        flat[2] if flat[0] < 0.0 else -math.inf,
    )


@also_in_kernels
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
