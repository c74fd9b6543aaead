"""Files that the studies of ``goldens.py`` name: invented people, cover, polygons, patterns and tables."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.transform import from_origin
from scipy.ndimage import gaussian_filter

WEST, SOUTH, EAST, NORTH = -84.41, 36.45, -84.085, 36.73

VILLAGES = (
    # longitude, latitude, people, name
    (-84.343, 36.6155, 410, "Nether Combe"),
    (-84.334, 36.6146, 320, "Mill Combe"),
    (-84.324, 36.6100, 180, "Combe Ford"),
    (-84.3755, 36.6195, 300, "Waterfoot"),
    (-84.366, 36.5740, 90, "Brackenside"),
    (-84.150, 36.6200, 2600, "Plainmarket"),
    (-84.185, 36.5900, 1200, "Ashlow"),
    (-84.120, 36.6600, 900, "Thornbury Lees"),
    (-84.260, 36.6620, 220, "Ridge End"),
    (-84.300, 36.5200, 640, "Southerby"),
    (-84.230, 36.4800, 310, "Low Wath"),
)


def write_rows(path: Path, head: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([head, *rows])


def write_half_pattern(path: Path) -> None:
    rows = [(angle, 0.0 if angle <= 90 or angle >= 270 else -15.0) for angle in range(0, 360, 10)]
    write_rows(path, ("bearing_deg", "relative_db"), rows)


def write_polygons(path: Path, boxes: dict[str, tuple[float, float, float, float]]) -> None:
    features = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {"type": "Polygon", "coordinates": [[[w, s], [e, s], [e, n], [w, n], [w, s]]]},
        }
        for name, (w, s, e, n) in boxes.items()
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")


def write_people(path: Path) -> None:
    cell = 0.004
    columns, rows = int((EAST - WEST) / cell), int((NORTH - SOUTH) / cell)
    counts = np.zeros((rows, columns), dtype=np.float32)
    for lon, lat, people, _ in VILLAGES:
        row, column = int((NORTH - lat) / cell), int((lon - WEST) / cell)
        counts[row, column] += people / 2
        counts[row - 1 : row + 2, column - 1 : column + 2] += people / 18
    farms = np.random.default_rng(3).integers(0, counts.size, 150)
    np.add.at(counts.ravel(), farms, 4.0)
    write_raster(path, counts, cell, north=NORTH, west=WEST, nodata=-1.0)


def cover_codes(cell: float) -> np.ndarray:
    """Return classes: woods on a quarter of the ground, scrub and some villages between open fields."""
    noise = np.random.default_rng(4)
    shape = round((EAST - WEST + 0.04) / cell), round((NORTH - SOUTH + 0.04) / cell)

    def patches(size: float) -> np.ndarray:
        smooth = gaussian_filter(noise.normal(size=shape[::-1]).astype(np.float32), size)
        return smooth / smooth.std()

    woods, houses, bushes = patches(6.0), patches(2.0), patches(9.0)
    codes = np.full(shape[::-1], 30, dtype=np.uint8)
    codes[bushes < -1.5] = 20
    codes[(houses > 1.2) & (woods < 0.0)] = 50
    codes[woods > 0.7] = 10
    return codes


def write_raster(
    path: Path,
    values: np.ndarray,
    cell: float,
    *,
    west: float = WEST - 0.02,
    north: float = NORTH + 0.02,
    **options: Any,
) -> None:
    rows, columns = values.shape
    shape = {"width": columns, "height": rows, "count": 1, "dtype": values.dtype, "crs": "EPSG:4326"}
    with rasterio.open(
        path, "w", driver="GTiff", transform=from_origin(west, north, cell, cell), **shape, **options
    ) as file:
        file.write(values, 1)
