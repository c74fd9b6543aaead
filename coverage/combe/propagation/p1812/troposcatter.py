"""Loss by scatter from the troposphere: Recommendation ITU-R P.1812-8 §4.4.

Symbols: d distance, θ path angular distance, f frequency, p time percentage, N0 sea-level surface
refractivity, Lf frequency-dependent loss, Lbs basic loss exceeded for all but p % of time.
"""

from __future__ import annotations

import math

from combe.compiling import kernel_part


@kernel_part
def troposcatter_loss_db(
    distance_km: float, path_angle_mrad: float, frequency_ghz: float, time_percent: float, n0: float
) -> float:
    """Return Lbs [dB] (P.1812-8 §4.4, eq. 44 and 45).

    Examples
    --------
    >>> round(troposcatter_loss_db(10.0, 46.09666966, 0.0953, 50.0, 326.079979), 4)
    157.7099
    """
    half = math.log10(frequency_ghz / 2.0)
    by_frequency = 25.0 * math.log10(frequency_ghz) - 2.5 * half * half
    # At 50 % this is 0; a logarithm that rounding puts a hair below 0 must not meet the power 0.7.
    rare = 10.125 * math.pow(max(0.0, math.log10(50.0 / time_percent)), 0.7)
    return 190.1 + by_frequency + 20.0 * math.log10(distance_km) + 0.573 * path_angle_mrad - 0.15 * n0 - rare
