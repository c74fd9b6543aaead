"""Invented air and paths for the tests of ITU-R P.2001-4."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import strategies as st

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


@st.composite
def profiles(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw distance, ground and zones of an invented hilly path of 3 to 300 km."""
    count = draw(st.integers(10, 60))
    steps = np.array(draw(st.lists(st.floats(0.2, 1.0), min_size=count, max_size=count)))
    distance = np.concatenate(([0.0], np.cumsum(steps)))
    distance *= draw(st.floats(3.0, 300.0)) / distance[-1]
    hills = draw(st.lists(st.floats(0.0, 400.0), min_size=count + 1, max_size=count + 1))
    zones = draw(st.lists(st.sampled_from([1, 3, 4, 4]), min_size=count + 1, max_size=count + 1))
    return distance, np.array(hills), np.array(zones)


CONDITIONS = st.fixed_dictionaries(
    {
        "frequency_mhz": st.floats(30.0, 50_000.0),
        "tx_height_m": st.floats(5.0, 300.0),
        "rx_height_m": st.floats(5.0, 300.0),
        "polarization": st.sampled_from(["horizontal", "vertical"]),
        "climate": st.sampled_from([TEMPERATE, HUMID, RAINY]),
    }
)
