"""Finds where a relay should stand: who is unserved, which cells hear a parent, what each hill is worth."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.errors import RangeError, StudyError
from combe.planning.siting import REHEARSAL
from combe.planning.siting.coarse_to_fine import best_hills, ranked
from combe.planning.siting.constraints import Funnel, apply_rules, site_cost
from combe.planning.siting.feed_map import FeedMap, FeedQuestion, feed_maps, keep_fed
from combe.planning.siting.jobs import BlockRun, Runner, run_blocks
from combe.planning.siting.problem import Problem, Terms, make_problem
from combe.planning.siting.template import RelayTemplate
from combe.planning.siting.unserved import Unserved, find_unserved
from combe.prediction.area import Area
from combe.prediction.straight import IntArray
from combe.reception.service import Field
from combe.rehearsing import rehearsed_meanwhile
from combe.stations.transmitter import Station
from combe.study.emissions import interfering_conditions
from combe.study.file import Study
from combe.study.resolve import Scene, minimum_field_dbuv_m, resolve, service_conditions
from combe.study.run_cover import CoverReport, Progress, cover_report
from combe.study.site_harm import NOT_COUNTED, AtRisk, at_risk
from combe.study.site_setup import (
    SiteGround,
    feed_question,
    parents_of,
    relay_template,
    site_ground,
    siting_of,
)
from combe.study.siting_schema import SitingSection
from combe.study.study_area import study_area

EVERY_HILL: Final = "every hill"


@dataclass(frozen=True)
class Search:
    """All hills that were searched, and what was found.

    ``people`` (n,) newly served in all services by each hill's best option, and ``harmed`` (n,), NaN where
    best-first search did not price it; ``cost`` (n,); ``listed`` the best hills by number, in order;
    ``harm_words`` whom relays may harm; ``seconds`` of the pricing; ``harm_priced`` hills whose harm was.
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

    @property
    def worth(self) -> FloatArray:
        """The score (n,): people newly served less people harmed."""
        score: FloatArray = self.people - self.harmed
        return score

    @property
    def value(self) -> FloatArray:
        """What hills are compared by (n,): the score, or the score per cost."""
        worth: FloatArray = self.worth / self.cost
        return worth

    @property
    def harm_counted(self) -> bool:
        """Whether it was looked at whom relays harm; otherwise ``harmed`` counts nobody."""
        return self.harm_words != NOT_COUNTED

    @property
    def may_harm(self) -> bool:
        """Whether a relay may harm anybody at all."""
        return self.problem.harm.victims.people.size > 0


@dataclass(frozen=True)
class SiteWork:
    """The study of a siting: who is unserved, where parents are heard, and the search over the hills."""

    study: Study
    scene: Scene
    siting: SitingSection
    template: RelayTemplate
    question: FeedQuestion
    cover: CoverReport
    area: Area
    on_air: tuple[Station, ...]
    unserved: Unserved
    feeds: tuple[FeedMap, ...]
    ground: SiteGround
    funnel: Funnel
    search: Search


def site_work(
    study: Study,
    folder: Path,
    *,
    progress: Progress | None = None,
    runner: Runner | None = None,
    cache_folder: Path | None = None,
) -> SiteWork:
    """Search the hills of a study.

    Parameters
    ----------
    folder
        Where the results of blocks are kept, to go on from after a stop.
    runner
        What runs the blocks: threads of this machine if not given.
    cache_folder
        As :func:`combe.study.run_cover.cover_report`.

    Raises
    ------
    StudyError
        A study without siting, or one in which nothing can be searched; stations that stand on no ground.
    TerrainGapError, RasterError, TableError, RangeError, OutputError
        As the prediction of coverage; and a cluster that does not answer.
    """
    siting = siting_of(study)
    on_grid = _on_siting_grid(study, siting)
    with rehearsed_meanwhile(REHEARSAL):
        cover = cover_report(on_grid, progress, cache_folder=cache_folder)
    scene = resolve(on_grid)
    template, question = relay_template(scene, siting), feed_question(scene, siting)
    area = study_area(scene, cover.grid)
    on_air = _on_air(scene, siting)
    unserved = _unserved(cover, siting)
    ground = site_ground(scene, siting, area, scene.stations)
    feeds = _feeds(scene, siting, area, on_air, question)
    assert cover.people is not None, "a siting has people"
    risk = at_risk(scene, cover.run, cover.people, template, on_air)
    funnel, search = _search(
        study,
        scene,
        siting,
        template,
        area,
        unserved,
        risk,
        feeds,
        ground,
        question,
        folder,
        progress,
        runner,
    )
    return SiteWork(
        study, scene, siting, template, question, cover, area, on_air, unserved, feeds, ground, funnel, search
    )


