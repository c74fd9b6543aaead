"""Building entry loss of Recommendation ITU-R P.2109-1: figures worked out apart from this package."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase
from combe.propagation import building_entry_loss_db, entry_statistics

NAME: Final = "ITU-R P.2109-1"
SOURCE: Final = "P.2109-1, formula and coefficients read in two public implementations"

SHARES: Final = (10.0, 50.0, 70.0, 90.0, 95.0)
LOSSES: Final = {
    # kind of building: MHz; loss dB not exceeded in SHARES of places, path level
    "traditional": (
        (200.0, 5.811, 13.965, 17.606, 23.055, 25.736),
        (500.0, 5.728, 13.977, 17.920, 24.007, 27.049),
        (600.0, 5.722, 14.036, 18.068, 24.316, 27.439),
        (650.0, 5.720, 14.069, 18.142, 24.462, 27.621),
        (800.0, 5.719, 14.171, 18.360, 24.872, 28.122),
    ),
    "thermally efficient": (
        (200.0, 21.831, 35.723, 41.412, 49.627, 53.569),
        (500.0, 18.057, 32.319, 38.313, 47.105, 51.376),
        (600.0, 17.687, 31.890, 37.924, 46.837, 51.188),
        (650.0, 17.551, 31.721, 37.774, 46.745, 51.134),
        (800.0, 17.258, 31.339, 37.447, 46.583, 51.078),
    ),
}
SLOPING: Final = (
    # kind of building, degrees over the horizon, median loss dB at 600 MHz
    ("traditional", 5.0, 14.709),
    ("traditional", 20.0, 17.053),
    ("thermally efficient", 5.0, 32.502),
    ("thermally efficient", 20.0, 34.690),
)
STATISTICS: Final = (
    # kind of building, mean and standard deviation dB at 600 MHz
    ("traditional", 14.63, 7.20),
    ("thermally efficient", 32.13, 11.33),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for building, rows in LOSSES.items():
        for mhz, *losses in rows:
            for share, loss in zip(SHARES, losses, strict=True):
                compute = partial(_loss_db, mhz, share, building, 0.0)
                quantity = f"entry loss, {share:g} % of places"
                yield _case(f"{building}, {mhz:g} MHz", quantity, loss, 5.1e-4, compute)
    for building, angle, loss in SLOPING:
        compute = partial(_loss_db, 600.0, 50.0, building, angle)
        yield _case(
            f"{building}, 600 MHz, {angle:g}° up", "entry loss, 50 % of places", loss, 5.1e-4, compute
        )
    for building, mean, deviation in STATISTICS:
        for index, (quantity, figure) in enumerate((("mean", mean), ("standard deviation", deviation))):
            compute = partial(_statistic_db, building, index)
            yield _case(f"{building}, 600 MHz", f"{quantity} over places", figure, 0.006, compute)


def _case(case: str, quantity: str, figure: float, tolerance: float, compute: partial[float]) -> EvidenceCase:
    series = "entry loss by share of places" if "%" in quantity and "up" not in case else ""
    return EvidenceCase(NAME, SOURCE, case, quantity, figure, "dB", tolerance, "computed", compute, series)


def _loss_db(mhz: float, share: float, building: str, angle_deg: float) -> float:
    return float(building_entry_loss_db(mhz, share, building, angle_deg))  # type: ignore[arg-type]


def _statistic_db(building: str, index: int) -> float:
    return float(entry_statistics(600.0, building)[index])  # type: ignore[arg-type]
