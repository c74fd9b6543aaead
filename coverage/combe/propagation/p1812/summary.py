"""What Recommendation ITU-R P.1812-8 draws from a terrain profile: a path summary of some twenty numbers.

A summary depends on the ground, the terminals and the median effective radius; not on frequency, time or
place percentages. So it is made once and priced for several of them. Symbols: χ geometric part of the Fresnel
parameter (bullington.py), ae and aβ effective radii, the rest as in horizons.py, smooth_surface.py and
zones.py.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.propagation.p1812.bullington import path_geometry
from combe.propagation.p1812.conditions import BETA_RADIUS_KM
from combe.propagation.p1812.horizons import angle_mrad, horizons
from combe.propagation.p1812.smooth_surface import (
    diffraction_ends_m,
    fit_sums,
    fitted_ends_m,
    obstruction,
    roughness_m,
)
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA, longest_stretch_km, sea_fraction

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


class P1812Summary(NamedTuple):
    """A path, summarised: symbol of the Recommendation after each number."""

    distance_km: float  # d
    tx_amsl_m: float  # hts
    rx_amsl_m: float  # hrs
    smooth_tx_m: float  # hst of the fit
    smooth_rx_m: float  # hsr of the fit
    duct_tx_m: float  # hst, not above the ground
    duct_rx_m: float  # hsr, not above the ground
    diffraction_tx_m: float  # hstd
    diffraction_rx_m: float  # hsrd
    median_geometry: float  # χ of the real profile, ae
    median_smooth_geometry: float  # χ of the smooth profile, ae
    beta_geometry: float  # χ of the real profile, aβ
    beta_smooth_geometry: float  # χ of the smooth profile, aβ
    tx_horizon_km: float  # dlt
    rx_horizon_km: float  # dlr
    tx_horizon_mrad: float  # θt
    rx_horizon_mrad: float  # θr
    roughness_m: float  # hm
    land_km: float  # dtm
    inland_km: float  # dlm
    sea_fraction: float  # ω
    tx_coast_km: float  # dct
    rx_coast_km: float  # dcr
    rx_at_sea: float  # 1 where the receiver's zone is sea, else 0


@kernel
def raised_ground_m(ground: FloatArray, cover: FloatArray) -> FloatArray:
    """Return g [m]: cover added to the ground, but not at the terminals."""
    raised = ground + cover
    raised[0], raised[-1] = ground[0], ground[-1]
    return raised


@kernel
def _surface_heights(
    distance: FloatArray, ground: FloatArray, tx_m: float, rx_m: float
) -> tuple[float, float, float, float]:
    """Return hst, hsr of the fit and hstd, hsrd [m]."""
    v1, v2 = fit_sums(distance, ground)
    fit_tx, fit_rx = fitted_ends_m(distance[-1], v1, v2)
    highest, from_tx, from_rx = obstruction(distance, ground, tx_m, rx_m)
    low_tx, low_rx = diffraction_ends_m(fit_tx, fit_rx, ground[0], ground[-1], highest, from_tx, from_rx)
    return fit_tx, fit_rx, low_tx, low_rx


@kernel
def summarise_exact(
    distance: FloatArray,
    ground: FloatArray,
    cover: FloatArray,
    zone: ZoneArray,
    tx_height_m: float,
    rx_height_m: float,
    median_radius_km: float,
    tx_coast_km: float,
    rx_coast_km: float,
) -> P1812Summary:
    """Return the summary of one profile, O(n) in its points (P.1812-8 Attachment 1, §3.6 and §4.3).

    All arrays have shape (n,), n ≥ 3: distance [km] from 0 ascending, ground and cover [m], zone codes 1, 3
    or 4. Heights of the aerials are above the ground [m].
    """
    total = distance[-1]
    tx, rx = ground[0] + tx_height_m, ground[-1] + rx_height_m
    raised, smooth = raised_ground_m(ground, cover), np.zeros_like(ground)
    fit_tx, fit_rx, low_tx, low_rx = _surface_heights(distance, ground, tx, rx)
    duct_tx, duct_rx = min(fit_tx, ground[0]), min(fit_rx, ground[-1])
    tx_slope, rx_slope, first, last = horizons(distance, ground, tx, rx, median_radius_km)
    return P1812Summary(
        total,
        tx,
        rx,
        fit_tx,
        fit_rx,
        duct_tx,
        duct_rx,
        low_tx,
        low_rx,
        path_geometry(distance, raised, tx, rx, median_radius_km),
        path_geometry(distance, smooth, tx - low_tx, rx - low_rx, median_radius_km),
        path_geometry(distance, raised, tx, rx, BETA_RADIUS_KM),
        path_geometry(distance, smooth, tx - low_tx, rx - low_rx, BETA_RADIUS_KM),
        distance[first],
        total - distance[last],
        angle_mrad(tx_slope),
        angle_mrad(rx_slope),
        roughness_m(distance, ground, first, last, duct_tx, duct_rx),
        longest_stretch_km(distance, zone, COASTAL),
        longest_stretch_km(distance, zone, INLAND),
        sea_fraction(distance, zone),
        tx_coast_km,
        rx_coast_km,
        1.0 if zone[-1] == SEA else 0.0,
    )
