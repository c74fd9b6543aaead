"""Everything that Recommendation ITU-R P.1812-8 asks besides the path itself: frequency, percentages, air.

Symbols: f frequency (and its cube root), p time percentage, I(p) inverse normal of p (normal.py), ae median
effective radius, N0 sea-level surface refractivity, φ latitude of the path centre, β0 incidence of ducts
(the least of the latitude is kept), pL location percentage, σL location deviation.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.propagation.effective_earth import effective_radius_km
from combe.propagation.p1812.ducting_incidence import incidence_bounds_percent
from combe.propagation.p1812.ducting_time import TimeFloor, time_floor
from combe.propagation.p1812.location import location_correction_db
from combe.propagation.p1812.normal import inverse_normal

BETA_RADIUS_KM: Final = 3.0 * 6371.0
"""aβ [km]: effective radius exceeded for β0 % of time, k = 3 (P.1812-8 §3.7, eq. 7)."""

WAVELENGTH_M_GHZ: Final = 0.2998
"""Wavelength times frequency [m·GHz] with the Recommendation's c = 2.998e8 m/s."""


class P1812Conditions(NamedTuple):
    """What one map or one path is priced for; made by :func:`make_conditions`."""

    frequency_ghz: float
    frequency_root: float
    wavelength_m: float
    time_percent: float
    time_inverse: float
    median_radius_km: float
    n0: float
    latitude_deg: float
    vertical: bool
    location_db: float
    least_incidence_percent: float
    time_floor: TimeFloor


def make_conditions(
    *,
    frequency_mhz: float,
    time_percent: float,
    latitude_deg: float,
    delta_n: float,
    n0: float,
    vertical: bool = False,
    location_percent: float = 50.0,
    location_sigma_db: float = 0.0,
) -> P1812Conditions:
    """Return the conditions with their constant parts worked out; ranges are checked by the caller.

    Examples
    --------
    >>> air = dict(latitude_deg=50.0, delta_n=45.0, n0=325.0)
    >>> round(make_conditions(frequency_mhz=600.0, time_percent=1.0, **air).median_radius_km, 3)
    8930.777
    """
    frequency_ghz = frequency_mhz / 1000.0
    least, greatest = incidence_bounds_percent(latitude_deg)
    return P1812Conditions(
        frequency_ghz=frequency_ghz,
        # Eq. 48 and 51 ask for it on every path of a map; the frequency is the same for all.
        frequency_root=math.cbrt(frequency_ghz),
        wavelength_m=WAVELENGTH_M_GHZ / frequency_ghz,
        time_percent=float(time_percent),
        time_inverse=inverse_normal(time_percent / 100.0),
        median_radius_km=effective_radius_km(delta_n),
        n0=float(n0),
        latitude_deg=float(latitude_deg),
        vertical=vertical,
        location_db=location_correction_db(location_percent, location_sigma_db),
        least_incidence_percent=least,
        time_floor=time_floor(time_percent, greatest),
    )
