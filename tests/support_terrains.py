"""Small invented terrains for the tests of several rasters in one study: the same hills in many ways."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pyproj

from support_terrain import write_tif


class Hills:
    """Smooth ridges and a valley around a place, as heights [m] at longitude and latitude [degrees]."""

    def __init__(self, lon_deg: float, lat_deg: float) -> None:
        self.lon_deg, self.lat_deg = lon_deg, lat_deg

    def __call__(self, lon: np.ndarray[Any, Any], lat: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        east_km = ((lon - self.lon_deg + 180.0) % 360.0 - 180.0) * 111.2 * np.cos(np.radians(self.lat_deg))
        north_km = (lat - self.lat_deg) * 111.2
        ridge = 160.0 * np.exp(-(((east_km - 2.0 + 0.3 * north_km) / 0.7) ** 2))
        return 300.0 + ridge + 60.0 * np.sin(1.1 * east_km) * np.cos(0.9 * north_km) + 4.0 * north_km


def write_lonlat(
    path: Path,
    hills: Hills,
    box: tuple[float, float, float, float],
    cell: tuple[float, float],
    heights: Any = None,
    **options: Any,
) -> Path:
    """Write hills in degrees: west, south, east, north, and width and height of a cell."""
    west, south, east, north = box
    columns, rows = round((east - west) / cell[0]), round((north - south) / cell[1])
    lon = west + (np.arange(columns) + 0.5) * cell[0]
    lat = north - (np.arange(rows) + 0.5) * cell[1]
    made = hills(lon[np.newaxis], lat[:, np.newaxis]) if heights is None else heights
    return write_tif(path, made.astype(np.float32), west, north, *cell, **options)


def write_metres(
    path: Path,
    hills: Hills,
    epsg: int,
    box_m: tuple[float, float, float, float],
    cell_m: float,
    **options: Any,
) -> Path:
    """Write hills in a projected system: west, south, east, north [m], and the side of a cell."""
    west, south, east, north = box_m
    x = west + (np.arange(round((east - west) / cell_m)) + 0.5) * cell_m
    y = north - (np.arange(round((north - south) / cell_m)) + 0.5) * cell_m
    back = pyproj.Transformer.from_crs(epsg, 4326, always_xy=True)
    made = hills(*back.transform(*np.meshgrid(x, y)))
    return write_tif(path, made.astype(np.float32), west, north, cell_m, crs=f"EPSG:{epsg}", **options)