def _on_siting_grid(study: Study, siting: SitingSection) -> Study:
    """Return the study with the cells that siting asks."""
    if siting.cell_size_m is None:
        return study
    grid = study.content.grid.model_copy(update={"cell_size_m": siting.cell_size_m})
    return replace(study, content=study.content.model_copy(update={"grid": grid}))


def _on_air(scene: Scene, siting: SitingSection) -> tuple[Station, ...]:
    every = siting.before == "all stations"
    return tuple(station for station in scene.stations if every or station.role == "parent")


def before_margins_db(cover: CoverReport, siting: SitingSection) -> list[Field]:
    """Return the margin [dB] of each service of the relay before it stands, (rows, columns)."""
    named = {network.name: network for network in cover.services}
    every = siting.before == "all stations"
    return [
        named[each.name].margin_db if every else named[each.name].margin_before_db for each in siting.services
    ]


def _unserved(cover: CoverReport, siting: SitingSection) -> Unserved:
    if cover.people is None:
        raise StudyError(cover.study.path, ["people: is missing; siting asks whom a relay would serve"])
    found = find_unserved(cover.grid, cover.heights_m, cover.people, before_margins_db(cover, siting))
    if found.cells.size == 0:
        raise StudyError(cover.study.path, ["siting: nobody on the grid lacks a service that it radiates"])
    return found


def _feeds(
    scene: Scene, siting: SitingSection, area: Area, on_air: tuple[Station, ...], question: FeedQuestion
) -> tuple[FeedMap, ...]:
    """Return the feed of each parent at every cell of known height."""
    parents = parents_of(siting, on_air)
    known = [station for station in scene.stations if station in on_air or station.name in parents]
    cells = np.flatnonzero(~np.isnan(area.heights_m.ravel()))
    names = [each.name for each in siting.services]
    return tuple(feed_maps(area, known, parents, names, cells, scene.conditions, question))


def _search(
    study: Study,
    scene: Scene,
    siting: SitingSection,
    template: RelayTemplate,
    area: Area,
    unserved: Unserved,
    risk: AtRisk,
    feeds: tuple[FeedMap, ...],
    ground: SiteGround,
    question: FeedQuestion,
    folder: Path,
    progress: Progress | None,
    runner: Runner | None,
) -> tuple[Funnel, Search]:
    fed = keep_fed(feeds, question.chain.required_margin_db)
    start = np.zeros(area.heights_m.size, dtype=np.bool_)
    start[fed.cells] = True
    funnel = apply_rules(start.reshape(area.heights_m.shape), ground.rules)
    kept = funnel.allowed.ravel()[fed.cells]
    hills = fed.cells[kept]
    if hills.size == 0:
        raise StudyError(study.path, [f"siting: no cell is left; {funnel_words(int(start.sum()), funnel)}"])
    away_m = None if ground.access_m is None else ground.access_m.ravel()[hills]
    cost, has_costs = site_cost(hills.size, siting.cost_per_site, siting.cost_per_access_km, away_m)
    minima = [minimum_field_dbuv_m(scene, service.frequency_mhz) for service in template.services]
    height_m = scene.study.content.television.receive_height_m
    terms = Terms(service_conditions(scene), interfering_conditions(scene), height_m, siting.reach_km)
    problem = make_problem(area, hills, unserved, template, minima, terms, risk.victims)
    apart = siting.apart_m / area.grid.cell_size_m
    started = time.perf_counter()
    if siting.search == EVERY_HILL:
        run = run_blocks(problem, folder, runner=runner, told=_telling(progress))
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
        has_costs, listed, run, seconds, priced, harm_priced,
    )  # fmt: skip


def _refuse_cluster(runner: Runner | None) -> None:
    if runner is not None:
        raise RangeError(
            "search", '"best first"', f'"{EVERY_HILL}" on a cluster', "best first runs on this machine"
        )


def _telling(progress: Progress | None) -> Callable[[int, int], None]:
    def told(done: int, total: int) -> None:
        if progress is not None:
            progress(done, total, "worth of the hills")

    return told


def funnel_words(fed: int, funnel: Funnel) -> str:
    """Return what each rule left, in words."""
    parts = [f"{fed} cells hear a parent well enough"]
    parts += [f"{left} are {words}" for words, left in funnel.steps]
    return ", of them ".join(parts)
