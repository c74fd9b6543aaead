"""Diffraction: figures of Recommendation ITU-R P.526-16.

Knife edges (§2.1, §4.1) and two of them in a row; the general path by (delta-)Bullington (§4.5); the smooth
Earth (§3, whose equations are also those of P.1812-8 §4.3.2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np

from combe.evidence.case import EvidenceCase, Once, Standing
from combe.propagation.p526 import (
    DeltaBullington,
    compare_constructions,
    delta_bullington,
    double_edge_loss_exact_db,
    fresnel_parameter,
    fresnel_radius_m,
    knife_edge_loss_db,
    knife_edge_loss_exact_db,
    spherical_earth_loss_db,
)

NAME: Final = "ITU-R P.526-16"
FRESNEL: Final = "P.526-16 §2.7 and §4.1, Fresnel integrals worked in double precision"
APPROXIMATE: Final = "P.526-16 §4.1, eq. (31), worked in double precision"

LOSSES: Final = (
    # ν, exact dB, by eq. (31) dB (nought up to −0.78)
    (-2.0, 0.737, 0.0),
    (-1.0, -1.001, 0.0),
    (-0.78, -0.011, 0.0),
    (-0.5, 1.859, 1.959),
    (0.0, 6.021, 6.033),
    (0.5, 10.234, 10.288),
    (1.0, 13.864, 13.926),
    (1.5, 16.777, 16.784),
    (2.0, 19.091, 19.043),
    (3.0, 22.522, 22.416),
    (5.0, 26.936, 26.814),
    (10.0, 32.953, 32.855),
    (20.0, 38.974, 38.903),
)

GEOMETRY: Final = (
    # h m, d1 km, d2 km, MHz; ν, J by eq. (31) dB, first Fresnel radius m
    (50.0, 10.0, 10.0, 600.0, 1.4147, 16.345, 49.98),
    (100.0, 5.0, 15.0, 600.0, 3.2671, 23.143, 43.29),
    (30.0, 2.0, 28.0, 500.0, 1.2682, 15.546, None),
    (-20.0, 10.0, 10.0, 800.0, -0.6534, 0.856, None),
)

TWO_EDGES: Final = (
    # distances km, heights m of terminals and edges, MHz, and losses dB in the order of CONSTRUCTIONS
    ((10, 10, 10), (0, 50, 50, 0), 600.0, (23.896, 23.791, 25.040, 27.196, 17.898, 27.961)),
    ((10, 5, 15), (0, 100, 120, 0), 600.0, (30.691, 28.422, 31.432, 33.536, 22.693, 33.052)),
    ((2, 20, 3), (0, 30, 60, 0), 500.0, (33.312, 33.318, 33.370, 33.819, 26.817, 37.196)),
    ((15, 1, 4), (300, 320, 300, 100), 600.0, (39.217, 33.500, 39.521, 43.652, 28.435, 38.744)),
    ((5, 5, 5), (0, 100, 100, 0), 800.0, (41.797, 40.446, 41.695, 45.107, 27.890, 38.091)),
)

DIRECT: Final = "double integral over both edges, worked apart from this package"
CONSTRUCTIONS: Final = (
    # name, source of the figure
    ("Exact, one or two edges", DIRECT),
    (
        "Epstein-Peterson",
        "each edge seen between its neighbours, J by eq. (31), worked apart from this package",
    ),
    ("Epstein-Peterson with spacing correction", "P.526-16 §4.3, Lc added, worked apart from this package"),
    ("Deygout", "main edge and the edge beside it, J by eq. (31), worked apart from this package"),
    ("Bullington", "P.526-16 §4.5.1 without its last step, worked apart from this package"),
    ("Bullington with correction", "P.526-16 §4.5.1, worked apart from this package"),
)

GRAZING: Final = (
    # share of the field that two grazing edges at equal spacings let through is 1/3: 20 log 3
    (10.0, 9.5424),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases that need no file."""
    yield from _edge_cases()
    yield from _bullington_cases()
    yield from _spherical_cases()


