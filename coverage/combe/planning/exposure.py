"""How far people must stay from a transmitting aerial: all services together, with the near-field caution."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.constants import SPEED_OF_LIGHT_M_S
from combe.decibels import dbw_from_watt, eirp_from_erp_dbw, watt_from_dbw
from combe.errors import RangeError, require_range
from combe.standards import STANDARD, flux_limit_w_m2, reactive_distance_m
from combe.stations import Service, require_choice, require_name
from combe.words import tell

REFLECTION_FACTORS: Final = (1.0, 2.56, 4.0)
"""Power against free space: none, a usual ground reflection (field × 1.6), a perfect one (field × 2).
The two are common practice (from memory, unverified)."""

AUDIENCES: Final = ("public", "occupational")
HIGHEST_ERP_W: Final = 1e7


@dataclass(frozen=True)
class RadiatedPower:
    """The ERP of one service [W] at its centre frequency [MHz]."""

    name: str
    frequency_mhz: float
    erp_w: float

    def __post_init__(self) -> None:
        require_name("name of a service", self.name)
        require_range(f"erp_w of service {self.name!r}", self.erp_w, 0.0, HIGHEST_ERP_W)


@dataclass(frozen=True)
class ExposureShare:
    """What one service takes up at the distance that results."""

    name: str
    frequency_mhz: float
    erp_w: float
    limit_w_m2: float
    alone_distance_m: float
    """Where this service alone would meet its limit."""
    share_fraction: float
    """Its part of Σ S/S_lim = 1; 0 when nothing radiates."""


@dataclass(frozen=True)
class ComplianceDistance:
    """The distance in the main beam beyond which the reference level is kept, and what made it."""

    distance_m: float
    audience: str
    reflection_factor: float
    shares: tuple[ExposureShare, ...]
    near_field_m: float | None
    """2D²/λ at the highest frequency; None where no aerial size was given."""
    in_near_field: bool | None
    """Whether the distance lies within it; None, not judged, where no aerial size was given."""
    caution: str
    """What to bear in mind when the distance is used; one line."""
    standard: str = STANDARD


def radiated_powers(services: Sequence[Service]) -> tuple[RadiatedPower, ...]:
    """Return the ERP of a station's services as the calculation takes it."""
    return tuple(RadiatedPower(service.name, service.frequency_mhz, service.erp_w) for service in services)


def compliance_distance_m(
    erps: Sequence[RadiatedPower],
    *,
    audience: str = "public",
    reflection_factor: float = 1.0,
    aerial_size_m: float | None = None,
) -> ComplianceDistance:
    """Return the distance in the main beam at which Σ S_i/S_lim,i = 1 (ICNIRP 2020, whole body).

    S_i = k e.i.r.p._i / (4π d²), so d = sqrt(k Σ e.i.r.p._i / (4π S_lim,i)): a far-field formula, e.i.r.p.
    2.15 dB over ERP. The pattern is not used: everyone is taken to stand in the beam.

    Parameters
    ----------
    erps : sequence of RadiatedPower, (n,)
        At least one. Of an analogue service the ERP at peak sync, which is on the safe side.
    audience : {"public", "occupational"}
    reflection_factor : float
        k, 1, 2.56 or 4.
    aerial_size_m : float, optional
        Greatest length D of the aerial [m], 0.05 to 100, for the near-field caution.

    Raises
    ------
    RangeError
        For no services, a frequency up to 30 or over 6000 MHz, or a value that is not allowed.

    Examples
    --------
    >>> one = RadiatedPower("Mux 1", 600.0, 100.0)
    >>> round(compliance_distance_m([one]).distance_m, 3)
    2.086
    """
    require_choice("audience of exposure limits", audience, AUDIENCES)
    if not erps:
        raise RangeError("services of an exposure distance", "empty", "at least one service")
    if reflection_factor not in REFLECTION_FACTORS:
        raise RangeError("reflection_factor", reflection_factor, "1, 2.56 or 4")
    # Flux falls with d², so squares of distances add up where exposures do.
    squares = [reflection_factor * _square_m2(erp, audience) for erp in erps]
    total = math.fsum(squares)
    distance_m = math.sqrt(total)
    near_m = (
        None if aerial_size_m is None else near_field_m(aerial_size_m, max(e.frequency_mhz for e in erps))
    )
    return ComplianceDistance(
        distance_m=distance_m,
        audience=audience,
        reflection_factor=reflection_factor,
        shares=tuple(_share(*each, audience, total) for each in zip(erps, squares, strict=True)),
        near_field_m=near_m,
        in_near_field=None if near_m is None else distance_m < near_m,
        caution=_caution(distance_m, near_m, reactive_distance_m(min(e.frequency_mhz for e in erps))),
    )


def near_field_m(aerial_size_m: float, frequency_mhz: float) -> float:
    """Return 2D²/λ [m], within which the far-field formula is only an upper guide in the main beam.

    Raises
    ------
    RangeError
        For a size outside 0.05 to 100 m or a frequency outside 30 to 6000 MHz.

    Examples
    --------
    >>> round(near_field_m(2.0, 600.0), 1)
    16.0
    """
    require_range("aerial_size_m", aerial_size_m, 0.05, 100.0)
    require_range("frequency_mhz", frequency_mhz, 30.0, 6000.0)
    return 2.0 * aerial_size_m**2 * frequency_mhz * 1e6 / SPEED_OF_LIGHT_M_S


def _square_m2(radiated: RadiatedPower, audience: str) -> float:
    """Return the square of the distance at which the service alone meets its limit, in free space."""
    # Nothing has no decibels.
    if radiated.erp_w == 0.0:
        return 0.0
    eirp_w = watt_from_dbw(eirp_from_erp_dbw(dbw_from_watt(float(radiated.erp_w))))
    return eirp_w / (4.0 * math.pi * flux_limit_w_m2(radiated.frequency_mhz, audience))


def _share(radiated: RadiatedPower, square_m2: float, audience: str, total_m2: float) -> ExposureShare:
    return ExposureShare(
        radiated.name,
        radiated.frequency_mhz,
        radiated.erp_w,
        flux_limit_w_m2(radiated.frequency_mhz, audience),
        math.sqrt(square_m2),
        square_m2 / total_m2 if total_m2 else 0.0,
    )


def _caution(distance_m: float, near_m: float | None, reactive_m: float) -> str:
    # Nothing that radiates nothing is near.
    if 0.0 < distance_m < reactive_m:
        return tell(
            "within the reactive near field ({reactive_m:.2f} m): the formula does not hold; electric and "
            "magnetic field both have to be measured",
            reactive_m=reactive_m,
        )
    if near_m is None:
        return "the size of the aerial is not given: near-field not judged"
    if distance_m < near_m:
        return tell(
            "within the near field ({near_m:.1f} m): an upper guide in the main beam, not a measurement",
            near_m=near_m,
        )
    return tell(
        "beyond the near field ({near_m:.1f} m): the far-field formula holds in the main beam", near_m=near_m
    )
