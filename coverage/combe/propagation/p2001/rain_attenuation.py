"""Specific attenuation by rain: Recommendation ITU-R P.838-3, as P.2001-4 takes it up in Attachment C.

Symbols: γ = k R^α attenuation [dB/km] of a rain rate R [mm/h], ε inclination of the path, τ tilt of the
polarization (0 horizontal, π/2 vertical).
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from combe.compiling import also_in_kernels


class _Fit(NamedTuple):
    """A sum of bells over the logarithm of frequency, and a straight line under it."""

    heights: tuple[float, ...]
    centres: tuple[float, ...]
    widths: tuple[float, ...]
    slope: float
    offset: float


@also_in_kernels
def _fitted(fit: _Fit, log_frequency: float) -> float:
    """Return the value of a fit."""
    total = 0.0
    for i in range(len(fit.heights)):
        total += fit.heights[i] * math.exp(-(((log_frequency - fit.centres[i]) / fit.widths[i]) ** 2))
    return total + fit.slope * log_frequency + fit.offset


_K_HORIZONTAL: Final = _Fit(
    (-5.3398, -0.35351, -0.23789, -0.94158),
    (-0.10008, 1.2697, 0.86036, 0.64552),
    (1.13098, 0.454, 0.15354, 0.16817),
    -0.18961,
    0.71147,
)
_K_VERTICAL: Final = _Fit(
    (-3.80595, -3.44965, -0.39902, 0.50167),
    (0.56934, -0.22911, 0.73042, 1.07319),
    (0.81061, 0.51059, 0.11899, 0.27195),
    -0.16398,
    0.63297,
)
_ALPHA_HORIZONTAL: Final = _Fit(
    (-0.14318, 0.29591, 0.32177, -5.3761, 16.1721),
    (1.82442, 0.77564, 0.63773, -0.9623, -3.2998),
    (-0.55187, 0.19822, 0.13164, 1.47828, 3.4399),
    0.67849,
    -1.95537,
)
_ALPHA_VERTICAL: Final = _Fit(
    (-0.07771, 0.56727, -0.20238, -48.2991, 48.5833),
    (2.3384, 0.95545, 1.1452, 0.791669, 0.791459),
    (-0.76284, 0.54039, 0.26809, 0.116226, 0.116479),
    -0.053739,
    0.83433,
)
# P.838-3 tables 1 to 4.


class RainLaw(NamedTuple):
    """k and α of γ = k R^α."""

    k: float
    alpha: float


@also_in_kernels
def rain_law(frequency_ghz: float, inclination_rad: float, vertical: bool) -> RainLaw:
    """Return k and α; under 1 GHz α of 1 GHz, and k in proportion to the frequency (C.2.8).

    Examples
    --------
    >>> law = rain_law(10.0, 0.0, vertical=False)
    >>> round(law.k, 5), round(law.alpha, 4)
    (0.01217, 1.2571)
    """
    x = math.log10(max(frequency_ghz, 1.0))
    k_h, k_v = math.pow(10.0, _fitted(_K_HORIZONTAL, x)), math.pow(10.0, _fitted(_K_VERTICAL, x))
    alpha_h, alpha_v = _fitted(_ALPHA_HORIZONTAL, x), _fitted(_ALPHA_VERTICAL, x)
    tilt = math.cos(inclination_rad) ** 2 * (-1.0 if vertical else 1.0)  # cos² ε cos 2τ
    k = 0.5 * (k_h + k_v + (k_h - k_v) * tilt)
    both = k_h * alpha_h + k_v * alpha_v + (k_h * alpha_h - k_v * alpha_v) * tilt
    return RainLaw(min(frequency_ghz, 1.0) * k, both / (2.0 * k))
