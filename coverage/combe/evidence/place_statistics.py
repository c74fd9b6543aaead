"""Statistics of place: quantiles, medians for shares of places, and the chance against one interferer."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.reception import coverage_chance, location_probability, required_median_dbuv_m
from combe.standards import location_deviation

NAME: Final = "Statistics of place"
_KNOWN: Final[dict[bool, Standing]] = {True: "read", False: TYPED_TWICE}

QUANTILES: Final = ((70.0, 0.5244), (90.0, 1.2816), (95.0, 1.6449), (99.0, 2.3263))
"""Share of places [%], quantile of the normal distribution."""

MEDIANS: Final = ((50.0, 0.0), (70.0, 0.52), (95.0, 1.64), (99.0, 2.33))
"""Share of places [%], printed factor μ."""

CHANCES: Final = (
    # wanted and interfering median dB(µV/m), ratio dB, σ of each dB, correlation; share of places
    (65.0, 40.0, 20.0, 5.5, 0.0, 0.7398),
    (65.0, 40.0, 20.0, 5.5, 0.5, 0.8183),
    (72.79, 40.0, 20.0, 5.5, 0.0, 0.95),
    (64.08, 40.0, 20.0, 5.5, 0.0, 0.70),
)
"""The last two: σ√2 = 7.78 dB, so that 95 % of places ask 12.79 dB over the ratio, and 70 % 4.08 dB."""

DEVIATIONS: Final = (
    # kind of service, MHz, σ dB, source, whether it was read
    ("digital", 600.0, 5.5, "GE06 Final Acts, and ITU-R P.1546-6", True),
    ("digital", 200.0, 5.5, "GE06 Final Acts, and ITU-R P.1546-6", True),
    ("analogue", 200.0, 8.3, "ITU-R P.1546, analogue, at 100 MHz", False),
    ("analogue", 600.0, 9.5, "ITU-R P.1546, analogue, at 600 MHz", False),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for percent, quantile in QUANTILES:
        compute = partial(_share, quantile)
        source, case = "quantiles of the normal distribution", f"median {quantile:g} σ over the minimum"
        yield EvidenceCase(
            NAME, source, case, "share of places", percent / 100.0, "", 1e-5, "computed", compute
        )
    for percent, factor in MEDIANS:
        compute = partial(required_median_dbuv_m, 50.0, percent, 5.5)
        source, case = "GE06 and BT.2033-2, μσ over the minimum", f"{percent:g} % of places, σ 5.5 dB"
        expected, quantity = 50.0 + factor * 5.5, "median for a minimum of 50"
        standing: Standing = "read" if factor else "computed"
        yield EvidenceCase(NAME, source, case, quantity, expected, "dB(µV/m)", 1e-9, standing, compute)
    for wanted, unwanted, ratio, sigma, correlation, share in CHANCES:
        compute = partial(_chance, wanted, unwanted, ratio, sigma, correlation)
        source = "Φ((E − Ei − PR)/(σ √(2 − 2ρ))), worked"
        case = f"{wanted:g} against {unwanted:g} dB(µV/m) and {ratio:g} dB, σ {sigma:g} dB, ρ {correlation:g}"
        yield EvidenceCase(NAME, source, case, "share of places", share, "", 1e-4, "computed", compute)
    for kind, mhz, sigma, source, was_read in DEVIATIONS:
        compute = partial(_deviation, kind, mhz)
        case, known = f"{kind}, {mhz:g} MHz", _KNOWN[was_read]
        yield EvidenceCase(NAME, source, case, "σ", sigma, "dB", 0.0, known, compute)


def _share(quantile: float) -> float:
    return float(location_probability(50.0 + quantile * 5.5, 50.0, 5.5))


def _chance(wanted: float, unwanted: float, ratio: float, sigma: float, correlation: float) -> float:
    return float(
        coverage_chance(
            wanted, unwanted, ratio, wanted_sigma_db=sigma, interferer_sigma_db=sigma, correlation=correlation
        )
    )


def _deviation(kind: str, mhz: float) -> float:
    return location_deviation(kind, mhz).value  # type: ignore[arg-type]
