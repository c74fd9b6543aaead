"""Predicts what every station covers, who is served, and who is served for the first time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from combe.decibels import FloatArray
from combe.prediction.field_map import FieldMap
from combe.reception.service import Field, weakest_field
from combe.reception.statistics import location_probability, required_medians_dbuv_m
from combe.stations.transmitter import Station
from combe.study.contest import Contest, emissions_where, everyone, judged, make_contest
from combe.study.emissions import interference_words
from combe.study.field_maps import Progress, StationMaps, predict_stations
from combe.study.file import Study
from combe.study.network import Network, StationMargins, all_services, network_on_air
from combe.study.outgoing import Harm, outgoing_harm
from combe.study.people_count import Census, PeopleCount, count_people, take_census
from combe.study.provenance import provenance
from combe.study.resolve import (
    MinimumField,
    Scene,
    minimum_field,
    resolve,
    resolve_grid,
    resolve_source,
)
from combe.study.run_survey import Corrections, corrected, correction_words, corrections_of
from combe.study.study_area import check_stations, study_area
from combe.terrain.grid import StudyGrid
from combe.terrain.people_points import PeoplePoints
from combe.terrain.people_raster import People

__all__ = ["CoverReport", "Progress", "ServiceCoverage", "StationCoverage", "cover_report"]


@dataclass(frozen=True)
class ServiceCoverage:
    """One service of one station: its field map, the field that serves, and the people it serves.

    ``judged_margin_db`` counts noise and all other stations, shape (rows, columns); it is ``margin_db`` where
    nothing interferes.
    """

    field_map: FieldMap
    minimum: MinimumField
    judged_margin_db: Field
    people: PeopleCount | None

    @property
    def minimum_field_dbuv_m(self) -> float:
        """Median field [dB(µV/m)] that serves the share of places that the study asks."""
        return self.minimum.median_dbuv_m

    @property
    def required_fields_dbuv_m(self) -> Mapping[float, float]:
        """Median fields [dB(µV/m)] for 50, 70, 95 and 99 % of places, by percentage."""
        return required_medians_dbuv_m(self.minimum.at_a_place_dbuv_m, self.minimum.location_deviation_db)

    @property
    def location_probability(self) -> FloatArray:
        """Share of the places of each cell that noise alone leaves served, 0 to 1, NaN as the field.

        Shape (rows, columns). With the planning standard's deviation over places, about the map's median.
        """
        return location_probability(
            self.field_map.field_dbuv_m, self.minimum.at_a_place_dbuv_m, self.minimum.location_deviation_db
        )

    @property
    def margin_db(self) -> Field:
        """Field over the minimum [dB], against noise alone; shape (rows, columns), NaN without prediction."""
        return self.field_map.field_dbuv_m - self.minimum_field_dbuv_m


@dataclass(frozen=True)
class StationCoverage:
    """One station: each of its services, and the judged margin of the worst-off one in every cell.

    ``from_cache`` tells that its fields were kept from an earlier run.
    """

    station: Station
    services: tuple[ServiceCoverage, ...]
    weakest_margin_db: Field
    people: PeopleCount | None
    from_cache: bool = False


@dataclass(frozen=True)
class CoverReport:
    """The coverage of a study.

    ``services`` holds each service name over all stations that radiate it; ``all_services`` wants every one
    of them, from whichever station gives it best. Arrays have shape (rows, columns), row 0 north.
    ``interference`` tells whether any station may disturb another at all, ``harm`` what each relay does;
    ``points`` are the places that the people were read from, if it was no raster; ``contest`` holds all
    emissions with their fields, to judge further changes by.
    """

    study: Study
    grid: StudyGrid
    heights_m: FloatArray
    stations: tuple[StationCoverage, ...]
    services: tuple[Network, ...]
    all_services: Network
    people: People | None
    provenance: dict[str, str]
    contest: Contest
    harm: tuple[Harm, ...] = ()
    interference: bool = False
    points: PeoplePoints | None = None


def cover_report(
    study: Study, progress: Progress | None = None, *, cache_folder: Path | None = None
) -> CoverReport:
    """Predict the coverage of a study.

    Parameters
    ----------
    study
        As loaded.
    progress
        Told how far the work is.
    cache_folder
        Where the fields of stations are kept and found again; nothing is kept if not given.

    Raises
    ------
    TerrainGapError
        A station on a void or beyond the terrain, or an area outside it.
    RasterError, RangeError
        Rasters that cannot be used, a class without a height, no zone, or an impossible grid.
    OutputError
        A cache folder that cannot be made or written.
    """
    scene = resolve(study)
    check_stations(scene)
    grid = resolve_grid(scene)
    source = resolve_source(study, grid)
    census = take_census(source.people, grid, source.districts) if source else None
    area = study_area(scene, grid)
    corrections = corrections_of(scene)
    predicted = tuple(
        _surveyed(each, corrections) for each in predict_stations(scene, area, cache_folder, progress)
    )
    contest = _contest(scene, grid, predicted)
    services = tuple(_network(name, contest, census) for name in _service_names(scene))
    return CoverReport(
        study=study,
        grid=grid,
        heights_m=area.heights_m,
        stations=_stations(scene, predicted, contest, census),
        services=services,
        all_services=all_services(services, census),
        people=census.people if census else None,
        provenance={
            **provenance(scene, grid),
            **interference_words(scene, contest.radiated),
            **correction_words(corrections),
            **({"people": source.people.source} if source else {}),
        },
        contest=contest,
        harm=outgoing_harm(contest, census),
        interference=contest.judges is not None,
        points=source.points if source else None,
    )


def _surveyed(predicted: StationMaps, corrections: Corrections) -> StationMaps:
    """Return the fields of a station with the correction of the survey, as wanted and as interferers."""
    found = corrections.get(predicted.station.name)
    if found is None:
        return predicted
    return replace(
        predicted,
        maps=corrected(predicted.maps, corrections),
        at_time_dbuv_m=tuple(field + field.dtype.type(found.offset_db) for field in predicted.at_time_dbuv_m),
    )


def _contest(scene: Scene, grid: StudyGrid, predicted: tuple[StationMaps, ...]) -> Contest:
    """Put the fields of all services of all stations on the air."""
    maps = [field_map for each in predicted for field_map in each.maps]
    return make_contest(
        scene,
        grid,
        [each.field_dbuv_m for each in maps],
        [field for each in predicted for field in each.at_time_dbuv_m],
        [each.field_dbuv_m - minimum_field(scene, each.frequency_mhz).median_dbuv_m for each in maps],
    )


def _stations(
    scene: Scene, predicted: tuple[StationMaps, ...], contest: Contest, census: Census | None
) -> tuple[StationCoverage, ...]:
    """Return each station with its services, judged with every other one on the air."""
    emissions = iter(range(len(contest.radiated)))
    return tuple(
        _station(
            each, [_covered(scene, found, contest, next(emissions), census) for found in each.maps], census
        )
        for each in predicted
    )


def _station(
    predicted: StationMaps, services: list[ServiceCoverage], census: Census | None
) -> StationCoverage:
    weakest = weakest_field([service.judged_margin_db for service in services])
    people = count_people(census, weakest)
    return StationCoverage(predicted.station, tuple(services), weakest, people, predicted.from_cache)


def _covered(
    scene: Scene, field_map: FieldMap, contest: Contest, emission: int, census: Census | None
) -> ServiceCoverage:
    margin_db = judged(contest, emission, everyone(contest)).margin_db
    minimum = minimum_field(scene, field_map.frequency_mhz)
    return ServiceCoverage(field_map, minimum, margin_db, count_people(census, margin_db))


def _service_names(scene: Scene) -> list[str]:
    """Return each service name once, in the order in which the file brings them."""
    return list(dict.fromkeys(service.name for station in scene.stations for service in station.services))


def _network(name: str, contest: Contest, census: Census | None) -> Network:
    """Combine all stations that radiate a service."""
    parents = emissions_where(contest, role="parent")
    margins = []
    for each in emissions_where(contest, service=name):
        after = judged(contest, each, everyone(contest))
        before_db = judged(contest, each, parents).margin_db if each in parents else None
        noise_db = contest.noise_margins_db[each]
        margins.append(
            StationMargins(
                contest.radiated[each].station, after.margin_db, before_db, noise_db, after.unknown
            )
        )
    return network_on_air(name, margins, census)
