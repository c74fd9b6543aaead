"""Location variability of Recommendation ITU-R P.1812-8 §4.7: how the field scatters within a small area.

Symbols: σL standard deviation of location, pL percentage of locations, wa side of the square predicted for,
R ground-cover height at the receiver, Lloc = −I(pL) σL correction of the loss.
"""

from __future__ import annotations

from combe.errors import RangeError
from combe.propagation.p1812.normal import inverse_normal


def location_correction_db(location_percent: float, location_sigma_db: float) -> float:
    """Return Lloc [dB], what the loss is raised by so that ``location_percent`` of places do no worse.

    P.1812-8 §4.7. The Recommendation takes 0 where the receiver stands at sea; that is done where a path is
    priced.

    Raises
    ------
    RangeError
        Outside 1 % to 99 %, or for a negative deviation.

    Examples
    --------
    >>> round(location_correction_db(95.0, 5.5), 4)
    9.0487
    """
    if not 1.0 <= location_percent <= 99.0:
        raise RangeError("location_percent", location_percent, "1 to 99 % (P.1812-8 §4.7)")
    if not 0.0 <= location_sigma_db < 100.0:
        raise RangeError("location_sigma_db", location_sigma_db, "0 to below 100 dB")
    # Without a deviation the product would be −0, for I(0.5) is a hair above 0.
    return -inverse_normal(location_percent / 100.0) * location_sigma_db if location_sigma_db else 0.0


def location_sigma_db(
    frequency_mhz: float, area_side_m: float, *, rx_height_m: float = 0.0, cover_height_m: float = 0.0
) -> float:
    """Return σL [dB] of outdoor places within a square of side ``area_side_m`` [m] (P.1812-8 §4.7).

    σL = (0.024 f + 0.52) wa^0.28 (f in GHz), whole up to the ground-cover height R and falling linearly to 0
    at R + 10 m.

    Raises
    ------
    RangeError
        For a frequency outside 30 to 6000 MHz or a side not above 0.

    Examples
    --------
    >>> round(location_sigma_db(600.0, 100.0), 3)
    1.94
    """
    if not 30.0 <= frequency_mhz <= 6000.0:
        raise RangeError("frequency_mhz", frequency_mhz, "30 to 6000 MHz (P.1812-8)")
    if not 0.0 < area_side_m < float("inf"):
        raise RangeError("area_side_m", area_side_m, "above 0 m")
    # An aerial that stands clear of the cover sees one field; 10 m over it the scatter is gone.
    left = min(1.0, max(0.0, 1.0 - (rx_height_m - cover_height_m) / 10.0))
    return left * (0.024 * frequency_mhz / 1000.0 + 0.52) * float(area_side_m**0.28)
