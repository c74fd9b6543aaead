"""The losses from one parent to every cell of a study grid, of the median and of the time a feed must stand.

The time beyond the median is that of :mod:`combe.prediction.time`: line of sight and diffraction mirrored
about the median. Every cell is priced over its own straight profile, so that what is kept here agrees with
the feed of a relay that stands there.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from combe.compiling import kernel
from combe.planning.siting.pricing import complete_profile, service_loss_db, summarise_profile
from combe.planning.siting.setting import P1812, Setting, make_setting, new_scratch, service_air
from combe.planning.siting.straight import (
    FloatArray,
    IntArray,
    Places,
    apart_km,
    fill_ground,
    line_between,
    place_at,
    places_of,
    steps_between,
)
from combe.prediction.area import Area
from combe.prediction.conditions import MEDIAN_PERCENT, Conditions
from combe.prediction.rays import farthest_cells, origin_on_ground
from combe.prediction.time import mirrored_percent
from combe.propagation.p1812.quick_loss import begin_loss
from combe.stations.transmitter import Station
from combe.terrain.sampling import height_at

_BLOCK_CELLS: Final = 2048
_LONGER: Final = 1.5
"""How much longer than on the grid a way may be on the ground; room for profiles, with some to spare."""


@dataclass(frozen=True)
class FeedLosses:
    """Losses from a station to cells, each of shape (services, n) [dB]; NaN without prediction.

    ``median_db`` basic loss of the median of time; ``fade_db`` how much more is not exceeded for the time
    asked; ``rare_db`` basic loss for the mirrored, small percentage of time. The last two as the model has
    them.
    """

    median_db: FloatArray
    fade_db: FloatArray
    rare_db: FloatArray
    distance_km: FloatArray
    """Ground distance to each cell, shape (n,)."""


@kernel
def _price_cells(
    median: Setting,
    rare: Setting,
    station: Places,
    cells: Places,
    first: int,
    last: int,
    tx_above_m: float,
    rx_above_m: float,
    reach_km: float,
    median_db: FloatArray,
    fade_db: FloatArray,
    rare_db: FloatArray,
    distance_km: FloatArray,
) -> None:
    """Fill the losses of cells first to last."""
    room = new_scratch(reach_km, median.step_km)
    at = int(np.int64(0))  # a literal would compile all that takes it once more
    for j in range(first, last):
        d = apart_km(station, at, cells, j, median.cell_km)
        distance_km[j] = d
        steps = steps_between(d, median.step_km)
        fill_ground(line_between(median.raster, station, at, cells, j, steps), room.ground)
        if not complete_profile(median, station, at, cells, j, steps, d, room):
            continue
        path = summarise_profile(rare, steps, tx_above_m, rx_above_m, room)  # with what stands for aβ
        for k in range(median_db.shape[0]):
            median_db[k, j] = service_loss_db(median, k, path)
            rare_db[k, j], fade_db[k, j] = median_db[k, j], 0.0
            if median.model == P1812:
                usual = begin_loss(path, service_air(median, k)).basic_db
                seldom = begin_loss(path, service_air(rare, k)).basic_db
                fade_db[k, j] = max(2.0 * usual - seldom - median_db[k, j], 0.0)
                rare_db[k, j] = service_loss_db(rare, k, path)


def place_of_station(area: Area, station: Station) -> Places:
    """Return the place of a station, on the grid or beyond it where the ground was read.

    Raises
    ------
    TerrainGapError, RangeError
        For a station on a void, or beyond the ground that was read.
    """
    where = station.longitude_deg, station.latitude_deg
    what = f"station {station.name}"
    ground_m = height_at(area.terrain, *where, what)
    row, column = origin_on_ground(area, *where, what)
    return place_at(area, row, column, ground_m)


def feed_losses(
    area: Area,
    station: Station,
    cells: IntArray,
    conditions: Conditions,
    *,
    rx_height_m: float,
    time_percent: float,
    threads: int | None = None,
) -> FeedLosses:
    """Return the losses from a station to grid cells, given by flat index (n,).

    Parameters
    ----------
    conditions
        Model and air; their own time percentage does not count.
    rx_height_m
        Receive aerial above ground [m].
    time_percent
        Time for which the margin has to stand [%], 50 to 99.

    Raises
    ------
    RangeError, TerrainGapError
        For a percentage out of range, or a station beyond the ground that was read, or on a void.
    """
    frequencies = [service.frequency_mhz for service in station.services]
    with_time = conditions.model == "p1812"
    median, rare = (
        make_setting(
            area,
            replace(conditions, time_percent=percent if with_time else MEDIAN_PERCENT),
            frequencies,
            vertical=station.polarization == "vertical",
            latitude_deg=station.latitude_deg,
        )
        for percent in (MEDIAN_PERCENT, mirrored_percent(time_percent))
    )
    here, there = place_of_station(area, station), places_of(area, cells)
    far_cells = farthest_cells(area.grid, float(here.row[0]), float(here.column[0]))
    reach_km = _LONGER * far_cells * area.grid.cell_size_m / 1000.0
    losses = [np.full((len(frequencies), there.row.size), np.nan) for _ in range(3)]
    distance_km = np.full(there.row.size, np.nan)
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        jobs = [
            pool.submit(
                _price_cells,
                median,
                rare,
                here,
                there,
                first,
                min(first + _BLOCK_CELLS, there.row.size),
                float(station.aerial_height_m),
                float(rx_height_m),
                reach_km,
                losses[0],
                losses[1],
                losses[2],
                distance_km,
            )
            for first in range(0, there.row.size, _BLOCK_CELLS)
        ]
        for job in jobs:
            job.result()
    return FeedLosses(losses[0], losses[1], losses[2], distance_km)
