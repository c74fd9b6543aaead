"""The whole question of a siting, and the answer for a block of hills, fit for any machine."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray, dbw_from_watt, field_from_loss_dbuv_m
from combe.planning.siting.bound import reach_table
from combe.planning.siting.harm import HarmQuestion, Victims, harm_question, nobody, price_harm
from combe.planning.siting.score import (
    HARMS_OVER_DB,
    Demand,
    HillScores,
    Levels,
    best_options,
    hardest_service,
    price_block,
    tilt_table,
)
from combe.planning.siting.template import RelayTemplate
from combe.planning.siting.unserved import Unserved
from combe.prediction import Aerials, Area, Conditions, IntArray, Places, Setting, make_setting, places_of
from combe.terrain import cells_to_lonlat_deg
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
    gain_db: FloatArray
    aerials: Aerials

    @property
    def size(self) -> int:
        """Number of hills."""
        return int(self.hills.row.size)


@dataclass(frozen=True)
class Terms:
    """How a search is asked: the air, the viewers' aerials, and how far a relay may serve.

    Parameters
    ----------
    conditions, interfering : Conditions
        Air and time of wanted and of interfering fields; the second as the first unless given.
    rx_height_m : float
        Viewers' aerials above ground [m].
    reach_km : float
        Targets farther than this are not looked at.
    """

    conditions: Conditions
    interfering: Conditions | None = None
    rx_height_m: float = 10.0
    reach_km: float = 60.0


@dataclass(frozen=True)
class Scores:
    """What hills ``first`` to ``last`` score.

    ``people`` (n,) newly served in all services by the best option, and ``harmed`` (n,) those who lose a
    service from others by it, 0 where nobody is newly served, for such a hill scores nothing anyway;
    ``option`` (n,) its number; ``served`` (n, targets packed to bits) whom it serves; ``priced`` pairs of
    hill and target that were priced exactly.
    """

    first: int
    last: int
    people: FloatArray
    harmed: FloatArray
    option: IntArray
    served: npt.NDArray[np.uint8]
    priced: int

    @property
    def score(self) -> FloatArray:
        """The score (n,): people newly served less people harmed."""
        score: FloatArray = self.people - self.harmed
        return score


def make_problem(
    area: Area,
    cells: IntArray,
    unserved: Unserved,
    template: RelayTemplate,
    minima_dbuv_m: Sequence[float],
    terms: Terms,
    victims: Victims | None = None,
) -> Problem:
    """Return the question which of the people unserved a relay would serve from each of the cells.

    Parameters
    ----------
    cells
        Hills by flat index (n,); none on a void.
    minima_dbuv_m
        Least field that serves, for each service of the template [dB(µV/m)].
    terms
        How it is asked.
    victims
        Whom the relay may harm; nobody unless given.
    """
    hills, targets = places_of(area, cells), places_of(area, unserved.cells)
    latitude_deg, conditions = _middle_latitude_deg(area), terms.conditions
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
            # The field at a loss of 0 dB, less the field asked: what the loss may be at most.
            field_from_loss_dbuv_m(dbw_from_watt(float(service.erp_w)), 0.0, service.frequency_mhz) - minimum
            for service, minimum in zip(template.services, minima_dbuv_m, strict=True)
        ]
    )
    gain_db = np.stack([option.gain_db for option in template.options])
    lift_db, reach_km = float(gain_db.max()), float(terms.reach_km)
    # What is the same for all hills is worked out once, and travels with the question to whatever machine.
    demand = Demand(
        unserved.lacks,
        allowed_db,
        lift_db,
        tilt_table(template.vertical_pattern),
        reach_km,
        hardest_service(setting, unserved.lacks, allowed_db),
        # With all that the best option could add: no target is given up that one of them would serve.
        reach_table(setting, allowed_db + lift_db, reach_km),
    )
    interfering = terms.interfering or conditions
    harm = harm_question(area, at_risk, template, conditions, interfering, latitude_deg, lift_db)
    aerials = Aerials(float(template.aerial_height_m), float(terms.rx_height_m))
    return Problem(setting, hills, targets, unserved.people, demand, harm, gain_db, aerials)


def _middle_latitude_deg(area: Area) -> float:
    """Return the latitude of the middle of the grid, which stands for all of a search."""
    grid = area.grid
    return float(cells_to_lonlat_deg(grid, grid.rows // 2, grid.columns // 2)[1])


def price_targets(problem: Problem, first: int, last: int) -> tuple[Levels, int]:
    """Return headroom and bearing of hills first to last towards each target, and paths priced in full."""
    shape = (last - first, problem.targets.row.size)
    headroom = Levels(np.empty(shape), np.zeros(shape, dtype=np.int16), problem.people)
    priced = price_block(
        problem.setting,
        problem.hills,
        (first, last),
        problem.targets,
        problem.demand,
        problem.aerials,
        headroom,
    )
    return headroom, int(priced)


def score_hills(problem: Problem, first: int, last: int) -> Scores:
    """Score hills first to last; the answer does not depend on how hills are cut into blocks."""
    count, targets = last - first, problem.targets.row.size
    headroom, priced = price_targets(problem, first, last)
    people, harmed, option = np.empty(count), np.empty(count), np.empty(count, dtype=np.int64)
    scores = HillScores(people, harmed, option, np.empty((count, targets), dtype=np.bool_))
    # Whom a hill harms is priced only where it serves anybody: it scores nothing otherwise.
    excess = _harm(problem, first, last, np.any(headroom.level_db > -np.inf, axis=1))
    best_options(headroom, excess, problem.gain_db, scores)
    return Scores(first, last, people, harmed, option, np.packbits(scores.served, axis=1), priced)


def _harm(problem: Problem, first: int, last: int, counts: npt.NDArray[np.bool_]) -> Levels:
    """Return excess and bearing of the hills that count at victims' places."""
    victims = problem.harm.victims.people
    shape = (last - first, victims.size)
    excess = Levels(np.full(shape, -np.inf), np.zeros(shape, dtype=np.int16), victims)
    if victims.size:
        block, tilt_db = (first, last), problem.demand.tilt_db
        price_harm(problem.harm, problem.hills, block, counts, tilt_db, problem.aerials, excess)
    return excess


