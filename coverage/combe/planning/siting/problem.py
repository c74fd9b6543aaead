"""The whole question of a siting, and the answer for a block of hills, fit for any machine."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from combe.decibels import dbw_from_watt, field_from_loss_dbuv_m
from combe.planning.siting.bound import reach_table
from combe.planning.siting.harm import HarmQuestion, Victims, harm_question, nobody, price_harm
from combe.planning.siting.setting import Setting, make_setting
from combe.planning.siting.straight import FloatArray, IntArray, Places, places_of
from combe.planning.siting.template import RelayTemplate
from combe.planning.siting.tilt import tilt_table
from combe.planning.siting.unserved import Unserved
from combe.planning.siting.worth import HARMS_OVER_DB, Demand, best_options, hardest_service, price_block
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.terrain.grid import to_lonlat_deg
from combe.version import __version__


@dataclass(frozen=True)
class Problem:
    """Hills, targets and all that prices one against the other; travels whole to other processes."""

    setting: Setting
    hills: Places
    targets: Places
    people: FloatArray
    demand: Demand
    harm: HarmQuestion
    hardest: IntArray
    slopes_allowed: FloatArray
    gain_db: FloatArray
    tx_above_m: float
    rx_above_m: float

    @property
    def size(self) -> int:
        """Number of hills."""
        return int(self.hills.row.size)


@dataclass(frozen=True)
class Scores:
    """What hills ``first`` to ``last`` are worth.

    ``people`` (n,) newly served in all services by the best option, and ``harmed`` (n,) those who lose a
    service from others by it, 0 where nobody is newly served, for that is worth nothing anyway; ``option``
    (n,) its number; ``served`` (n, targets packed to bits) whom it serves; ``priced`` pairs of hill and
    target that were priced exactly.
    """

    first: int
    last: int
    people: FloatArray
    harmed: FloatArray
    option: IntArray
    served: npt.NDArray[np.uint8]
    priced: int

    @property
    def worth(self) -> FloatArray:
        """The score (n,): people newly served less people harmed."""
        score: FloatArray = self.people - self.harmed
        return score


def make_problem(
    area: Area,
    cells: IntArray,
    unserved: Unserved,
    template: RelayTemplate,
    minima_dbuv_m: Sequence[float],
    conditions: Conditions,
    *,
    rx_height_m: float = 10.0,
    reach_km: float = 60.0,
    victims: Victims | None = None,
    interfering: Conditions | None = None,
) -> Problem:
    """Return the question which of the people unserved a relay would serve from each of the cells.

    Parameters
    ----------
    cells
        Hills by flat index (n,); none on a void.
    minima_dbuv_m
        Least field that serves, for each service of the template [dB(µV/m)].
    reach_km
        Targets farther than this are not looked at.
    victims
        Whom the relay may harm; nobody unless given.
    interfering
        Air and time of interfering fields; ``conditions`` unless given.
    """
    hills, targets = places_of(area, cells), places_of(area, unserved.cells)
    middle = area.grid.rows // 2 * area.grid.columns + area.grid.columns // 2
    latitude_deg = _latitude_deg(area, middle)
    setting = make_setting(
        area,
        conditions,
        [service.frequency_mhz for service in template.services],
        vertical=template.polarization == "vertical",
        latitude_deg=latitude_deg,
    )
    at_risk = nobody(len(template.services)) if victims is None else victims
    allowed_db = np.array(
        [
            field_from_loss_dbuv_m(dbw_from_watt(float(service.erp_w)), 0.0, service.frequency_mhz) - minimum
            for service, minimum in zip(template.services, minima_dbuv_m, strict=True)
        ]
    )
    gain_db = np.stack([option.gain_db for option in template.options])
    lift_db = float(gain_db.max())
    demand = Demand(
        unserved.lacks, allowed_db, lift_db, tilt_table(template.vertical_pattern), float(reach_km)
    )
    return Problem(
        setting,
        hills,
        targets,
        unserved.people,
        demand,
        harm_question(area, at_risk, template, conditions, interfering or conditions, latitude_deg, lift_db),
        hardest_service(setting, unserved.lacks, allowed_db),
        reach_table(setting, allowed_db + lift_db, float(reach_km)),
        gain_db,
        float(template.aerial_height_m),
        float(rx_height_m),
    )


def _latitude_deg(area: Area, cell: int) -> float:
    grid = area.grid
    row, column = divmod(cell, grid.columns)
    x, y = grid.west_m + (column + 0.5) * grid.cell_size_m, grid.north_m - (row + 0.5) * grid.cell_size_m
    return float(to_lonlat_deg(grid, x, y)[1])


def price_targets(problem: Problem, first: int, last: int) -> tuple[FloatArray, npt.NDArray[np.int16], int]:
    """Return headroom [dB] and bearing [tenths of a degree] of hills first to last towards each target.

    Both have the shape (hills, targets); the third is how many paths were priced in full.
    """
    shape = (last - first, problem.targets.row.size)
    headroom_db, bearing = np.empty(shape), np.zeros(shape, dtype=np.int16)
    priced = price_block(
        problem.setting,
        problem.hills,
        first,
        last,
        problem.targets,
        problem.hardest,
        problem.slopes_allowed,
        problem.demand,
        problem.tx_above_m,
        problem.rx_above_m,
        headroom_db,
        bearing,
    )
    return headroom_db, bearing, priced


def score_hills(problem: Problem, first: int, last: int) -> Scores:
    """Score hills first to last; the answer does not depend on how hills are cut into blocks."""
    count, targets = last - first, problem.targets.row.size
    headroom_db, bearing, priced = price_targets(problem, first, last)
    people, harmed, option = np.empty(count), np.empty(count), np.empty(count, dtype=np.int64)
    served = np.empty((count, targets), dtype=np.bool_)
    best_options(
        headroom_db,
        bearing,
        problem.people,
        *_harm(problem, first, last, np.any(headroom_db > -np.inf, axis=1)),
        problem.harm.victims.people,
        problem.gain_db,
        people,
        harmed,
        option,
        served,
    )
    return Scores(first, last, people, harmed, option, np.packbits(served, axis=1), int(priced))


def _harm(
    problem: Problem, first: int, last: int, counts: npt.NDArray[np.bool_]
) -> tuple[FloatArray, npt.NDArray[np.int16]]:
    """Return excess [dB] and bearing [tenths of a degree] of the hills that count at victims' places."""
    shape = (last - first, problem.harm.victims.people.size)
    excess_db, bearing = np.full(shape, -np.inf), np.zeros(shape, dtype=np.int16)
    if shape[1]:
        price_harm(
            problem.harm,
            problem.hills,
            first,
            last,
            counts,
            problem.demand.tilt_db,
            problem.tx_above_m,
            problem.rx_above_m,
            excess_db,
            bearing,
        )
    return excess_db, bearing


