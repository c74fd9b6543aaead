"""The sweep against one exact profile a cell, against a library's area map, and against its own radius.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/sweep.py``.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from against_library import area_map
from measuring import line, medians_s

from combe.compiling import kernel
from combe.prediction.area import Area
from combe.prediction.coverage import predict_coverage, ray_density
from combe.propagation.p525 import free_space_kernel
from combe.propagation.p526.delta import WAVELENGTH_M_MHZ, delta_bullington_kernel
from combe.propagation.summary import summarise
from combe.terrain.grid import StudyGrid, to_lonlat_deg
from combe.terrain.ground import Ground
from combe.terrain.sampling import height_at
from support_prediction import (
    EAST,
    RIDGE,
    flat_area,
    ground_height,
    p526_losses,
    rays_over,
    sample_area,
    station,
    sweep_conditions,
)

CORES = os.cpu_count() or 1


@kernel
def exact_cells(ground, heights, cell_km, step_km, row0, column0, tx_ground, first, last, out):
    """Price each cell of some rows over its own straight profile, sampled at the raster's step."""
    columns = heights.shape[1]
    distance, height = np.empty(4000), np.empty(4000)
    for row in range(first, last):
        for column in range(columns):
            d = cell_km * np.sqrt((row - row0) ** 2 + (column - column0) ** 2)
            n = max(int(np.ceil(d / step_km)), 2)
            for k in range(n + 1):
                share = k / n
                distance[k] = d * share
                height[k] = ground_height(
                    ground, row0 + (row - row0) * share, column0 + (column - column0) * share
                )
            height[0], height[n] = tx_ground, heights[row, column]
            path = summarise(distance[: n + 1], height[: n + 1], 40.0, 10.0, 500.0 / 8500.0)
            out[row, column] = free_space_kernel(max(d, 0.01), 474.0) + delta_bullington_kernel(
                path, 8500.0, 474.0, WAVELENGTH_M_MHZ / 474.0, False, 0.0
            )


def exact_map(area: Area, place: tuple[float, float]) -> Callable[[], object]:
    """Return a call that prices every cell exactly, on all cores."""
    rays = rays_over(area, place)
    tx_ground = height_at(area.terrain, *place)
    out = np.empty(area.heights_m.shape)
    rows = np.linspace(0, area.grid.rows, 8 * CORES + 1).astype(int)

    def run() -> None:
        cell_km, step_km = area.grid.cell_size_m / 1000.0, area.step_m / 1000.0
        with ThreadPoolExecutor(CORES) as pool:
            jobs = [
                pool.submit(
                    exact_cells, area.ground, area.heights_m, cell_km, step_km, rays.origin_row,
                    rays.origin_column, tx_ground, int(a), int(b), out,
                )
                for a, b in pairwise(rows)
            ]  # fmt: skip
            for job in jobs:
                job.result()

    return run


def tiled_hills(size: int) -> Area:
    """Return hills of any size: the sample's heights mirrored side by side, at 30 m cells."""
    heights = sample_area(30.0).heights_m[60:1030, 60:970]
    block = np.block([[heights, heights[:, ::-1]], [heights[::-1], heights[::-1, ::-1]]])
    repeats = size // min(block.shape) + 1
    heights = np.ascontiguousarray(np.tile(block, (repeats, repeats))[:size, :size])
    nodes = (np.arange(-1, size // 16 + 3) * 16).astype(float)
    column_at, row_at = np.meshgrid(nodes, nodes)
    grid = StudyGrid(sample_area().grid.crs, 400_000.0, 4_100_000.0, 30.0, size, size)
    return Area(sample_area().terrain, grid, heights, Ground(heights, row_at, column_at, 16.0), 30.0)


def cost_us(area: Area, rounds: int = 3) -> float:
    """Return the cost [µs] of a cell of a sweep from the middle of an area, rays included."""
    half = area.grid.cell_size_m * area.grid.rows / 2.0
    place = tuple(
        float(v) for v in to_lonlat_deg(area.grid, area.grid.west_m + half, area.grid.north_m - half)
    )
    middle = float(area.heights_m[area.grid.rows // 2, area.grid.columns // 2])

    def run() -> None:
        p526_losses(area, rays_over(area, place, ray_density(area)), [474.0], sweep_conditions(middle))

    return 1e6 * medians_s({"sweep": run}, rounds)["sweep"] / area.heights_m.size


def main() -> None:
    """Print all figures."""
    print(f"The sweep, {CORES} cores, warm; medians of runs taken in turn")
    for cell_m in (90.0, 30.0):
        area, transmitter = sample_area(cell_m), station(RIDGE)
        times = medians_s(
            {
                "sweep": lambda a=area, t=transmitter: predict_coverage(a, t),
                "exact": exact_map(area, RIDGE),
            },
            3,
        )
        cells = int(np.isfinite(area.heights_m).sum())
        line(f"sample terrain, {cell_m:.0f} m cells: cells a second", f"{cells / times['sweep']:,.0f}")
        line("  microseconds a cell, field map included", f"{1e6 * times['sweep'] / cells:.3f}")
        line(
            "  one exact profile a cell over the sweep",
            f"{times['exact'] / times['sweep']:.1f} x",
            "aim 12 x",
        )
    compare_with_library()
    for name, make, aim in (("hills", tiled_hills, "aim 1.3"), ("dead flat ground", flat_30, "aim 2")):
        small, large = cost_us(make(834)), cost_us(make(3334))
        line(f"{name}: microseconds a cell at 12.5 km", f"{small:.3f}")
        line("  at 50 km", f"{large:.3f}")
        line("  50 km over 12.5 km", f"{large / small:.2f}", aim)


def compare_with_library() -> None:
    """Print the cost of a general-purpose library's area map and of ours, same ground and cell size."""
    for cell_m, resolution_arcsec in ((90.0, 3.0), (30.0, 1.0)):
        area, transmitter = sample_area(cell_m), station(EAST)
        library, library_cells = area_map(area.terrain, -84.24, 36.59, 0.28, resolution_arcsec)
        times = medians_s(
            {"sweep": lambda a=area, t=transmitter: predict_coverage(a, t), "library": library}, 3
        )
        ours = times["sweep"] / np.isfinite(area.heights_m).sum()
        theirs = times["library"] / library_cells
        name = f"pycraf height_map_data + atten_map_fast, {resolution_arcsec:.0f} arc seconds"
        line(f"{name}: microseconds a cell", f"{1e6 * theirs:.1f}")
        line(
            f"  over the sweep at {cell_m:.0f} m, a cell, same ground", f"{theirs / ours:.0f} x", "aim 100 x"
        )


def flat_30(size: int) -> Area:
    """Return dead flat ground at 30 m cells."""
    return flat_area(size=size, cell_size_m=30.0)


if __name__ == "__main__":
    main()
