"""``combe site`` on a wide study: 40 x 40 km at 25 m, some 75 000 people without a service; old beside new.

Run from the checkout, with the test extra: ``python tests/benchmarks/wide_siting.py [SIDE_KM] [WHOLE_S]``.
Ground, people and the station are invented by a seed, and no file of them is kept. The command runs as a
process of its own: coarse first as it would choose, once with cold and once with warm kernels; then with
every hill at once, stopped after so many seconds.
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
PEOPLE = 100_000
"""Of them about three in four lack a service."""

CELL_M = 25.0
HEADS_M = 100.0
MARGIN_M = 2000.0
WEST_M, NORTH_M = 450_000.0, 5_250_000.0
ZONE = (9.5, 47.0)
CRS_WKT = utm_crs(*ZONE).to_wkt()
WHOLE_S = 120.0
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
    """One run of the command: time [s], that of its processors [s], memory [MiB], what it said, its JSON."""

    time_s: float
    cpu_s: float
    memory_mib: float
    said: str
    printed: dict


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
        at = np.rint(homes + np.array([row, column])).astype(int)
        at = at[((at >= 0) & (at < size)).all(axis=1)]
        np.add.at(counts, (at[:, 0], at[:, 1]), 6.0)
    farms = random.choice(
        np.flatnonzero(ground.ravel() <= np.quantile(ground, 0.8)), size * size // 100, replace=False
    )
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


def run(study: Path, cache: Path, *options: str, within_s: float | None = None) -> Run:
    """Run the command, and end it after so many seconds, if any are told."""
    words = [sys.executable, "-m", "combe", "site", str(study), "--cache", str(cache), "--json", *options]
    said, printed = study.with_name("said.txt"), study.with_name("printed.json")
    started = time.perf_counter()
    with said.open("wb") as errors, printed.open("wb") as out:
        process = subprocess.Popen(words, stdout=out, stderr=errors)
        if within_s is not None:
            time.sleep(within_s)
            process.terminate()
        _, status, used = os.wait4(process.pid, 0)
    took_s = time.perf_counter() - started
    if status and within_s is None:
        raise SystemExit(f"the command failed: {said.read_text(encoding='utf-8')}")
    told = {} if status else json.loads(printed.read_text(encoding="utf-8"))
    cpu_s, memory_mib = used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0
    return Run(took_s, cpu_s, memory_mib, said.read_text(encoding="utf-8"), told)


def tell(name: str, found: Run) -> None:
    """Print the figures of one run."""
    line(f"{name}: time, s", f"{found.time_s:.0f}", "aim: under 60 on two idle processors")
    line("  of all processors together, s", f"{found.cpu_s:.0f}")
    line("  greatest memory, MiB", f"{found.memory_mib:.0f}")


def report(folder: Path, side_km: float, whole_s: float) -> None:
    """Run the command coarse first, cold and warm, and whole for a while."""
    study = write_study(folder, side_km, PEOPLE * (side_km / SIDE_KM) ** 2)
    print(f"combe site, {side_km:g} x {side_km:g} km at {CELL_M:g} m, {os.cpu_count()} processors")
    first = run(study, folder / "cache")
    tell("coarse first, nothing kept", first)
    ahead, wide = first.printed["forecast"], first.printed["coarse_first"]
    line("  forecast of it, s, and of every hill at once, hours", f"{ahead['seconds']:.0f}",
         f"{ahead['whole_seconds'] / 3600.0:.0f}")  # fmt: skip
    line("  people who lack a service", f"{first.printed['people_unserved']:.0f}")
    if wide is None:
        line("  it priced every hill, for that was no long work", "")
        return
    line("  places, cells looked at", f"{first.printed['targets']}, {wide['cells_looked_at']}")
    line("  hills exact, hills that may overtake", f"{wide['exact_hills']}, {wide['may_overtake']}")
    again = run(study, folder / "cache")
    tell("coarse first, once more", again)
    line("  the same list", "yes" if again.printed["list"] == first.printed["list"] else "NO")
    # What is stopped dies in its feeds or among its hills; as of old it told how far it was.
    old = run(study, folder / "cache", "--whole", within_s=whole_s)
    line(f"every hill at once, after {old.time_s:.0f} s", "not ended" if not old.printed else "ended")
    for words in old.said.splitlines()[-2:]:
        print(f"    {words}")


def main(side_km: float, whole_s: float) -> None:
    """Print all figures."""
    with tempfile.TemporaryDirectory() as folder:
        report(Path(folder), side_km, whole_s)


if __name__ == "__main__":
    given = dict(enumerate(sys.argv[1:]))
    main(float(given.get(0, SIDE_KM)), float(given.get(1, WHOLE_S)))
