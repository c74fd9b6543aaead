"""Aerials: figures of uniform apertures and arrays worked from closed forms, and habits of the trade."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase
from combe.stations import (
    aperture_beamwidth_deg,
    aperture_gain_dbi,
    aperture_null_deg,
    array_factor_db,
    described_element,
    design_array,
    dipole_panel,
    dipole_trough,
    gain_dbd,
    gain_dbi,
    half_wave_dipole,
    stacked,
    stacking_gain_db,
)

NAME: Final = "Aerials"

APERTURES: Final = (
    # wavelengths; gain dBi, half-power width °, first null °
    (1.0, 3.45, 52.6, None),
    (2.0, 6.24, 25.6, 30.0),
    (4.0, 9.14, 12.7, 14.48),
    (8.0, 12.10, 6.35, 7.18),
    (12.0, 13.84, 4.23, 4.78),
    (16.0, 15.08, 3.17, 3.58),
)

ARRAYS: Final = (
    # elements one wavelength apart, degrees, dB
    (4, 2.0, -0.26),
    (4, 3.0, -0.60),
    (4, 5.0, -1.70),
    (4, 10.0, -8.08),
    (8, 2.0, -1.13),
    (8, 3.0, -2.63),
    (8, 5.0, -8.49),
)

DIPOLE_DBI: Final = 2.15


def _trough_dbd() -> float:
    return gain_dbd(dipole_trough(4, 0.7, polarization="vertical"))


def _panel_dbd() -> float:
    return gain_dbd(dipole_panel(4, 0.75, polarization="vertical"))


def _relay_array_dbd() -> float:
    return gain_dbd(stacked(half_wave_dipole("vertical"), design_array(16, 1.0)))


def _stacking_db(count: int) -> float:
    return stacking_gain_db(described_element(14.15, 35.0, 40.0), count, 1.3)


HABITS: Final[tuple[tuple[str, str, float, str, float, Callable[[], float]], ...]] = (
    # case, quantity, figure, unit, tolerance, way
    ("trough of four half-wave dipoles, 14 to 15 dBd", "gain", 14.5, "dBd", 0.6, _trough_dbd),
    ("panel of four half-wave dipoles, 10 to 11 dBd", "gain", 10.5, "dBd", 0.5, _panel_dbd),
    ("array of about 16 wavelengths at a 200 W relay", "gain", 12.7, "dBd", 0.3, _relay_array_dbd),
    ("two yagis stacked, 2.5 to 2.9 dB", "gain of stacking", 2.7, "dB", 0.4, partial(_stacking_db, 2)),
    ("four yagis stacked, 5 to 5.7 dB", "gain of stacking", 5.4, "dB", 0.7, partial(_stacking_db, 4)),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "uniform line source, sin(x)/x with x = πA sin θ; worked in double precision"
    for length, gain, width, null in APERTURES:
        case = f"uniform aperture of {length:g} wavelengths"
        rows: list[tuple[str, float, str, float, Callable[[], float]]] = [
            ("gain", gain, "dBi", 0.006, partial(aperture_gain_dbi, length)),
            (
                "half-power width",
                width,
                "°",
                0.05 if width > 10.0 else 0.006,
                partial(aperture_beamwidth_deg, length),
            ),
        ]
        if null is not None:
            rows.append(("first null", null, "°", 0.006, partial(aperture_null_deg, length)))
        for quantity, expected, unit, tolerance, compute in rows:
            yield EvidenceCase(NAME, source, case, quantity, expected, unit, tolerance, "computed", compute)
    source = "sin(Nψ/2)/(N sin(ψ/2)), ψ = 2πs sin θ; worked in double precision"
    for count, angle, level in ARRAYS:
        way = partial(_array_db, count, angle)
        case = f"{count} elements one wavelength apart"
        yield EvidenceCase(NAME, source, case, f"level at {angle:g}°", level, "dB", 0.006, "computed", way)
    way = partial(_dipole_dbi)
    case = "half-wave dipole"
    yield EvidenceCase(NAME, "ITU-R P.525", case, "gain", DIPOLE_DBI, "dBi", 0.005, "from memory", way)
    for case, quantity, expected, unit, tolerance, compute in HABITS:
        yield EvidenceCase(
            NAME,
            "common practice",
            case,
            quantity,
            expected,
            unit,
            tolerance,
            "common practice, no source",
            compute,
        )


def _array_db(count: int, angle_deg: float) -> float:
    return array_factor_db(design_array(count, 1.0), angle_deg)


def _dipole_dbi() -> float:
    return gain_dbi(half_wave_dipole("vertical"))
