"""Predicts what every station covers: who is served, who newly, and in what part of each cell."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from combe.answers.by_system import SystemCoverage, system_coverage
from combe.answers.corrections import correction_words, corrections_of, error_words
from combe.answers.cover_ground import CoverGround, cover_ground
from combe.answers.cover_run import (
    CoverRun,
    harm_found,
    predicted_where,
    run_network,
    served_where,
)
from combe.answers.emissions import interference_words
from combe.answers.feed import FeedReport, FeedStanding, RelayFeed, feed_report, feed_standings
from combe.answers.filled_ground import FilledGround, filled_ground
from combe.answers.ground_check import check_stations
from combe.answers.map_context import DrawnLayer, place_near
from combe.answers.network import Network
from combe.answers.network_effect import NetworkEffect, network_effects
from combe.answers.prediction_error import ErrorOfProject, error_of
from combe.answers.provenance import provenance
from combe.answers.relay_site import Known
from combe.answers.station_coverage import ServiceCoverage, StationCoverage
from combe.answers.ways import WayCoverage, count_way, cover_ways, part_of
from combe.answers.workspace import Place, Progress
from combe.decibels import FloatArray
from combe.planning import (
    TILE_BYTES,
    Census,
    Harm,
    PeopleCount,
    Victim,
    count_harm,
    count_reach,
)
from combe.project import Project
from combe.stations import Station
from combe.terrain import DistrictMap, People, PeoplePoints, StudyGrid
from combe.words import tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame
    from xarray import Dataset

    from combe.answers.frames import CoverRows
    from combe.planning import UnservedSettlement
    from combe.project import PeopleSource

__all__ = ["CoverReport", "Progress", "ServiceCoverage", "StationCoverage", "cover_report"]


@dataclass(frozen=True)
class TakenUp:
    """Sweeps and tiles of a coverage, and how many of each an earlier run had left."""

    sweeps: int
    sweeps_from_before: int
    tiles: int
    tiles_from_before: int


@dataclass(frozen=True)
class CoverReport:
    """The coverage of a study.

    ``services`` holds each service name over all stations that radiate it; ``all_services`` wants every one
    of them, from whichever station gives it best. Arrays have shape (rows, columns), row 0 north.
    ``interference`` tells whether any station may disturb another at all, ``harm`` what each relay does;
    ``points`` are the places that the people were read from, if it was no raster, ``districts`` the polygons
    of their districts, if they have any; ``run`` holds all emissions with their fields, to judge further
    changes by. ``taken_up`` says how much of the work was found done.
    ``feeds`` are those of the relays, which count as fed whatever their verdict, and ``unserved`` the
    settlements that lack a service; both None where they were not asked, have no relay, or no people.
    ``on_one_frequency`` tells of each service of each network on one frequency what it gives and takes.
    ``error`` gives the networks their ranges. ``by_system`` tells what each television system serves by
    itself where there are several. All that is by the first way of receiving; ``ways`` has the people and
    margins of each, that one too. ``census`` are the people as they are counted, ``context`` is what the map
    shows beside all this. ``filled`` tells which cells are reached across ground that was filled in; None
    where no void is.
    """

    project: Project
    grid: StudyGrid
    heights_m: FloatArray
    stations: tuple[StationCoverage, ...]
    services: tuple[Network, ...]
    all_services: Network
    people: People | None
    provenance: dict[str, str]
    run: CoverRun = field(repr=False, compare=False)
    taken_up: TakenUp
    error: ErrorOfProject
    harm: tuple[Harm, ...] = ()
    interference: bool | None = None
    points: PeoplePoints | None = None
    districts: DistrictMap | None = None
    feeds: FeedReport | None = None
    unserved: tuple[UnservedSettlement, ...] | None = None
    on_one_frequency: tuple[NetworkEffect, ...] = ()
    by_system: tuple[SystemCoverage, ...] = ()
    ways: tuple[WayCoverage, ...] = ()
    census: Census | None = field(default=None, repr=False, compare=False)
    context: tuple[DrawnLayer, ...] = ()
    filled: FilledGround | None = None

    @property
    def compared(self) -> bool:
        """Whether there is any relay, and so a time before to compare with."""
        return bool(self.project.relays)

    @property
    def relay_feeds(self) -> tuple[RelayFeed, ...]:
        """The feeds of the relays, as far as they were asked for and can be predicted."""
        return self.feeds.relays if self.feeds else ()

    @property
    def standings(self) -> tuple[FeedStanding, ...]:
        """How the feed of each relay stands."""
        return feed_standings(self.feeds) if self.feeds else ()

    def to_geodataframe(self, of: CoverRows | None = None) -> GeoDataFrame:
        """Return a table with places, for a GIS.

        Parameters
        ----------
        of
            ``"districts"`` as polygons with the people of each in all services, ``"stations"`` as points,
            or ``"served"``: the areas in which all services and each are served, and those that each station
            serves. The districts unless told, or the stations where the people have none.

        Raises
        ------
        RangeError
            Other rows, or districts of people without any.

        Examples
        --------
        >>> import combe
        >>> from dataclasses import replace
        >>> valley = combe.demo()
        >>> found = combe.cover(replace(valley, grid=replace(valley.grid, cell_size_m=900.0)))
        >>> found.to_geodataframe().role.tolist()
        ['parent', 'relay']
        >>> found.to_geodataframe("served").geom_type.unique().tolist()
        ['MultiPolygon']
        """
        from combe.answers.frames import cover_frame

        return cover_frame(self, of)

    def to_xarray(self, stations: Collection[str] | None = None) -> Dataset:
        """Return all maps over the study grid, with the places of its cells, units, CRS and what made them.

        ``field_dbuv_m`` and ``served`` are told apart by ``station`` and ``service``; margins by ``network``,
        each service over all stations, and "All services". All are held in memory.

        Parameters
        ----------
        stations
            Names of those whose fields are wanted; all unless given.

        Raises
        ------
        RangeError
            A name that is no station.
        MissingLibraryError
            xarray is not installed; it comes with the extra ``xarray``.

        Examples
        --------
        >>> import combe
        >>> from dataclasses import replace
        >>> valley = combe.demo()
        >>> found = combe.cover(replace(valley, grid=replace(valley.grid, cell_size_m=900.0)))
        >>> maps = found.to_xarray(["Larkcombe"])
        >>> maps.field_dbuv_m.dims, maps.field_dbuv_m.units
        (('station', 'service', 'y', 'x'), 'dB(uV/m)')
        >>> bool((maps.margin_db.sel(network="Mux A") >= 0.0).any())
        True
        """
        from combe.answers.datasets import cover_dataset

        return cover_dataset(self, stations)


def cover_report(
    project: Project,
    progress: Progress | None = None,
    *,
    cache_folder: Path | None = None,
    tile_bytes: int = TILE_BYTES,
    feeds: bool = False,
    unserved: bool = False,
    ground: CoverGround | None = None,
    place: Place | None = None,
    known_feeds: Known | None = None,
) -> CoverReport:
    """Predict the coverage of a study.

    Parameters
    ----------
    project
    progress
        Told how far the work is.
    cache_folder
        Where fields of stations and judged maps are kept and found again; nothing is kept if not given.
    tile_bytes
        How much the fields of one tile of the grid may take; the result does not depend on it.
    feeds
        Whether the feeds of the relays are judged too.
    unserved
        Whether the settlements that lack a service are listed too.
    ground
        What :func:`combe.answers.cover_ground.cover_ground` gives, where it is at hand.
    place
        Where to work, if not in the cache folder.
    known_feeds
        What was found before of the feeds of projects of which only the stations were others.

    Raises
    ------
    StudyError
        With every station on a void or beyond the terrain, or where cover or zone is not known.
    TerrainGapError, RasterError, RangeError
        An area outside the terrain, rasters that cannot be used, a class without a height, no zone, or an
        impossible grid.
    OutputError
        A cache folder that cannot be made or written.
    """
    check_stations(project)
    ground = ground or cover_ground(project)
    grid, area, source, census = ground.grid, ground.area, ground.people, ground.census
    corrections, error = corrections_of(project), error_of(project)
    told = part_of(progress, 0, len(project.ways))
    run = run_network(project, area, corrections, cache_folder, told, tile_bytes, place=place)
    judged = project.interference.counted
    first = count_way(project.way, run, census, corrections, error, judged=judged)
    ways = cover_ways(project, first, area, corrections, census, error, cache_folder, progress)
    return CoverReport(
        project=project,
        grid=grid,
        heights_m=area.heights_m,
        stations=_stations(run, census),
        services=first.services,
        all_services=first.all_services,
        people=census.people if census else None,
        provenance={
            **provenance(project, grid),
            **interference_words(project, run.radiated, run.judges.partners),
            **correction_words(corrections),
            **error_words(error, corrections, census),
            **({"people": source.people.source} if source else {}),
        },
        run=run,
        error=error,
        harm=_harm(run, census),
        interference=any(run.disturbers) if judged else None,
        points=source.points if source else None,
        districts=source.drawn if source else None,
        feeds=_feeds(project, known_feeds) if feeds else None,
        unserved=_unserved(first.all_services, source, ground) if unserved else None,
        on_one_frequency=network_effects(project, run, census),
        by_system=system_coverage(project, run, census),
        ways=ways,
        census=census,
        context=ground.context,
        filled=filled_ground(run, census),
        taken_up=TakenUp(
            run.result.sweeps, run.result.sweeps_from_cache, run.result.tiles, run.result.tiles_from_before
        ),
    )


def _feeds(project: Project, known: Known | None) -> FeedReport | None:
    if not any(station.parent for station in project.stations):
        return None
    return feed_report(project, over_gaps=True, known=known)


def _unserved(
    network: Network, source: PeopleSource | None, ground: CoverGround
) -> tuple[UnservedSettlement, ...] | None:
    """Return the settlements, those without a name of their own by the place that the map shows there."""
    if source is None:
        return None
    from combe.answers.people_places import unserved_of

    found = unserved_of(network, ground.grid, source.people, source.points)
    return tuple(each if each.name else replace(each, name=_near(ground, each)) for each in found)


def _near(ground: CoverGround, settlement: UnservedSettlement) -> str:
    name = place_near(ground.context, ground.grid, settlement.longitude_deg, settlement.latitude_deg)
    return tell("near {name}", name=name) if name else ""


def _stations(run: CoverRun, census: Census | None) -> tuple[StationCoverage, ...]:
    """Return each station with its services, judged with every other one on the air."""
    return tuple(_station(run, number, station, census) for number, station in enumerate(run.task.stations))


def _station(run: CoverRun, number: int, station: Station, census: Census | None) -> StationCoverage:
    emissions = range(run.roles.stations[number], run.roles.stations[number + 1])
    served, predicted = ([read(run, each) for each in emissions] for read in (served_where, predicted_where))
    services = tuple(
        _service(run, each, count_reach(census, *masks))
        for each, masks in zip(emissions, zip(served, predicted, strict=True), strict=True)
    )
    people = count_reach(census, reduce(np.logical_and, served), reduce(np.logical_and, predicted))
    return StationCoverage(station, services, people, run.result.fields[number].from_cache)


def _service(run: CoverRun, emission: int, people: PeopleCount | None) -> ServiceCoverage:
    station, service = run.radiated[emission]
    return ServiceCoverage(
        station.name,
        service.name,
        service.channel,
        service.frequency_mhz,
        run.minima[emission],
        people,
        emission,
        run,
    )


def _harm(run: CoverRun, census: Census | None) -> tuple[Harm, ...]:
    """Return what every relay does to every service of another station that it may disturb at all."""
    victims = tuple(Victim(each.name, service.name, service.channel) for each, service in run.radiated)
    return count_harm(run.roles.pairs, victims, *harm_found(run), census)
