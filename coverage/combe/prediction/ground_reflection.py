"""Where a ray reflected from the ground arrives from, and at which heights it cancels the direct one.

Geometry of two rays as textbooks on radio propagation have it (from memory; no figure of a published example
was read). The ground is an even surface along a straight line over the profile, bent with the effective
Earth. The ray is reflected where both grazing angles are equal; over the plane that touches the surface there
its path is longer than the direct one by about 2 h1 h2 / d. At the small angles of such paths the coefficient
of reflection is taken as −1, for either polarization and over land as over sea; it is weaker, and nulls are
less deep, the steeper the ray falls. So the field is least where the difference is a whole number of
wavelengths, and most halfway between. The surface is even enough for that by Rayleigh's criterion (textbooks,
from memory) where heights within the first Fresnel zone on the ground differ by less than λ / (8 sin ψ).

The line is the one fitted through the whole profile. Where the ground about the point that this gives is even
by itself, as the sea between two hills, it is fitted anew through that ground alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.decibels import FloatArray
from combe.errors import require_range
from combe.propagation.p526 import check_profile

FEWEST_POINTS: Final = 3
"""Points of the profile that a Fresnel zone is judged by; a shorter zone takes the nearest."""

_HALVINGS: Final = 60


class SurfaceLine(NamedTuple):
    """A straight line over the profile: its height [m above sea level] at the start and at the end."""

    start_m: float
    end_m: float

    def at(self, share: npt.ArrayLike) -> FloatArray:
        """Return its height at shares of the way, 0 to 1."""
        return self.start_m + (self.end_m - self.start_m) * np.asarray(share, dtype=np.float64)


@dataclass(frozen=True)
class Reflection:
    """The reflected ray between two aerials.

    Attributes
    ----------
    line
        The surface by which it is reckoned.
    index
        The point of the profile nearest to where it is reflected.
    distance_km
        That place from the transmitter.
    grazing_deg
        Angle between ray and surface.
    path_difference_m
        How much longer it is than the direct ray.
    fresnel_km
        Where the first Fresnel zone on the ground begins and ends.
    relief_m
        Highest less lowest of the ground over the surface within that zone.
    allowed_relief_m
        What Rayleigh's criterion allows.
    blocked_km
        Where ground outside that zone first stands in its way; None where it arrives.
    """

    line: SurfaceLine
    index: int
    distance_km: float
    grazing_deg: float
    path_difference_m: float
    fresnel_km: tuple[float, float]
    relief_m: float
    allowed_relief_m: float
    blocked_km: float | None

    @property
    def smooth(self) -> bool:
        """Whether the ground is even enough to reflect as a mirror."""
        return self.relief_m < self.allowed_relief_m

    @property
    def expected(self) -> bool:
        """Whether nulls are to be expected: a ray that arrives, from ground that is even enough."""
        return self.smooth and self.blocked_km is None


@dataclass(frozen=True)
class TwoRays:
    """A path as the reflected ray sees it.

    Parameters
    ----------
    distance_km, surface_m
        Points of the profile, and what stands there above sea level [m], ground with its cover; shape (n,).
    tx_m
        Transmitting aerial above sea level [m].
    frequency_mhz
    effective_radius_km
        Of the Earth in the air of the path; infinite for a flat one.
    """

    distance_km: FloatArray
    surface_m: FloatArray
    tx_m: float
    frequency_mhz: float
    effective_radius_km: float

    def __post_init__(self) -> None:
        check_profile(self.distance_km, self.surface_m)
        require_range("frequency_mhz", self.frequency_mhz, 1.0, 1e6)
        require_range("effective_radius_km", self.effective_radius_km, 1.0, math.inf)

    @property
    def wavelength_m(self) -> float:
        """Wavelength [m]."""
        return SPEED_OF_LIGHT_M_S / (self.frequency_mhz * 1e6)

    @property
    def length_km(self) -> float:
        """Length of the path."""
        return float(self.distance_km[-1])

    def bulge_m(self, one_km: float, other_km: float) -> float:
        """Return by how much the Earth stands over its chord, so far from the one end and from the other."""
        return 500.0 * one_km * other_km / self.effective_radius_km


def fitted_line(distance_km: FloatArray, height_m: FloatArray, length_km: float) -> SurfaceLine:
    """Return the line of least squares through points of a profile, carried on to both its ends."""
    slope, at_start = np.polyfit(distance_km, height_m, 1)
    return SurfaceLine(float(at_start), float(at_start + slope * length_km))


def reflection(rays: TwoRays, rx_m: float) -> Reflection | None:
    """Return the reflected ray to an aerial [m above sea level]; None where the surface hides one of them."""
    whole = fitted_line(rays.distance_km, rays.surface_m, rays.length_km)
    found = _over(rays, whole, rx_m)
    if found is None:
        return None
    zone = _zone(rays, found.fresnel_km, found.distance_km)
    own = fitted_line(rays.distance_km[zone], rays.surface_m[zone], rays.length_km)
    if _relief_m(rays, own, zone) >= found.allowed_relief_m:
        return found
    return _over(rays, own, rx_m) or found


def null_heights_m(rays: TwoRays, line: SurfaceLine, between_m: tuple[float, float]) -> tuple[float, ...]:
    """Return heights of the receiving aerial [m above sea level] at which the rays cancel, within bounds."""
    return _heights_m(rays, line, between_m, first=1.0)


def lobe_heights_m(rays: TwoRays, line: SurfaceLine, between_m: tuple[float, float]) -> tuple[float, ...]:
    """Return heights of the receiving aerial [m above sea level] at which the rays add up, within bounds.

    Examples
    --------
    On a flat Earth they stand at (2n + 1) λ d / (4 h1): 10 km, 50 m, and 1 m of wavelength give 50 m, 150 m.

    >>> flat = TwoRays(np.array([0.0, 5.0, 10.0]), np.zeros(3), 50.0, 299.792458, math.inf)
    >>> [round(each, 1) for each in lobe_heights_m(flat, SurfaceLine(0.0, 0.0), (10.0, 200.0))]
    [50.0, 150.0]
    """
    return _heights_m(rays, line, between_m, first=0.5)


def _heights_m(
    rays: TwoRays, line: SurfaceLine, between_m: tuple[float, float], *, first: float
) -> tuple[float, ...]:
    """Return where the difference is ``first`` wavelengths, and each one more; it grows with the height."""
    low, high = (path_difference_m(rays, line, rx_m) / rays.wavelength_m for rx_m in between_m)
    count = max(math.ceil(low - first), 0)
    found = []
    while first + count <= high:
        found.append(_height_m(rays, line, between_m, (first + count) * rays.wavelength_m))
        count += 1
    return tuple(found)


def _height_m(rays: TwoRays, line: SurfaceLine, between_m: tuple[float, float], difference_m: float) -> float:
    low, high = between_m
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if path_difference_m(rays, line, middle) < difference_m:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def path_difference_m(rays: TwoRays, line: SurfaceLine, rx_m: float) -> float:
    """Return how much longer the reflected ray is than the direct one [m]; 0 where an end is hidden."""
    found = _touched(rays, line, rx_m)
    return 0.0 if found is None else _longer_m(rays, found)


class _Touch(NamedTuple):
    """Where the surface is touched, and the aerials over the plane that touches it there [m]."""

    at_km: float
    tx_over_m: float
    rx_over_m: float


def _touched(rays: TwoRays, line: SurfaceLine, rx_m: float) -> _Touch | None:
    """Return where both grazing angles are equal: (h1 − x²/2a) / x = (h2 − y²/2a) / y, with y = d − x."""
    tx_over_m, rx_over_m = rays.tx_m - line.start_m, rx_m - line.end_m
    if tx_over_m <= 0.0 or rx_over_m <= 0.0:
        return None

    def over_m(at_km: float) -> tuple[float, float]:
        beyond_km = rays.length_km - at_km
        return tx_over_m - rays.bulge_m(at_km, at_km), rx_over_m - rays.bulge_m(beyond_km, beyond_km)

    # Multiplied out this is a cubic with one root below 0, one within the path and one beyond it.
    low, high = 0.0, rays.length_km
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        one_m, other_m = over_m(middle)
        if one_m * (rays.length_km - middle) > other_m * middle:
            low = middle
        else:
            high = middle
    at_km = 0.5 * (low + high)
    one_m, other_m = over_m(at_km)
    return _Touch(at_km, one_m, other_m) if min(one_m, other_m) > 0.0 else None


def _longer_m(rays: TwoRays, touch: _Touch) -> float:
    # √(d² + (h1 + h2)²) − √(d² + (h1 − h2)²), written so that nothing is lost between two near numbers.
    along_m = 1000.0 * rays.length_km
    reflected = math.hypot(along_m, touch.tx_over_m + touch.rx_over_m)
    direct = math.hypot(along_m, touch.tx_over_m - touch.rx_over_m)
    return 4.0 * touch.tx_over_m * touch.rx_over_m / (reflected + direct)


def _over(rays: TwoRays, line: SurfaceLine, rx_m: float) -> Reflection | None:
    touch = _touched(rays, line, rx_m)
    if touch is None:
        return None
    grazing = math.atan2(touch.tx_over_m + touch.rx_over_m, 1000.0 * rays.length_km)
    fresnel_km = _fresnel_km(rays, touch)
    zone = _zone(rays, fresnel_km, touch.at_km)
    return Reflection(
        line=line,
        index=int(np.argmin(np.abs(rays.distance_km - touch.at_km))),
        distance_km=touch.at_km,
        grazing_deg=math.degrees(grazing),
        path_difference_m=_longer_m(rays, touch),
        fresnel_km=fresnel_km,
        relief_m=_relief_m(rays, line, zone),
        allowed_relief_m=rays.wavelength_m / (8.0 * math.sin(grazing)),
        blocked_km=_blocked_km(rays, line, touch, fresnel_km),
    )


def _fresnel_km(rays: TwoRays, touch: _Touch) -> tuple[float, float]:
    """Return the ends of the first Fresnel zone on the plane: ways over it are longer by up to λ/2.

    At small angles a way over x is longer than the reflected one by (h1 (d − x) − h2 x)² / (2 d x (d − x)).
    """
    d, wavelength = 1000.0 * rays.length_km, rays.wavelength_m
    h1, both = touch.tx_over_m, touch.tx_over_m + touch.rx_over_m
    middle = 2.0 * h1 * both + wavelength * d
    half = math.sqrt(wavelength * d * (wavelength * d + 4.0 * h1 * touch.rx_over_m))
    per_km = d / (2.0 * (both * both + wavelength * d)) / 1000.0
    return (middle - half) * per_km, (middle + half) * per_km


def _zone(rays: TwoRays, fresnel_km: tuple[float, float], at_km: float) -> npt.NDArray[np.intp]:
    """Return the points of the profile within the Fresnel zone, or the nearest where these are too few."""
    low_km, high_km = fresnel_km
    inside = np.flatnonzero((rays.distance_km >= low_km) & (rays.distance_km <= high_km))
    if inside.size >= FEWEST_POINTS:
        return inside
    return np.sort(np.argsort(np.abs(rays.distance_km - at_km), kind="stable")[:FEWEST_POINTS])


def _relief_m(rays: TwoRays, line: SurfaceLine, zone: npt.NDArray[np.intp]) -> float:
    over_m = rays.surface_m[zone] - line.at(rays.distance_km[zone] / rays.length_km)
    return float(np.ptp(over_m))


def _blocked_km(
    rays: TwoRays, line: SurfaceLine, touch: _Touch, fresnel_km: tuple[float, float]
) -> float | None:
    """Return where the ground outside the Fresnel zone first stands over a leg of the reflected ray."""
    along = rays.distance_km
    over_m = rays.surface_m - line.at(along / rays.length_km)
    before, after = along <= touch.at_km, along > touch.at_km
    ray_m = np.empty_like(along)
    x, y = along[before], rays.length_km - along[after]
    # Over the bent surface a straight leg hangs lower between its ends than over its chord.
    far_km = rays.length_km - touch.at_km
    tx_over_m = touch.tx_over_m + rays.bulge_m(touch.at_km, touch.at_km)
    rx_over_m = touch.rx_over_m + rays.bulge_m(far_km, far_km)
    curve = 500.0 / rays.effective_radius_km
    ray_m[before] = tx_over_m * (1.0 - x / touch.at_km) - curve * x * (touch.at_km - x)
    ray_m[after] = rx_over_m * (1.0 - y / far_km) - curve * y * (far_km - y)
    outside = (along < fresnel_km[0]) | (along > fresnel_km[1])
    # The ends are the sites themselves.
    outside[0] = outside[-1] = False
    hidden = np.flatnonzero(outside & (over_m > ray_m))
    return float(along[hidden[0]]) if hidden.size else None
