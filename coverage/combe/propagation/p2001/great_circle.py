"""Places along the great circle between the ends of a path: Recommendation ITU-R P.2001-4, Attachment H.

Symbols: φte φtn φre φrn longitude and latitude of transmitter and receiver, δ angle from the transmitter.
The Earth is a sphere here, as the Recommendation has it; only the latitude of a place is needed, since one
climate stands for the whole path.
"""

from __future__ import annotations

import math

from combe.compiling import also_in_kernels
from combe.constants import EARTH_RADIUS_KM


@also_in_kernels
def _bearing_rad(
    tx_longitude_deg: float, tx_latitude_deg: float, rx_longitude_deg: float, rx_latitude_deg: float
) -> float:
    """Return the bearing [rad] of the receiver (H.2.1 to H.2.6)."""
    turn = math.radians(rx_longitude_deg - tx_longitude_deg)
    tx, rx = math.radians(tx_latitude_deg), math.radians(rx_latitude_deg)
    r = math.sin(tx) * math.sin(rx) + math.cos(tx) * math.cos(rx) * math.cos(turn)
    north = math.sin(rx) - r * math.sin(tx)
    east = math.cos(tx) * math.cos(rx) * math.sin(turn)
    if abs(north) < 1e-9 and abs(east) < 1e-9:
        return math.radians(rx_longitude_deg)  # from a pole, or to the same place
    return math.atan2(east, north)


@also_in_kernels
def latitude_along_deg(
    tx_longitude_deg: float,
    tx_latitude_deg: float,
    rx_longitude_deg: float,
    rx_latitude_deg: float,
    distance_km: float,
) -> float:
    """Return the latitude [degrees] at a distance [km] from the transmitter (H.3.1 to H.3.3).

    Examples
    --------
    >>> round(latitude_along_deg(10.0, 50.0, 10.0, 52.0, 111.19), 3)
    51.0
    """
    bearing = _bearing_rad(tx_longitude_deg, tx_latitude_deg, rx_longitude_deg, rx_latitude_deg)
    angle, tx = distance_km / EARTH_RADIUS_KM, math.radians(tx_latitude_deg)
    sine = math.sin(tx) * math.cos(angle) + math.cos(tx) * math.sin(angle) * math.cos(bearing)
    return math.degrees(math.asin(min(1.0, max(-1.0, sine))))