def harmed_by(problem: Problem, hill: int, option: int) -> npt.NDArray[np.bool_]:
    """Return at which of the places with victims one hill harms with one of the options, (places,)."""
    excess_db, bearing = _harm(problem, hill, hill + 1, np.ones(1, dtype=np.bool_))
    harmed: npt.NDArray[np.bool_] = excess_db[0] + problem.gain_db[option][bearing[0]] > HARMS_OVER_DB
    return harmed


def without_harm(problem: Problem) -> Problem:
    """Return the question of people newly served alone; its scores are bounds, for harm only takes away."""
    victims = nobody(problem.harm.unlost_dbuv_m.size)
    none = Places(*(each[:0] for each in problem.harm.places))
    return replace(
        problem,
        harm=problem.harm._replace(victims=victims, places=none, allowed_db=problem.harm.allowed_db[:0]),
    )


def served_matrix(scores: Scores, targets: int) -> npt.NDArray[np.bool_]:
    """Return whom each hill of some scores serves, shape (n, targets)."""
    return np.unpackbits(scores.served, axis=1, count=targets).astype(np.bool_)


def digest(problem: Problem) -> str:
    """Return a hash of all that the scores depend on, and of the version that makes them."""
    found = hashlib.sha256(f"combe {__version__} siting 2".encode())
    _add(found, vars(problem))
    return found.hexdigest()[:20]


def _add(found: Any, value: Any) -> None:
    """Add a value, and all inside it, to a hash."""
    if isinstance(value, dict):
        value = tuple(value.items())
    if isinstance(value, tuple):
        for each in value:
            _add(found, each)
        found.update(b";")
        return
    array = np.asarray(value)
    if array.dtype.kind in "US":
        found.update(str(value).encode())
        return
    found.update(f"{array.dtype.str}{array.shape}".encode())
    found.update(np.ascontiguousarray(array).tobytes())


def served_of(problem: Problem, hill: int, option: int) -> npt.NDArray[np.bool_]:
    """Return whom one hill serves with one of the options, (targets,)."""
    one = replace(problem, gain_db=problem.gain_db[option : option + 1])
    matrix = served_matrix(score_hills(one, hill, hill + 1), problem.targets.row.size)
    return matrix.reshape(-1)
