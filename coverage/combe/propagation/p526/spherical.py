"""Diffraction over a smooth spherical Earth: Recommendation ITU-R P.526-16 §3, first term and interpolation.

At and beyond the marginal line-of-sight distance the first term of the residue series stands (§3.1.1). Short
of it the loss is interpolated by the clearance of the smooth Earth (§3.2); P.1812-8 §4.3.2 and §4.3.3 carry
the same equations, whose numbers are given below.

Symbols: a effective radius, d distance, h1 h2 heights over the smooth surface, K normalised surface
admittance, β parameter of surface and polarization, X normalised distance, Y normalised height, B = βY,
F distance term, G height gain, hse clearance at the interpolation point, hreq clearance needed for no loss,
λ wavelength.
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import kernel, kernel_part
from combe.errors import RangeError
from combe.propagation.p526.knife_edge import wavelength_m

LAND_PERMITTIVITY: Final = 22.0
LAND_CONDUCTIVITY_S_M: Final = 0.003
SEA_PERMITTIVITY: Final = 80.0
SEA_CONDUCTIVITY_S_M: Final = 5.0
# Electrical constants of land and sea: P.526-16 §3, P.1812-8 §4.3.3.


@kernel_part
def _height_gain_db(b: float, k: float) -> float:
    """Return G [dB] of B = βY, not below 2 + 20 log K (P.1812-8 eq. 35, 36)."""
    # High aerials (B over 2) and low ones have each their own form.
    if b > 2.0:
        gain = 17.6 * math.sqrt(b - 1.1) - 5.0 * math.log10(b - 1.1) - 8.0
    else:
        gain = 20.0 * math.log10(b + 0.1 * b * b * b)
    # An aerial on the ground still gets what runs along it; without the limit the loss would grow without
    # end as the height goes to nought.
    return max(gain, 2.0 + 20.0 * math.log10(k))


@kernel_part
def _one_surface_db(
    distance_km: float,
    height1_m: float,
    height2_m: float,
    radius_km: float,
    frequency_mhz: float,
    vertical: bool,
    permittivity: float,
    conductivity_s_m: float,
) -> float:
    """Return the first-term loss [dB] over one kind of surface (P.1812-8 eq. 29 to 36)."""
    # The imaginary part of the permittivity, σ/(ω ε0), with f in MHz.
    conduction = 18000.0 * conductivity_s_m / frequency_mhz
    surface2 = (permittivity - 1.0) * (permittivity - 1.0) + conduction * conduction
    k = 0.36 * math.pow(radius_km * frequency_mhz, -1.0 / 3.0) / math.sqrt(math.sqrt(surface2))
    # Vertical polarization drives current in the ground: the admittance is greater by the square root of
    # its η² + conduction².
    if vertical:
        k *= math.sqrt(permittivity * permittivity + conduction * conduction)
    k2 = k * k
    # β is near 1 wherever K is small, which leaves out little but vertical polarization over sea at the
    # lowest frequencies.
    beta = (1.0 + 1.6 * k2 + 0.67 * k2 * k2) / (1.0 + 4.5 * k2 + 1.53 * k2 * k2)
    x = 2.188 * beta * math.pow(frequency_mhz / (radius_km * radius_km), 1.0 / 3.0) * distance_km
    b_per_m = 9.575e-3 * beta * beta * math.pow(frequency_mhz * frequency_mhz / radius_km, 1.0 / 3.0)
    # From X = 1.6 the first residue falls as it is, 17.6 dB for each unit of X; nearer, a fitted form takes
    # over.
    if x >= 1.6:
        distance_term = 11.0 + 10.0 * math.log10(x) - 17.6 * x
    else:
        distance_term = -20.0 * math.log10(x) - 5.6488 * math.pow(x, 1.425)
    return -distance_term - _height_gain_db(b_per_m * height1_m, k) - _height_gain_db(b_per_m * height2_m, k)


@kernel
def first_term_kernel(
    distance_km: float,
    height1_m: float,
    height2_m: float,
    radius_km: float,
    frequency_mhz: float,
    vertical: bool,
    sea_fraction: float,
) -> float:
    """Return the first-term loss [dB], land and sea weighted by the sea's share (P.1812-8 eq. 28)."""
    loss = 0.0
    if sea_fraction > 0.0:
        loss += sea_fraction * _one_surface_db(
            distance_km,
            height1_m,
            height2_m,
            radius_km,
            frequency_mhz,
            vertical,
            SEA_PERMITTIVITY,
            SEA_CONDUCTIVITY_S_M,
        )
    if sea_fraction < 1.0:
        loss += (1.0 - sea_fraction) * _one_surface_db(
            distance_km,
            height1_m,
            height2_m,
            radius_km,
            frequency_mhz,
            vertical,
            LAND_PERMITTIVITY,
            LAND_CONDUCTIVITY_S_M,
        )
    return loss


