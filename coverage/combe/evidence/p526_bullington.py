"""Diffraction over a general path: figures of Recommendation ITU-R P.526-16 §4.5, (delta-)Bullington."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from combe.evidence.case import EvidenceCase, Once
from combe.propagation.p526 import DeltaBullington, delta_bullington

NAME: Final = "ITU-R P.526-16"
EXAMPLES_SOURCE: Final = (
    "Study Group 3 validation examples for delta-Bullington, published with its code of P.452"
)

ONE_EDGE: Final = (
    # MHz, ae km, dB: aerials 10 m, one edge of 60 m midway on 20 km of flat ground
    (500.0, math.inf, 25.312),
    (600.0, math.inf, 26.060),
    (800.0, math.inf, 27.266),
    (500.0, 8500.0, 26.226),
    (600.0, 8500.0, 26.990),
    (800.0, 8500.0, 28.217),
)

EXAMPLES: Final = (
    # file, aerials m, GHz; Lbulla, Lbulls, Ldsph, Ld dB: land, horizontal, ae 8500 km
    ("profile3.dat", 30, 30, 1.0, 32.84284766, 13.74840484, 15.3485837, 34.44302652),
    ("profile3.dat", 50, 10, 2.5, 37.229036, 18.5970601, 23.6973069, 42.32928281),
    ("profile3.dat", 20, 20, 0.6, 31.22595813, 15.79373777, 20.91384864, 36.34606901),
    ("profile3.dat", 40, 50, 0.2, 24.87792613, 11.50981857, 14.32933641, 27.69744396),
    ("profile3.dat", 70, 5, 0.15, 24.78223928, 14.93033347, 33.13883693, 42.99074274),
    ("profile4.dat", 30, 30, 1.0, 36.20419305, 35.82816509, 69.45434151, 69.83036947),
    ("profile4.dat", 50, 10, 2.5, 44.81240928, 39.66871934, 85.53863749, 90.68232743),
    ("profile4.dat", 20, 20, 0.6, 34.43917939, 34.29503068, 66.31647651, 66.46062522),
    ("profile4.dat", 40, 50, 0.2, 28.37368149, 27.74009568, 45.7547348, 46.38832061),
    ("profile4.dat", 70, 5, 0.15, 34.61746032, 26.58559997, 43.35361839, 51.38547874),
    ("profile5.dat", 30, 30, 1.0, 17.62040631, 0.0, 0.0, 17.62040631),
    ("profile5.dat", 50, 10, 2.5, 25.1016907, 0.0, 0.0, 25.1016907),
    ("profile5.dat", 20, 20, 0.6, 20.25488733, 0.0, 0.0, 20.25488733),
    ("profile5.dat", 40, 50, 0.2, 10.1899085, 0.0, 0.0, 10.1899085),
    ("profile5.dat", 70, 5, 0.15, 16.27593106, 6.17409081, 10.63765222, 20.73949248),
    ("profile6.dat", 30, 30, 1.0, 7.870985135, 0.0, 0.0, 7.870985135),
    ("profile6.dat", 50, 10, 2.5, 0.0, 0.0, 0.0, 0.0),
    ("profile6.dat", 20, 20, 0.6, 15.30876397, 0.0, 0.0, 15.30876397),
    ("profile6.dat", 40, 50, 0.2, 6.526730443, 0.0, 0.0, 6.526730443),
    ("profile6.dat", 70, 5, 0.15, 0.0, 0.0, 0.0, 0.0),
)

PARTS: Final = (
    # field of the result, its words
    ("actual_db", "Bullington over the real profile"),
    ("smooth_db", "Bullington over the smooth profile"),
    ("spherical_db", "smooth-Earth diffraction loss"),
    ("total_db", "delta-Bullington loss"),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases that need no file."""
    source = "P.526-16 §4.5.1, run of the Study Group 3 reference function"
    for mhz, radius_km, loss in ONE_EDGE:
        compute = partial(_one_edge_db, mhz, radius_km)
        earth = "flat Earth" if math.isinf(radius_km) else f"ae {radius_km:g} km"
        case = f"one 60 m edge midway on 20 km, {mhz:g} MHz, {earth}"
        quantity = "Bullington with correction"
        yield EvidenceCase(NAME, source, case, quantity, loss, "dB", 0.005, "computed", compute)


def _one_edge_db(frequency_mhz: float, effective_radius_km: float) -> float:
    found = delta_bullington(
        [0.0, 10.0, 20.0],
        [0.0, 60.0, 0.0],
        tx_height_m=10.0,
        rx_height_m=10.0,
        frequency_mhz=frequency_mhz,
        effective_radius_km=effective_radius_km,
    )
    return found.actual_db


def file_cases(folder: Path) -> Iterator[EvidenceCase]:
    """Yield the cases whose profile is in the folder delta_bullington of the reference data."""
    for file, tx_m, rx_m, ghz, *losses in EXAMPLES:
        path = folder / "delta_bullington" / file
        if not path.is_file():
            continue
        case = f"{file}, {tx_m} and {rx_m} m, {ghz:g} GHz"
        found = Once(partial(_example, path, float(tx_m), float(rx_m), ghz))
        for (part, quantity), loss in zip(PARTS, losses, strict=True):
            compute = partial(found.field, part)
            yield EvidenceCase(
                NAME, EXAMPLES_SOURCE, case, quantity, loss, "dB", 0.005, "read", compute, "delta-Bullington"
            )


def _example(path: Path, tx_m: float, rx_m: float, frequency_ghz: float) -> DeltaBullington:
    profile = np.loadtxt(path)
    return delta_bullington(
        profile[:, 0],
        profile[:, 1],
        tx_height_m=tx_m,
        rx_height_m=rx_m,
        frequency_mhz=1000.0 * frequency_ghz,
    )
