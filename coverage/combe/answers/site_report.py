"""The whole report of a siting: the list, sets of sites, the study's own relays, and what made it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from combe.answers.cover import Progress
from combe.answers.cover_ground import CoverGround
from combe.answers.provenance import provenance
from combe.answers.site import EVERY_HILL, Search, SiteWork, site_work
from combe.answers.site_candidates import Candidate, Lead, candidates
from combe.answers.site_cells import hill_values, over_grid
from combe.answers.site_own_feed import OwnFeed, own_feed
from combe.answers.site_sets import SiteSets, site_sets
from combe.answers.site_setup import cell_of
from combe.answers.site_wide import CoarseFirst
from combe.decibels import FloatArray
from combe.digits import spoken, telling, true_minus
from combe.planning.siting import Failure, Runner
from combe.project import Project
from combe.stations import Station
from combe.words import joined, tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from xarray import Dataset

    from combe.terrain import StudyGrid


@dataclass(frozen=True)
class OwnRelay:
    """What became of a relay of the study: its place among the hills, or why it is none of them.

    ``better`` hills serve more than the cell it stands on; None where that cell was not searched.
    """

    name: str
    people: float | None
    better: int | None
    words: str


@dataclass(frozen=True)
class SiteReport:
    """A siting, with what made it."""

    work: SiteWork
    candidates: tuple[Candidate, ...]
    sets: SiteSets
    own: tuple[OwnRelay, ...]
    provenance: dict[str, str]

    @property
    def failures(self) -> tuple[Failure, ...]:
        """Blocks of hills that could not be priced."""
        return self.work.search.run.failures if self.work.search.run else ()

    @property
    def grid(self) -> StudyGrid:
        """The grid whose cells were searched."""
        return self.work.area.grid

    @property
    def pairs_per_second(self) -> float:
        """Pairs of a hill and a place dealt with in a second of the search."""
        return self.hills_per_second * self.work.search.problem.targets.row.size

    @cached_property
    def leads(self) -> tuple[Lead | None, ...]:
        """How surely the first hill of the list is worth more than each; None for that one itself."""
        return tuple(
            self.candidates[0].lead_over(hill) if number else None
            for number, hill in enumerate(self.candidates)
        )

    @cached_property
    def own_feeds(self) -> Mapping[int, OwnFeed]:
        """The feed of the study's own relay on each hill of the list, by the hill's number.

        Empty where the study has no relay that may be moved. Worked out when first asked for: what would
        carry a feed that fails takes some twenty tries.
        """
        found = ((each.hill, own_feed(self.work, each.station)) for each in self.candidates)
        return {hill: own for hill, own in found if own}

    def read_value(self) -> FloatArray:
        """Return what each cell is worth as a site (rows, columns), NaN where no hill was searched."""
        return over_grid(self.work, self.work.search.value)

    def read_hills(self) -> dict[str, FloatArray]:
        """Return what is known of every hill over the grid (rows, columns), as ``hill_values`` has it."""
        return {key: over_grid(self.work, values) for key, values in hill_values(self.work).items()}

    @property
    def hills_per_second(self) -> float:
        """Hills dealt with in a second of the search."""
        return self.work.search.hills.size / max(self.work.search.seconds, 1e-9)

    def to_geodataframe(self) -> GeoDataFrame:
        """Return the hills of the list as points, best first: the layer ``hills`` of ``site.gpkg``.

        Examples
        --------
        >>> import combe
        >>> from dataclasses import replace
        >>> valley = combe.demo()
        >>> asked = replace(valley.siting, cell_size_m=900.0, list_length=2, sites=1)
        >>> hills = combe.site(replace(valley, siting=asked)).to_geodataframe()
        >>> hills["rank"].tolist(), hills.crs.to_string()
        ([1, 2], 'EPSG:4326')
        """
        from combe.answers.frames import hill_frame

        return hill_frame(self)

    def to_xarray(self) -> Dataset:
        """Return over the searched grid what each cell is worth as a site, and who lacks a service.

        Raises
        ------
        MissingLibraryError
            xarray is not installed; it comes with the extra ``xarray``.

        Examples
        --------
        >>> import combe
        >>> from dataclasses import replace
        >>> valley = combe.demo()
        >>> asked = replace(valley.siting, cell_size_m=900.0, list_length=2, sites=1)
        >>> combe.site(replace(valley, siting=asked)).to_xarray().value.dims
        ('y', 'x')
        """
        from combe.answers.datasets import site_dataset

        return site_dataset(self)


def site_report(
    project: Project,
    folder: Path,
    *,
    progress: Progress | None = None,
    runner: Runner | None = None,
    cache_folder: Path | None = None,
    coarse_first: CoarseFirst | None = None,
    ground: CoverGround | None = None,
) -> SiteReport:
    """Search the hills of a study and tell what was found; arguments and errors as ``site_work``."""
    work = site_work(
        project,
        folder,
        progress=progress,
        runner=runner,
        cache_folder=cache_folder,
        coarse_first=coarse_first,
        ground=ground,
    )
    listed = candidates(work)
    return SiteReport(
        work=work,
        candidates=listed,
        sets=site_sets(work),
        own=tuple(_own(work, listed, each) for each in work.project.relays),
        provenance=site_provenance(work),
    )


def _searched_ground(work: SiteWork) -> dict[str, str]:
    """Return what the search takes in place of several terrains; nothing where there is one."""
    if work.area is work.cover.run.area:
        return {}
    words = "all terrains as one raster, of cells as small as the finest has as far as there is room"
    return {"searched ground": words}


def site_provenance(work: SiteWork) -> dict[str, str]:
    """Return what made a siting, in words."""
    search, siting = work.search, work.siting
    powers = joined(
        ", ",
        (
            tell(
                "{name} channel {channel} {erp_w:g} W", name=each.name, channel=each.channel, erp_w=each.erp_w
            )
            for each in work.template.services
        ),
    )
    relay = tell(
        "{powers}; aerial at {aerial_height_m:g} m, {polarization}; patterns {name}",
        powers=powers,
        aerial_height_m=siting.aerial_height_m,
        polarization=siting.polarization,
        name=joined(", ", (name for name, _ in siting.patterns)),
    )
    how = "every hill priced" if siting.search == EVERY_HILL else "best first, by a bound no hill exceeds"
    if search.wide is not None:
        how = "coarse first, leading hills priced in full"
    feed = tell(
        "margin {required_margin_db:g} dB for {time_percent:g} % of an average "
        "year, fades by ITU-R P.2001-4 in {climate_words}",
        required_margin_db=siting.feed.required_margin_db,
        time_percent=siting.feed.time_percent,
        climate_words=work.project.climate_words,
    )
    if siting.feed.fade_allowance_db > 0.0:
        feed += tell(
            " and an allowance of {fade_allowance_db:g} dB", fade_allowance_db=siting.feed.fade_allowance_db
        )
    others = sorted({name for each in work.feeds for name in each.interferers})
    return (
        provenance(work.project, work.cover.grid, over_year=True)
        | _searched_ground(work)
        | {
            "relay on every hill": relay,
            "feed": tell(
                "{feed}; {others}",
                feed=feed,
                others=joined("; ", others) + " added to the noise" if others else "no co-channel station",
            ),
            "search": tell(
                "{how}: {size} hills, {size_2} targets, {priced_hills} hills priced{harm_priced}",
                how=how,
                size=spoken(search.hills.size),
                size_2=spoken(search.problem.targets.row.size),
                priced_hills=spoken(search.priced_hills),
                harm_priced=_harm_priced(search),
            ),
            "harm": search.harm_words,
            "error of the prediction": tell("{words}; of each hill by itself", words=work.cover.error.words),
        }
    )


def _harm_priced(search: Search) -> str:
    if not search.may_harm:
        return ""
    places = search.problem.harm.victims.people.size
    return tell(
        ", harm at {places} places for {harm_priced} of them",
        places=spoken(places),
        harm_priced=spoken(search.harm_priced),
    )


def _own(work: SiteWork, listed: tuple[Candidate, ...], relay: Station) -> OwnRelay:
    """Say where one of the study's own relays comes among the hills."""
    row, column = (round(each) for each in cell_of(work.area, relay.longitude_deg, relay.latitude_deg))
    grid, search = work.area.grid, work.search
    if not (0 <= row < grid.rows and 0 <= column < grid.columns):
        return OwnRelay(relay.name, None, None, "stands off the grid")
    cell = row * grid.columns + column
    at = int(np.searchsorted(search.hills, cell))
    if at == search.hills.size or search.hills[at] != cell:
        return OwnRelay(relay.name, None, None, _why_not(work, row, column))
    if np.isnan(search.people[at]) and search.wide is not None:
        people = spoken(float(search.wide.estimate[at]))
        words = tell("not priced in full; by its estimate it newly serves {people}", people=people)
        return OwnRelay(relay.name, None, None, words)
    if np.isnan(search.people[at]):
        return OwnRelay(relay.name, None, None, "no better than the list; best-first search did not price it")
    better = int(np.count_nonzero(search.value > search.value[at]))
    place = tell(
        "{better} of {size} hills searched are worth more",
        better=spoken(better),
        size=spoken(search.hills.size),
    )
    near = _near(work, listed, row, column)
    return OwnRelay(
        relay.name, float(search.people[at]), better, tell("{place}; {near}", place=place, near=near)
    )


