"""People in radio fields: figures of the ICNIRP guidelines of 2020 and the distances that follow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Standing
from combe.planning import RadiatedPower, compliance_distance_m, near_field_m
from combe.standards import field_limit_v_m, flux_limit_w_m2

NAME: Final = "ICNIRP 2020"

LEVELS: Final[tuple[tuple[float, str, float, float, Standing], ...]] = (
    # MHz, audience, W/m², V/m, standing of the field; the flux is read
    (474.0, "public", 2.37, 29.9, "from memory"),
    (600.0, "public", 3.00, 33.7, "from memory"),
    (700.0, "public", 3.50, 36.4, "from memory"),
    (858.0, "public", 4.29, 40.3, "from memory"),
    (474.0, "occupational", 11.85, 65.3, "read"),
    (600.0, "occupational", 15.0, 73.5, "read"),
    (858.0, "occupational", 21.45, 87.9, "read"),
)

DISTANCES: Final = (
    # e.r.p. W, MHz, audience, reflection in power, m
    (10.0, 600.0, "public", 1.0, 0.660),
    (10.0, 600.0, "occupational", 1.0, 0.295),
    (50.0, 474.0, "public", 1.0, 1.660),
    (50.0, 474.0, "occupational", 1.0, 0.742),
    (100.0, 600.0, "public", 1.0, 2.086),
    (100.0, 600.0, "public", 2.56, 3.338),
    (100.0, 600.0, "occupational", 1.0, 0.933),
    (1000.0, 600.0, "public", 1.0, 6.597),
    (1000.0, 600.0, "occupational", 1.0, 2.950),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "reference levels, whole body: f/200 and f/40 W/m², 1.375 √f and 3 √f V/m; worked"
    for mhz, audience, flux, field, standing in LEVELS:
        case = f"{audience}, {mhz:g} MHz"
        compute = partial(flux_limit_w_m2, mhz, audience)
        yield EvidenceCase(NAME, source, case, "flux", flux, "W/m²", 0.005, "read", compute)
        compute = partial(field_limit_v_m, mhz, audience)
        yield EvidenceCase(NAME, source, case, "field", field, "V/m", 0.05, standing, compute)
    source = "d = √(e.i.r.p./(4π S)), e.i.r.p. = 1.64 e.r.p.; worked"
    for erp_w, mhz, audience, reflection, metres in DISTANCES:
        compute = partial(_distance_m, erp_w, mhz, audience, reflection)
        case = f"{erp_w:g} W e.r.p., {mhz:g} MHz, {audience}, reflection {reflection:g}"
        yield EvidenceCase(NAME, source, case, "distance", metres, "m", 0.002, "computed", compute)
    compute = partial(near_field_m, 2.0, 600.0)
    case = "array of 2 m, 600 MHz"
    yield EvidenceCase(NAME, "2D²/λ, worked", case, "near field", 16.0, "m", 0.02, "computed", compute)


def _distance_m(erp_w: float, frequency_mhz: float, audience: str, reflection: float) -> float:
    power = RadiatedPower("service", frequency_mhz, erp_w)
    return compliance_distance_m([power], audience=audience, reflection_factor=reflection).distance_m
