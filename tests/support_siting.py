"""Small sitings over the sample ground and over invented valleys, for the tests of the room."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from combe.planning.siting.bound import reach_table
from combe.planning.siting.harm import Victims
from combe.planning.siting.problem import Problem, Terms, make_problem
from combe.planning.siting.score import Levels, price_block
from combe.planning.siting.template import PatternOption, RelayTemplate, pattern_options
from combe.planning.siting.unserved import Unserved
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.standards.bt419 import curve_number
from combe.stations.pattern import Pattern
from combe.stations.transmitter import Service
from combe.terrain.grid import StudyGrid
from combe.terrain.ground import Ground
from support_prediction import sample_area

SERVICES = (Service("Mux 1", 41, 634.0, 20.0), Service("Mux 2", 45, 666.0, 10.0))
MINIMA = (52.0, 52.5)


def template(options: tuple[PatternOption, ...] | None = None, **changes) -> RelayTemplate:
    """Return a relay of two services, omni unless options are given."""
    values = {
        "aerial_height_m": 20.0,
        "polarization": "vertical",
        "services": SERVICES,
        "options": options or pattern_options([("omni", None)], SERVICES),
    }
    return RelayTemplate(**(values | changes))


def shaped_area(height_of: Callable[..., np.ndarray], size: int = 120, cell_size_m: float = 100.0) -> Area:
    """Return a square in UTM zone 16 with heights by (row, column); its raster is the study grid itself."""
    grid = StudyGrid(sample_area().grid.crs, 730_000.0, 4_060_000.0, cell_size_m, size, size)
    rows, columns = np.indices((size, size), dtype=np.float64)
    heights = np.ascontiguousarray(height_of(rows, columns))
    nodes = (np.arange(-1, size // 16 + 3) * 16).astype(float)
    column_at, row_at = np.meshgrid(nodes, nodes)
    return Area(sample_area().terrain, grid, heights, Ground(heights, row_at, column_at, 16.0), cell_size_m)


def rough_area(seed: int, size: int = 120) -> Area:
    """Return invented hills: a few hundred metres of smoothed noise."""
    from scipy.ndimage import gaussian_filter

    noise = np.random.default_rng(seed).normal(size=(size, size))
    hills = gaussian_filter(noise, 5.0) * 1500.0 + gaussian_filter(noise, 1.5) * 60.0
    return shaped_area(lambda *_: 300.0 + hills, size)


def people_in(area: Area, cells: np.ndarray, people: float = 10.0, services: int = 2) -> Unserved:
    """Return people in grid cells, who lack all services."""
    count = len(cells)
    lacks = np.ones((count, services), dtype=np.bool_)
    return Unserved(np.asarray(cells, np.int64), np.full(count, people), lacks, people * count)


def victims_in(
    area: Area, cells: np.ndarray, stands_dbuv_m: float = 35.0, people: float = 10.0, outputs: int = 2
) -> Victims:
    """Return people who have a co-channel service of the first output from a station in the grid's corner."""
    count = len(cells)
    ratio_db = np.full((count, outputs, 2), -np.inf)
    ratio_db[:, 0] = (20.0, 23.0)
    return Victims(
        np.asarray(cells, np.int64),
        np.full(count, people),
        np.arange(count + 1),
        np.full(count, stands_dbuv_m + 20.0),
        ratio_db,
        np.zeros(count, dtype=np.bool_),
        np.zeros((count, 2)),
        np.full(count, curve_number(600.0)),
    )


def low_cells(area: Area, count: int, seed: int = 1) -> np.ndarray:
    """Return some of the lowest fifth of the cells."""
    heights = area.heights_m.ravel()
    low = np.flatnonzero(heights <= np.nanquantile(heights, 0.2))
    return np.sort(np.random.default_rng(seed).choice(low, count, replace=False))


def problem_over(
    area: Area, cells: np.ndarray, unserved: Unserved, model: str = "p1812", **changes
) -> Problem:
    """Return the question for a template over an area."""
    relay = changes.pop("template", None) or template()
    minima = MINIMA[: len(relay.services)]
    victims = changes.pop("victims", None)
    hills = np.asarray(cells, np.int64)
    return make_problem(area, hills, unserved, relay, minima, Terms(Conditions(model), **changes), victims)


@cache
def sample_problem(model: str = "p1812", every: int = 41) -> Problem:
    """Return a question over the sample: one in so many cells as hills, 60 places with people."""
    area = sample_area(90.0)
    known = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    return problem_over(area, known[::every], people_in(area, low_cells(area, 60)), model)


def half_pattern() -> Pattern:
    """Return a pattern that radiates to one half of the horizon."""
    angles = tuple(float(angle) for angle in range(0, 360, 10))
    gains = tuple(0.0 if angle <= 90 or angle >= 270 else -40.0 for angle in angles)
    return Pattern(angles, gains, "horizontal", "invented: half a turn")


def headroom(problem: Problem, first: int, last: int, *, bounded: bool = True) -> np.ndarray:
    """Return the headroom of hills; without the bound every pair is priced."""
    shape = (last - first, problem.targets.row.size)
    out, bearing = np.empty(shape), np.zeros(shape, np.int16)
    setting, demand = problem.setting, problem.demand
    if not bounded:
        setting = setting._replace(bounded=False)
        slopes = reach_table(setting, demand.allowed_db, demand.reach_km)
        demand = demand._replace(lift_db=1e6, slopes_allowed=slopes)
    levels = Levels(out, bearing, problem.people)
    price_block(setting, problem.hills, (first, last), problem.targets, demand, problem.aerials, levels)
    return out
