"""The losses from one station to cells of a study grid, each over its own straight profile.

Of the median of time, and of the time that a feed must stand: beyond the median by the construction of
:mod:`combe.prediction.time`, line of sight and diffraction mirrored about the median. So what is found for a
cell agrees with the feed of a relay that stands there.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from combe.compiling import kernel
from combe.decibels import FloatArray
from combe.prediction.area import Area
from combe.prediction.conditions import MEDIAN_PERCENT, Conditions
from combe.prediction.path import elevation_deg
from combe.prediction.rays import farthest_cells
from combe.prediction.straight import (
    Aerials,
    IntArray,
    Places,
    Way,
    apart_km,
    fill_ground,
    line_of,
    place_of_station,
    places_of,
    steps_between,
)
from combe.prediction.straight_pricing import (
    P1812,
    Setting,
    make_setting,
    service_air,
    service_loss_db,
    summarise_profile,
)
from combe.prediction.straight_samples import complete_profile, new_scratch
from combe.prediction.time import mirrored_percent
from combe.propagation.p1812 import begin_loss
from combe.stations import Station

_BLOCK_CELLS: Final = 2048
_LONGER: Final = 1.5
"""How much longer than on the grid a way may be on the ground; room for profiles, with some to spare."""


class StraightLosses(NamedTuple):
    """Losses from a station to cells, each of shape (services, n) [dB]; NaN without prediction.

    ``median_db`` basic loss of the median of time; ``fade_db`` how much more is not exceeded for the time
    asked; ``rare_db`` basic loss for the mirrored, small percentage of time. The last two as the model has
    them. ``distance_km`` ground distance to each cell, shape (n,).
    """

    median_db: FloatArray
    fade_db: FloatArray
    rare_db: FloatArray
    distance_km: FloatArray


class _Times(NamedTuple):
    """The settings of both times, and what no way from the station is longer than [km]."""

    median: Setting
    rare: Setting
    reach_km: float


def straight_losses(
    area: Area,
    station: Station,
    cells: IntArray,
    conditions: Conditions,
    *,
    rx_height_m: float,
    time_percent: float,
    threads: int | None = None,
) -> StraightLosses:
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
    times = _Times(median, rare, _LONGER * far_cells * area.grid.cell_size_m / 1000.0)
    count = there.row.size
    empty = [np.full((len(frequencies), count), np.nan) for _ in range(3)]
    losses = StraightLosses(empty[0], empty[1], empty[2], np.full(count, np.nan))
    aerials = Aerials(float(station.aerial_height_m), float(rx_height_m))
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        jobs = [
            pool.submit(
                _price_cells,
                times,
                here,
                there,
                (first, min(first + _BLOCK_CELLS, count)),
                aerials,
                losses,
            )
            for first in range(0, count, _BLOCK_CELLS)
        ]
        for job in jobs:
            job.result()
    return losses


@kernel
def _price_cells(
    times: _Times,
    station: Places,
    cells: Places,
    block: tuple[int, int],
    aerials: Aerials,
    losses: StraightLosses,
) -> None:
    """Fill the losses of the cells of a block, first to before last."""
    median, rare = times.median, times.rare
    room = new_scratch(times.reach_km, median.step_km)
    at = int(np.int64(0))  # a literal would compile all that takes it once more
    for j in range(block[0], block[1]):
        d = apart_km(station, at, cells, j, median.cell_km)
        losses.distance_km[j] = d
        way = Way(station, at, cells, j, steps_between(d, median.step_km))
        fill_ground(line_of(way, median.surface.raster), room.ground)
        if not complete_profile(median.surface, way, d, room):
            continue
        # By the rare setting: the quick summary of the median has nothing for aβ.
        path = summarise_profile(rare, way.steps, aerials, room)
        for k in range(losses.median_db.shape[0]):
            median_db = service_loss_db(median, k, path)
            losses.median_db[k, j], losses.rare_db[k, j], losses.fade_db[k, j] = median_db, median_db, 0.0
            if median.model == P1812:
                # Of a fade only line of sight and diffraction tell, Lb0p + Ldp, and not ducting.
                usual = begin_loss(path, service_air(median, k)).basic_db
                seldom = begin_loss(path, service_air(rare, k)).basic_db
                losses.fade_db[k, j] = max(2.0 * usual - seldom - median_db, 0.0)
                losses.rare_db[k, j] = service_loss_db(rare, k, path)


def directions(
    area: Area,
    station: Station,
    cells: IntArray,
    rx_height_m: float,
    distance_km: FloatArray,
    conditions: Conditions,
) -> tuple[FloatArray, FloatArray]:
    """Return (true bearing, elevation) [degrees] from a station to aerials over grid cells, each (n,)."""
    here, there = place_of_station(area, station), places_of(area, cells)
    # Bearings of the grid, turned by its north at the station: over tens of kilometres it turns little more
    # on the way.
    grid_deg = np.degrees(np.arctan2(there.column - here.column[0], here.row[0] - there.row))
    bearing = (grid_deg + here.north_deg[0]) % 360.0
    tx_m, rx_m = here.ground_m[0] + station.aerial_height_m, there.ground_m + rx_height_m
    return bearing, elevation_deg(distance_km, tx_m, rx_m, conditions.effective_radius_km)
