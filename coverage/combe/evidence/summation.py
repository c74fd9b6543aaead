"""Sums of interfering fields: published Schwartz-Yeh sums, sums drawn by chance, k-LNM, powers, products."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

import numpy as np

from combe.evidence.case import EvidenceCase, Once, Standing
from combe.reception import Summation, draw_sums, multiplied_field_dbuv_m, sum_fields

NAME: Final = "Sums of fields"

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


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
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
        yield EvidenceCase(NAME, source, case, "sum", total, "dB", 0.001, "computed", compute)
    for sigma, count, over in PRODUCTS:
        source = "simplified multiplication, σ √2 z(0.5^(1/n)), worked"
        case, compute = f"{count} equal interferers, σ {sigma:g} dB", partial(_product_db, sigma, count)
        quantity = "usable field over one of them"
        yield EvidenceCase(NAME, source, case, quantity, over, "dB", 0.005, "computed", compute)


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
        yield EvidenceCase(NAME, source, case, quantity, figure, "dB", tolerance, standing, compute)


def _drawn(medians: tuple[float, ...], sigma: float, mean: float, deviation: float) -> Iterator[EvidenceCase]:
    """Yield the same sums by the package's own chance, which checks the methods where no figure stands."""
    drawn = Once(partial(draw_sums, np.array(medians), np.full(len(medians), sigma)))
    case = f"random places, {_words(medians)}, σ {sigma:g} dB"
    source = "two million random places, drawn by another program"
    for quantity, expected, reduce in (("mean", mean, np.mean), ("deviation", deviation, np.std)):

        def compute(reduce: object = reduce) -> float:
            return float(reduce(drawn.result))  # type: ignore[operator]

        yield EvidenceCase(NAME, source, case, quantity, expected, "dB", 0.05, "computed", compute)


def _words(medians: tuple[float, ...]) -> str:
    if len(set(medians)) == 1:
        return f"{len(medians)} of {medians[0]:g} dB"
    return ", ".join(f"{each:g}" for each in medians) + " dB"


def _product_db(sigma_db: float, count: int) -> float:
    return float(multiplied_field_dbuv_m(np.full(count, 50.0), sigma_db, wanted_sigma_db=sigma_db)) - 50.0
