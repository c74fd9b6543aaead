"""Sites chosen together from all hills, the direction and power of each, and hills that only they feed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from combe.answers.emissions import interfering_conditions
from combe.answers.site import SiteWork
from combe.answers.site_candidates import hill_station, served_by
from combe.errors import RangeError
from combe.planning.siting import (
    Direction,
    SiteSet,
    Terms,
    Unserved,
    best_hills,
    best_sites,
    cheapest_sites,
    feed_maps,
    greedy_sites,
    headroom_of,
    keep_fed,
    least_power,
    make_problem,
    make_question,
)
from combe.project import minimum_field_dbuv_m, service_conditions
from combe.stations import Station
from combe.terrain import cells_to_lonlat_deg
from combe.words import tell

SECOND_ROUND: Final = 5
"""Hills that are listed of those which only a chosen site feeds."""


@dataclass(frozen=True)
class ChosenSite:
    """A site of a set: its relay, what it adds, and the least that serves those who depend on it.

    ``direction`` is None where nobody depends on the site alone.
    """

    station: Station
    hill: int
    adds: float
    direction: Direction | None
    option: str
    azimuth_deg: float
    erp_w: tuple[float, ...]


@dataclass(frozen=True)
class SetRow:
    """Sets of one size: the exact one and the greedy one beside it."""

    size: int
    exact: SiteSet
    greedy: SiteSet


@dataclass(frozen=True)
class FurtherHill:
    """A hill that hears no parent well enough but a chosen site, and whom it would serve of those left.

    ``harmed`` lose a service from stations that are on air now; the chosen sites count as none.
    """

    longitude_deg: float
    latitude_deg: float
    feeds_from: str
    margin_db: float
    people: float
    harmed: float


@dataclass(frozen=True)
class SiteSets:
    """What was chosen together; empty after a best-first search, which knows single hills only."""

    rows: tuple[SetRow, ...]
    sites: tuple[ChosenSite, ...]
    for_share: SiteSet | None
    further: tuple[FurtherHill, ...]


def site_sets(work: SiteWork) -> SiteSets:
    """Choose sets of up to as many sites as the study asks."""
    run = work.search.run
    if run is None:
        return SiteSets((), (), None, ())
    question = make_question(
        run.scores.served, work.search.problem.people, work.search.cost, harmed=work.search.harmed
    )
    rows = []
    for size in range(1, work.siting.sites + 1):
        rows.append(SetRow(size, best_sites(question, size), greedy_sites(question, size)))
        if len(rows[-1].exact.hills) < size:
            break
    sites = _chosen_sites(work, rows[-1].exact)
    share = work.siting.share_percent
    return SiteSets(
        tuple(rows),
        sites,
        None if share is None else cheapest_sites(question, share / 100.0),
        _further(work, rows[-1].exact, sites) if work.siting.relays_feed_relays else (),
    )


def _chosen_sites(work: SiteWork, chosen: SiteSet) -> tuple[ChosenSite, ...]:
    served = [served_by(work, hill) for hill in chosen.hills]
    return tuple(_site(work, chosen, number, served) for number in range(len(served)))


def _site(work: SiteWork, chosen: SiteSet, number: int, served: list[np.ndarray]) -> ChosenSite:
    hill = chosen.hills[number]
    others = [each for n, each in enumerate(served) if n != number]
    depends = served[number] & ~np.any(others, axis=0) if others else served[number]
    station = hill_station(work, hill, tell("Site {number}", number=number + 1))
    direction = None
    option, down_db = int(work.search.option[hill]), 0.0
    if depends.any():
        try:
            direction = least_power(*headroom_of(work.search.problem, hill), depends, work.template.options)
            option, down_db = direction.option, direction.down_db
        except RangeError:
            direction = None
    told = work.template.options[option]
    factor = 10.0 ** ((told.erp_change_db - down_db) / 10.0)
    erp = tuple(each.erp_w * factor for each in work.template.services)
    return ChosenSite(station, hill, chosen.adds[number], direction, told.name, told.azimuth_deg, erp)


def _further(work: SiteWork, chosen: SiteSet, sites: tuple[ChosenSite, ...]) -> tuple[FurtherHill, ...]:
    """Look among cells that no parent feeds for hills that a chosen site feeds, for people who are left."""
    left = ~np.any([served_by(work, hill) for hill in chosen.hills], axis=0)
    people = work.unserved
    rest = Unserved(people.cells[left], people.people[left], people.lacks[left], people.people_in_all)
    rules = np.all([rule.allows for rule in work.ground.rules], axis=0).ravel()
    fed_already = np.zeros(rules.size, dtype=np.bool_)
    fed_already[keep_fed(work.feeds, work.question.chain.required_margin_db).cells] = True
    cells = np.flatnonzero(rules & ~fed_already & ~np.isnan(work.area.heights_m.ravel()))
    if cells.size == 0 or rest.cells.size == 0:
        return ()
    stations = [replace(site.station, role="relay") for site in sites]
    maps = feed_maps(
        work.area,
        [*work.on_air, *stations],
        [station.name for station in stations],
        [each.name for each in work.siting.services],
        cells,
        work.project.conditions,
        work.question,
    )
    fed = keep_fed(maps, work.question.chain.required_margin_db)
    if fed.cells.size == 0:
        return ()
    minima = [
        minimum_field_dbuv_m(work.project, each.frequency_mhz, service=each)
        for each in work.template.services
    ]
    asked, usual = work.search.problem, service_conditions(work.project, work.template.services)
    terms = Terms(usual, interfering_conditions(work.project), asked.aerials.q_above_m, work.siting.reach_km)
    problem = make_problem(work.area, fed.cells, rest, work.template, minima, terms, asked.harm.victims)
    apart = work.siting.apart_m / work.area.grid.cell_size_m
    found = best_hills(problem, SECOND_ROUND, apart_cells=apart)
    return tuple(
        _further_hill(work, fed.cells[hill], stations[fed.parent[hill]].name, fed.margin_db[hill], *counts)
        for hill, *counts in zip(found.hills, found.people, found.harmed, strict=True)
    )


def _further_hill(
    work: SiteWork, cell: int, feeder: str, margin_db: float, people: float, harmed: float
) -> FurtherHill:
    grid = work.area.grid
    row, column = divmod(int(cell), grid.columns)
    lon, lat = cells_to_lonlat_deg(grid, row, column)
    return FurtherHill(float(lon), float(lat), feeder, float(margin_db), float(people), float(harmed))
