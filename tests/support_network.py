"""A small network on the sample terrain, a plain judge for it, and a run of it that may be killed."""

from __future__ import annotations

import json
import time
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np

from combe.planning.grid_tiles import LIST, Tile, tile_fields
from combe.planning.network import NetworkTask, network_run
from combe.prediction.conditions import Conditions
from combe.reception.emission import Emission
from combe.reception.protection_ratios import Channel
from combe.terrain.grid import StudyGrid, to_grid_m, to_lonlat_deg
from support_prediction import sample_area, station

SMALL_CELL_M = 500.0
TILE_BYTES = 16_000
FREQUENCIES_MHZ = (474.0, 554.0, 634.0)


def network_stations(grid: StudyGrid, count: int, seed: int = 5):
    """Return invented stations at random places well inside a grid, three services each."""
    random = np.random.default_rng(seed)
    across = grid.west_m + grid.columns * grid.cell_size_m * random.uniform(0.2, 0.8, count)
    down = grid.north_m - grid.rows * grid.cell_size_m * random.uniform(0.2, 0.8, count)
    lon, lat = to_lonlat_deg(grid, across, down)
    return tuple(
        station(
            (float(lon[k]), float(lat[k])),
            name=f"Station {k}",
            erp_w=float(10.0 ** random.uniform(0.0, 3.0)),
            frequencies_mhz=tuple(f + 8.0 * (k % 3) for f in FREQUENCIES_MHZ),
        )
        for k in range(count)
    )


def plain_judge(tile: Tile) -> dict[str, np.ndarray]:
    """Return for each service the best station, its field, and its field over the power sum of the others."""
    names = list(dict.fromkeys(each.service.name for each in tile.radiated))
    found = [_judged_service(tile, name) for name in names]
    return {key: np.stack([each[key] for each in found]) for key in found[0]}


def _judged_service(tile: Tile, name: str) -> dict[str, np.ndarray]:
    wanted = [k for k, each in enumerate(tile.radiated) if each.service.name == name]
    fields = tile_fields(tile, wanted=wanted)
    others = tile_fields(tile, condition=len(tile.layers) - 1, wanted=wanted)
    seen = np.where(np.isnan(fields), np.float32(-np.inf), fields)
    best = seen.argmax(axis=0)
    at_best = np.arange(len(wanted))[:, None, None] == best
    power = np.where(at_best | np.isnan(others), 0.0, 10.0 ** (others.astype(np.float64) / 10.0))
    strongest = np.take_along_axis(fields, best[None], axis=0)[0]
    disturbing = 10.0 * np.log10(power.sum(axis=0) + 1e-30)
    return {
        "best": np.where(np.isnan(strongest), -1, best).astype(np.int16),
        "field_dbuv_m": strongest,
        "over_others_db": (strongest - disturbing).astype(np.float32),
    }


def emissions_of(stations, grid: StudyGrid) -> tuple[Emission, ...]:
    """Return what stations radiate, for a digital standard with invented figures."""
    return tuple(
        Emission(
            station.name,
            each.name,
            Channel("DVB", each.frequency_mhz, 8.0),
            station.polarization,
            *(float(place_m) for place_m in to_grid_m(grid, station.longitude_deg, station.latitude_deg)),
            minimum_dbuv_m=48.0,
            required_cn_db=20.0,
            sigma_db=5.5,
        )
        for station in stations
        for each in station.services
    )


def small_task(count: int = 6, judge=plain_judge, **changes) -> NetworkTask:
    """Return a network of some stations on a coarse grid, for the median and for 1 % of time."""
    area = sample_area(SMALL_CELL_M)
    values = {
        "area": area,
        "stations": network_stations(area.grid, count),
        "judge": judge,
        "judge_key": "plain",
        "conditions": (Conditions(), Conditions(effective_radius_km=12000.0)),
        "tile_bytes": TILE_BYTES,
    }
    return NetworkTask(**(values | changes))


def contents(folder: Path) -> dict[str, object]:
    """Return the bytes of every file under a folder, and of the list of results its hashes.

    The list also has the hash of the task, which changes with the sources.
    """
    found: dict[str, object] = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    if LIST in found:
        found[LIST] = json.loads((folder / LIST).read_text())["sha256"]
    return found


def slow_run(folder: Path, cache: Path, shares: Connection) -> None:
    """Run the small network slowly, sending each time what share is done."""

    def told(done: int, total: int, _: str) -> None:
        shares.send(done / total)
        time.sleep(0.005)

    network_run(small_task(), folder, cache_folder=cache, threads=2, progress=told)
