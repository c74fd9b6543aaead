"""People in radio fields: figures of the ICNIRP guidelines of 2020 and the distances that follow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.planning import RadiatedPower, compliance_distance_m, near_field_m
from combe.standards import field_limit_v_m, flux_limit_w_m2, magnetic_limit_a_m

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

BANDS: Final = (
    # MHz; whole body W/m² public and at work, local W/m², whole body V/m, local V/m
    (65.0, (2.0, 10.0), (10.0, 50.0), (27.7, 61.0), (62.0, 139.0)),
    (200.0, (2.0, 10.0), (10.0, 50.0), (27.7, 61.0), (62.0, 139.0)),
    (474.0, (2.370, 11.85), (11.604, 58.02), (29.94, 65.31), (66.76, 149.65)),
    (600.0, (3.0, 15.0), (14.211, 71.06), (33.68, 73.48), (73.88, 165.61)),
    (800.0, (4.0, 20.0), (18.201, 91.0), (38.89, 84.85), (83.61, 187.42)),
    (2000.0, (10.0, 50.0), (40.02, 200.1), (61.49, 134.2), (124.0, 277.9)),
    (3500.0, (10.0, 50.0), (40.0, 200.0), None, None),
)
AUDIENCES: Final = ("public", "occupational")

MAGNETIC: Final[tuple[tuple[float, str, str, float, Standing], ...]] = (
    # MHz, audience, averaging, A/m, standing
    (200.0, "public", "whole body", 0.073, TYPED_TWICE),
    (200.0, "occupational", "whole body", 0.16, TYPED_TWICE),
    (200.0, "public", "local", 0.163, "read"),
    (200.0, "occupational", "local", 0.36, "read"),
    (600.0, "public", "whole body", 0.0906, "from memory"),
    (600.0, "occupational", "local", 0.4289, "read"),
)

LOWEST: Final[tuple[tuple[str, str, float, Standing], ...]] = (
    # What the lines up to 30 MHz come to at their end: audience, averaging, V/m
    ("public", "whole body", 27.74, "from memory"),
    ("occupational", "whole body", 61.03, "from memory"),
    ("public", "local", 62.05, "read"),
    ("occupational", "local", 139.08, "read"),
)

DISTANCES: Final = (
    # e.r.p. W, MHz, audience, reflection in power, m
    (10.0, 600.0, "public", 1.0, 0.660),
    (10.0, 600.0, "occupational", 1.0, 0.295),
    (50.0, 474.0, "public", 1.0, 1.660),
    (50.0, 474.0, "occupational", 1.0, 0.742),
    (100.0, 600.0, "public", 1.0, 2.086),
    (100.0, 200.0, "public", 1.0, 2.555),
    (100.0, 200.0, "occupational", 1.0, 1.142),
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
    yield from _bands()
    source = "d = √(e.i.r.p./(4π S)), e.i.r.p. = 1.64 e.r.p.; worked"
    for erp_w, mhz, audience, reflection, metres in DISTANCES:
        compute = partial(_distance_m, erp_w, mhz, audience, reflection)
        case = f"{erp_w:g} W e.r.p., {mhz:g} MHz, {audience}, reflection {reflection:g}"
        yield EvidenceCase(NAME, source, case, "distance", metres, "m", 0.002, "computed", compute)
    compute = partial(near_field_m, 2.0, 600.0)
    case = "array of 2 m, 600 MHz"
    yield EvidenceCase(NAME, "2D²/λ, worked", case, "near field", 16.0, "m", 0.02, "computed", compute)


def _bands() -> Iterator[EvidenceCase]:
    """Yield the limits of all bands, of the flux and of both fields."""
    source = "reference levels by band, worked"
    for mhz, *limits in BANDS:
        averagings = ("whole body", "local", "whole body", "local")
        functions = (flux_limit_w_m2, flux_limit_w_m2, field_limit_v_m, field_limit_v_m)
        for values, averaging, find in zip(limits, averagings, functions, strict=True):
            for audience, value in zip(AUDIENCES, values or (), strict=bool(values)):
                flux = find is flux_limit_w_m2
                quantity, unit = (f"{averaging}, flux", "W/m²") if flux else (f"{averaging}, field", "V/m")
                standing: Standing = "read" if flux or averaging == "local" else "from memory"
                yield EvidenceCase(
                    NAME, source, f"{audience}, {mhz:g} MHz, all bands", quantity, value, unit,
                    0.0006 * value, standing, partial(find, mhz, audience, averaging),
                )  # fmt: skip
    for mhz, audience, averaging, value, known in MAGNETIC:
        compute = partial(magnetic_limit_a_m, mhz, audience, averaging)
        case, quantity = f"{audience}, {mhz:g} MHz", f"{averaging}, magnetic field"
        yield EvidenceCase(NAME, source, case, quantity, value, "A/m", 5e-5, known, compute)
    for audience, averaging, value, known in LOWEST:
        compute = partial(field_limit_v_m, 30.0, audience, averaging)
        case, quantity = f"{audience}, 30 MHz", f"{averaging}, field"
        yield EvidenceCase(NAME, source, case, quantity, value, "V/m", 0.006, known, compute)


def _distance_m(erp_w: float, frequency_mhz: float, audience: str, reflection: float) -> float:
    power = RadiatedPower("service", frequency_mhz, erp_w)
    return compliance_distance_m([power], audience=audience, reflection_factor=reflection).distance_m