@kernel_part
def _interpolation_point(distance_km: float, height1_m: float, height2_m: float, radius_km: float) -> float:
    """Return the distance [km] from terminal 1 of the least clearance over the smooth Earth (eq. 24, 25)."""
    # The clearance along the path is a cubic in the place; its least value is found by the cosine form of
    # the root. c is which aerial is the higher, m how much of the path the bulge takes up.
    total = height1_m + height2_m
    m = 250.0 * distance_km * distance_km / (radius_km * total)
    c = (height1_m - height2_m) / total
    m1 = m + 1.0
    # Rounding must not carry the cosine past 1, where its arc is no number: two equal and very low aerials.
    cosine = min(1.0, max(-1.0, 1.5 * c * math.sqrt(3.0 * m / (m1 * m1 * m1))))
    b = 2.0 * math.sqrt(m1 / (3.0 * m)) * math.cos(math.pi / 3.0 + math.acos(cosine) / 3.0)
    return 0.5 * distance_km * (1.0 + b)


@kernel
def spherical_kernel(
    distance_km: float,
    height1_m: float,
    height2_m: float,
    radius_km: float,
    frequency_mhz: float,
    wavelength: float,
    vertical: bool,
    sea_fraction: float,
) -> float:
    """Return the spherical-Earth diffraction loss [dB], 0 where the smooth Earth is well cleared.

    ``wavelength`` [m] is given apart from the frequency because the Recommendations round the speed of light
    differently.
    """
    roots = math.sqrt(height1_m) + math.sqrt(height2_m)
    marginal_km = math.sqrt(0.002 * radius_km) * roots
    # From the distance at which the ray grazes the smooth Earth the series stands as it is.
    if distance_km >= marginal_km:
        return max(
            0.0,
            first_term_kernel(
                distance_km, height1_m, height2_m, radius_km, frequency_mhz, vertical, sea_fraction
            ),
        )
    near_km = _interpolation_point(distance_km, height1_m, height2_m, radius_km)
    far_km = distance_km - near_km
    # Each aerial less the drop of the Earth down to the point, weighted as along a straight line.
    clearance_m = (
        (height1_m - 500.0 * near_km * near_km / radius_km) * far_km
        + (height2_m - 500.0 * far_km * far_km / radius_km) * near_km
    ) / distance_km
    # 0.552 of the radius of the first Fresnel zone: cleared by so much, the Earth costs nothing.
    needed_m = 17.456 * math.sqrt(near_km * far_km * wavelength / distance_km)
    if clearance_m > needed_m:
        return 0.0
    # Short of grazing the series does not hold. The radius is taken for which this very path would graze;
    # the loss there, cut down by the share of clearance that is had, leads to nought without a step.
    marginal_radius_km = 500.0 * (distance_km / roots) * (distance_km / roots)
    loss = first_term_kernel(
        distance_km, height1_m, height2_m, marginal_radius_km, frequency_mhz, vertical, sea_fraction
    )
    return max(0.0, loss) * (1.0 - clearance_m / needed_m)


def spherical_earth_loss_db(
    distance_km: float,
    height1_m: float,
    height2_m: float,
    *,
    frequency_mhz: float,
    effective_radius_km: float = 8500.0,
    polarization: str = "horizontal",
    sea_fraction: float = 0.0,
) -> float:
    """Return the diffraction loss [dB] over a smooth Earth (P.526-16 §3; valid from 10 MHz).

    Parameters
    ----------
    distance_km
        Path length [km], above 0.
    height1_m, height2_m
        Heights [m] of the terminals over the smooth surface, above 0.
    frequency_mhz
        Frequency [MHz], 10 or more.
    effective_radius_km
        Effective Earth radius [km].
    polarization
        ``"horizontal"`` or ``"vertical"``.
    sea_fraction
        Share of the path over sea, 0 to 1.

    Raises
    ------
    RangeError
        For any value outside these ranges.

    Examples
    --------
    >>> round(spherical_earth_loss_db(100.0, 50.0, 50.0, frequency_mhz=600.0), 2)
    47.35
    """
    for name, value in (
        ("distance_km", distance_km),
        ("height1_m", height1_m),
        ("height2_m", height2_m),
        ("effective_radius_km", effective_radius_km),
    ):
        if not value > 0.0:
            raise RangeError(name, value, "above 0")
    check_diffraction_conditions(frequency_mhz, polarization, sea_fraction)
    return float(
        spherical_kernel(
            float(distance_km),
            float(height1_m),
            float(height2_m),
            float(effective_radius_km),
            float(frequency_mhz),
            wavelength_m(frequency_mhz),
            polarization == "vertical",
            float(sea_fraction),
        )
    )


def check_diffraction_conditions(frequency_mhz: float, polarization: str, sea_fraction: float) -> None:
    """Raise RangeError unless frequency [MHz], polarization and sea fraction are usable."""
    if not 10.0 <= frequency_mhz < math.inf:
        raise RangeError("frequency_mhz", frequency_mhz, "10 MHz or more (P.526-16 §3)")
    if polarization not in ("horizontal", "vertical"):
        raise RangeError("polarization", repr(polarization), "'horizontal' or 'vertical'")
    if not 0.0 <= sea_fraction <= 1.0:
        raise RangeError("sea_fraction", sea_fraction, "0 to 1")
