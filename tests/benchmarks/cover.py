"""Ground cover in the sweep beside exact paths sampled every 9 m, and what it costs.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/cover.py``.
"""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line, medians_s

from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.stations.transmitter import Station
from combe.terrain.clutter import GroundCover, clutter_under
from combe.terrain.grid import cell_centres_m, to_lonlat_deg
from support_cover import STEP_M, covered_area, exact_field_dbuv_m, field_over_exact_db
from support_prediction import EAST, RIDGE, station

AREA_DEG = (-84.40, 36.46, -84.09, 36.72)
CELLS = 1500
PLACES = (("ridge", RIDGE, 40.0), ("plain", EAST, 40.0), ("plain", EAST, 12.0))


def tell(what: str, over_db: np.ndarray) -> None:
    """Print how far fields are from those of the finest step."""
    size_db = np.abs(over_db)
    line(f"{what}: mean [dB]", f"{over_db.mean():+.2f}", "aim 0.3")
    quantiles = " / ".join(f"{np.quantile(size_db, share):.2f}" for share in (0.5, 0.9, 0.99))
    line("  half, 90 % and 99 % of cells within [dB]", quantiles, "aim 2 for 90 %")


def by_the_terrain_db(area: Area, cover: GroundCover, transmitter: Station) -> np.ndarray:
    """Return how far exact paths at the terrain's step, each sample with the cover under it, are off."""
    x, y = cell_centres_m(area.grid)
    found = []
    for row, column in np.random.default_rng(6).integers(0, (y.size, x.size), (CELLS // 4, 2)):
        lon, lat = (float(value) for value in to_lonlat_deg(area.grid, x[column], y[row]))
        coarse, fine = (
            exact_field_dbuv_m(area, cover, transmitter, lon, lat, step_m) for step_m in (area.step_m, STEP_M)
        )
        found.append(coarse - fine)
    return np.array(found)


def accuracy(folder: Path) -> None:
    """Print how far the sweep is from the finest step, and how far the terrain's step alone would be."""
    for cell_m in (30.0, 90.0):
        area, cover = covered_area(folder, AREA_DEG, cell_m)
        for name, place, height_m in PLACES:
            transmitter = station(place, aerial_height_m=height_m)
            what = f"{cell_m:.0f} m cells, aerial {height_m:.0f} m on the {name}"
            tell(what, field_over_exact_db(area, cover, transmitter, CELLS))
    transmitter = station(EAST, aerial_height_m=40.0)
    tell("exact paths at the terrain's step, for comparison", by_the_terrain_db(area, cover, transmitter))


def speed(folder: Path) -> None:
    """Print what cover adds to the cost of a sweep, and what reading it costs."""
    for cell_m in (30.0, 90.0):
        area, cover = covered_area(folder, AREA_DEG, cell_m)
        bare = replace(area, cover=np.empty((0, 0), dtype=np.float32))
        transmitter, cells = station(RIDGE), np.isfinite(area.heights_m).sum()
        for percent in (50.0, 1.0):
            conditions = Conditions(model="p1812", time_percent=percent)
            times = medians_s(
                {
                    name: lambda a=each, c=conditions, t=transmitter: predict_coverage(a, t, conditions=c)
                    for name, each in (("bare", bare), ("covered", area))
                }
            )
            what = f"{cell_m:.0f} m cells, {percent:g} % of time, bare and over cover: microseconds a cell"
            each = " / ".join(f"{1e6 * time_s / cells:.3f}" for time_s in times.values())
            line(what, each, f"{times['covered'] / times['bare']:.2f} x")
    reading = medians_s({"cover": lambda: clutter_under(cover, area.terrain, area.grid, area.ground)}, 3)
    millions = area.cover.size / 1e6
    line(f"cover read under the grid, {millions:.1f} million parts [s]", f"{reading['cover']:.2f}")


def main() -> None:
    """Print all figures."""
    print(f"Ground cover of 10 m on terrain of 75 m, {os.cpu_count()} cores, warm; medians of runs in turn")
    with tempfile.TemporaryDirectory() as folder:
        accuracy(Path(folder))
        speed(Path(folder))


if __name__ == "__main__":
    main()
