"""Predicts the field of stations at a neighbour's test points and along a border, over the exact paths."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from combe.answers.ground_check import check_stations
from combe.answers.path import PathReport, Way, field_over, predict_between, way_between
from combe.answers.provenance import provenance
from combe.decibels import field_from_loss_dbuv_m
from combe.errors import LONGEST_NAME, ProfileError, RangeError, RasterError, TerrainGapError
from combe.geodesy import bearing_deg, distance_km
from combe.planning import (
    ChannelSum,
    FieldThere,
    Sector,
    channel_sums,
    highest_first,
    sectors_of,
)
from combe.prediction import MEDIAN_PERCENT, PathOverTime, shortest_path_km
from combe.project import Coordination, Project, off_air_hint
from combe.propagation.p1812 import INLAND, focusing_db, free_space_slant_loss_db
from combe.standards import trigger_at, trigger_words
from combe.stations import Service, Station, erp_towards_dbw
from combe.terrain import PlaceAlong, sample_heights
from combe.words import tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

Progress = Callable[[int, int, str], None]

_FAR_HORIZONS_KM: Final = 1e6
"""So far off that focusing is as strong as the model lets it be."""

METHOD: Final = (
    "an estimate over the terrain of the study; the agreement names its own method and data, and these decide"
)


@dataclass(frozen=True)
class CoordinateReport:
    """Fields at a neighbour's places.

    ``fields`` hold every service of every station meant at every place, the highest over its trigger first
    and those not judged last; ``places`` the places in their order. ``sectors`` say for each station what
    goes into which bearings, ``sums`` what stations of one channel make together.
    """

    project: Project
    asked: Coordination
    stations: tuple[Station, ...]
    places: tuple[PlaceAlong, ...]
    fields: tuple[FieldThere, ...]
    sectors: tuple[Sector, ...]
    sums: tuple[ChannelSum, ...]
    provenance: dict[str, str]

    @property
    def highest(self) -> FieldThere | None:
        """The field that is most over its trigger, or the highest without one; None where none is judged."""
        return self.fields[0] if self.fields[0].field_dbuv_m is not None else None

    def held(self, how: str) -> tuple[FieldThere, ...]:
        """Return the fields that stand to their trigger in one way."""
        return tuple(each for each in self.fields if each.held == how)

    @property
    def reasons(self) -> dict[str, int]:
        """Why fields are not judged, each reason with how many."""
        found: dict[str, int] = {}
        for each in self.fields:
            if each.reason:
                found[each.reason] = found.get(each.reason, 0) + 1
        return found

    @cached_property
    def highest_path(self) -> PathReport | None:
        """The path of the highest field, for its profile."""
        return (
            None
            if self.highest is None
            else _path(at_time(self.project, self.asked), self.highest, self.asked)
        )

    def to_geodataframe(self) -> GeoDataFrame:
        """Return the fields as points, with the columns of the JSON."""
        from combe.answers.frames import coordination_frame

        return coordination_frame(self)


def coordinate_report(
    project: Project, asked: Coordination | None = None, progress: Progress | None = None
) -> CoordinateReport:
    """Predict the fields of stations where a neighbour asks for them.

    Parameters
    ----------
    project
        Stations and ground.
    asked
        In place of the project's own ``coordination``.
    progress
        Told how many paths are done.

    Raises
    ------
    StudyError
        Nothing is asked, by either; stations on no ground.
    RangeError
        A station that is not there; too many places.
    TableError
        Places that cannot be read.
    """
    asked = asked or project.coordination
    if asked is None:
        advice = 'write a [coordination] table with points = "border.geojson"'
        raise project.error([f"coordination: is missing; {advice}{off_air_hint(project.off_air)}"])
    stations = tuple(map(project.station, asked.stations)) or project.stations
    check_stations(project, stations)
    places = asked.places()
    timed = at_time(project, asked)
    fields: list[FieldThere] = []
    for station in stations:
        for number, place in enumerate(places, start=1):
            fields += _fields_at(timed, asked, station, number, place)
            if progress:
                done = len(places) * stations.index(station) + number
                progress(done, len(stations) * len(places), tell("paths of {name}", name=station.name))
    return CoordinateReport(
        project=project,
        asked=asked,
        stations=stations,
        places=places,
        fields=highest_first(fields),
        sectors=tuple(
            sector
            for station in stations
            for sector in sectors_of(station, (each for each in fields if each.station is station))
        ),
        sums=channel_sums(fields),
        provenance=_provenance(timed, asked),
    )


def at_time(project: Project, asked: Coordination) -> Project:
    """Return the project with its air for the share of time asked, where its model knows time."""
    if project.conditions.model != "p1812":
        return project
    return replace(project, conditions=replace(project.conditions, time_percent=asked.time_percent))


def coordination_notes(project: Project) -> Iterator[str]:
    """Yield what to think about before the project's own coordination is asked."""
    asked = project.coordination
    if asked is None:
        return
    stations = tuple(map(project.station, asked.stations)) or project.stations
    for station in stations if asked.triggers else ():
        for service in station.services:
            if _trigger_dbuv_m(project, asked, service) is None:
                yield (
                    tell(
                        "coordination has no trigger for {name} of {name_2} at {frequency_mhz:g} MHz",
                        name=service.name,
                        name_2=station.name,
                        frequency_mhz=service.frequency_mhz,
                    )
                )
    if any(band.confidence == "from memory" for band in asked.triggers):
        yield tell(
            "coordination: hold the triggers against the text: {trigger_words}",
            trigger_words=trigger_words(asked.triggers),
        )
    try:
        places = asked.places()
    except RangeError as error:
        yield tell("coordination cannot be asked: {error}", error=error)
        return
    lon, lat = np.array([(each.longitude_deg, each.latitude_deg) for each in places]).T
    beyond = int(np.isnan(sample_heights(project.terrain, lon, lat)).sum())
    if beyond:
        yield tell(
            "{beyond} of {places} points of coordination have no terrain: fields there are not judged",
            beyond=beyond,
            places=len(places),
        )


