"""Searches a few hills of the sample ground, so that every kernel of a siting is compiled.

The numbers mean nothing. Kernels take the model as a number, so one rehearsal does for all models.
"""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np

from combe.planning.siting.coarse_to_fine import best_hills
from combe.planning.siting.feed_map import FeedQuestion, feed_maps
from combe.planning.siting.harm import Victims
from combe.planning.siting.problem import Problem, Terms, harmed_by, make_problem, without_harm
from combe.planning.siting.template import RelayTemplate, pattern_options
from combe.planning.siting.unserved import Unserved
from combe.prediction import Area, Conditions, IntArray, survey_area
from combe.propagation.p2001 import TYPICAL_CLIMATES, USUAL_CLIMATE
from combe.reception import FeedChain
from combe.stations import Service, Station
from combe.terrain import SRTM_SAMPLE, make_grid, open_terrain, sample_folder, to_lonlat_deg

_CELL_M: Final = 1000.0
_SERVICES: Final = (Service("rehearsed", 21, 474.0, 100.0),)
_USUAL: Final = Conditions("p1812")
_RARE: Final = Conditions("p1812", time_percent=1.0)


def _price_feeds() -> None:
    """Price the feed of a few cells: the paths of a year, which take longest to compile."""
    area, cells = _ground()
    question = FeedQuestion(
        FeedChain(10.0, 12.0, 2.0, 3.0, 6.0, 7.6, 18.0, 3.0), TYPICAL_CLIMATES[USUAL_CLIMATE]
    )
    feed_maps(area, [_station(area)], ["rehearsed"], ["rehearsed"], cells, _USUAL, question)


def _price_people() -> None:
    """Search the cells as hills that harm nobody."""
    best_hills(without_harm(_problem()), 2)


def _price_harm() -> None:
    """Price whom one of the hills harms."""
    harmed_by(_problem(), 0, 0)


ACTS: Final = (_price_feeds, _price_people, _price_harm)
"""Each compiles kernels that no other one does."""


@cache
def _ground() -> tuple[Area, IntArray]:
    """Return the sample ground in coarse cells, and those with known height."""
    terrain = open_terrain([sample_folder() / SRTM_SAMPLE], vertical_datum="EGM96")
    area = survey_area(terrain, make_grid(terrain, cell_size_m=_CELL_M))
    return area, np.flatnonzero(np.isfinite(area.heights_m.ravel()))


@cache
def _problem() -> Problem:
    area, cells = _ground()
    some = cells[:: cells.size // 8]
    unserved = Unserved(some, np.ones(some.size), np.ones((some.size, 1), dtype=np.bool_), float(some.size))
    relay = RelayTemplate(20.0, "vertical", _SERVICES, pattern_options([("omni", None)], _SERVICES))
    return make_problem(area, cells, unserved, relay, [40.0], Terms(_USUAL, _RARE), _victims(some))


def _station(area: Area) -> Station:
    grid = area.grid
    middle_m = (0.5 * grid.columns * grid.cell_size_m, 0.5 * grid.rows * grid.cell_size_m)
    lon, lat = to_lonlat_deg(grid, grid.west_m + middle_m[0], grid.north_m - middle_m[1])
    return Station("rehearsed", "parent", float(lon), float(lat), 50.0, "horizontal", _SERVICES)


def _victims(cells: np.ndarray) -> Victims:
    count = cells.size
    return Victims(
        cells=cells,
        people=np.ones(count),
        first=np.arange(count + 1),
        stands_dbuv_m=np.full(count, 30.0),
        ratio_db=np.full((count, 1, 2), 20.0),
        crossed=np.zeros(count, dtype=np.bool_),
        station=np.zeros((count, 2)),
        curve=np.zeros(count, dtype=np.int64),
    )
