"""A study on a flat, invented plain, where free space gives every field by algebra."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin

WEST_M, NORTH_M = 730_000.0, 4_060_000.0
SIDE_M = 40_000.0
CELL_M = 200.0

HEAD = """\
[study]
title = "Invented plain"
invented = true
model = "free-space"

[terrain]
tiles = ["plain.tif"]

[grid]
cell_size_m = 200
crs = "EPSG:32616"

[television]
location_percent = 50.0
receive_height_m = 10.0
"""

STATION = """
[[stations]]
name = "{name}"
role = "{role}"
longitude_deg = {lon:.9f}
latitude_deg = {lat:.9f}
aerial_height_m = 10.0
polarization = "{polarization}"
"""

SERVICE = """
[[stations.services]]
name = "{name}"
channel = {channel}
erp_w = {erp_w}
"""

FEED = """
[stations.feed]
from = "{parent}"
aerial_height_m = 12.0
aerial_gain_dbi = 14.0
feeder_loss_db = 2.0
noise_figure_db = 6.0
required_margin_db = 0.0
"""


def lonlat_of(x_m: float, y_m: float) -> tuple[float, float]:
    """Return longitude and latitude [degrees] of a place on the plain."""
    import pyproj

    lon, lat = pyproj.Transformer.from_crs("EPSG:32616", "EPSG:4326", always_xy=True).transform(x_m, y_m)
    return float(lon), float(lat)


def station_text(
    name: str,
    x_m: float,
    y_m: float,
    services: list[tuple[str, int, float]],
    *,
    parent: str | None = None,
    polarization: str = "horizontal",
) -> str:
    """Return the tables of a station (a relay with a parent); ``services`` are (name, channel, ERP [W])."""
    lon, lat = lonlat_of(x_m, y_m)
    role = "relay" if parent else "parent"
    text = STATION.format(name=name, role=role, lon=lon, lat=lat, polarization=polarization)
    for service, channel, erp_w in services:
        text += SERVICE.format(name=service, channel=channel, erp_w=erp_w)
    return text + (FEED.format(parent=parent) if parent else "")


def write_plain_study(folder: Path, *stations: str, head: str = HEAD, people: bool = True) -> Path:
    """Write the study with its flat terrain, and one person in each cell of 200 m where people are asked."""
    folder.mkdir(parents=True, exist_ok=True)
    _write(folder / "plain.tif", 100.0, 100.0, margin_m=2000.0)
    if people:
        _write(folder / "people.tif", 1.0, CELL_M, margin_m=0.0)
        head += '\n[people]\nraster = "people.tif"\n'
    path = folder / "study.toml"
    path.write_text(head + "".join(stations), encoding="utf-8")
    return path


def _write(path: Path, value: float, cell_m: float, *, margin_m: float) -> None:
    count = round((SIDE_M + 2.0 * margin_m) / cell_m)
    values = np.full((count, count), value, dtype=np.float32)
    shape = {"width": count, "height": count, "count": 1, "dtype": "float32", "crs": "EPSG:32616"}
    where = from_origin(WEST_M - margin_m, NORTH_M + margin_m, cell_m, cell_m)
    with rasterio.open(path, "w", driver="GTiff", transform=where, nodata=-9999.0, **shape) as dataset:
        dataset.write(values, 1)
