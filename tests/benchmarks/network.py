"""The command itself on a hundred stations, 100 x 100 km at 100 m, three services: time, memory, resuming.

Run from the checkout, with the test extra: ``python tests/benchmarks/network.py [STATIONS] [MODEL]``. Ground,
people and stations are invented. Each run of ``combe cover`` is a process of its own, so that its
memory is its own: one whole; one killed half-way through the judging and one that takes up its work; and one
that finds all done.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import signal
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

SIDE_KM = 100
CELL_M = 100.0
WEST_M, NORTH_M = 450_000.0, 5_250_000.0
ZONE = (9.5, 47.0)
CRS_WKT = utm_crs(*ZONE).to_wkt()
SERVICES = ("Mux A", "Mux B", "Mux C")
PARENT_EVERY = 5
COLUMNS = (
    "name", "role", "longitude_deg", "latitude_deg", "aerial_height_m", "polarization", "service", "channel",
    "erp_w", "feed_from", "feed_aerial_height_m", "feed_aerial_gain_dbi", "feed_feeder_loss_db",
    "feed_noise_figure_db", "feed_required_margin_db",
)  # fmt: skip

STUDY = """\
[study]
title = "Invented hills"
invented = true
model = "{model}"

[terrain]
tiles = ["ground.tif"]

[grid]
cell_size_m = 100
crs = "{crs}"
area_deg = [{area}]

[people]
raster = "people.tif"

[network]
stations = "stations.csv"
"""


class Run(NamedTuple):
    """One run of the command: time [s], that of its processors [s], greatest memory [MiB], its JSON."""

    time_s: float
    cpu_s: float
    memory_mib: float
    printed: dict


def hills(size: int) -> np.ndarray:
    """Return invented hills [m], shape (size, size): waves of falling length with random phases."""
    random = np.random.default_rng(11)
    along = np.arange(size) / size
    heights = np.full((size, size), 500.0)
    for octave in range(1, 9):
        for _ in range(4):
            east, north = random.normal(0.0, 2.0**octave, 2)
            phase = random.uniform(0.0, 2.0 * np.pi)
            wave = 2.0 * np.pi * (east * along[None, :] + north * along[:, None]) + phase
            heights += 150.0 / 2.0 ** (0.8 * octave) * np.sin(wave)
    return heights


def write_raster(path: Path, values: np.ndarray, cell_m: float, margin_m: float) -> None:
    """Write a raster over the grid and a margin around it."""
    where = from_origin(WEST_M - margin_m, NORTH_M + margin_m, cell_m, cell_m)
    rows, columns = values.shape
    shape = {"width": columns, "height": rows, "count": 1, "dtype": "float32", "crs": CRS_WKT}
    with rasterio.open(path, "w", driver="GTiff", transform=where, **shape) as raster:
        raster.write(values.astype(np.float32), 1)


def station_rows(count: int, side_km: int = SIDE_KM) -> list[tuple]:
    """Return the table of invented stations: every fifth a parent, the others relays of the nearest one."""
    random = np.random.default_rng(5)
    size = 1000.0 * side_km
    grid = StudyGrid(utm_crs(*ZONE), WEST_M, NORTH_M, CELL_M, round(size / CELL_M), round(size / CELL_M))
    x, y = random.uniform(0.05, 0.95, (2, count)) * size
    lon, lat = to_lonlat_deg(grid, WEST_M + x, NORTH_M - y)
    parents = list(range(0, count, PARENT_EVERY))
    rows = []
    for k in range(count):
        near = min(parents, key=lambda p, k=k: np.hypot(x[p] - x[k], y[p] - y[k]))
        relay = k not in parents
        feed = (f"Station {near}", 12.0, 14.0, 2.0, 6.0, 0.0) if relay else ("",) * 6
        channels = sorted(random.choice(np.arange(21, 49), len(SERVICES), replace=False).tolist())
        erp_w = round(float(10.0 ** (random.uniform(0.0, 2.0) if relay else random.uniform(2.5, 4.0))), 1)
        about = (
            f"Station {k}", "relay" if relay else "parent", round(float(lon[k]), 6), round(float(lat[k]), 6),
            20.0 if relay else 100.0, ("horizontal", "vertical")[k % 2],
        )  # fmt: skip
        rows += [
            (*about, name, channel, erp_w, *feed) for name, channel in zip(SERVICES, channels, strict=True)
        ]
    return rows


def write_study(folder: Path, stations: int, model: str, side_km: int = SIDE_KM) -> Path:
    """Write the invented study, and return its path."""
    size, grid_m = round(1000 * side_km / CELL_M), 1000.0 * side_km
    write_raster(folder / "ground.tif", hills(size + 40), CELL_M, 20 * CELL_M)
    heads = np.random.default_rng(3).gamma(0.2, 50.0, (size // 2, size // 2))
    write_raster(folder / "people.tif", heads, 2.0 * CELL_M, 0.0)
    with (folder / "stations.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([COLUMNS, *station_rows(stations, side_km)])
    grid = StudyGrid(utm_crs(*ZONE), WEST_M, NORTH_M, CELL_M, size, size)
    (west, east), (north, south) = to_lonlat_deg(
        grid, np.array([WEST_M, WEST_M + grid_m]), np.array([NORTH_M, NORTH_M - grid_m])
    )
    path = folder / "study.toml"
    area = f"{west:.4f}, {south:.4f}, {east:.4f}, {north:.4f}"
    code = utm_crs(*ZONE).to_epsg()
    path.write_text(STUDY.format(model=model, crs=f"EPSG:{code}", area=area), encoding="utf-8")
    return path


def start(study: Path, results: Path, cache: Path) -> subprocess.Popen[bytes]:
    """Start the command; what it prints goes into a file beside its results."""
    words = [sys.executable, "-m", "combe", "cover", str(study), "--out", str(results)]
    with results.with_suffix(".json").open("wb") as printed:
        return subprocess.Popen([*words, "--cache", str(cache), "--json"], stdout=printed)


def finish(process: subprocess.Popen[bytes], results: Path, started: float) -> Run:
    """Wait for the command."""
    _, status, used = os.wait4(process.pid, 0)
    if status:
        raise SystemExit("the command failed")
    printed = json.loads(results.with_suffix(".json").read_text(encoding="utf-8"))
    took_s = time.perf_counter() - started
    return Run(took_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0, printed)


def whole(study: Path, results: Path, cache: Path) -> Run:
    """Run the command to its end."""
    started = time.perf_counter()
    return finish(start(study, results, cache), results, started)


def kill_midway(process: subprocess.Popen[bytes], cache: Path, tiles: int) -> None:
    """Kill the command as soon as half of its tiles are judged."""
    while process.poll() is None and len(list(cache.glob("runs/*/unfinished/*.tile"))) < tiles // 2:
        time.sleep(0.05)
    process.send_signal(signal.SIGKILL)
    process.wait()


def told(printed: object) -> object:
    """Return what was printed without what a run taken up says otherwise: times, paths, what was kept."""
    if isinstance(printed, dict):
        left_out = ("sweep_s", "forecast", "from_cache", "taken_up", "map", "raster")
        return {key: told(value) for key, value in printed.items() if key not in left_out}
    return [told(value) for value in printed] if isinstance(printed, list) else printed


def contents(folder: Path) -> dict[str, str]:
    """Return the hash of every file: a child starts with its parent's memory, so this one stays small."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def size_mib(*folders: Path) -> float:
    """Return what files take."""
    return sum(p.stat().st_size for f in folders for p in f.rglob("*") if p.is_file()) / 2**20


