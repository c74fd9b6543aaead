"""Two knife edges: a correction of Recommendation ITU-R P.526-16 §4.3, and the loss without approximation.

Symbols: a, b, c distances from transmitter to first edge, between the edges, from second edge to receiver;
h1, h2 heights of the edges over the line between the terminals; λ wavelength; Tc a correction.

The exact loss is the Fresnel-Kirchhoff integral over both half planes left open, one after the other:

    E/E0 ∝ ∫ over x1 > h1, x2 > h2 of exp(−j π/λ · (x1²/a + (x2 − x1)²/b + x2²/c))

The integral over x2 is a complementary error function; that over x1 is taken along a path turned by −45° in
the complex plane, where it decays instead of oscillating. The method is derived here, not taken from a text.
"""

from __future__ import annotations

import cmath
import math
from functools import cache
from typing import Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.propagation.p526.knife_edge import wavelength_m

NODES: Final = 400
"""Points of the Gauss-Legendre rule; 100 give the loss to 1e-9 dB where the ray bends at both edges."""

TURN: Final = cmath.exp(-0.25j * math.pi)
"""Direction of the path of integration."""

MOST_SWELLING: Final = 20.0
"""Exponent of the greatest swelling allowed: what is left of 16 digits is then 7."""


class Integral(NamedTuple):
    """Phase −j (outer·x1² − 2·across·x1·x2 + inner·x2²) [1/m²], x1 over h1 and x2 over h2 [m]."""

    outer: float
    across: float
    inner: float
    h1: float
    h2: float


def main_edge_correction_db(
    near_km: float, between_km: float, far_km: float, main_nu: float, other_nu: float
) -> float:
    """Return Tc [dB] to take off a main edge and a lesser one (P.526-16 §4.3; from memory).

    Tc = (12 − 20 log(2/(1 − α/π))) · (q/p)^(2p), tan α = √(b (a + b + c)/(a c)); p and q are ν of the main
    and the other edge over the line between the terminals, ``near_km`` and ``far_km`` the distances from the
    ends to the edge next to each. Nought where an edge lies under that line.
    """
    if other_nu <= 0.0 or main_nu <= 0.0:
        return 0.0
    alpha = math.atan(math.sqrt(between_km * (near_km + between_km + far_km) / (near_km * far_km)))
    return (12.0 - 20.0 * math.log10(2.0 / (1.0 - alpha / math.pi))) * float(
        (other_nu / main_nu) ** (2.0 * main_nu)
    )


def double_edge_loss_exact_db(
    first_km: float,
    between_km: float,
    last_km: float,
    first_over_m: float,
    second_over_m: float,
    frequency_mhz: float,
) -> float:
    """Return the loss [dB] of two knife edges from the double Fresnel-Kirchhoff integral.

    Parameters
    ----------
    first_km, between_km, last_km
        Distances [km]: transmitter, first edge, second edge, receiver; above 0.
    first_over_m, second_over_m
        Heights [m] of the edges over the straight line between the terminals; negative below it.
    frequency_mhz
        Frequency [MHz], above 0.

    Raises
    ------
    RangeError
        For a distance or a frequency not above 0, or edges so far below the ray that digits are lost.

    Notes
    -----
    Two grazing edges let through 1/4 + asin(√(a c/((a + b)(b + c))))/2π of the field: one third, 9.542 dB,
    where they divide the path equally.

    Examples
    --------
    >>> round(double_edge_loss_exact_db(10.0, 10.0, 10.0, 50.0, 50.0, 600.0), 3)
    23.896
    """
    for name, value in (("first_km", first_km), ("between_km", between_km), ("last_km", last_km)):
        if not 0.0 < value < math.inf:
            raise RangeError(name, value, "above 0 km")
    scale = math.pi / wavelength_m(frequency_mhz) / 1000.0
    first = scale * (1.0 / first_km + 1.0 / between_km)
    last = scale * (1.0 / between_km + 1.0 / last_km)
    # The path is the same from both ends, and so is its loss; the integrand swells less in one order of the
    # edges than in the other, and that one keeps more digits.
    forward = Integral(first, scale / between_km, last, first_over_m, second_over_m)
    backward = Integral(last, scale / between_km, first, second_over_m, first_over_m)
    best = min(forward, backward, key=_swelling)
    if _swelling(best) > MOST_SWELLING:
        raise RangeError(
            "heights over the line",
            f"{first_over_m:g} m and {second_over_m:g} m",
            "edges near the ray or over it",
        )
    return -20.0 * math.log10(abs(_open_share(best)))


@cache
def _nodes() -> tuple[FloatArray, FloatArray]:
    """Return places and weights of Gauss and Legendre; to find them takes as long as a hundred sums."""
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    return nodes, weights


def _open_share(part: Integral) -> complex:
    """Return the field let through, as a share of the free one."""
    from scipy.special import wofz

    # Completing the square in x2 leaves (outer - across²/inner) x1² as the phase of x1, and the integral
    # over x2 is erfc(z).
    alone = part.outer - part.across**2 / part.inner
    reach = max(_reach(square, linear) for square, linear in _exponents(part))
    nodes, weights = _nodes()
    # Along the turned path x1 = h1 + s exp(-jπ/4) the phase -j x1² becomes -s², so the sum may end where
    # nothing is left of it.
    x1 = part.h1 + TURN * 0.5 * reach * (nodes + 1.0)
    phase = -1j * alone * x1 * x1
    z = cmath.sqrt(1j * part.inner) * (part.h2 - part.across * x1 / part.inner)
    # erfc(z) = exp(−z²) w(jz), used where the real part of z is not negative; else 2 − erfc(−z).
    mirrored = z.real < 0.0
    z = np.where(mirrored, -z, z)
    tail = np.exp(phase - z * z) * wofz(1j * z)
    integral = complex(np.sum(weights * np.where(mirrored, 2.0 * np.exp(phase) - tail, tail)))
    return 0.5 * cmath.sqrt(1j * alone / math.pi) * TURN * 0.5 * reach * integral


def _exponents(part: Integral) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return (square, linear) of the two envelopes exp(−(square·s² + linear·s)) along the path."""
    alone = part.outer - part.across**2 / part.inner
    root = math.sqrt(2.0)
    return (
        (alone, root * alone * part.h1),
        (part.outer, root * (part.outer * part.h1 - part.across * part.h2)),
    )


def _reach(square: float, linear: float) -> float:
    """Return the s beyond which exp(−(square·s² + linear·s)) is below exp(−49), 5e-22."""
    return (math.sqrt(linear * linear + 196.0 * square) - linear) / (2.0 * square)


def _swelling(part: Integral) -> float:
    """Return the exponent the integrand swells to on the path before it decays, 0 where it only decays."""
    return max(min(linear, 0.0) ** 2 / (4.0 * square) for square, linear in _exponents(part))
