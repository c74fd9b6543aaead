"""The losses from one station to cells of a study grid, each over its own straight profile.

The median is that of the study's model, whatever it is. How far the field falls under it for the share of
the year that a feed has to stand is what the loss of ITU-R P.2001-4 grows by, L(p) − L(50 %), over the bare
ground and the zones of the same profile: what :class:`combe.prediction.over_time.PathOverTime` gives for one
path, here compiled. So what is found for a cell agrees with the feed of a relay that stands there.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from combe.compiling import inner_kernel, kernel
from combe.decibels import FloatArray
from combe.errors import require_range
from combe.prediction.area import Area
from combe.prediction.conditions import MEDIAN_PERCENT, Conditions
from combe.prediction.over_time import SHARES_PERCENT
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
    Setting,
    make_setting,
    service_loss_db,
    summarise_profile,
)
from combe.prediction.straight_samples import Scratch, Surface, complete_profile, new_scratch
from combe.propagation.p2001 import Climate, LossesAsked, fill_losses_db
from combe.stations import Station

_BLOCK_CELLS: Final = 2048
_RARE_PERCENT: Final = 1.0
"""Time for which interfering fields from afar are told [%], whatever a feed is asked for."""
_LONGER: Final = 1.5
"""How much longer than on the grid a way may be on the ground; room for profiles, with some to spare."""


class StraightLosses(NamedTuple):
    """Losses from a station to cells, each of shape (services, n) [dB]; NaN without prediction.

    ``median_db`` basic loss of the median of time; ``fade_db`` how much more is not exceeded for the time
    asked, by P.2001; ``rare_db`` basic loss for 1 % of time, as the model has it: the median where it has
    none. NaN, too, what was not asked. ``distance_km`` ground distance to each cell, shape (n,).
    """

    median_db: FloatArray
    fade_db: FloatArray
    rare_db: FloatArray
    distance_km: FloatArray


class _Asked(NamedTuple):
    """The settings of both times, what is asked of P.2001, which losses, and a bound of ways.

    ``fades`` and ``rares`` tell whether these losses are asked; no way is longer than ``reach_km``.
    """

    median: Setting
    rare: Setting
    year: LossesAsked
    fades: bool
    rares: bool
    reach_km: float


def straight_losses(
    area: Area,
    station: Station,
    cells: IntArray,
    conditions: Conditions,
    *,
    rx_height_m: float,
    time_percent: float,
    climate: Climate,
    fades: bool = True,
    rares: bool = True,
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
        Share of an average year for which the margin has to stand [%], 50 to 99.999.
    climate
        The air of all paths, for the fades.
    fades, rares
        Whether fades, and losses of 1 % of time, are asked.

    Raises
    ------
    RangeError, TerrainGapError
        For a percentage out of range, or a station beyond the ground that was read, or on a void.
    """
    require_range("time_percent of the feed", time_percent, *SHARES_PERCENT)
    frequencies = [service.frequency_mhz for service in station.services]
    vertical = station.polarization == "vertical"
    with_time = conditions.model == "p1812"
    median, rare = (
        make_setting(
            area,
            replace(conditions, time_percent=percent if with_time else MEDIAN_PERCENT),
            frequencies,
            vertical=vertical,
            latitude_deg=station.latitude_deg,
        )
        for percent in (MEDIAN_PERCENT, _RARE_PERCENT)
    )
    year = LossesAsked(climate.air, vertical, np.array(frequencies, dtype=np.float64), float(time_percent))
    here, there = place_of_station(area, station), places_of(area, cells)
    far_cells = farthest_cells(area.grid, float(here.row[0]), float(here.column[0]))
    reach_km = _LONGER * far_cells * area.grid.cell_size_m / 1000.0
    asked = _Asked(median, rare, year, fades, rares, reach_km)
    count = there.row.size
    empty = [np.full((len(frequencies), count), np.nan) for _ in range(3)]
    losses = StraightLosses(empty[0], empty[1], empty[2], np.full(count, np.nan))
    aerials = Aerials(float(station.aerial_height_m), float(rx_height_m))
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        jobs = [
            pool.submit(
                _price_cells,
                asked,
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
    asked: _Asked,
    station: Places,
    cells: Places,
    block: tuple[int, int],
    aerials: Aerials,
    losses: StraightLosses,
) -> None:
    """Fill the losses of the cells of a block, first to before last."""
    median, rare = asked.median, asked.rare
    room = new_scratch(asked.reach_km, median.step_km)
    over_year = np.empty((losses.median_db.shape[0], 2))
    at = int(np.int64(0))  # a literal would compile all that takes it once more
    for j in range(block[0], block[1]):
        d = apart_km(station, at, cells, j, median.cell_km)
        losses.distance_km[j] = d
        way = Way(station, at, cells, j, steps_between(d, median.step_km))
        fill_ground(line_of(way, median.surface.raster), room.ground)
        if not complete_profile(median.surface, way, d, room):
            continue
        # The quick summary of the median has nothing for aβ, which rare losses need.
        path = summarise_profile(rare if asked.rares else median, way.steps, aerials, room)
        for k in range(losses.median_db.shape[0]):
            losses.median_db[k, j] = service_loss_db(median, k, path)
            if asked.rares:
                losses.rare_db[k, j] = service_loss_db(rare, k, path)
        if asked.fades:
            middle_deg = 0.5 * (station.latitude_deg[at] + cells.latitude_deg[j])
            distance, ground, zone = _bare(median.surface, way.steps, room)
            p_m, q_m = aerials.p_above_m, aerials.q_above_m
            fill_losses_db(asked.year, distance, ground, zone, p_m, q_m, middle_deg, over_year)
            for k in range(losses.median_db.shape[0]):
                losses.fade_db[k, j] = max(over_year[k, 1] - over_year[k, 0], 0.0)


@inner_kernel
def _bare(surface: Surface, steps: int, room: Scratch) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return distance, bare ground and zones of a completed profile; no zones where all is inland."""
    n = steps + 1
    if surface.cover.size == 0:
        zones = n if surface.zones.size > 0 else 0
        return room.distance[:n], room.ground[:n], room.zone[:zones]
    r, n = room.covered, room.covered.size[0]
    zones = n if surface.zones.size > 0 else 0
    return r.distance[:n], r.ground[:n], r.zone[:zones]


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
