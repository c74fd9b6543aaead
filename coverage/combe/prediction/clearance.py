"""Clearance of a path: how far the line between the aerials passes over the edge that matters most.

The controlling edge is the point of the largest diffraction parameter ν, as in the exact path. ν is −√2 times
the clearance in radii of the first Fresnel zone, so it is also the point with the least clearance in radii.
Heights are taken upright, as in ITU-R P.526-16 §4.1, with the Earth's bulge added to the ground.

A line that clears the ground on most days may graze it on others: where refractivity falls more slowly with
height, the Earth bulges more. So clearance is told for two airs. At the median it is the study's own radius,
by which paths are predicted and drawn. For 99.9 % of the time it is the effective radius that ITU-R P.2001-4
eq. (3.5.3) has for that share of an average year of the study's climate, the air of the fades for that share.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.constants import EARTH_RADIUS_KM
from combe.errors import ProfileError, RangeError
from combe.prediction.conditions import MEDIAN_PERCENT
from combe.propagation import largest_fresnel, p2001
from combe.propagation.p526 import check_profile, fresnel_radius_m
from combe.propagation.p2001 import Climate
from combe.terrain import TerrainProfile

RARE_AIR_PERCENT: Final = 99.9
"""Share of an average year [%] for which the lesser effective radius is exceeded; common practice."""


@dataclass(frozen=True)
class Clearance:
    """How the line clears its controlling edge in one air.

    Attributes
    ----------
    edge_index
        Profile point of the edge.
    distance_km
        Edge from the start of the profile [km].
    clearance_m
        Line over the edge [m], the Earth's bulge counted; below 0 where the edge blocks it.
    first_fresnel_m
        Radius of the first Fresnel zone over the edge [m].
    effective_radius_km
        Effective Earth radius [km].
    time_percent
        Share of time [%] for which that radius is exceeded.
    """

    edge_index: int
    distance_km: float
    clearance_m: float
    first_fresnel_m: float
    effective_radius_km: float
    time_percent: float

    @property
    def clearance_radii(self) -> float:
        """Clearance in radii of the first Fresnel zone."""
        return self.clearance_m / self.first_fresnel_m

    @property
    def k(self) -> float:
        """Effective radius over that of the Earth, 6371 km."""
        return self.effective_radius_km / EARTH_RADIUS_KM

    @property
    def blocked(self) -> bool:
        """Whether the edge reaches the line or over it."""
        return self.clearance_m <= 0.0


@dataclass(frozen=True)
class ClearanceOverTime:
    """Clearance at the median and for nearly all of the time; the edge may be another one in each."""

    median: Clearance
    exceeded_99_9: Clearance

    @property
    def contradicts(self) -> bool:
        """Whether the study's median air bends rays less than its climate does for nearly all of the time."""
        return self.exceeded_99_9.effective_radius_km > self.median.effective_radius_km


def clearance_at(
    profile: TerrainProfile,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    effective_radius_km: float,
    clutter_height_m: npt.ArrayLike | None = None,
    time_percent: float = MEDIAN_PERCENT,
) -> Clearance:
    """Return the clearance over a profile in the air of one effective Earth radius.

    Parameters
    ----------
    profile
        Ground from one aerial to the other, three points or more.
    tx_height_m, rx_height_m
        Aerials above ground [m].
    frequency_mhz
        Frequency [MHz].
    effective_radius_km
        Effective Earth radius [km].
    clutter_height_m
        Ground cover [m] above the ground, shape (n,); added between the ends. Without it the bare ground.
    time_percent
        Share of time [%] for which the radius is exceeded; kept with the answer.

    Raises
    ------
    ProfileError
        For a profile that cannot be used, or that has no point between its ends.
    RangeError
        For a frequency or a radius that is not above 0.

    Examples
    --------
    A hill of 80 m halfway along 20 km of a flat Earth, under a line at 100 m. At 600 MHz the first Fresnel
    radius there is √(0.5 m · 5000 m) = 50 m.

    >>> import math, numpy as np
    >>> distance_km, nowhere = np.array([0.0, 10.0, 20.0]), np.zeros(3)
    >>> profile = TerrainProfile(distance_km, np.array([0.0, 80.0, 0.0]), nowhere, nowhere)
    >>> found = clearance_at(
    ...     profile, tx_height_m=100, rx_height_m=100, frequency_mhz=600, effective_radius_km=math.inf
    ... )
    >>> round(found.clearance_m, 3), round(found.clearance_radii, 3)
    (20.0, 0.4)
    """
    if not effective_radius_km > 0.0:
        raise RangeError("effective_radius_km", effective_radius_km, "above 0 km")
    distance_km, ground_m = check_profile(profile.distance_km, profile.height_m)
    if distance_km.size < 3:
        raise ProfileError(
            f"profile has {distance_km.size} points, none between its ends; allowed: 3 points or more"
        )
    top_m = ground_m + _between_ends(clutter_height_m, distance_km.size)
    tx_m, rx_m = float(ground_m[0] + tx_height_m), float(ground_m[-1] + rx_height_m)
    curvature = 500.0 / effective_radius_km
    _, edge = largest_fresnel(distance_km, top_m, tx_m, rx_m, curvature)
    length_km, at_km = float(distance_km[-1]), float(distance_km[edge])
    beyond_km = length_km - at_km
    line_m = (tx_m * beyond_km + rx_m * at_km) / length_km
    return Clearance(
        edge_index=int(edge),
        distance_km=at_km,
        clearance_m=line_m - float(top_m[edge]) - curvature * at_km * beyond_km,
        first_fresnel_m=float(fresnel_radius_m(at_km, beyond_km, frequency_mhz)),
        effective_radius_km=effective_radius_km,
        time_percent=time_percent,
    )


def clearance_over_time(
    profile: TerrainProfile,
    *,
    tx_height_m: float,
    rx_height_m: float,
    frequency_mhz: float,
    median_radius_km: float,
    climate: Climate,
    clutter_height_m: npt.ArrayLike | None = None,
) -> ClearanceOverTime:
    """Return the clearance at a median radius [km], and at the radius exceeded for 99.9 % of the time.

    The latter is of the climate; parameters and errors otherwise as :func:`clearance_at`.
    """

    def at(radius_km: float, time_percent: float) -> Clearance:
        return clearance_at(
            profile,
            tx_height_m=tx_height_m,
            rx_height_m=rx_height_m,
            frequency_mhz=frequency_mhz,
            effective_radius_km=radius_km,
            clutter_height_m=clutter_height_m,
            time_percent=time_percent,
        )

    air = p2001.make_conditions(climate, frequency_mhz=frequency_mhz, time_percent=RARE_AIR_PERCENT)
    return ClearanceOverTime(
        median=at(median_radius_km, MEDIAN_PERCENT),
        exceeded_99_9=at(air.time_radius_km, RARE_AIR_PERCENT),
    )


def _between_ends(clutter_height_m: npt.ArrayLike | None, count: int) -> npt.NDArray[np.float64]:
    """Return the cover [m] of each point, 0 at the ends, as the exact path adds it."""
    cover_m = np.zeros(count)
    if clutter_height_m is None:
        return cover_m
    given_m = np.asarray(clutter_height_m, dtype=np.float64)
    if given_m.shape != (count,):
        raise ProfileError(
            f"ground cover has shape {given_m.shape}; allowed: ({count},), that of the profile"
        )
    cover_m[1:-1] = given_m[1:-1]
    return cover_m
