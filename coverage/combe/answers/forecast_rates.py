"""Forecasts of a project: its work counted, its rates measured by the study's own model on a small part.

A measurement takes about half a second, once kernels are there: a small window of cells around a station,
some feeds, some pairs of hill and place. The same samples tell how many cells hear a parent, and how many
places lack a service.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.answers.cover_ground import CoverGround, cover_ground
from combe.answers.emissions import interfering_conditions, interfering_stations, partners_among
from combe.answers.forecast import (
    MEASURED_OVER_S,
    USUAL_RATES,
    CoarseWork,
    Forecast,
    Rates,
    SearchCounts,
    cover_work,
    require_memory,
    search_work,
    too_much,
)
from combe.answers.ground_check import check_stations
from combe.answers.site import EVERY_HILL, feeds_at, siting_problem, stations_before
from combe.answers.site_setup import feed_question, parents_of, relay_template, site_ground, siting_of
from combe.decibels import FloatArray
from combe.errors import CombeError
from combe.planning import services_of
from combe.planning.siting import (
    ENOUGH_PAIRS,
    LEAST_EXACT,
    STAGES,
    Problem,
    Unserved,
    apply_rules,
    block_tops,
    blocks_of,
    keep_fed,
    nobody,
    people_by_cell,
    score_hills,
)
from combe.prediction import Area, IntArray, find_targets, one_raster, predict_coverage, predict_targets
from combe.project import (
    Project,
    Siting,
    minimum_field_dbuv_m,
    project_area,
    project_grid,
    service_conditions,
)
from combe.stations import Station
from combe.terrain import StudyGrid, cells_to_lonlat_deg, to_cells

_WINDOW: Final = 128
"""Cells a side of the window that is predicted to see what a cell costs."""

_SAMPLE: Final = 200
"""So many cells are asked for their feed, and so many inhabited ones for their services."""

_PRICED: Final = (32, 256)
"""Hills and places that are priced."""

_PRICED_BLOCK: Final = 8


@dataclass(frozen=True)
class SiteForecast:
    """The forecast of a search for sites, with the ground that was read for it."""

    forecast: Forecast
    ground: CoverGround


def cover_forecast(project: Project, command: str = "cover") -> Forecast:
    """Return what predicting the stations of a project takes; no ground is read for it but a small window.

    Raises
    ------
    RangeError
        An impossible grid.
    """
    grid, sweeps = project_grid(project), _sweeps(project)
    cells, stations = grid.rows * grid.columns, len(project.stations)
    # The desk holds the fields of all services, for the median and for the little time of interferers.
    held = 2 * sum(len(each.services) for each in project.stations) if command == "desk" else 0
    forecast = cover_work(command, cells, stations, sweeps, USUAL_RATES, held_fields=held)
    if forecast.seconds > MEASURED_OVER_S and not too_much(forecast.memory_mib):
        rates = replace(USUAL_RATES, cell_us=_cell_us(project, grid), measured=True)
        forecast = cover_work(command, cells, stations, sweeps, rates, held_fields=held)
    return forecast


def _sweeps(project: Project) -> int:
    """Return how often the grid is swept: by each station, once more by those that may disturb another."""
    radiated = services_of(project.stations)
    later = interfering_conditions(project)
    disturbing = interfering_stations(project, radiated, partners_among(project, radiated))
    stations = project.stations
    again = sum(service_conditions(project, stations[each].services) != later for each in disturbing)
    return (len(stations) + again) * len(project.ways)


def site_forecast(project: Project, *, choose: bool = True) -> SiteForecast:
    """Return what a search for sites takes.

    Parameters
    ----------
    choose
        Whether the search may go coarse first.

    Raises
    ------
    CombeError
        As :func:`combe.answers.site.site_work` of what is found before anything is predicted.
    """
    siting = siting_of(project)
    # Who asks for bounds gets them; how many hills these spare is not known beforehand.
    choose = choose and siting.search == EVERY_HILL
    if siting.cell_size_m is not None:
        project = replace(project, grid=replace(project.grid, cell_size_m=siting.cell_size_m))
    check_stations(project)
    require_memory(cover_forecast(project, "site"))
    ground = cover_ground(project.received_by(project.way))
    sample = _Sample(project, siting, ground)
    counts = sample.counts()
    forecast = search_work(counts, sample.coarse(counts), USUAL_RATES, choose=choose)
    if forecast.whole_seconds > MEASURED_OVER_S:
        counts, rates = sample.looked_at(counts)
        forecast = search_work(counts, sample.coarse(counts), rates, choose=choose)
    return SiteForecast(forecast, ground)


class _Sample:
    """A small part of a search, to see what a unit costs and how much of the whole counts."""

    def __init__(self, project: Project, siting: Siting, ground: CoverGround) -> None:
        self.project, self.siting, self.ground = project, siting, ground
        self.area = one_raster(ground.area)
        self.on_air = stations_before(project, siting)
        rules = site_ground(siting, self.area, project.stations).rules
        self.allowed = apply_rules(~np.isnan(self.area.heights_m), rules).allowed
        people = ground.census.people if ground.census else None
        heads = np.zeros(self.area.heights_m.size) if people is None else people_by_cell(ground.grid, people)
        self.inhabited = np.flatnonzero((heads > 0.0) & ~np.isnan(self.area.heights_m.ravel()))

    def counts(self) -> SearchCounts:
        """Return the counts, with all hills and places that there can be."""
        return SearchCounts(
            cells=self.area.heights_m.size,
            stations=len(self.project.stations),
            parents=len(parents_of(self.project, self.siting, self.on_air)),
            allowed=int(np.count_nonzero(self.allowed)),
            inhabited=int(self.inhabited.size),
            listed=self.siting.list_length,
        )

    def coarse(self, counts: SearchCounts) -> CoarseWork:
        """Return what the search would price coarse first."""
        tops = int(block_tops(self.allowed, self.area.heights_m, STAGES[0].side).size)
        looks, feeds, blocks = 0, tops, tops
        for number, stage in enumerate(STAGES):
            hills = round(blocks * counts.heard)
            looks += hills * min(stage.places, counts.places)
            if number + 1 < len(STAGES):
                parts = (stage.side // STAGES[number + 1].side) ** 2
                blocks = min(2 * counts.listed * stage.crowd, hills) * parts
                feeds += blocks
        full = max(LEAST_EXACT * counts.listed * counts.places, ENOUGH_PAIRS)
        return CoarseWork(looks, min(full, counts.hills * counts.places), feeds)

    def looked_at(self, counts: SearchCounts) -> tuple[SearchCounts, Rates]:
        """Return the counts by what the sample hears and lacks, and the rates of this machine."""
        question = feed_question(self.project, self.siting)
        some = _evenly(np.flatnonzero(self.allowed.ravel()), _SAMPLE)

        def feeds(cells: IntArray) -> object:
            return feeds_at(self.project, self.siting, self.area, self.on_air, question, cells)

        feeds(some[:1])
        taken_s = _seconds_of(lambda: feeds(some))
        maps = feeds_at(self.project, self.siting, self.area, self.on_air, question, some)
        fed = keep_fed(maps, question.chain.required_margin_db).cells
        lacking = self._lacking()
        counts = replace(
            counts,
            # One of the sample more, so that nothing is told as none.
            heard=min((fed.size + 1.0) / max(some.size, 1), 1.0),
            lacking=min((float(lacking.sum()) + 1.0) / max(lacking.size, 1), 1.0),
        )
        rates = Rates(
            _cell_us(self.project, self.area.grid),
            1e6 * taken_s / max(some.size, 1) / max(counts.parents, 1),
            self._pair_us(fed if fed.size else some),
            measured=True,
        )
        return counts, rates

    def _lacking(self) -> npt.NDArray[np.bool_]:
        """Return which of some inhabited cells lack a service, against noise alone."""
        cells = _evenly(self.inhabited, _SAMPLE)
        if cells.size == 0:
            return np.zeros(0, dtype=np.bool_)
        row, column = np.divmod(cells, self.area.grid.columns)
        lon, lat = cells_to_lonlat_deg(self.area.grid, row.astype(float), column.astype(float))
        targets = find_targets(self.area, lon, lat)
        best: dict[str, FloatArray] = {}
        for station in self.on_air:
            fields = predict_targets(
                self.area,
                station,
                targets,
                conditions=service_conditions(self.project, station.services),
                rx_height_m=self.project.field_height_m,
            )
            for service, field in zip(station.services, fields, strict=True):
                least = minimum_field_dbuv_m(self.project, service.frequency_mhz, service=service)
                so_far = best.get(service.name, np.full(cells.size, -np.inf))
                best[service.name] = np.fmax(so_far, field - least)
        asked = [best.get(each.name, np.full(cells.size, -np.inf)) for each in self.siting.services]
        lacks: npt.NDArray[np.bool_] = np.any(np.stack(asked) < 0.0, axis=0)
        return lacks

    def _pair_us(self, hills: IntArray) -> float:
        """Return what a pair of hill and place costs [µs], with all processors at it."""
        cells, places = _evenly(hills, _PRICED[0]), _evenly(self.inhabited, _PRICED[1])
        if not cells.size or not places.size:
            return USUAL_RATES.pair_us
        template = relay_template(self.project, self.siting)
        lacks = np.ones((places.size, len(template.services)), dtype=np.bool_)
        people = Unserved(places, np.ones(places.size), lacks, float(places.size))
        problem = siting_problem(
            self.project, self.siting, template, self.area, cells, people, nobody(len(template.services))
        )
        score_hills(problem, 0, 1)
        return 1e6 * _seconds_of(lambda: _price(problem)) / (cells.size * places.size)


def _price(problem: Problem) -> None:
    """Price all hills of a small problem, on all processors."""
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        list(pool.map(lambda block: score_hills(problem, *block), blocks_of(problem.size, _PRICED_BLOCK)))


def _cell_us(project: Project, grid: StudyGrid) -> float:
    """Return what a cell of one station's coverage costs [µs], in a window around a station."""
    station = project.stations[0]
    row, column = (float(each) for each in to_cells(grid, station.longitude_deg, station.latitude_deg))
    side = min(_WINDOW, grid.rows, grid.columns)
    top = round(min(max(row - side / 2, 0.0), grid.rows - side))
    left = round(min(max(column - side / 2, 0.0), grid.columns - side))
    cell_m = grid.cell_size_m
    window = StudyGrid(grid.crs, grid.west_m + left * cell_m, grid.north_m - top * cell_m, cell_m, side, side)
    try:
        small = project_area(project.only([station.name]), window)
        sweep = _sweep(project, small, station)
        sweep()
        return 1e6 * _seconds_of(sweep) / (side * side)
    except CombeError:
        # A window in which nothing can be predicted tells nothing; the work itself will say what is wrong.
        return USUAL_RATES.cell_us


def _sweep(project: Project, area: Area, station: Station) -> Callable[[], object]:
    conditions, height_m = service_conditions(project, station.services), project.field_height_m
    return lambda: predict_coverage(area, station, conditions=conditions, rx_height_m=height_m)


def _seconds_of(work: Callable[[], object]) -> float:
    """Return how long something takes [s]."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def _evenly(cells: IntArray, count: int) -> IntArray:
    """Return up to so many of some cells, evenly spread over them."""
    if cells.size <= count:
        return cells
    return cells[np.linspace(0, cells.size - 1, count).astype(np.int64)]
