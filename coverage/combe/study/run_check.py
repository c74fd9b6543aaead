"""Checks a whole study against its rasters, and sums up what it says."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from combe.errors import TerrainGapError
from combe.stations.transmitter import Service, Station
from combe.study.file import Study, checked_study, read_study
from combe.study.groundcheck import open_parts
from combe.study.output_side import erp_notes
from combe.study.people_source import PeopleSource, overlap_notes, raster_of_people
from combe.study.plausibility import aerial_notes, grid_notes, people_notes, station_notes
from combe.study.provenance import provenance, time_words
from combe.study.receiving import receiving_height_m
from combe.study.resolve import Scene, feeds, minimum_field_dbuv_m, resolve, station_named
from combe.study.sound_parts import parts_of_reading, parts_of_study
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People
from combe.terrain.profile import geodesic_profile
from combe.terrain.tiles import Terrain, unit_words


@dataclass(frozen=True)
class CheckedService:
    """A service and the field that serves [dB(µV/m)]; an analogue one has an offset of its vision carrier."""

    service: Service
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

    study: Study
    grid: StudyGrid
    stations: tuple[CheckedStation, ...]
    people_total: float | None
    people_nodata_cells: int | None
    notes: tuple[str, ...]
    provenance: dict[str, str]


def check_file(path: Path | str) -> CheckReport:
    """Read a study file and open everything it names.

    Raises
    ------
    StudyError
        With the faults of the file, and those of its rasters and places as far as the file lets them be
        looked for; alone where it is no TOML.
    """
    reading = read_study(path)
    if reading.content is None or reading.faults:
        raise reading.error(open_parts(parts_of_reading(reading)).faults)
    return check_report(checked_study(reading))


def check_report(study: Study) -> CheckReport:
    """Open everything a study names.

    Raises
    ------
    StudyError
        With every fault found: rasters that cannot be used, stations off the terrain, an impossible grid.
    """
    found = open_parts(parts_of_study(study))
    if found.grid is None or found.faults:
        raise study.error(found.faults)
    scene, source = resolve(study), found.people
    people = source.people if source else None
    return CheckReport(
        study=study,
        grid=found.grid,
        stations=tuple(
            CheckedStation(station, math.nan if ground_m is None else ground_m, _services(scene, station))
            for station, ground_m in zip(scene.stations, found.heights_m, strict=True)
        ),
        people_total=float(people.counts.sum()) if people else None,
        people_nodata_cells=people.nodata_cells if people else None,
        notes=(
            *_notes(scene, source),
            *_gap_notes({"ground cover": found.no_cover, "zone": found.no_zone}),
            *aerial_notes(_aerials_m(scene)),
            *station_notes(scene.stations, found.heights_m),
            *grid_notes(found.grid, scene.terrain),
            *(people_notes(source, found.grid, scene.terrain, raster_of_people(study)) if source else ()),
        ),
        provenance=provenance(scene, found.grid),
    )


def _services(scene: Scene, station: Station) -> tuple[CheckedService, ...]:
    analogue = scene.television.analogue_name is not None
    return tuple(
        CheckedService(service, minimum_field_dbuv_m(scene, service.frequency_mhz), analogue)
        for service in station.services
    )


def _aerials_m(scene: Scene) -> dict[str, float]:
    """Return the height above ground [m] of every aerial that the study puts up, by what it is."""
    heights_m = {f"aerial of {station.name}": station.aerial_height_m for station in scene.stations}
    for relay, feed in feeds(scene):
        heights_m[f"receiving aerial of {relay.name}"] = receiving_height_m(feed)
    siting = scene.study.content.siting
    if siting is not None:
        heights_m["aerial of the relay to be built"] = siting.aerial_height_m
        heights_m["receiving aerial of the relay to be built"] = siting.feed.aerial_height_m
    return heights_m


def _height_rasters(scene: Scene) -> tuple[Terrain, ...]:
    """Return the rasters whose cells may be heights in a unit of their own."""
    return (scene.terrain, scene.cover.raster) if scene.cover else (scene.terrain,)


def _notes(scene: Scene, source: PeopleSource | None) -> list[str]:
    notes = []
    if scene.terrain.surface_model:
        notes.append("the terrain is a surface model: trees and roofs count as ground")
    notes += filter(None, (unit_words(raster) for raster in _height_rasters(scene)))
    if scene.terrain.vertical_datum == "unknown":
        notes.append("terrain.vertical_datum is unknown; write what the heights are counted from")
    if words := time_words(scene):
        notes.append(f"time of service: {words}")
    if source is None:
        notes.append("no [people] section: nobody will be counted")
    else:
        notes += _cell_notes(source.people) + overlap_notes(source)
    return notes + _feed_path_notes(scene) + _own_channel_notes(scene) + erp_notes(scene)


def _cell_notes(people: People) -> list[str]:
    """Say how many cells count as nobody, and how many of them only because they are negative."""
    notes = []
    if people.nodata_cells:
        notes.append(f"{people.nodata_cells} population cells have no data and count as nobody")
    if people.negative_cells:
        notes.append(
            f"{people.negative_cells} population cells are negative, and the raster does not declare "
            "that as no data; they are taken as such: declare its nodata value, or correct the counts"
        )
    return notes


def _gap_notes(unknown: Mapping[str, float | None]) -> list[str]:
    """Say of what share of the terrain something is not known."""
    return [
        f"{share:.1%} of the terrain in and around the grid has no {what}: no prediction there"
        for what, share in unknown.items()
        if share
    ]


def _feed_path_notes(scene: Scene) -> list[str]:
    """Say which feeds cross ground of which nothing is known, so that they cannot be predicted."""
    notes = []
    for relay, feed in feeds(scene):
        parent = station_named(scene, feed.from_)
        ends = parent.longitude_deg, parent.latitude_deg, relay.longitude_deg, relay.latitude_deg
        try:
            geodesic_profile(scene.terrain, *ends)
        except TerrainGapError as error:
            notes.append(f"the feed of {relay.name} cannot be predicted: {error}")
    return notes


def _own_channel_notes(scene: Scene) -> list[str]:
    """Say which relays radiate on a channel that their parent uses, and whether a loop can be judged."""
    notes = []
    for relay, feed in feeds(scene):
        received = {service.channel for service in station_named(scene, feed.from_).services}
        names = {service.name for service in relay.services}
        heard = {each.channel for each in station_named(scene, feed.from_).services if each.name in names}
        same = sorted(received & {service.channel for service in relay.services})
        if same:
            channels = ", ".join(str(channel) for channel in same)
            judged = (
                "its feed is judged with the loop"
                if feed.own_output is not None
                else "its feed cannot be judged without isolation_db in a [stations.feed.own_output] table"
            )
            words = f"{relay.name} radiates on channel {channels}, which its parent uses as well"
            notes.append(f"{words}: {judged}" if heard & set(same) else words)
    return notes