def _fields_at(
    project: Project, asked: Coordination, station: Station, number: int, place: PlaceAlong
) -> Iterator[FieldThere]:
    """Yield the field of each service of a station at one place."""
    ends = station.longitude_deg, station.latitude_deg, place.longitude_deg, place.latitude_deg
    apart_km, bearing = distance_km(*ends), bearing_deg(*ends)
    way, reason = _way(project, asked, station, place, apart_km)
    for service in station.services:
        trigger_dbuv_m = _trigger_dbuv_m(project, asked, service)
        bare = FieldThere(
            number, place, station, service, apart_km, bearing, trigger_dbuv_m=trigger_dbuv_m, reason=reason
        )
        try:
            found = None if way is None else field_over(project, station, service, way, asked.height_m)
            rise_db = 0.0 if found is None else _rise_db(project, asked, station, service, way)
        except (ProfileError, RangeError) as error:
            found, bare = None, replace(bare, reason=str(error))
        if found is None:
            yield replace(bare, at_most_dbuv_m=_at_most_dbuv_m(project, asked, bare))
        else:
            yield replace(
                bare,
                erp_towards_dbw=found.erp_towards_dbw,
                field_dbuv_m=found.field_strength_dbuv_m + rise_db,
            )


def _trigger_dbuv_m(project: Project, asked: Coordination, service: Service) -> float | None:
    """Return the trigger of a service; None where no band has one."""
    analogue = project.television_of(service).analogue_name is not None
    return trigger_at(asked.triggers, service.frequency_mhz, analogue=analogue)


