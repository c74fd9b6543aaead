"""Invented air and paths for the tests of ITU-R P.2001-4."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from combe.propagation.p2001 import Climate, PathLoss, predict_path

TEMPERATE = Climate(
    median_dn=42.0,
    super_slope=45.0,
    sub_slope=24.0,
    dn_65m_1_percent=-230.0,
    foes_0_1_mhz=7.5,
    foes_1_mhz=5.5,
    foes_10_mhz=3.6,
    foes_50_mhz=2.2,
    rain_height_km=2.2,
    water_vapour_g_m3=8.0,
    troposcatter_climate=5,
)
HUMID = Climate(52.0, 70.0, 35.0, -420.0, 9.0, 7.0, 4.6, 3.0, 4.6, 18.0, 1)
RAINY = replace(HUMID, rain_six_hours_percent=12.0, rain_mm_per_year=1200.0, convective_rain_share=0.3)

ASKED: dict[str, Any] = {
    "frequency_mhz": 600.0,
    "time_percent": 99.0,
    "tx_height_m": 60.0,
    "rx_height_m": 10.0,
    "tx_longitude_deg": 10.0,
    "tx_latitude_deg": 50.0,
    "rx_longitude_deg": 10.4,
    "rx_latitude_deg": 50.0,
    "climate": TEMPERATE,
}


def flat(length_km: float, points: int = 61, height_m: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Return distances and heights of flat ground."""
    return np.linspace(0.0, length_km, points), np.full(points, height_m)


def plain(length_km: float = 30.0, *, zone: int = 4, height_m: float = 100.0, **changes: Any) -> PathLoss:
    """Return the answer over flat ground, points every 0.5 km, with some arguments changed."""
    distance, height = flat(length_km, max(11, round(2.0 * length_km) + 1), height_m)
    return predict_path(distance, height, zone, **(ASKED | changes))


def hill(**changes: Any) -> PathLoss:
    """Return the answer over 30 km with a hill of 300 m at 12 km, with some arguments changed."""
    distance, height = flat(30.0)
    height += 300.0 * np.maximum(0.0, 1.0 - np.abs(distance - 12.0) / 3.0)
    return predict_path(distance, height, 4, **(ASKED | changes))
