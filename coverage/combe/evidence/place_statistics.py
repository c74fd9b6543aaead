"""Fields that scatter over places: shares of places, and sums of interfering fields.

Quantiles, medians for shares of places, the chance against one interferer; published Schwartz-Yeh sums, sums
drawn by chance, k-LNM, powers, products.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

import numpy as np

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Once, Standing
from combe.reception import (
    Summation,
    coverage_chance,
    draw_sums,
    location_probability,
    multiplied_field_dbuv_m,
    required_median_dbuv_m,
    sum_fields,
)
from combe.standards import location_deviation

PLACES: Final = "Statistics of place"
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
    """Yield the cases of both."""
    yield from _place_cases()
    yield from _sum_cases()


def _place_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of statistics of place."""
    for percent, quantile in QUANTILES:
        compute = partial(_share, quantile)
        source, case = "quantiles of the normal distribution", f"median {quantile:g} σ over the minimum"
        yield EvidenceCase(
            PLACES, source, case, "share of places", percent / 100.0, "", 1e-5, "computed", compute
        )
    for percent, factor in MEDIANS:
        compute = partial(required_median_dbuv_m, 50.0, percent, 5.5)
        source, case = "GE06 and BT.2033-2, μσ over the minimum", f"{percent:g} % of places, σ 5.5 dB"
        expected, quantity = 50.0 + factor * 5.5, "median for a minimum of 50"
        standing: Standing = "read" if factor else "computed"
        yield EvidenceCase(PLACES, source, case, quantity, expected, "dB(µV/m)", 1e-9, standing, compute)
    for wanted, unwanted, ratio, sigma, correlation, share in CHANCES:
        compute = partial(_chance, wanted, unwanted, ratio, sigma, correlation)
        source = "Φ((E − Ei − PR)/(σ √(2 − 2ρ))), worked"
        case = f"{wanted:g} against {unwanted:g} dB(µV/m) and {ratio:g} dB, σ {sigma:g} dB, ρ {correlation:g}"
        yield EvidenceCase(PLACES, source, case, "share of places", share, "", 1e-4, "computed", compute)
    for kind, mhz, sigma, source, was_read in DEVIATIONS:
        compute = partial(_deviation, kind, mhz)
        case, known = f"{kind}, {mhz:g} MHz", _KNOWN[was_read]
        yield EvidenceCase(PLACES, source, case, "σ", sigma, "dB", 0.0, known, compute)


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


FIELD_SUMS: Final = "Sums of fields"

PUBLISHED: Final = (
    # σ dB, number of equal fields of 0 dB; mean and σ of their sum dB
    (6.0, 2, 4.58, 4.58),
    (6.0, 3, 6.90, 3.93),
    (6.0, 4, 8.43, 3.54),
    (6.0, 6, 10.48, 3.04),
    (8.3, 2, 5.61, 6.49),
    (8.3, 6, 12.69, 4.41),
    (12.0, 2, 7.45, 9.58),
    (12.0, 6, 16.74, 6.74),
)
TWO_DB: Final = 0.1
"""Tolerance of the mean of two fields, which the method sums exactly."""
MEAN_DB: Final = 0.3
"""Tolerance of the mean of more: the page's program is not known, and its steps differ."""
SIGMA_DB: Final = 0.1

CHANCE: Final = (
    # medians dB, σ dB; mean and σ of their sum over two million random places dB
    ((0.0,) * 2, 6.0, 4.58, 4.62),
    ((0.0,) * 6, 8.3, 12.95, 4.53),
    ((60.0,) * 2, 5.5, 64.36, 4.21),
    ((60.0, 55.0, 50.0), 5.5, 62.96, 4.01),
    ((60.0,) * 4, 5.5, 68.24, 3.22),
)
CHANCE_MEAN_DB: Final = 0.02
CHANCE_SIGMA_DB: Final = 0.15

K_LNM: Final = (
    # medians dB, σ 5.5 dB, k; mean and σ of their sum dB
    ((60.0,) * 2, 1.0, 64.12, 4.54),
    ((60.0,) * 2, 0.5, 65.00, 3.61),
    ((60.0,) * 2, 0.7, 64.60, 4.05),
    ((60.0, 55.0, 50.0), 1.0, 62.47, 4.68),
    ((60.0, 55.0, 50.0), 0.5, 63.38, 3.74),
    ((60.0, 55.0, 50.0), 0.7, 62.97, 4.19),
    ((60.0,) * 4, 1.0, 68.01, 3.61),
)

POWERS: Final = (((0.0, 0.0), 3.010), ((60.0, 55.0, 50.0), 61.511), ((60.0,) * 4, 66.021))
"""Fields, and their sum as powers [dB]."""

