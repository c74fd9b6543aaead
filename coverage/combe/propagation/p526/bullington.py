"""The Bullington construction with its empirical correction: Recommendation ITU-R P.526-16 §4.5.1.

The same equations stand in P.1812-8 §4.3.1 (eq. 12 to 21). Symbols as in :mod:`combe.propagation.summary`;
dbp distance [km] of the Bullington point, Luc knife-edge loss [dB], λ wavelength [m].
"""

from __future__ import annotations

import math

from combe.compiling import kernel, kernel_part
from combe.propagation.p526.knife_edge import knife_edge_kernel


@kernel
def bullington_point(
    distance_km: float, tx_m: float, rx_m: float, tx_slope: float, rx_slope: float
) -> tuple[float, float]:
    """Return (dbp [km], height [m] over the line between the aerials) where the two horizon rays meet.

    Where an edge lies on that line to the last bit, both rays are the line itself: they meet everywhere, and
    dbp is 0/0. Rounding can also leave dbp beyond an end. Every point of the line serves then: the middle is
    taken, and the height over the line is nought.
    """
    point_km = (rx_m - tx_m + rx_slope * distance_km) / (tx_slope + rx_slope)
    if not 0.0 < point_km < distance_km:
        return 0.5 * distance_km, 0.0
    line_m = (tx_m * (distance_km - point_km) + rx_m * point_km) / distance_km
    return point_km, tx_m + tx_slope * point_km - line_m


@kernel_part
def bullington_kernel(
    distance_km: float,
    tx_m: float,
    rx_m: float,
    tx_slope: float,
    rx_slope: float,
    fresnel: float,
    wavelength: float,
) -> float:
    """Return the Bullington loss [dB] with correction, from the slopes and X of a path summary.

    Note that, because of the correction, one isolated edge is not J(ν): about 10 dB more where it is high.
    """
    # No point rises over the line between the aerials: the one that comes nearest in terms of ν stands for
    # all.
    if tx_slope < (rx_m - tx_m) / distance_km:
        geometry = fresnel
    else:
        # Beyond the horizon one edge stands where the two horizon rays meet.
        point_km, over_m = bullington_point(distance_km, tx_m, rx_m, tx_slope, rx_slope)
        geometry = over_m * math.sqrt(distance_km / (point_km * (distance_km - point_km)))
    # X was kept with distances in km and heights in m; 0.002 is the 2 of ν = h √(2d/(λ d1 d2)) and the
    # thousand metres of a kilometre.
    uncorrected = knife_edge_kernel(geometry * math.sqrt(0.002 / wavelength))
    # The correction is empirical; it comes in with the loss, and is there in full from some 20 dB on.
    return uncorrected + (1.0 - math.exp(-uncorrected / 6.0)) * (10.0 + 0.02 * distance_km)
