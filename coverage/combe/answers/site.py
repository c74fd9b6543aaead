"""Finds where a relay should stand: who is unserved, which cells hear a parent, what each hill is worth."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from combe.answers.cover import CoverReport, Progress, cover_report
from combe.answers.cover_ground import CoverGround
from combe.answers.emissions import interfering_conditions
from combe.answers.site_harm import NOT_COUNTED, AtRisk, at_risk
from combe.answers.site_setup import (
    SiteGround,
    feed_question,
    parents_of,
    relay_template,
    site_ground,
    siting_of,
)
from combe.answers.site_wide import CoarseFirst, WideTerms, wide_search
from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning.siting import (
    REHEARSAL,
    BlockRun,
    FeedMap,
    FeedQuestion,
    Funnel,
    Problem,
    RelayTemplate,
    Runner,
    Terms,
    Unserved,
    Victims,
    WideResult,
    apply_rules,
    best_hills,
    feed_maps,
    find_unserved,
    keep_fed,
    make_problem,
    ranked,
    run_blocks,
    site_cost,
)
from combe.prediction import Area, IntArray, one_raster
from combe.project import Project, Siting, minimum_field_dbuv_m, service_conditions
from combe.reception import Field
from combe.rehearsing import rehearsed_meanwhile
from combe.stations import Station
from combe.words import joined, tell

EVERY_HILL: Final = "every hill"
EVERY_STATION: Final = "all stations"
HILLS_WORTH: Final = "worth of the hills"
"""What is told as being done once the hills are looked at."""


@dataclass(frozen=True)
class Search:
    """All hills that were searched, and what was found.

    ``people`` (n,) newly served in all services by each hill's best option, and ``harmed`` (n,), NaN where
    best-first search did not price it; ``cost`` (n,); ``listed`` the best hills by number, in order;
    ``harm_words`` whom relays may harm; ``seconds`` of the pricing; ``harm_priced`` hills whose harm was;
    ``heard`` how many cells hear a parent well enough, whatever the rules say of them. ``wide`` is what a
    search that went coarse first found; then ``hills`` are those that it looked at.
    """

    hills: IntArray
    feed_margin_db: FloatArray
    parent: IntArray
    problem: Problem
    people: FloatArray
    harmed: FloatArray
    harm_words: str
    option: IntArray
    cost: FloatArray
    has_costs: bool
    listed: IntArray
    run: BlockRun | None
    seconds: float
    priced_hills: int
    harm_priced: int
    heard: int
    wide: WideResult | None = None

    @property
    def score(self) -> FloatArray:
        """The score (n,): people newly served less people harmed."""
        score: FloatArray = self.people - self.harmed
        return score

    @property
    def value(self) -> FloatArray:
        """What hills are compared by (n,): the score, or the score per cost."""
        value: FloatArray = self.score / self.cost
        return value

    @property
    def harm_counted(self) -> bool:
        """Whether it was looked at whom relays harm; otherwise ``harmed`` counts nobody."""
        return self.harm_words != NOT_COUNTED

    @property
    def may_harm(self) -> bool:
        """Whether a relay may harm anybody at all."""
        return self.problem.harm.victims.people.size > 0


@dataclass(frozen=True)
class SiteSetup:
    """What a search works with: the relay to be tried, who is unserved, where parents are heard, the ground.

    ``project`` has the cells that siting asks; ``on_air`` are the stations that serve already.
    """

    project: Project
    siting: Siting
    template: RelayTemplate
    question: FeedQuestion
    cover: CoverReport
    area: Area
    on_air: tuple[Station, ...]
    unserved: Unserved
    feeds: tuple[FeedMap, ...]
    ground: SiteGround
    risk: AtRisk


@dataclass(frozen=True)
class SiteWork(SiteSetup):
    """A siting that was searched: which hills the rules left, and what the search found on them."""

    funnel: Funnel
    search: Search


def site_work(
    project: Project,
    folder: Path,
    *,
    progress: Progress | None = None,
    runner: Runner | None = None,
    cache_folder: Path | None = None,
    coarse_first: CoarseFirst | None = None,
    ground: CoverGround | None = None,
) -> SiteWork:
    """Search the hills of a project.

    Parameters
    ----------
    folder
        Where the results of blocks are kept, to go on from after a stop.
    runner
        What runs the blocks: threads of this machine if not given.
    cache_folder
        As :func:`combe.answers.cover.cover_report`.
    coarse_first
        That the hills are searched coarse first; every hill is priced, as the study asks, unless given.
    ground
        What the coverage in the cells of the search stands on, where it is at hand.

    Raises
    ------
    StudyError
        A project without siting, or one in which nothing can be searched; stations that stand on no ground.
    TerrainGapError, RasterError, TableError, RangeError, OutputError
        As the prediction of coverage; and a cluster that does not answer.
    """
    siting = siting_of(project)
    if siting.cell_size_m is not None:
        project = replace(project, grid=replace(project.grid, cell_size_m=siting.cell_size_m))
    with rehearsed_meanwhile(REHEARSAL):
        cover = cover_report(
            project.received_by(project.way), progress, cache_folder=cache_folder, ground=ground
        )
    template, question = relay_template(project, siting), feed_question(project, siting)
    area = one_raster(cover.run.area)
    on_air = stations_before(project, siting)
    unserved = _unserved(cover, siting)
    assert cover.people is not None, "a siting has people"
    setup = SiteSetup(
        project=project,
        siting=siting,
        template=template,
        question=question,
        cover=cover,
        area=area,
        on_air=on_air,
        unserved=unserved,
        feeds=() if coarse_first else feeds_at(project, siting, area, on_air, question),
        ground=site_ground(siting, area, project.stations),
        risk=at_risk(project, cover.run, cover.people, template, on_air),
    )
    if coarse_first:
        return _search_wide(setup, coarse_first, folder, progress)
    funnel, search = _search(setup, folder, progress, runner)
    return SiteWork(**vars(setup), funnel=funnel, search=search)


def stations_before(project: Project, siting: Siting) -> tuple[Station, ...]:
    """Return the stations that serve before the relay stands."""
    every = siting.before == EVERY_STATION
    return tuple(station for station in project.stations if every or station.role == "parent")


def before_margins_db(cover: CoverReport, siting: Siting) -> list[Field]:
    """Return the margin [dB] of each service of the relay before it stands, (rows, columns)."""
    named = {network.name: network for network in cover.services}
    every = siting.before == EVERY_STATION
    return [
        named[each.name].margin_db if every else named[each.name].margin_before_db for each in siting.services
    ]


def _unserved(cover: CoverReport, siting: Siting) -> Unserved:
    if cover.people is None:
        raise cover.project.error(["people: is missing; siting asks whom a relay would serve"])
    found = find_unserved(cover.grid, cover.heights_m, cover.people, before_margins_db(cover, siting))
    if found.cells.size == 0:
        raise cover.project.error(["siting: nobody on the grid lacks a service that it radiates"])
    return found


def feeds_at(
    project: Project,
    siting: Siting,
    area: Area,
    on_air: tuple[Station, ...],
    question: FeedQuestion,
    cells: IntArray | None = None,
) -> tuple[FeedMap, ...]:
    """Return the feed of each parent at some cells, or at every cell of known height."""
    parents = parents_of(project, siting, on_air)
    known = [station for station in project.stations if station in on_air or station.name in parents]
    if cells is None:
        cells = np.flatnonzero(~np.isnan(area.heights_m.ravel()))
    names = [each.name for each in siting.services]
    return tuple(feed_maps(area, known, parents, names, cells, project.conditions, question))


def _search(
    setup: SiteSetup, folder: Path, progress: Progress | None, runner: Runner | None
) -> tuple[Funnel, Search]:
    project, siting, area, ground, risk = setup.project, setup.siting, setup.area, setup.ground, setup.risk
    fed = keep_fed(setup.feeds, setup.question.chain.required_margin_db)
    start = np.zeros(area.heights_m.size, dtype=np.bool_)
    start[fed.cells] = True
    funnel = apply_rules(start.reshape(area.heights_m.shape), ground.rules)
    kept = funnel.allowed.ravel()[fed.cells]
    hills = fed.cells[kept]
    if hills.size == 0:
        raise project.error([f"siting: no cell is left; {funnel_words(int(start.sum()), funnel)}"])
    cost, has_costs = _cost(setup, hills)
    problem = _problem(setup, hills, setup.unserved)
    apart = siting.apart_m / area.grid.cell_size_m
    started = time.perf_counter()
    if siting.search == EVERY_HILL:
        run = run_blocks(problem, folder, runner=runner, progress=_telling(progress))
        people, harmed, option = run.scores.people, run.scores.harmed, run.scores.option
        listed = ranked(problem.hills, run.scores.score / cost, siting.list_length, apart)
        priced = harm_priced = problem.size
    else:
        _refuse_cluster(runner)
        found = best_hills(problem, siting.list_length, apart_cells=apart, cost=cost)
        people, harmed = np.full(hills.size, np.nan), np.full(hills.size, np.nan)
        option = np.zeros(hills.size, dtype=np.int64)
        people[found.hills], harmed[found.hills] = found.people, found.harmed
        option[found.hills] = found.option
        listed, priced, harm_priced, run = found.hills, found.priced_hills, found.harm_priced, None
    seconds = time.perf_counter() - started
    return funnel, Search(
        hills, fed.margin_db[kept], fed.parent[kept], problem, people, harmed, risk.words, option, cost,
        has_costs, listed, run, seconds, priced, harm_priced, int(fed.cells.size),
    )  # fmt: skip


def _cost(setup: SiteSetup, hills: IntArray) -> tuple[FloatArray, bool]:
    """Return what a site costs on each hill, and whether the study gives any costs."""
    access_m, siting = setup.ground.access_m, setup.siting
    away_m = None if access_m is None else access_m.ravel()[hills]
    return site_cost(hills.size, siting.cost_per_site, siting.cost_per_access_km, away_m)


def siting_problem(
    project: Project,
    siting: Siting,
    template: RelayTemplate,
    area: Area,
    hills: IntArray,
    unserved: Unserved,
    victims: Victims,
) -> Problem:
    """Return the question whom of some people relays on some hills would serve and harm."""
    minima = [
        minimum_field_dbuv_m(project, service.frequency_mhz, service=service) for service in template.services
    ]
    usual, later = service_conditions(project, template.services), interfering_conditions(project)
    terms = Terms(usual, later, project.field_height_m, siting.reach_km)
    return make_problem(area, hills, unserved, template, minima, terms, victims)


def _problem(setup: SiteSetup, hills: IntArray, unserved: Unserved) -> Problem:
    """Return the question of a search, of some hills and some people."""
    return siting_problem(
        setup.project, setup.siting, setup.template, setup.area, hills, unserved, setup.risk.victims
    )


def _search_wide(setup: SiteSetup, asked: CoarseFirst, folder: Path, progress: Progress | None) -> SiteWork:
    """Search the hills coarse first."""
    siting, telling = setup.siting, _telling(progress)
    terms = WideTerms(
        heights_m=setup.area.heights_m,
        rules=setup.ground.rules,
        unserved=setup.unserved,
        feeds_at=lambda cells: feeds_at(
            setup.project, siting, setup.area, setup.on_air, setup.question, cells
        ),
        cost_at=lambda cells: _cost(setup, cells)[0],
        problem=lambda cells, people: _problem(setup, cells, people),
        margin_db=setup.question.chain.required_margin_db,
        count=siting.list_length,
        apart_cells=siting.apart_m / setup.area.grid.cell_size_m,
    )
    started = time.perf_counter()
    found = wide_search(terms, asked, folder, lambda share: telling(round(1000.0 * share), 1000))
    wide, fed = found.result, found.fed
    if wide.cells.size == 0:
        words = "siting: no cell is left of those looked at"
        raise setup.project.error([f"{words}; {funnel_words(wide.looked_at, found.funnel)}"])
    search = Search(
        wide.cells, fed.margin_db, fed.parent, found.problem, wide.people, wide.harmed, setup.risk.words,
        wide.option, wide.cost, _cost(setup, wide.cells)[1], wide.listed, None,
        time.perf_counter() - started, wide.exact, wide.exact, int(fed.cells.size), wide,
    )  # fmt: skip
    return SiteWork(**vars(replace(setup, feeds=found.feeds)), funnel=found.funnel, search=search)


def _refuse_cluster(runner: Runner | None) -> None:
    if runner is not None:
        raise RangeError(
            "search", '"best first"', f'"{EVERY_HILL}" on a cluster', "best first runs on this machine"
        )


def _telling(progress: Progress | None) -> Callable[[int, int], None]:
    def told(done: int, total: int) -> None:
        if progress is not None:
            progress(done, total, HILLS_WORTH)

    return told


def funnel_words(fed: int, funnel: Funnel) -> str:
    """Return what each rule left, in words."""
    parts = [tell("{fed} cells hear a parent well enough", fed=fed)]
    parts += [tell("{left} are {words}", left=left, words=words) for words, left in funnel.steps]
    return joined(", of them ", parts)