def _near(work: SiteWork, listed: tuple[Candidate, ...], row: int, column: int) -> str:
    """Say which hill of the list is nearest to a cell."""
    columns, side_m = work.area.grid.columns, work.area.grid.cell_size_m
    away_m = [
        side_m
        * float(np.hypot(*np.subtract(divmod(int(work.search.hills[each.hill]), columns), (row, column))))
        for each in listed
    ]
    if not away_m:
        return "nothing is listed"
    first = int(np.argmin(away_m))
    if away_m[first] < max(work.siting.apart_m, side_m):
        return tell(
            "hill {rank} of the list is the same hill, {away_m} m away",
            rank=listed[first].rank,
            away_m=spoken(away_m[first]),
        )
    return tell(
        "the nearest of the list is hill {rank}, {away_m:.1f} km away",
        rank=listed[first].rank,
        away_m=away_m[first] / 1000.0,
    )


def _why_not(work: SiteWork, row: int, column: int) -> str:
    """Say why a cell was not searched: no feed, or the first rule that leaves it out."""
    cell = row * work.area.grid.columns + column
    asked_db = work.question.chain.required_margin_db
    margins = [
        (float(each.worst_margin_db[at]), each.parent)
        for each in work.feeds
        if (at := int(np.searchsorted(each.cells, cell))) < each.cells.size and each.cells[at] == cell
    ]
    if not margins:
        return "not searched: its ground is not known"
    best_db, parent = max(margins)
    if not best_db >= asked_db:
        heard = true_minus(telling(best_db, asked_db, 1))
        return tell(
            "not searched: it hears {parent} with {heard} dB of the {asked_db:g} dB asked",
            parent=parent,
            heard=heard,
            asked_db=asked_db,
        )
    for rule in work.ground.rules:
        if not rule.allows[row, column]:
            return tell("not searched: a mast has to be {words}", words=rule.words)
    return "not searched"