def report(folder: Path, stations: int, model: str) -> None:
    """Run the command whole; then killed and taken up; then on what is finished."""
    relays = stations - len(range(0, stations, PARENT_EVERY))
    print(f"combe cover, {stations} stations, {relays} of them relays, {len(SERVICES)} services, {model},")
    print(f"{SIDE_KM} x {SIDE_KM} km at {CELL_M:g} m")
    study, cache, other = write_study(folder, stations, model), folder / "cache", folder / "other"
    first = whole(study, folder / "first", cache)
    taken = first.printed["taken_up"]
    line("time of the whole command, s", f"{first.time_s:.0f}")
    line("  of all processors together, s", f"{first.cpu_s:.0f}")
    line("  sweeps of a million cells, judged tiles", f"{taken['sweeps']}, {taken['tiles']}")
    line("greatest memory, MiB", f"{first.memory_mib:.0f}", "under 2048")
    line("pairs of a relay and a service it may harm", f"{len(first.printed['harm'])}")
    line("fields in the cache, judged maps, results, MiB", " ".join(
        f"{each:.0f}" for each in (size_mib(cache) - size_mib(cache / "runs"), size_mib(cache / "runs"),
                                   size_mib(folder / "first"))))  # fmt: skip
    kill_midway(start(study, folder / "killed", other), other, taken["tiles"])
    again = whole(study, folder / "killed", other)
    taken = again.printed["taken_up"]
    line("taken up after a kill half-way through the judging, s", f"{again.time_s:.0f}")
    line("  sweeps and tiles from before", f"{taken['sweeps_from_before']}, {taken['tiles_from_before']}")
    line("  greatest memory, MiB", f"{again.memory_mib:.0f}", "under 2048")
    same = contents(folder / "first") == contents(folder / "killed")
    line("  the same files and figures as the whole run", "yes" if same and told(first.printed) == told(
        again.printed) else "NO")  # fmt: skip
    second = whole(study, folder / "first", cache)
    line("once more, all found done, s", f"{second.time_s:.0f}")
    line("  greatest memory, MiB", f"{second.memory_mib:.0f}", "under 2048")


def main(stations: int, model: str) -> None:
    """Print all figures."""
    with tempfile.TemporaryDirectory() as folder:
        report(Path(folder), stations, model)


if __name__ == "__main__":
    given = dict(enumerate(sys.argv[1:]))
    main(int(given.get(0, 100)), given.get(1, "p526"))
