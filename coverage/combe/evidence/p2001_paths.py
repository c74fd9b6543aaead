"""Recommendation ITU-R P.2001-4 on paths that need no file: three whole ones, and fades of clear ones.

All are invented: a plain, a crossing of the sea, and a hill, with air that is made up too.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, Final

import numpy as np

from combe.evidence.case import EvidenceCase, Once
from combe.evidence.p2001_set import NAME, QUANTITIES, SOURCE
from combe.propagation.p2001 import Climate, PathLoss, oxygen_db_km, predict_path, rain_law

CLIMATES: Final = {
    "temperate": Climate(42, 45, 24, -230, 7.5, 5.5, 3.6, 2.2, 2.2, 8, 5),
    "humid": Climate(52, 70, 35, -420, 9, 7, 4.6, 3, 4.6, 18, 1),
}
_ENDS: Final = {
    "tx_longitude_deg": 10,
    "tx_latitude_deg": 50,
    "rx_longitude_deg": 10.4,
    "rx_latitude_deg": 50,
}

FIGURES: Final[dict[str, tuple[float, ...]]] = {
    # path: figures of QUANTITIES in their order, as printed
    "plain": (
        120.628307, 120.628307, 313.401186, 181.091651, 4485049.06, 117.50552, 0, 3.01513672, 0.0382725092,
        -1.22482204, 8697.8, 6421.09361, 0.107650213, 313.293536, 180.992641, 1, -5.72457403, 2.27542597,
        24.2, 5.8, 150, 30, 0, 150, 30, 0, 4,
    ),
    "crossing": (
        133.484949, 137.621291, 135.601874, 172.76541, 85305.4754, 127.499203, 12.2623236, -2.47802734,
        0.17156948, -170.927602, 9526.1619, 1000000, 0.337792166, 135.264082, 172.466114, 0, -3.24000133,
        -1.44910421, 31, 14, 63.2317708, 97.8098958, 87.1554036, 71.6451389, 101.938194, 0.504166667,
        1.58333333,
    ),
    "hill": (
        164.268914, 164.268914, 821.001006, 216.559673, 2861595.43, 118.719409, 40.9634333, 4.46044922,
        0.00468314774, 42.4624332, 9526.1619, 5014.71372, 0.125622872, 820.875383, 216.443656, 0, 21.8701556,
        15.1663445, 12, 18, 30, 10, 300, 148.8, 109.2, 0, 0.666666667,
    ),
}  # fmt: skip

FADES: Final = (
    # climate, km, Lb dB for half of the time, and above it for 99, 99.9, 99.99 % (of that in clear air)
    ("temperate", 17, 112.64, (2.40, 2.40), (4.25, 4.25), (6.74, 6.74)),
    ("temperate", 30, 117.62, (3.01, 3.01), (5.61, 5.61), (9.51, 9.51)),
    ("temperate", 45, 121.19, (5.98, 3.69), (11.54, 7.30), (19.45, 13.24)),
    ("temperate", 60, 131.49, (9.86, 4.39), (18.13, 9.28), (29.97, 17.40)),
    ("humid", 17, 112.64, (2.64, 2.64), (4.77, 4.77), (7.76, 7.76)),
    ("humid", 30, 117.62, (3.41, 3.41), (6.60, 6.60), (11.67, 11.67)),
    ("humid", 45, 121.19, (7.33, 4.33), (14.98, 9.13), (25.86, 17.09)),
    ("humid", 60, 130.18, (13.35, 5.39), (25.53, 12.31), (41.05, 22.48)),
)
FADES_PERCENT: Final = (99.0, 99.9, 99.99)

OXYGEN: Final = ((474.0, 0.0029), (600.0, 0.0037), (690.0, 0.0042), (858.0, 0.0049))
"""Frequency [MHz], γo [dB/km]."""

RAIN: Final = (
    # GHz, then k and α horizontal, k and α vertical
    (1.0, 0.0000259, 0.9691, 0.0000308, 0.8592),
    (10.0, 0.01217, 1.2571, 0.01129, 1.2156),
    (20.0, 0.09164, 1.0568, 0.09611, 0.9847),
    (30.0, 0.2403, 0.9485, 0.2291, 0.9129),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for name, figures in FIGURES.items():
        found = Once(partial(_predict, **_whole_path(name)))
        for (symbol, (field, unit)), figure in zip(QUANTITIES.items(), figures, strict=True):
            tolerance = max(1e-9, 6e-9 * abs(figure))
            compute, quantity = partial(found.field, field), f"{symbol}, {field}"
            yield EvidenceCase(
                NAME, SOURCE, name, quantity, figure, unit, tolerance, "computed", compute, name
            )
    for climate, km, half, *fades in FADES:
        yield from _fades(climate, km, half, fades)
    for mhz, loss in OXYGEN:
        compute = partial(oxygen_db_km, mhz / 1000.0)
        yield EvidenceCase(NAME, SOURCE, f"{mhz:g} MHz", "γo", loss, "dB/km", 5e-5, "computed", compute)
    for ghz, k_h, alpha_h, k_v, alpha_v in RAIN:
        yield from _rain(ghz, False, k_h, alpha_h)
        yield from _rain(ghz, True, k_v, alpha_v)


def _predict(**asked: Any) -> PathLoss:
    return predict_path(**asked)


def _whole_path(name: str) -> dict[str, Any]:
    """Return what is asked of one of the three paths."""
    if name == "plain":
        return clear_path("temperate", 30.0, 99.0)
    if name == "crossing":
        return _crossing()
    distance = np.linspace(0.0, 30.0, 61)
    return _ENDS | {
        "distance_km": distance,
        "height_m": 100.0 + 300.0 * np.maximum(0.0, 1.0 - np.abs(distance - 12.0) / 3.0),
        "zone": 4,
        "frequency_mhz": 690.0,
        "time_percent": 99.9,
        "tx_height_m": 30.0,
        "rx_height_m": 10.0,
        "tx_gain_dbi": 10.0,
        "rx_gain_dbi": 14.0,
        "climate": CLIMATES["humid"],
    }


def _crossing() -> dict[str, Any]:
    """Return what is asked of 120 km from inland over 60 km of sea to a coast."""
    d = np.linspace(0.0, 120.0, 241)
    at_sea = (d >= 40.0) & (d <= 100.0)
    return {
        "distance_km": d,
        "height_m": np.select([d < 40.0, at_sea], [200.0, 0.0], 50.0),
        "zone": np.select([d < 30.0, at_sea], [4, 1], 3),
        "frequency_mhz": 474.0,
        "time_percent": 1.0,
        "tx_height_m": 50.0,
        "rx_height_m": 10.0,
        "tx_gain_dbi": 10.0,
        "rx_gain_dbi": 14.0,
        "polarization": "vertical",
        "tx_longitude_deg": -5.0,
        "tx_latitude_deg": 40.0,
        "rx_longitude_deg": -4.0,
        "rx_latitude_deg": 40.8,
        "climate": CLIMATES["humid"],
    }


def clear_path(climate: str, distance_km: float, time_percent: float) -> dict[str, Any]:
    """Return what is asked of a line of sight over a plain at 100 m, masts 150 and 30 m, 600 MHz."""
    count = round(10.0 * distance_km) + 1
    return _ENDS | {
        "distance_km": np.linspace(0.0, distance_km, count),
        "height_m": np.full(count, 100.0),
        "zone": 4,
        "frequency_mhz": 600.0,
        "time_percent": time_percent,
        "tx_height_m": 150.0,
        "rx_height_m": 30.0,
        "climate": CLIMATES[climate],
    }


def _fades(
    climate: str, km: float, half_db: float, fades: list[tuple[float, float]]
) -> Iterator[EvidenceCase]:
    half = Once(partial(_predict, **clear_path(climate, km, 50.0)))
    case, series = f"{climate} plain, {km} km", "fades of clear paths"
    compute = partial(half.field, "basic_transmission_loss_db")
    yield EvidenceCase(
        NAME, SOURCE, case, "Lb, half of the time", half_db, "dB", 0.005, "computed", compute, series
    )
    for percent, (whole_db, clear_air_db) in zip(FADES_PERCENT, fades, strict=True):
        deep = Once(partial(_predict, **clear_path(climate, km, percent)))
        for field, figure in (("basic_transmission_loss_db", whole_db), ("clear_air_fade_db", clear_air_db)):
            compute = partial(_above, deep, half, field)
            quantity = f"{field} over the median, {percent:g} %"
            yield EvidenceCase(NAME, SOURCE, case, quantity, figure, "dB", 0.005, "computed", compute, series)


def _above(deep: Once[PathLoss], half: Once[PathLoss], field: str) -> float:
    return deep.field(field) - half.field(field)


def _rain(ghz: float, vertical: bool, k: float, alpha: float) -> Iterator[EvidenceCase]:
    law = Once(partial(rain_law, ghz, 0.0, vertical))
    case, source = f"{ghz:g} GHz, {'vertical' if vertical else 'horizontal'}", "P.838-3, table 5"
    for field, figure, tolerance in (("k", k, 5.1e-4 * k + 5e-8), ("alpha", alpha, 5.1e-5)):
        yield EvidenceCase(
            NAME, source, case, field, figure, "", tolerance, "from memory", partial(law.field, field), "rain"
        )