def harmed_by(problem: Problem, hill: int, option: int) -> npt.NDArray[np.bool_]:
    """Return at which of the places with victims one hill harms with one of the options, (places,)."""
    excess = _harm(problem, hill, hill + 1, np.ones(1, dtype=np.bool_))
    gain_db = problem.gain_db[option][excess.bearing[0]]
    harmed: npt.NDArray[np.bool_] = excess.level_db[0] + gain_db > HARMS_OVER_DB
    return harmed


def without_harm(problem: Problem) -> Problem:
    """Return the question of people newly served alone; its scores are bounds, for harm only takes away."""
    victims = nobody(problem.harm.unlost_dbuv_m.size)
    none = Places(*(array[:0] for array in problem.harm.places))
    return replace(
        problem,
        harm=problem.harm._replace(victims=victims, places=none, allowed_db=problem.harm.allowed_db[:0]),
    )


def served_matrix(scores: Scores, targets: int) -> npt.NDArray[np.bool_]:
    """Return whom each hill of some scores serves, shape (n, targets)."""
    return np.unpackbits(scores.served, axis=1, count=targets).astype(np.bool_)


def digest(problem: Problem) -> str:
    """Return a hash of all that the scores depend on, and of the version that makes them."""
    made = hashlib.sha256(f"combe {__version__} siting 3".encode())
    _add(made, vars(problem))
    return made.hexdigest()[:20]


def _add(made: Any, value: Any) -> None:
    """Add a value, and all inside it, to a hash."""
    if isinstance(value, dict):
        value = tuple(value.items())
    if isinstance(value, tuple):
        for each in value:
            _add(made, each)
        # So that (1, 2), (3) and (1), (2, 3) are not the same.
        made.update(b";")
        return
    array = np.asarray(value)
    if array.dtype.kind in "US":
        made.update(str(value).encode())
        return
    made.update(f"{array.dtype.str}{array.shape}".encode())
    made.update(np.ascontiguousarray(array).tobytes())


def served_of(problem: Problem, hill: int, option: int) -> npt.NDArray[np.bool_]:
    """Return whom one hill serves with one of the options, (targets,)."""
    one = replace(problem, gain_db=problem.gain_db[option : option + 1])
    matrix = served_matrix(score_hills(one, hill, hill + 1), problem.targets.row.size)
    return matrix.reshape(-1)
