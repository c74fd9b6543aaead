"""What is told of each hill of the list: feed, people, power, exposure, and why it is where it is."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.answers.exposure import exposure_of
from combe.answers.site import SiteWork, before_margins_db
from combe.answers.site_feed import WholeFeed, whole_feed
from combe.decibels import FloatArray, watt_from_dbw
from combe.digits import spoken
from combe.errors import RangeError
from combe.planning import (
    ComplianceDistance,
    PeopleRange,
    chance_of_more,
    homes_of,
    newly_served_draws,
    people_served,
    range_of,
    take_census,
)
from combe.planning.siting import harmed_by, served_of
from combe.prediction import predict_coverage
from combe.project import minimum_field_dbuv_m, service_conditions
from combe.reception import served_mask, strongest_field, weakest_field
from combe.stations import Station
from combe.terrain import cells_to_lonlat_deg, covered_fraction
from combe.words import chain, tell

_SOMEBODY: Final = 0.5

SURE_LEAD: Final = 0.9
"""With this chance of being worth more, a hill leads another by more than the error of the prediction."""


@dataclass(frozen=True)
class FeedRow:
    """The feed of one service at a hill."""

    service: str
    input_dbm: float
    carrier_to_noise_db: float
    margin_db: float


@dataclass(frozen=True)
class Candidate:
    """One hill of the list.

    ``people`` newly served in all services, and ``harmed``, as the search scores them; ``counted`` the newly
    served by the whole coverage of the station, cell by cell; ``alone`` those whom no other hill of the list
    would serve.
    ``station`` stands there with its best option; ``feed`` is that of the search, ``whole_feed`` judges it
    with all that is known. ``reasons`` are plain sentences. ``served`` tells of each target whether the hill
    serves it, ``harms`` are the places at which it takes a service, by number. ``draws`` are numbers of newly
    served people of equal chance, by the error of the prediction; ``newly`` (rows, columns) is the ground
    newly served in all services by the whole coverage.
    """

    rank: int
    hill: int
    station: Station
    ground_m: float
    above_valley_m: float
    slope_deg: float
    access_m: float | None
    parent: str
    parent_km: float
    feed_margin_db: float
    feed: tuple[FeedRow, ...]
    whole_feed: WholeFeed
    people: float
    harmed: float
    counted: float
    alone: float
    share: float
    option: str
    azimuth_deg: float
    cost: float
    exposure: ComplianceDistance | None
    exposure_fault: str
    reasons: tuple[str, ...]
    served: npt.NDArray[np.bool_] = field(repr=False, compare=False)
    harms: npt.NDArray[np.intp] = field(repr=False, compare=False)
    draws: FloatArray = field(repr=False, compare=False)
    newly: npt.NDArray[np.bool_] = field(repr=False, compare=False)

    @property
    def score(self) -> float:
        """The score: people newly served less people harmed."""
        return self.people - self.harmed

    @property
    def people_range(self) -> PeopleRange:
        """Between which numbers the newly served lie by the error of the prediction."""
        return range_of(self.draws)

    def lead_over(self, other: Candidate) -> Lead:
        """Return how sure it is that the hill is worth more than another, harm and cost counted.

        Two hills err apart, as two stations do: what they have in common would only make it surer.
        """
        mine, theirs = ((each.draws - each.harmed) / each.cost for each in (self, other))
        return Lead(chance_of_more(mine, theirs))


class Lead(NamedTuple):
    """The chance that one hill is worth more than another, 0 to 1."""

    chance: float

    @property
    def told_apart(self) -> bool:
        """Whether it leads by more than the error of the prediction."""
        return self.chance >= SURE_LEAD


def candidates(work: SiteWork) -> tuple[Candidate, ...]:
    """Return the hills of the list, best first."""
    # Against many places one hill takes a second, and kernels let other threads run.
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        served = list(pool.map(lambda hill: served_by(work, int(hill)), work.search.listed))
    return tuple(_candidate(work, rank, served) for rank in range(1, len(served) + 1))


@dataclass(frozen=True)
class ComparedHills:
    """Two hills of the list: the people whom they serve together, and those whom both reach."""

    first: Candidate
    second: Candidate
    together: float
    both: float


def compared(work: SiteWork, listed: tuple[Candidate, ...], ranks: tuple[int, int]) -> ComparedHills:
    """Compare two hills of the list.

    Raises
    ------
    RangeError
        Hills that are not in the list.
    """
    for rank in ranks:
        if not 1 <= rank <= len(listed):
            raise RangeError("hill to compare", rank, f"1 to {len(listed)}, the list")
    first, second = (listed[rank - 1] for rank in ranks)
    people = work.search.problem.people
    return ComparedHills(
        first,
        second,
        float(np.sum(people[first.served | second.served])),
        float(np.sum(people[first.served & second.served])),
    )


def served_by(work: SiteWork, hill: int) -> npt.NDArray[np.bool_]:
    """Return which targets a hill serves with its best option, (targets,)."""
    wide = work.search.wide
    if wide is not None and hill in wide.served:
        targets = work.search.problem.targets.row.size
        return np.unpackbits(wide.served[hill], count=targets).astype(np.bool_)
    return served_of(work.search.problem, hill, int(work.search.option[hill]))


def hill_station(work: SiteWork, hill: int, name: str) -> Station:
    """Return the relay on a hill, with its best option."""
    search, grid = work.search, work.area.grid
    row, column = divmod(int(search.hills[hill]), grid.columns)
    lon, lat = cells_to_lonlat_deg(grid, row, column)
    chosen = work.template.options[int(search.option[hill])]
    factor = watt_from_dbw(chosen.erp_change_db)
    return Station(
        name=name,
        role="relay",
        longitude_deg=float(lon),
        latitude_deg=float(lat),
        aerial_height_m=work.template.aerial_height_m,
        polarization=work.template.polarization,
        services=tuple(replace(each, erp_w=each.erp_w * factor) for each in work.template.services),
        horizontal_pattern=dict(work.siting.patterns)[chosen.name],
        vertical_pattern=work.template.vertical_pattern,
        parent=work.feeds[int(search.parent[hill])].parent,
        bearing_deg=chosen.turn_deg,
    )


def _candidate(work: SiteWork, rank: int, served: list[npt.NDArray[np.bool_]]) -> Candidate:
    search, hill = work.search, int(work.search.listed[rank - 1])
    cell = int(search.hills[hill])
    feed = work.feeds[int(search.parent[hill])]
    at = int(np.searchsorted(feed.cells, cell))
    station = hill_station(work, hill, tell("Hill {rank}", rank=rank))
    option = work.template.options[int(search.option[hill])]
    others = np.any([each for n, each in enumerate(served) if n != rank - 1] or [~served[0] & False], axis=0)
    people, mine = search.problem.people, served[rank - 1]
    exposure, fault = exposure_of(station)
    counted, draws, newly = count_again(work, station)
    ground = work.ground
    found = Candidate(
        rank=rank,
        hill=hill,
        station=station,
        ground_m=float(work.area.heights_m.ravel()[cell]),
        above_valley_m=float(ground.above_valley_m.ravel()[cell]),
        slope_deg=float(ground.slope_deg.ravel()[cell]),
        access_m=None if ground.access_m is None else float(ground.access_m.ravel()[cell]),
        parent=feed.parent,
        parent_km=float(feed.distance_km[at]),
        feed_margin_db=float(search.feed_margin_db[hill]),
        feed=tuple(
            FeedRow(
                name,
                float(feed.input_dbm[k, at]),
                float(feed.carrier_to_noise_db[k, at]),
                float(feed.margin_db[k, at]),
            )
            for k, name in enumerate(feed.services)
        ),
        whole_feed=whole_feed(work, station),
        people=float(search.people[hill]),
        harmed=float(search.harmed[hill]),
        counted=counted,
        draws=draws,
        newly=newly,
        alone=float(np.sum(people[mine & ~others])),
        share=float(search.people[hill]) / work.unserved.total,
        option=option.name,
        azimuth_deg=option.azimuth_deg,
        cost=float(search.cost[hill]),
        exposure=exposure,
        exposure_fault=fault,
        reasons=(),
        served=mine,
        harms=np.flatnonzero(harmed_by(search.problem, hill, int(search.option[hill]))),
    )
    return replace(found, reasons=_reasons(work, found))


def count_again(work: SiteWork, station: Station) -> tuple[float, FloatArray, npt.NDArray[np.bool_]]:
    """Return the people newly served by a station, from its whole coverage and by areas of cells.

    With them the draws and the ground newly served, as :class:`Candidate` has them.
    """
    cover, census = work.cover, take_census(work.cover.people, work.cover.grid)
    assert cover.people is not None and census is not None, "a siting has people"
    maps = predict_coverage(
        work.area,
        station,
        conditions=service_conditions(work.project, station.services),
        rx_height_m=work.project.field_height_m,
    )
    before = before_margins_db(cover, work.siting)
    after = [
        strongest_field(
            [
                margin,
                made.field_dbuv_m
                - minimum_field_dbuv_m(work.project, service.frequency_mhz, service=service),
            ]
        )
        for margin, made, service in zip(before, maps, station.services, strict=True)
    ]
    was, now = weakest_field(before), weakest_field(after)
    new = served_mask(now, 0.0) & ~served_mask(was, 0.0) & ~np.isnan(was)
    counted = people_served(cover.people.counts, covered_fraction(new, cover.grid, cover.people))
    return counted, newly_served_draws(homes_of(census), now, was, cover.error.margin_error), new


def _reasons(work: SiteWork, found: Candidate) -> tuple[str, ...]:
    """Say why the hill is in the list at its place; every number is one of the candidate's own."""
    search, asked = work.search, work.question
    spare = found.feed_margin_db - asked.chain.required_margin_db
    weakest = min(found.feed, key=lambda each: each.margin_db)
    time_words = (
        tell(" for {time_percent:g} % of time", time_percent=asked.time_percent)
        if asked.time_percent > 50.0
        else ""
    )
    feed = tell(
        "hears {parent} over {parent_km} km: {service}, the weakest, stands "
        "{feed_margin_db} dB over the C/N it needs{time_words} by the search, "
        "{spare} dB more than asked",
        parent=found.parent,
        parent_km=spoken(found.parent_km, 1),
        service=weakest.service,
        feed_margin_db=spoken(found.feed_margin_db, 1),
        time_words=time_words,
        spare=spoken(spare, 1),
    )
    worth = tell(
        "newly serves {people} of {total} people who lack a service ({share:.0f} %)",
        people=spoken(found.people),
        total=spoken(work.unserved.total),
        share=100.0 * found.share,
    )
    place = _place_words(work, found)
    alone = tell("{alone} of them are reached by no other hill of the list", alone=spoken(found.alone))
    if found.alone < _SOMEBODY:
        alone = "everybody it serves is reached from another hill of the list too"
    over, at = spoken(found.above_valley_m), spoken(found.ground_m)
    ground = tell("stands {over} m over the lowest ground around, at {at} m", over=over, at=at)
    costs = [
        tell(
            "costs {cost}, {score:.3g} people for each unit",
            cost=spoken(found.cost),
            score=found.score / found.cost,
        )
    ]
    harm = [_harm_words(found)] if search.may_harm else []
    return (
        tell("{worth}, {place}", worth=worth, place=place),
        alone,
        *harm,
        feed,
        ground,
        *(costs if search.has_costs else []),
    )


