"""A siting with a hill that must win: people in a valley behind a ridge, and one cone on the ridge."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin

from support_terrain import write_tif

VALLEY = """\
[study]
title = "A planted hill"
invented = true

[terrain]
tiles = ["terrain.tif"]

[grid]
cell_size_m = 100
crs = "EPSG:32633"

[television]
modulation = "256-QAM"
code_rate = "2/3"

[people]
raster = "people.tif"

[[stations]]
name = "Plain Mast"
role = "parent"
longitude_deg = {parent_lon}
latitude_deg = {parent_lat}
aerial_height_m = 100.0
polarization = "horizontal"

[[stations.services]]
name = "Mux 1"
channel = 27
erp_w = 1000.0

[siting]
above_valley_m = 20.0

[[siting.services]]
name = "Mux 1"
channel = 41
erp_w = 5.0
"""

WEST, NORTH, SIDE, ROWS, COLUMNS = 500_000.0, 5_000_000.0, 100.0, 100, 160
HILL = (50, 78)
"""A lone cone on the wall of the valley, whose people lie beyond the wall."""


def valley_heights() -> np.ndarray:
    """Return a plain in the east, a ridge, a valley that spurs cut in five, and a cone on the ridge."""
    row, column = np.indices((ROWS, COLUMNS), dtype=float)
    ridge = 120.0 * np.exp(-(((column - 80.0) / 5.0) ** 2))
    spur = 110.0 * np.exp(-(((row % 20.0) / 2.5) ** 2)) * (column < 80.0)
    cone = np.maximum(0.0, 330.0 - 45.0 * np.hypot(row - HILL[0], column - HILL[1]))
    return 100.0 + np.maximum(ridge, spur) + cone


def lonlat(row: float, column: float) -> tuple[float, float]:
    from pyproj import Transformer

    to_degrees = Transformer.from_crs("EPSG:32633", "EPSG:4326", always_xy=True)
    lon, lat = to_degrees.transform(WEST + (column + 0.5) * SIDE, NORTH - (row + 0.5) * SIDE)
    return float(lon), float(lat)


def plant(folder: Path, text: str = VALLEY) -> Path:
    """Write the planted hill: people in the valley's west, the parent in the plain's east."""
    folder.mkdir(parents=True, exist_ok=True)
    write_tif(folder / "terrain.tif", valley_heights().astype("float32"), WEST, NORTH, SIDE, crs="EPSG:32633")
    people = np.zeros((ROWS, COLUMNS), dtype="float32")
    people[11:92:20, 30:60:3] = 10.0
    shape = {"width": COLUMNS, "height": ROWS, "count": 1, "dtype": "float32", "crs": "EPSG:32633"}
    with rasterio.open(
        folder / "people.tif", "w", driver="GTiff", transform=from_origin(WEST, NORTH, SIDE, SIDE), **shape
    ) as dataset:
        dataset.write(people, 1)
    lon, lat = lonlat(50, 150)
    path = folder / "study.toml"
    path.write_text(text.format(parent_lon=lon, parent_lat=lat), encoding="utf-8")
    return path
