"""``combe site`` on a wide study: 40 x 40 km at 25 m, some 75 000 people without a service; old beside new.

Run from the checkout, with the test extra: ``python tests/benchmarks/wide_siting.py [SIDE_KM] [PEOPLE]``. Ground,
people and the station are invented by a seed, and no file of them is kept. The command runs as a process of its
own, coarse first as it would choose, and with all hills at once for no longer than ``PATIENCE_S``: then what it
had done tells how long it would have taken.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np
import rasterio
from rasterio.transform import from_origin

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line

from combe.terrain.grid import StudyGrid, to_lonlat_deg, utm_crs

SIDE_KM = 40
PEOPLE = 75_000
CELL_M = 25.0
HEADS_M = 100.0
MARGIN_M = 2000.0
WEST_M, NORTH_M = 450_000.0, 5_250_000.0
ZONE = (9.5, 47.0)
CRS_WKT = utm_crs(*ZONE).to_wkt()
PATIENCE_S = 600.0
RELIEF_M = 220.0
ROUGHNESS = 2.1
"""Of the spectrum of the heights: its amplitude falls by this power of the wave number."""

STUDY = """\
[study]
title = "Invented wide hills"
note = "Ground, people and station are invented."
invented = true
model = "p1812"

[terrain]
tiles = ["ground.tif"]
vertical_datum = "EGM96"
credit = "invented"

[grid]
cell_size_m = {cell_m:g}
crs = "EPSG:{code}"
area_deg = [{area}]

[air]
climate = "temperate"

[television]
system = "DVB-T2"
modulation = "256-QAM"
code_rate = "2/3"

[people]
raster = "people.tif"

[[stations]]
name = "Parent"
role = "parent"
longitude_deg = {longitude_deg:.5f}
latitude_deg = {latitude_deg:.5f}
aerial_height_m = 120.0
polarization = "horizontal"

[[stations.services]]
name = "Mux A"
channel = 22
erp_w = {erp_w:g}

[[stations.services]]
name = "Mux B"
channel = 25
erp_w = {erp_w:g}

[siting]
aerial_height_m = 30.0

[[siting.services]]
name = "Mux A"
channel = 41
erp_w = 100.0

[[siting.services]]
name = "Mux B"
channel = 44
erp_w = 100.0
"""


class Run(NamedTuple):
    """One run of the command: time [s], that of its processors [s], memory [MiB], exit code, its JSON."""

    time_s: float
    cpu_s: float
    memory_mib: float
    code: int
    printed: dict
    said: str


def fractal(size: int, seed: int) -> np.ndarray:
    """Return invented heights [m], shape (size, size): noise whose spectrum falls as that of hills does."""
    random = np.random.default_rng(seed)
    waves = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :]) * size
    # Nothing longer than a third of the area: hills and valleys, not one slope.
    amplitude = np.where(waves >= 3.0, 1.0 / np.maximum(waves, 1.0) ** ROUGHNESS, 0.0)
    phases = random.normal(size=amplitude.shape) + 1j * random.normal(size=amplitude.shape)
    heights = np.fft.irfft2(amplitude * phases, s=(size, size))
    return 600.0 + RELIEF_M * heights / heights.std()


def settled(heights_m: np.ndarray, people: float, seed: int) -> np.ndarray:
    """Return invented people on cells of ``HEADS_M``: villages low in the valleys, and farms everywhere."""
    random = np.random.default_rng(seed)
    finer = round(HEADS_M / CELL_M)
    size = heights_m.shape[0] // finer
    ground = heights_m[: size * finer, : size * finer].reshape(size, finer, size, finer).mean(axis=(1, 3))
    counts = np.zeros((size, size))
    low = np.flatnonzero(ground.ravel() <= np.quantile(ground, 0.35))
    for place in random.choice(low, 60, replace=False):
        row, column = divmod(int(place), size)
        homes = random.normal(0.0, 3.0, (round(random.gamma(1.2, 120.0)) + 20, 2))
        at = np.rint(homes + (row, column)).astype(int)
        at = at[((at >= 0) & (at < size)).all(axis=1)]
        np.add.at(counts, (at[:, 0], at[:, 1]), 6.0)
    farms = random.choice(np.flatnonzero(ground.ravel() <= np.quantile(ground, 0.8)), size * size // 100, replace=False)
    counts.ravel()[farms] += 4.0
    return counts * (people / counts.sum())


def write_raster(path: Path, values: np.ndarray, cell_m: float, margin_m: float) -> None:
    """Write a raster over the grid and a margin around it."""
    where = from_origin(WEST_M - margin_m, NORTH_M + margin_m, cell_m, cell_m)
    rows, columns = values.shape
    shape = {"width": columns, "height": rows, "count": 1, "dtype": "float32", "crs": CRS_WKT}
    with rasterio.open(path, "w", driver="GTiff", transform=where, **shape) as raster:
        raster.write(values.astype(np.float32), 1)


def write_study(folder: Path, side_km: float, people: float, seed: int = 7) -> Path:
    """Write the invented study, and return its path."""
    size, margin = round(1000.0 * side_km / CELL_M), round(MARGIN_M / CELL_M)
    heights = fractal(size + 2 * margin, seed)
    write_raster(folder / "ground.tif", heights, CELL_M, MARGIN_M)
    inner = heights[margin:-margin, margin:-margin]
    write_raster(folder / "people.tif", settled(inner, people, seed), HEADS_M, 0.0)
    grid = StudyGrid(utm_crs(*ZONE), WEST_M, NORTH_M, CELL_M, size, size)
    # The parent on the highest ground of the western third, so that its east lies behind hills.
    row, column = np.unravel_index(np.argmax(inner[:, : size // 3]), (size, size // 3))
    lon, lat = to_lonlat_deg(grid, WEST_M + (column + 0.5) * CELL_M, NORTH_M - (row + 0.5) * CELL_M)
    ends = np.array([0.0, 1000.0 * side_km])
    (west, east), (north, south) = to_lonlat_deg(grid, WEST_M + ends, NORTH_M - ends)
    path = folder / "study.toml"
    path.write_text(
        STUDY.format(
            cell_m=CELL_M,
            code=utm_crs(*ZONE).to_epsg(),
            area=f"{west:.5f}, {south:.5f}, {east:.5f}, {north:.5f}",
            longitude_deg=float(lon),
            latitude_deg=float(lat),
            erp_w=500.0,
        ),
        encoding="utf-8",
    )
    return path
