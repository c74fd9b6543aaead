"""A hundred stations on 100 x 100 km at 100 m, three services: time, greatest memory, size of the cache.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/network.py [STATIONS]``.
Ground and stations are invented. Each run is a process of its own, so that its memory is its own; after the
first, one is killed half-way through the judging, and another takes up its work.
"""

from __future__ import annotations

import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line

from combe.planning.network_judge import standard_judge
from combe.planning.network_run import NetworkTask, network_run
from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions
from combe.reception.judge_cells import make_judges
from combe.terrain.grid import StudyGrid, utm_crs
from combe.terrain.tiles import open_terrain
from support_network import contents, emissions_of, network_stations

SIDE_KM = 100
CELL_M = 100.0
WEST_M, NORTH_M = 450_000.0, 5_250_000.0
ZONE = (9.5, 47.0)
AIR = {
    "P.1812, 50 and 1 % of time": tuple(Conditions(model="p1812", time_percent=p) for p in (50.0, 1.0)),
    "delta-Bullington": (Conditions(),),
}


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


def write_ground(path: Path) -> None:
    """Write the hills as a raster of 100 m cells, a cell wider than the grid on every side."""
    size = round(1000 * SIDE_KM / CELL_M) + 2
    where = from_origin(WEST_M - CELL_M, NORTH_M + CELL_M, CELL_M, CELL_M)
    shape = {"width": size, "height": size, "count": 1, "dtype": "float32", "crs": utm_crs(*ZONE).to_wkt()}
    with rasterio.open(path, "w", driver="GTiff", transform=where, **shape) as raster:
        raster.write(hills(size).astype(np.float32), 1)


def area_on(path: Path) -> Area:
    """Return the grid over the hills."""
    size = round(1000 * SIDE_KM / CELL_M)
    terrain = open_terrain([path], vertical_datum="invented")
    return survey_area(terrain, StudyGrid(utm_crs(*ZONE), WEST_M, NORTH_M, CELL_M, size, size))


def run(folder: str, results: str, stations: str, air: str) -> None:
    """Run the network in this process, telling what share of the work is done."""
    area = area_on(Path(folder) / "ground.tif")
    on_grid = network_stations(area.grid, int(stations))
    judge, key = standard_judge(make_judges(emissions_of(on_grid, area.grid)), {"after": None})
    task = NetworkTask(area, on_grid, judge, key, AIR[air])

    def told(done: int, _: int, what: str) -> None:
        if done % 100 == 0:
            print(time.perf_counter() - started, what.startswith("judging"), flush=True)

    started = time.perf_counter()
    result = network_run(task, Path(results), cache_folder=Path(folder) / "cache", progress=told)
    took_s, used = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_SELF)
    print("end", took_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0)
    print(result.sweeps_from_cache, result.tiles_from_before, result.sweeps, result.tiles, flush=True)


def child(folder: Path, results: Path, stations: int, air: str) -> subprocess.Popen[str]:
    """Start :func:`run` in a process of its own."""
    words = [sys.executable, __file__, "run", str(folder), str(results), str(stations), air]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True)


def finish(process: subprocess.Popen[str]) -> tuple[float, list[float]]:
    """Wait for a run; return when its last sweep ended [s], and what it said at its end."""
    out = process.communicate()[0].splitlines()
    if process.returncode:
        raise SystemExit("the run failed")
    sweeping = [float(each.split()[0]) for each in out[:-2] if each.endswith("False")]
    return sweeping[-1], [float(word) for word in f"{out[-2]} {out[-1]}".split()[1:]]


def kill_midway(process: subprocess.Popen[str], tiles: int) -> None:
    """Kill a run as soon as half of its tiles are judged."""
    judged = 0
    for told in process.stdout or ():
        judged += told.rstrip().endswith("True")
        if judged >= tiles // 2:
            break
    process.send_signal(signal.SIGKILL)
    process.wait()


def report(folder: Path, stations: int, air: str) -> None:
    """Run the network whole; then killed and taken up; then found finished."""
    print(f"{stations} stations, three services, {SIDE_KM} x {SIDE_KM} km at {CELL_M:g} m, {air}")
    swept_s, (time_s, cpu_s, memory, _, _, sweeps, tiles) = finish(
        child(folder, folder / "whole", stations, air)
    )
    line("time of the whole run, s", f"{time_s:.1f}")
    line("  of all processors together, s", f"{cpu_s:.1f}")
    line(f"  of it {sweeps:.0f} sweeps of a million cells, s", f"{swept_s:.1f}")
    line(f"  of it judging {tiles:.0f} tiles and putting them together, s", f"{time_s - swept_s:.1f}")
    line("greatest memory, MiB", f"{memory:.0f}", "under 2048")
    size = sum(path.stat().st_size for path in (folder / "cache").iterdir())
    line("fields in the cache, MiB", f"{size / 2**20:.0f}")
    kill_midway(child(folder, folder / "killed", stations, air), int(tiles))
    _, (time_s, _, memory, cached, before, _, _) = finish(child(folder, folder / "killed", stations, air))
    line("taken up after a kill half-way through the judging, s", f"{time_s:.1f}")
    line("  sweeps from the cache, tiles from before", f"{cached:.0f}, {before:.0f}")
    line("  greatest memory, MiB", f"{memory:.0f}", "under 2048")
    same = contents(folder / "whole") == contents(folder / "killed")
    line("  the same bytes as the whole run", "yes" if same else "NO")


def main(stations: int) -> None:
    """Print all figures."""
    for air in AIR:
        with tempfile.TemporaryDirectory() as folder:
            write_ground(Path(folder) / "ground.tif")
            report(Path(folder), stations, air)


if __name__ == "__main__":
    if sys.argv[1:2] == ["run"]:
        run(*sys.argv[2:])
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