def _harm_words(found: Candidate) -> str:
    if found.harmed < _SOMEBODY:
        return "takes a service from nobody, so far as interference is counted"
    lost, left = spoken(found.harmed), spoken(found.score)
    return tell(
        "takes a service from {lost} who have it from others, which leaves {left}", lost=lost, left=left
    )


def _place_words(work: SiteWork, found: Candidate) -> str:
    search = work.search
    unit = chain(
        "people net of harm" if search.may_harm else "people", " per cost" if search.has_costs else ""
    )
    if found.rank == 1:
        if search.wide is not None:
            return tell(
                "more {unit} than any other of the {exact} hills priced in full",
                unit=unit,
                exact=spoken(search.wide.exact),
            )
        alike = int(np.count_nonzero(search.value >= search.value[found.hill])) > 1
        if alike or search.run is None:
            return tell(
                "and none of the {size} hills searched serves more {unit}",
                size=spoken(search.hills.size),
                unit=unit,
            )
        return tell(
            "more {unit} than any other of the {size} hills searched",
            unit=unit,
            size=spoken(search.hills.size),
        )
    apart = work.siting.apart_m
    kept = tell(" among hills {apart:g} m apart", apart=apart) if apart else ""
    return tell("the {ordinal} in {unit}{kept}", ordinal=_ordinal(found.rank), unit=unit, kept=kept)


def _ordinal(number: int) -> str:
    told = {1: "{number}st", 2: "{number}nd", 3: "{number}rd"}
    last = number % 10 if number % 100 not in (11, 12, 13) else 0
    return tell(told.get(last, "{number}th"), number=number)
