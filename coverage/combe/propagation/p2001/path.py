"""What the sub-models need of a profile: Recommendation ITU-R P.2001-4 §3.2, §3.3, §3.8, §3.9 and D.1, D.4.

Symbols: dt path length, hts hrs aerials above sea level, hmid ground in the middle, ω share of sea, εp slope
between the aerials, hstip hsrip ends of the fitted line (hstipa hsripa not above the ground), htea hrea
aerials over that, hm roughness, htep hrep aerials over the smooth surface of diffraction, dtcv drcv hcv
common volume of scatter, dtm dlm longest stretches of land and inland, dct dcr distances to the coast.

Shares, stretches, the fitted line and roughness are those of P.1812-8, which are the same equations.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import also_in_kernels
from combe.propagation.p1812.roughness import roughness_m
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA, longest_stretch_km, sea_fraction
from combe.propagation.p2001.conditions import Conditions
from combe.propagation.p2001.horizons import (
    Horizons,
    angular_distance_rad,
    horizons,
    least_angle_rad,
)
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


class CommonVolume(NamedTuple):
    """Where the beams along both horizons cross (§3.9)."""

    tx_km: float  # dtcv
    rx_km: float  # drcv
    amsl_m: float  # hcv


class Path(NamedTuple):
    """One profile in median air, alike for all shares of time; made by :func:`draw_path`."""

    distance_km: float
    tx_amsl_m: float
    rx_amsl_m: float
    tx_ground_m: float
    rx_ground_m: float
    middle_ground_m: float
    slope_mrad: float
    horizon: Horizons
    tx_horizon_ground_m: float
    rx_horizon_ground_m: float
    tx_effective_duct_m: float
    rx_effective_duct_m: float
    tx_effective_diffraction_m: float
    rx_effective_diffraction_m: float
    roughness_m: float
    volume: CommonVolume
    sea_fraction: float
    longest_land_km: float
    longest_inland_km: float
    tx_coast_km: float
    rx_coast_km: float


@also_in_kernels
def draw_path(
    distance: FloatArray,
    ground: FloatArray,
    zone: ZoneArray,
    tx_height_m: float,
    rx_height_m: float,
    conditions: Conditions,
) -> Path:
    """Return what is needed of checked arrays of shape (n,), aerials above the ground.

    No zones at all are inland throughout. Of the conditions only the median radius counts and, between equal
    points, the wavelength.
    """
    total = float(distance[-1])
    tx_ground_m, rx_ground_m = float(ground[0]), float(ground[-1])
    tx_m, rx_m = tx_ground_m + tx_height_m, rx_ground_m + rx_height_m  # (3.3.1)
    horizon = horizons(distance, ground, tx_m, rx_m, conditions)
    fitted_tx_m, fitted_rx_m = smooth_surface(distance, ground)  # (3.8.3)
    duct_tx_m, duct_rx_m = min(fitted_tx_m, tx_ground_m), min(fitted_rx_m, rx_ground_m)  # (3.8.4)
    highest, tx_angle, rx_angle = obstruction(distance, ground, tx_m, rx_m)
    low_tx_m, low_rx_m = lowered_smooth_ends(
        fitted_tx_m, fitted_rx_m, tx_ground_m, rx_ground_m, highest, tx_angle, rx_angle
    )  # (3.8.5)
    sea, land_km, inland_km = 0.0, total, total
    if zone.size > 0:
        sea = float(sea_fraction(distance, zone))
        land_km = float(longest_stretch_km(distance, zone, COASTAL))
        inland_km = float(longest_stretch_km(distance, zone, INLAND))
    tx_coast_km, rx_coast_km = coast_distances_km(distance, zone)
    return Path(
        distance_km=total,
        tx_amsl_m=tx_m,
        rx_amsl_m=rx_m,
        tx_ground_m=tx_ground_m,
        rx_ground_m=rx_ground_m,
        middle_ground_m=middle_ground_m(ground),
        slope_mrad=abs(tx_m - rx_m) / total,  # (3.3.3)
        horizon=horizon,
        tx_horizon_ground_m=float(ground[horizon.tx_index]),
        rx_horizon_ground_m=float(ground[horizon.rx_index]),
        tx_effective_duct_m=tx_m - duct_tx_m,  # (3.8.6)
        rx_effective_duct_m=rx_m - duct_rx_m,
        tx_effective_diffraction_m=tx_m - low_tx_m,
        rx_effective_diffraction_m=rx_m - low_rx_m,
        roughness_m=float(
            roughness_m(distance, ground, horizon.tx_index, horizon.rx_index, duct_tx_m, duct_rx_m)
        ),  # (3.8.7)
        volume=common_volume(total, tx_m, rx_m, horizon, conditions),
        sea_fraction=sea,
        longest_land_km=land_km,
        longest_inland_km=inland_km,
        tx_coast_km=tx_coast_km,
        rx_coast_km=rx_coast_km,
    )


@also_in_kernels
def middle_ground_m(ground: FloatArray) -> float:
    """Return hmid [m], found by counting points and not by distance (3.2.2)."""
    half = ground.size // 2
    if ground.size % 2:
        return float(ground[half])
    return 0.5 * float(ground[half - 1] + ground[half])


@also_in_kernels
def coast_distances_km(distance: FloatArray, zone: ZoneArray) -> tuple[float, float]:
    """Return dct and dcr [km], the whole path where there is no sea (D.4.1).

    P.1812 has the same but for the path without sea, where it says 500 km.
    """
    total, first, last = float(distance[-1]), -1, -1
    for i in range(zone.size):
        if zone[i] == SEA:
            first, last = (i if first < 0 else first), i
    if first < 0:
        return total, total
    tx_km = 0.5 * float(distance[first - 1] + distance[first]) if first > 0 else 0.0
    end_km = 0.5 * float(distance[last] + distance[last + 1]) if last < zone.size - 1 else total
    return tx_km, total - end_km


@also_in_kernels
def common_volume(
    distance_km: float, tx_m: float, rx_m: float, horizon: Horizons, conditions: Conditions
) -> CommonVolume:
    """Return the common volume, on the path however steep the horizons (3.9.1 and 3.9.2)."""
    tx_rad, rx_rad = least_angle_rad(horizon.tx_mrad), least_angle_rad(horizon.rx_mrad)
    half_rad = 0.5 * angular_distance_rad(distance_km, conditions)
    tx_rise, rx_rise = math.tan(tx_rad + half_rad), math.tan(rx_rad + half_rad)
    tx_km = (distance_km * rx_rise - 1e-3 * (tx_m - rx_m)) / (tx_rise + rx_rise)
    tx_km = min(max(tx_km, 0.0), distance_km)
    bulge_m = 1000.0 * tx_km * tx_km / (2.0 * conditions.median_radius_km)
    return CommonVolume(tx_km, distance_km - tx_km, tx_m + 1000.0 * tx_km * math.tan(tx_rad) + bulge_m)


@also_in_kernels
def diffraction_summary(
    distance: FloatArray, ground: FloatArray, path: Path, conditions: Conditions
) -> PathSummary:
    """Return what delta-Bullington needs (A.4 and A.5); its smooth profile has the bounded radius ap.

    The real profile bends by Cp itself, which is negative where rays bend more than the Earth does.
    """
    tx_m, rx_m, curvature = path.tx_amsl_m, path.rx_amsl_m, 500.0 * conditions.curvature_per_km
    tx_slope, rx_slope = horizon_slopes(distance, ground, tx_m, rx_m, curvature)
    fresnel = -math.inf
    if tx_slope < (rx_m - tx_m) / path.distance_km:
        fresnel, _ = largest_fresnel(distance, ground, tx_m, rx_m, curvature)
    bounded = 500.0 / conditions.time_radius_km
    tx_effective_m, rx_effective_m = path.tx_effective_diffraction_m, path.rx_effective_diffraction_m
    smooth_tx, smooth_rx, smooth_fresnel = smooth_profile(distance, tx_effective_m, rx_effective_m, bounded)
    return PathSummary(
        path.distance_km,
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