PRODUCTS: Final = (
    # σ dB of wanted and interferers, number of equal interferers; usable field over one of them dB
    (8.3, 2, 6.40),
    (9.5, 2, 7.32),
    (5.5, 2, 4.24),
    (8.3, 3, 9.62),
    (5.5, 5, 8.78),
)


class _Moments:
    """Mean and deviation of a sum [dB]."""

    def __init__(self, medians: tuple[float, ...], sigma_db: float, how: Summation) -> None:
        total = sum_fields(np.array(medians), sigma_db, how)
        self.mean_db, self.sigma_db = float(total.mean_dbuv_m), float(total.sigma_db)


def _sum_cases() -> Iterator[EvidenceCase]:
    """Yield the cases of sums of fields."""
    for sigma, count, mean, deviation in PUBLISHED:
        source = "university teaching page on summed log-normal signals, table of Schwartz-Yeh sums"
        tolerances = (TWO_DB if count == 2 else MEAN_DB, SIGMA_DB)
        case = f"Schwartz-Yeh, {count} of 0 dB, σ {sigma:g} dB"
        yield from _two(source, case, (0.0,) * count, sigma, (mean, deviation), tolerances, "read")
    for medians, sigma, mean, deviation in CHANCE:
        source = "two million random places, drawn by another program"
        case = f"Schwartz-Yeh, {_words(medians)}, σ {sigma:g} dB"
        tolerances = (CHANCE_MEAN_DB, CHANCE_SIGMA_DB)
        yield from _two(source, case, medians, sigma, (mean, deviation), tolerances, "computed")
        yield from _drawn(medians, sigma, mean, deviation)
    for medians, k, mean, deviation in K_LNM:
        source = "k-LNM as compared in EBU Technical Review 312 (Beeke), its formula worked"
        case, how = f"k-LNM, k {k:g}, {_words(medians)}, σ 5.5 dB", Summation("k-lnm", k=k)
        yield from _two(source, case, medians, 5.5, (mean, deviation), (0.006, 0.006), "computed", how)
    for medians, total in POWERS:
        compute = partial(Once(partial(_Moments, medians, 5.5, Summation("power sum"))).field, "mean_db")
        source, case = "10 log Σ 10^(E/10), worked", f"power sum, {_words(medians)}"
        yield EvidenceCase(FIELD_SUMS, source, case, "sum", total, "dB", 0.001, "computed", compute)
    for sigma, count, over in PRODUCTS:
        source = "simplified multiplication, σ √2 z(0.5^(1/n)), worked"
        case, compute = f"{count} equal interferers, σ {sigma:g} dB", partial(_product_db, sigma, count)
        quantity = "usable field over one of them"
        yield EvidenceCase(FIELD_SUMS, source, case, quantity, over, "dB", 0.005, "computed", compute)


def _two(
    source: str,
    case: str,
    medians: tuple[float, ...],
    sigma: float,
    expected: tuple[float, float],
    tolerances: tuple[float, float],
    standing: Standing,
    how: Summation = Summation(),  # noqa: B008
) -> Iterator[EvidenceCase]:
    """Yield mean and deviation of a sum."""
    found = Once(partial(_Moments, medians, sigma, how))
    for field, quantity, figure, tolerance in zip(
        ("mean_db", "sigma_db"), ("mean", "deviation"), expected, tolerances, strict=True
    ):
        compute = partial(found.field, field)
        yield EvidenceCase(FIELD_SUMS, source, case, quantity, figure, "dB", tolerance, standing, compute)


def _drawn(medians: tuple[float, ...], sigma: float, mean: float, deviation: float) -> Iterator[EvidenceCase]:
    """Yield the same sums by the package's own chance, which checks the methods where no figure stands."""
    drawn = Once(partial(draw_sums, np.array(medians), np.full(len(medians), sigma)))
    case = f"random places, {_words(medians)}, σ {sigma:g} dB"
    source = "two million random places, drawn by another program"
    for quantity, expected, reduce in (("mean", mean, np.mean), ("deviation", deviation, np.std)):

        def compute(reduce: object = reduce) -> float:
            return float(reduce(drawn.result))  # type: ignore[operator]

        yield EvidenceCase(FIELD_SUMS, source, case, quantity, expected, "dB", 0.05, "computed", compute)


def _words(medians: tuple[float, ...]) -> str:
    if len(set(medians)) == 1:
        return f"{len(medians)} of {medians[0]:g} dB"
    return ", ".join(f"{each:g}" for each in medians) + " dB"


def _product_db(sigma_db: float, count: int) -> float:
    return float(multiplied_field_dbuv_m(np.full(count, 50.0), sigma_db, wanted_sigma_db=sigma_db)) - 50.0
