"""Checks a whole study against its rasters, and sums up what it says."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from combe.answers.coordinate import coordination_notes
from combe.answers.ground_check import Opened, open_parts
from combe.answers.map_context import context_notes, drawn_context
from combe.answers.one_frequency import network_notes
from combe.answers.output_side import erp_notes
from combe.answers.plausibility import aerial_notes, grid_notes, overlap_notes, people_notes, station_notes
from combe.answers.provenance import provenance, time_words
from combe.answers.systems_check import pair_faults, system_notes
from combe.answers.terrain_sources import TerrainSource, ground_notes, mixing_notes, sources_of
from combe.answers.zone_agreement import ZoneAgreement, agreement_notes
from combe.errors import TerrainGapError
from combe.project import PeopleSource, Project, SitingService, minimum_field_dbuv_m, off_air_words, parts_of
from combe.propagation.p2001 import USUAL_CLIMATE, typical_words
from combe.stations import Service, Station
from combe.terrain import GroundFound, People, StudyGrid, Terrain, geodesic_profile, unit_words, without_fills
from combe.words import Name, joined, tell

_NO_STATIONS: Final = (
    "there is no station yet: write [[stations]] tables, and then ask for coverage or a feed"
)


@dataclass(frozen=True)
class CheckedService:
    """A service, its television system, and the field that serves [dB(µV/m)].

    An analogue one has an offset of its vision carrier.
    """

    service: Service
    system: str
    minimum_field_dbuv_m: float
    analogue: bool


@dataclass(frozen=True)
class CheckedStation:
    """A station with the ground under it [m]."""

    station: Station
    ground_m: float
    services: tuple[CheckedService, ...]


@dataclass(frozen=True)
class CheckReport:
    """A study without faults; ``notes`` are things to think about before believing a result."""

    project: Project
    grid: StudyGrid
    stations: tuple[CheckedStation, ...]
    people_total: float | None
    people_nodata_cells: int | None
    notes: tuple[str, ...]
    provenance: dict[str, str]
    terrains: tuple[TerrainSource, ...]
    ground: GroundFound | None
    agreement: ZoneAgreement | None


def check_report(project: Project, found: Opened | None = None) -> CheckReport:
    """Open everything that a project names; ``found`` where that was done already.

    Raises
    ------
    StudyError
        With every fault found: rasters that cannot be used, stations off the terrain, an impossible grid,
        feeds of an analogue system without a C/N.
    """
    found = found or open_parts(parts_of(project))
    faults = [*found.faults, *_cn_faults(project), *pair_faults(project)]
    if found.grid is None or faults:
        raise project.error(faults)
    source = found.people
    people = source.people if source else None
    return CheckReport(
        project=project,
        grid=found.grid,
        stations=tuple(
            CheckedStation(station, math.nan if ground_m is None else ground_m, _services(project, station))
            for station, ground_m in zip(project.stations, found.heights_m, strict=True)
        ),
        people_total=float(people.counts.sum()) if people else None,
        people_nodata_cells=people.nodata_cells if people else None,
        notes=(
            *_notes(project, source),
            *mixing_notes(project.terrain),
            *(ground_notes(found.ground, project.terrain) if found.ground else ()),
            *agreement_notes(found.agreement),
            *_gap_notes({"ground cover": found.no_cover, "zone": found.no_zone}),
            *aerial_notes(_aerials_m(project)),
            *station_notes(project.stations, found.heights_m),
            *grid_notes(found.grid, project.terrain),
            *coordination_notes(project),
            *context_notes(drawn_context(project, found.grid)),
            *(_people_notes(project, source, found.grid) if source else ()),
        ),
        provenance=provenance(project, found.grid, over_year=True),
        terrains=sources_of(project.terrain),
        ground=found.ground,
        agreement=found.agreement,
    )


def _cn_faults(project: Project) -> list[str]:
    """Return which feeds lack the C/N that the system leaves open; a study file says so when it is read."""
    feeds: list[tuple[str, float | None, Sequence[Service | SitingService]]] = [
        (f"{project.label_of(relay)}.feed", feed.required_cn_db, relay.services)
        for relay, feed in project.fed
    ]
    if project.siting is not None:
        feeds.append(("siting.feed", project.siting.feed.required_cn_db, project.siting.services))
    faults = []
    for place, stated_db, services in feeds:
        systems = [project.television_of(each) for each in services]
        without = [each.name for each in systems if each.required_cn_db is None]
        if stated_db is None and without:
            faults.append(
                tell(
                    "{place}.required_cn_db: is missing; {without} has no usual one, write it",
                    place=place,
                    without=without[0],
                )
            )
    return faults


def _services(project: Project, station: Station) -> tuple[CheckedService, ...]:
    return tuple(
        CheckedService(
            service,
            project.television_of(service).name,
            minimum_field_dbuv_m(project, service.frequency_mhz, service=service),
            project.television_of(service).analogue_name is not None,
        )
        for service in station.services
    )


def _aerials_m(project: Project) -> dict[str, float]:
    """Return the height above ground [m] of every aerial that is put up, by what it is."""
    heights_m = {
        tell("aerial of {name}", name=station.name): station.aerial_height_m for station in project.stations
    }
    for relay, feed in project.fed:
        heights_m[tell("receiving aerial of {name}", name=relay.name)] = feed.aerial.height_m
    siting = project.siting
    if siting is not None:
        heights_m["aerial of the relay to be built"] = siting.aerial_height_m
        heights_m["receiving aerial of the relay to be built"] = siting.feed.aerial_height_m
    return heights_m


def _people_notes(project: Project, source: PeopleSource, grid: StudyGrid) -> Iterator[str]:
    assert project.people is not None, "people were read"
    return people_notes(source, grid, project.terrain, project.people)


def _height_rasters(project: Project) -> tuple[Terrain, ...]:
    """Return the rasters whose cells may be heights in a unit of their own."""
    return (project.terrain, project.cover.raster) if project.cover else (project.terrain,)


def _notes(project: Project, source: PeopleSource | None) -> list[str]:
    notes = [] if project.stations or project.off_air else [_NO_STATIONS]
    if project.off_air:
        notes.append(tell("off the air: {off_air_words}", off_air_words=off_air_words(project.off_air)))
    if project.terrain.surface_model:
        notes.append("the terrain is a surface model: trees and roofs count as ground")
    notes += filter(None, (unit_words(raster) for raster in _height_rasters(project)))
    if project.terrain.vertical_datum == "unknown":
        notes.append("terrain.vertical_datum is unknown; write what the heights are counted from")
    if words := time_words(project):
        notes.append(tell("time of service: {words}", words=words))
    notes += _climate_notes(project)
    if source is None:
        notes.append("no [people] section: nobody will be counted")
    else:
        notes += _cell_notes(source.people) + overlap_notes(source)
    notes += _feed_path_notes(project) + _own_channel_notes(project)
    return [*notes, *network_notes(project), *system_notes(project), *erp_notes(project)]


def _climate_notes(project: Project) -> list[str]:
    """Say that a climate is taken where nobody chose one; every fade and enhancement follows from it."""
    if project.climate_stated or not project.climate_words.startswith(typical_words(USUAL_CLIMATE)):
        return []
    # What is to be written is the same in every language.
    usual = Name(USUAL_CLIMATE)
    advice = tell('write climate = "{usual_climate}" or another in [air]', usual_climate=usual)
    return [
        tell(
            "no climate is stated: {usual_climate} is taken; {advice}",
            usual_climate=USUAL_CLIMATE,
            advice=advice,
        )
    ]


def _cell_notes(people: People) -> list[str]:
    """Say how many cells count as nobody, and how many of them only because they are negative."""
    notes = []
    if people.nodata_cells:
        notes.append(
            tell(
                "{nodata_cells} population cells have no data and count as nobody",
                nodata_cells=people.nodata_cells,
            )
        )
    if people.negative_cells:
        notes.append(
            tell(
                "{negative_cells} population cells are negative, and the raster does not declare "
                "that as no data; they are taken as such: declare its nodata value, or correct the counts",
                negative_cells=people.negative_cells,
            )
        )
    return notes


def _gap_notes(unknown: Mapping[str, float | None]) -> list[str]:
    """Say of what share of the terrain something is not known."""
    return [
        tell(
            "{share:.1%} of the terrain in and around the grid has no {what}: no prediction there",
            share=share,
            what=what,
        )
        for what, share in unknown.items()
        if share
    ]


def _feed_path_notes(project: Project) -> list[str]:
    """Say which feeds cross ground of which nothing is known, or that was filled in."""
    notes = []
    for relay, feed in project.fed:
        parent = project.station(feed.parent)
        ends = parent.longitude_deg, parent.latitude_deg, relay.longitude_deg, relay.latitude_deg
        try:
            geodesic_profile(project.terrain, *ends)
        except TerrainGapError as error:
            notes.append(
                tell("the feed of {name} cannot be predicted: {error}", name=relay.name, error=error)
            )
            continue
        try:
            geodesic_profile(without_fills(project.terrain), *ends)
        except TerrainGapError:
            words = "the feed of {name} crosses ground that was filled in, and is predicted over it"
            notes.append(tell(words, name=relay.name))
    return notes


def _own_channel_notes(project: Project) -> list[str]:
    """Say which relays radiate on a channel that their parent uses, and whether a loop can be judged."""
    notes = []
    for relay, feed in project.fed:
        received = {service.channel for service in project.station(feed.parent).services}
        names = {service.name for service in relay.services}
        heard = {each.channel for each in project.station(feed.parent).services if each.name in names}
        same = sorted(received & {service.channel for service in relay.services})
        if same:
            channels = joined(", ", (str(channel) for channel in same))
            judged = (
                "its feed is judged with the loop"
                if feed.own_output is not None
                else "its feed cannot be judged without isolation_db in a [stations.feed.own_output] table"
            )
            words = tell(
                "{name} radiates on channel {channels}, which its parent uses as well",
                name=relay.name,
                channels=channels,
            )
            notes.append(
                tell("{words}: {judged}", words=words, judged=judged) if heard & set(same) else words
            )
    return notes