def _way(
    project: Project, asked: Coordination, station: Station, place: PlaceAlong, apart_km: float
) -> tuple[Way | None, str]:
    """Return the way to a place, or None and why the field there is not judged."""
    model = project.conditions.model
    if model == "free-space" and asked.time_percent != MEDIAN_PERCENT:
        return None, tell(
            "free space knows no time, so nothing is known of {time_percent:g} % of it",
            time_percent=asked.time_percent,
        )
    if apart_km < shortest_path_km(model):
        return None, tell(
            "nearer than {shortest_path_km:g} km, where the model begins",
            shortest_path_km=shortest_path_km(model),
        )
    try:
        return way_between(project, station, place.longitude_deg, place.latitude_deg), ""
    except TerrainGapError:
        return None, "no terrain all the way"
    except RasterError as error:
        return None, tell("{name} does not hold all the way", name=error.path.name)


def _rise_db(
    project: Project, asked: Coordination, station: Station, service: Service, way: Way | None
) -> float:
    """Return what P.2001 adds to the median for the time asked, where the study's model knows no time."""
    if way is None or project.conditions.model == "p1812" or asked.time_percent == MEDIAN_PERCENT:
        return 0.0
    over_time = PathOverTime(
        way.profile,
        station.aerial_height_m,
        asked.height_m,
        service.frequency_mhz,
        station.polarization,
        project.climate,
        INLAND if way.zone is None else way.zone,
    )
    return over_time.enhancement_db(asked.time_percent)


def _at_most_dbuv_m(project: Project, asked: Coordination, there: FieldThere) -> float | None:
    """Return what the field cannot be over, whatever the ground; None where the model sets no bound.

    P.1812 lets no loss be below free space and the focusing of far horizons (its Lb0p), over a line that is
    no shorter than the distance; the pattern by elevation counts as at its maximum. Other models take what
    they add for rare times from P.2001, which has no such bound.
    """
    model, timed = project.conditions.model, asked.time_percent != MEDIAN_PERCENT
    if there.distance_km < shortest_path_km(model) or (model != "p1812" and timed):
        return None
    frequency_mhz = there.service.frequency_mhz
    # The constant of P.1812 is 0.05 dB below that of P.525, so this bound holds for both.
    loss_db = free_space_slant_loss_db(there.distance_km, 0.0, 0.0, frequency_mhz / 1000.0)
    loss_db += focusing_db(_FAR_HORIZONS_KM, 0.0, asked.time_percent)
    flat = replace(there.station, vertical_pattern=None)
    erp_dbw = erp_towards_dbw(flat, there.service, there.bearing_deg, 0.0)
    return float(field_from_loss_dbuv_m(erp_dbw, loss_db, frequency_mhz))


def _path(project: Project, highest: FieldThere, asked: Coordination) -> PathReport:
    """Return the whole path to the place of a field, as if a receiver stood there."""
    receiver = Station(
        name=highest.place.words[:LONGEST_NAME],
        role="relay",
        longitude_deg=highest.place.longitude_deg,
        latitude_deg=highest.place.latitude_deg,
        aerial_height_m=min(max(asked.height_m, 1.0), 500.0),
        polarization=highest.station.polarization,
        services=(highest.service,),
    )
    return predict_between(project, highest.station, receiver, asked.height_m)


def _provenance(project: Project, asked: Coordination) -> dict[str, str]:
    """Return what made the fields; what an agreement asks stands beside the model's own words."""
    by_p2001 = project.conditions.model == "p526" and asked.time_percent != MEDIAN_PERCENT
    made = provenance(project, over_year=by_p2001)
    made["field asked for"] = tell(
        "exceeded for {time_percent:g} % of time, median of places, {height_m:g} m above ground",
        time_percent=asked.time_percent,
        height_m=asked.height_m,
    )
    if by_p2001:
        made["time"] = (
            "the model's median, raised by what ITU-R P.2001-4 has less loss for that time than for half"
        )
    if asked.triggers:
        made["triggers"] = trigger_words(asked.triggers)
    made["method"] = METHOD
    return made
