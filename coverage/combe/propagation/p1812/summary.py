"""What Recommendation ITU-R P.1812-8 draws from a terrain profile: a path summary of some twenty numbers.

A summary depends on the ground, the terminals and the median effective radius; not on frequency, time or
place percentages. So it is made once and priced for several of them. What diffraction needs is held twice,
for both effective radii ae and aβ, in the form that P.526 uses too (combe.propagation.summary, where X
stands for the geometric part of the Fresnel parameter). The other symbols are those of horizons.py,
roughness.py and zones.py.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part
from combe.propagation.p1812.conditions import BETA_RADIUS_KM
from combe.propagation.p1812.horizons import angle_mrad, horizons
from combe.propagation.p1812.roughness import roughness_m
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA, longest_stretch_km, sea_fraction
from combe.propagation.summary import (
    PathSummary,
    horizon_slopes,
    largest_fresnel,
    lowered_smooth_ends,
    obstruction,
    smooth_profile,
    smooth_surface,
)

FloatArray = npt.NDArray[np.float64]
ZoneArray = npt.NDArray[np.int64]


class P1812Summary(NamedTuple):
    """A path, summarised: symbol of the Recommendation after each number."""

    median: PathSummary  # delta-Bullington for ae: d, hts, hrs, slopes, X, heights over hstd, hsrd
    beta: PathSummary  # the same for aβ
    smooth_tx_m: float  # hst of the fit
    smooth_rx_m: float  # hsr of the fit
    duct_tx_m: float  # hst, not above the ground
    duct_rx_m: float  # hsr, not above the ground
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


@kernel_part
def raised_ground_m(ground: FloatArray, cover: FloatArray) -> FloatArray:
    """Return g [m]: cover added to the ground, but not at the terminals."""
    raised = ground + cover
    # An aerial is counted from the bare ground, whatever stands around it.
    raised[0], raised[-1] = ground[0], ground[-1]
    return raised


@kernel_part
def radius_summary(
    distance: FloatArray,
    raised: FloatArray,
    tx_m: float,
    rx_m: float,
    tx_effective_m: float,
    rx_effective_m: float,
    radius_km: float,
) -> PathSummary:
    """Return what delta-Bullington needs for one effective radius, of ground with its cover (§4.3)."""
    total, curvature = distance[-1], 500.0 / radius_km
    # What diffracts is the ground with its cover; horizons, roughness and both smooth surfaces go by the
    # bare ground.
    tx_slope, rx_slope = horizon_slopes(distance, raised, tx_m, rx_m, curvature)
    fresnel = -math.inf
    if tx_slope < (rx_m - tx_m) / total:
        fresnel, _ = largest_fresnel(distance, raised, tx_m, rx_m, curvature)
    smooth_tx, smooth_rx, smooth_fresnel = smooth_profile(distance, tx_effective_m, rx_effective_m, curvature)
    return PathSummary(
        total,
        tx_m,
        rx_m,
        tx_slope,
        rx_slope,
        fresnel,
        tx_effective_m,
        rx_effective_m,
        smooth_tx,
        smooth_rx,
        smooth_fresnel,
    )


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
    raised = raised_ground_m(ground, cover)
    # hst and hsr of the fit (eq. 85 and 86).
    fit_tx, fit_rx = smooth_surface(distance, ground)
    highest, from_tx, from_rx = obstruction(distance, ground, tx, rx)
    # Two surfaces from one fit: that of diffraction gives way to obstructions, that of ducting only keeps
    # out of the ground.
    # Eq. 89 for the one, eq. 90a and 90b for the other.
    low_tx, low_rx = lowered_smooth_ends(fit_tx, fit_rx, ground[0], ground[-1], highest, from_tx, from_rx)
    duct_tx, duct_rx = min(fit_tx, ground[0]), min(fit_rx, ground[-1])
    tx_slope, rx_slope, first, last = horizons(distance, ground, tx, rx, median_radius_km)
    return P1812Summary(
        radius_summary(distance, raised, tx, rx, tx - low_tx, rx - low_rx, median_radius_km),
        # The heights over the smooth surface are the same for both radii, as no curvature enters the fit.
        radius_summary(distance, raised, tx, rx, tx - low_tx, rx - low_rx, BETA_RADIUS_KM),
        fit_tx,
        fit_rx,
        duct_tx,
        duct_rx,
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
