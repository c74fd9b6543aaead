"""Made-up maps of the form of P.2001-4, whose values can be worked out by hand at any place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from combe.study.climate_maps import MAP_FILES

LOW_HIGH = {
    "median_dn": (30.0, 60.0),
    "super_slope": (20.0, 90.0),
    "sub_slope": (10.0, 50.0),
    "dn_65m_1_percent": (-900.0, -100.0),
    "foes_0_1_mhz": (6.0, 12.0),
    "foes_1_mhz": (4.0, 8.0),
    "foes_10_mhz": (2.0, 5.0),
    "foes_50_mhz": (1.0, 3.0),
    "rain_height_km": (-1.0, 5.0),
    "water_vapour_g_m3": (1.0, 25.0),
    "rain_six_hours_percent": (0.0, 40.0),
    "rain_mm_per_year": (0.0, 4000.0),
    "convective_rain_share": (0.1, 0.9),
}
"""Values of each map at the south pole on the meridian of Greenwich, and at the north pole on 90° east."""

ZONES = "troposcatter_climate"
RAIN = ("rain_six_hours_percent", "rain_mm_per_year", "convective_rain_share")


def value_at(name: str, longitude_deg: Any, latitude_deg: Any) -> Any:
    """Return what a map tells: rising evenly to the north, and to 90° east, from where it falls."""
    low, high = LOW_HIGH[name]
    east_deg = longitude_deg % 360.0
    around = np.where(east_deg <= 90.0, east_deg / 90.0, (360.0 - east_deg) / 270.0)
    return low + (high - low) * (0.6 * around + 0.4 * (90.0 + latitude_deg) / 180.0)


def made_up_maps() -> dict[str, np.ndarray]:
    """Return all maps; the zone of a point is its row and twice its column, counted in sevens."""
    maps = {}
    for name in LOW_HIGH:
        rows, columns = (161, 321) if name in RAIN else (121, 241)
        north_deg, east_deg = np.linspace(90.0, -90.0, rows), np.linspace(0.0, 360.0, columns)
        maps[name] = value_at(name, east_deg, north_deg[:, None])
    row, column = np.mgrid[0:360, 0:720]
    return {**maps, ZONES: ((row + 2 * column) % 7).astype(float)}


def write_maps(folder: Path) -> Path:
    """Write the maps as the files of a folder, and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, values in made_up_maps().items():
        form = "%d" if name == ZONES else "%.6g"
        np.savetxt(folder / MAP_FILES[name], values, fmt=form)
    return folder