def _edge_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of knife edges."""
    for nu, exact_db, approximate_db in LOSSES:
        for source, quantity, expected, function in (
            (FRESNEL, "exact loss", exact_db, knife_edge_loss_exact_db),
            (APPROXIMATE, "loss by eq. (31)", approximate_db, knife_edge_loss_db),
        ):
            yield _case(source, f"ν = {nu:g}", quantity, expected, "dB", partial(function, nu), 0.001)
    yield _case(APPROXIMATE, "ν = 2.4", "loss by eq. (31)", 20.539, "dB", partial(knife_edge_loss_db, 2.4))
    source = "P.526, asymptote 12.95 + 20 log ν"
    compute = partial(knife_edge_loss_exact_db, 100.0)
    yield _case(source, "ν = 100", "exact loss", 52.95, "dB", compute, 0.01, "read")
    yield from _geometry()
    yield from _two_edges()


def _case(
    source: str,
    case: str,
    quantity: str,
    expected: float,
    unit: str,
    compute: partial[float],
    tolerance: float = 0.001,
    standing: Standing = "computed",
) -> EvidenceCase:
    return EvidenceCase(NAME, source, case, quantity, expected, unit, tolerance, standing, compute)


def _geometry() -> Iterator[EvidenceCase]:
    for height, d1, d2, mhz, nu, loss, radius in GEOMETRY:
        case = f"{height:g} m at {d1:g} + {d2:g} km, {mhz:g} MHz"
        compute = partial(fresnel_parameter, height, d1, d2, mhz)
        yield _case("P.526-16 §4.1, eq. (26)", case, "ν", nu, "", compute, 1e-4)
        compute = partial(_edge_loss_db, height, d1, d2, mhz)
        yield _case(APPROXIMATE, case, "loss by eq. (31)", loss, "dB", compute)
        if radius is not None:
            compute = partial(_radius_m, d1, d2, mhz)
            yield _case("P.526-16 §2.1", case, "first Fresnel radius", radius, "m", compute, 0.01)


def _edge_loss_db(height_m: float, d1_km: float, d2_km: float, frequency_mhz: float) -> float:
    return knife_edge_loss_db(fresnel_parameter(height_m, d1_km, d2_km, frequency_mhz))


def _radius_m(d1_km: float, d2_km: float, frequency_mhz: float) -> float:
    return float(fresnel_radius_m(d1_km, d2_km, frequency_mhz))


def _two_edges() -> Iterator[EvidenceCase]:
    for gaps, heights, mhz, losses in TWO_EDGES:
        places, tops = "/".join(map(str, gaps)), "/".join(map(str, heights))
        case = f"two edges, {places} km, {tops} m, {mhz:g} MHz"
        for (name, source), loss in zip(CONSTRUCTIONS, losses, strict=True):
            compute = partial(_construction_db, name, gaps, heights, mhz)
            yield _case(source, case, name, loss, "dB", compute, 0.001)
    for km, loss in GRAZING:
        compute = partial(double_edge_loss_exact_db, km, km, km, 0.0, 0.0, 600.0)
        source = "20 log 3: chance that two normal variables with correlation 1/2 are both positive is 1/3"
        case = "two grazing edges at equal spacings"
        yield _case(source, case, "exact loss", loss, "dB", compute, 1e-4)


def _construction_db(
    name: str, gaps_km: tuple[int, ...], heights_m: tuple[int, ...], frequency_mhz: float
) -> float:
    """Return the loss by one construction; heights of the ends are those of aerials 1 m above the ground."""
    a, b, c = gaps_km
    start, first, second, end = heights_m
    found = compare_constructions(
        (0, a, a + b, a + b + c),
        (start - 1, first, second, end - 1),
        tx_height_m=1.0,
        rx_height_m=1.0,
        frequency_mhz=frequency_mhz,
        effective_radius_km=math.inf,
    )
    return next(each.loss_db for each in found if each.name == name)


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


def _bullington_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of one edge on a general path."""
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


SPHERICAL_SOURCE: Final = (
    "run of the Study Group 3 reference function: land, ae 8500 km, wavelength 0.3 m·GHz"
)

SPHERICAL_LOSSES: Final = (
    # km, heights m, MHz, polarization, dB
    (50.0, 50.0, 50.0, 600.0, "horizontal", 11.658),
    (50.0, 50.0, 50.0, 600.0, "vertical", 11.660),
    (100.0, 50.0, 50.0, 600.0, "horizontal", 47.354),
    (100.0, 50.0, 50.0, 600.0, "vertical", 47.347),
    (100.0, 300.0, 10.0, 600.0, "horizontal", 30.159),
    (60.0, 200.0, 10.0, 500.0, "horizontal", 13.400),
    (30.0, 100.0, 10.0, 800.0, "horizontal", 3.491),
    (150.0, 400.0, 30.0, 600.0, "horizontal", 48.747),
)


def _spherical_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of the smooth Earth."""
    for km, h1, h2, mhz, polarization, loss in SPHERICAL_LOSSES:
        compute = partial(spherical_earth_loss_db, km, h1, h2, frequency_mhz=mhz, polarization=polarization)
        case = f"{km:g} km, {h1:g} and {h2:g} m, {mhz:g} MHz, {polarization}"
        quantity = "smooth-Earth diffraction loss"
        yield EvidenceCase(NAME, SPHERICAL_SOURCE, case, quantity, loss, "dB", 0.01, "computed", compute)
