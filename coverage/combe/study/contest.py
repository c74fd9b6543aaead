"""The margin of every service of every station over the grid, with any set of stations on the air."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.planning.grid_tiles import StationService, row_ranges, services_of
from combe.reception.judge_cells import Fields, Judges, make_judges, margin_of_named
from combe.reception.service import Field
from combe.study.emissions import disturbers, emissions_of, partners_among, rules_of
from combe.study.resolve import Scene
from combe.terrain.grid import StudyGrid, cell_centres_m

_BLOCK_CELLS: Final = 2_000_000
"""Cells of all layers together that are judged at once."""

Emissions = frozenset[int]
"""Emissions by their place in :attr:`Contest.radiated`."""


class Judged(NamedTuple):
    """Margin [dB], and how many interferers have no prediction, arrays (rows, columns)."""

    margin_db: Field
    unknown: npt.NDArray[np.int16]


@dataclass(frozen=True)
class Contest:
    """All emissions of a study over its grid.

    Attributes
    ----------
    radiated
        Every service of every station, in their order; emissions are named by their place here.
    noise_margins_db
        Margin of each against noise alone [dB], shape (rows, columns), NaN without prediction.
    disturbers
        For each, which others may disturb it.
    judges
        None where nothing can disturb anything.
    median_dbuv_m, at_time_dbuv_m
        Field of each for the time of wanted and of interfering fields [dB(µV/m)].
    """

    grid: StudyGrid
    radiated: tuple[StationService, ...]
    noise_margins_db: tuple[Field, ...]
    disturbers: tuple[Emissions, ...]
    judges: Judges | None
    median_dbuv_m: tuple[Field, ...]
    at_time_dbuv_m: tuple[Field, ...]
    _kept: dict[tuple[int, Emissions], Judged] = field(default_factory=dict, repr=False, compare=False)


def interfering_stations(scene: Scene) -> list[int]:
    """Return which stations of a study may disturb another one, as indices."""
    radiated = services_of(scene.stations)
    disturbing = Emissions().union(*disturbers(partners_among(scene, radiated)))
    return [
        index
        for index, station in enumerate(scene.stations)
        if any(radiated[emission].station is station for emission in disturbing)
    ]


def make_contest(
    scene: Scene,
    grid: StudyGrid,
    median_dbuv_m: Sequence[Field],
    at_time_dbuv_m: Sequence[Field],
    noise_margins_db: Sequence[Field],
) -> Contest:
    """Gather the fields of all services of all stations, in their order, for judging.

    Raises
    ------
    RangeError
        For signals without a protection ratio.
    """
    radiated = services_of(scene.stations)
    partners = partners_among(scene, radiated)
    judges = None
    if partners.emission.size:
        judges = make_judges(emissions_of(scene, grid, radiated), rules_of(scene), partners)
    return Contest(
        grid,
        radiated,
        tuple(noise_margins_db),
        disturbers(partners),
        judges,
        tuple(median_dbuv_m),
        tuple(at_time_dbuv_m),
    )


def everyone(contest: Contest) -> Emissions:
    """Return all emissions."""
    return Emissions(range(len(contest.radiated)))


def emissions_where(contest: Contest, *, role: str | None = None, service: str | None = None) -> list[int]:
    """Return the emissions of a role, a service name, or both."""
    return [
        index
        for index, each in enumerate(contest.radiated)
        if role in (None, each.station.role) and service in (None, each.service.name)
    ]


def judged(contest: Contest, wanted: int, on_air: Iterable[int]) -> Judged:
    """Return the margin of one emission with others on the air.

    Parameters
    ----------
    wanted
        The emission; it is on the air whether named or not.
    on_air
        Who else is.

    Returns
    -------
    Judged
        The very margin against noise where none of them can disturb it; never more than that.
    """
    others = contest.disturbers[wanted] & Emissions(on_air)
    noise_db = contest.noise_margins_db[wanted]
    if contest.judges is None or not others:
        return Judged(noise_db, np.zeros(noise_db.shape, dtype=np.int16))
    if (wanted, others) not in contest._kept:
        margin_db, unknown = _judged_in_blocks(contest, contest.judges, wanted, others)
        contest._kept[wanted, others] = Judged(np.minimum(margin_db, noise_db), unknown)
    return contest._kept[wanted, others]


def _judged_in_blocks(contest: Contest, judges: Judges, wanted: int, others: Emissions) -> Judged:
    """Judge an emission in blocks of rows, so that only their fields are stacked at once."""
    rows = max(_BLOCK_CELLS // (len(contest.radiated) * contest.grid.columns), 1)
    x_m, y_m = cell_centres_m(contest.grid)
    on_air = np.zeros(len(contest.radiated), dtype=np.bool_)
    on_air[[wanted, *others]] = True

    def block(span: tuple[int, int]) -> tuple[Any, Any]:
        cut = slice(*span)
        layers = (contest.median_dbuv_m, contest.at_time_dbuv_m)
        fields = Fields(x_m, y_m[cut], *(_stacked(each, cut, on_air) for each in layers))
        named = np.full((cut.stop - cut.start, contest.grid.columns), wanted, dtype=np.int16)
        return margin_of_named(judges, fields, named, on_air)

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        found = list(pool.map(block, row_ranges(contest.grid, rows)))
    margins, unknowns = zip(*found, strict=True)
    return Judged(np.concatenate(margins), np.concatenate(unknowns))


def _stacked(
    layers: tuple[Field, ...], rows: slice, on_air: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float32]:
    """Return some rows of all layers; those of emissions that are off the air stay empty."""
    stack = np.full((len(layers), rows.stop - rows.start, layers[0].shape[1]), np.nan, dtype=np.float32)
    for index in np.flatnonzero(on_air):
        stack[index] = layers[index][rows]
    return stack
