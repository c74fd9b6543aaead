"""Knife edges: figures of Recommendation ITU-R P.526-16 §2.1 and §4.1, and of two edges in a row."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Standing
from combe.propagation.p526 import (
    compare_constructions,
    double_edge_loss_exact_db,
    fresnel_parameter,
    fresnel_radius_m,
    knife_edge_loss_db,
    knife_edge_loss_exact_db,
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
    """Yield the cases of this table."""
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
