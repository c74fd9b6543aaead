"""Writes small rasters with known heights for the tests of terrain."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.transform import Affine


def write_tif(
    path: Path,
    heights: np.ndarray[Any, Any],
    west: float,
    north: float,
    cell_x: float,
    cell_y: float | None = None,
    crs: str | None = "EPSG:4326",
    nodata: float | None = None,
    transform: Affine | None = None,
    tags: dict[str, str] | None = None,
    **options: Any,
) -> Path:
    """Write a north-up GeoTIFF whose outer north-west corner is (west, north)."""
    bands = heights if heights.ndim == 3 else heights[np.newaxis]
    shape = transform or Affine(cell_x, 0.0, west, 0.0, -(cell_y or cell_x), north)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        count=bands.shape[0],
        height=bands.shape[1],
        width=bands.shape[2],
        dtype=bands.dtype,
        crs=crs,
        transform=shape,
        nodata=nodata,
        **options,
    ) as dataset:
        dataset.write(bands)
        dataset.update_tags(**(tags or {}))
    return path


def write_hgt(path: Path, heights: np.ndarray[Any, Any]) -> Path:
    """Write an SRTM tile: big-endian 16-bit rows from the north."""
    path.write_bytes(np.asarray(heights).astype(">i2").tobytes())
    return path


def lonlat_plane(lon_deg: np.ndarray[Any, Any] | float, lat_deg: np.ndarray[Any, Any] | float) -> Any:
    """Return heights [m] that are linear in longitude and latitude."""
    return 500.0 + 300.0 * (lon_deg - 10.0) - 200.0 * (lat_deg - 47.0)


def plane_tif(path: Path, rows: int = 60, columns: int = 80, **options: Any) -> Path:
    """Write ``lonlat_plane`` in double precision, west 10°, north 47°, cells 0.001° x 0.0008°."""
    lon = 10.0 + (np.arange(columns) + 0.5) * 0.001
    lat = 47.0 - (np.arange(rows) + 0.5) * 0.0008
    return write_tif(
        path, lonlat_plane(lon[np.newaxis], lat[:, np.newaxis]), 10.0, 47.0, 0.001, 0.0008, **options
    )
