"""Predicts what every station covers, who is served, and who is served for the first time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from combe.decibels import FloatArray
from combe.prediction.area import Area
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_map import FieldMap
from combe.prediction.field_store import FieldStore, open_store, trim_store
from combe.prediction.stored_coverage import StoredCoverage, stored_coverage
from combe.reception.service import Field, weakest_margin
from combe.reception.statistics import location_probability, required_medians_dbuv_m
from combe.stations.transmitter import Station
from combe.study.file import Study
from combe.study.network import Network, all_services, network_of
from combe.study.people_count import Census, PeopleCount, count_people, take_census
from combe.study.provenance import provenance
from combe.study.resolve import (
    MinimumField,
    Scene,
    minimum_field,
    resolve,
    resolve_grid,
    resolve_people,
)
from combe.study.study_area import check_stations, study_area
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""

_STEPS_A_STATION = 100


@dataclass(frozen=True)
class ServiceCoverage:
    """One service of one station: its field map, the field that serves, and the people it serves."""

    field_map: FieldMap
    minimum: MinimumField
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
        """Share of the places of each cell that are served, 0 to 1, shape (rows, columns); NaN as the field.

        With the planning standard's deviation over places, about the median that the map holds.
        """
        return location_probability(
            self.field_map.field_dbuv_m, self.minimum.at_a_place_dbuv_m, self.minimum.location_deviation_db
        )

    @property
    def margin_db(self) -> Field:
        """Field over the minimum [dB], shape (rows, columns), NaN without prediction."""
        return self.field_map.field_dbuv_m - self.minimum_field_dbuv_m


@dataclass(frozen=True)
class StationCoverage:
    """One station: each of its services, and the margin of the worst-off one in every cell.

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
    """

    study: Study
    grid: StudyGrid
    heights_m: FloatArray
    stations: tuple[StationCoverage, ...]
    services: tuple[Network, ...]
    all_services: Network
    people: People | None
    provenance: dict[str, str]


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
    census = take_census(resolve_people(study, grid), grid)
    area = study_area(scene, grid)
    store = None if cache_folder is None else open_store(area, cache_folder)
    stations = tuple(
        _station(
            scene, _predicted(scene, area, store, station, _part(progress, scene, index)), station, census
        )
        for index, station in enumerate(scene.stations)
    )
    if store is not None:
        trim_store(store)
    services = tuple(_network(name, stations, census) for name in _service_names(scene))
    return CoverReport(
        study=study,
        grid=grid,
        heights_m=area.heights_m,
        stations=stations,
        services=services,
        all_services=all_services(services, census),
        people=census.people if census else None,
        provenance=provenance(scene, grid),
    )


def _part(progress: Progress | None, scene: Scene, index: int) -> Callable[[float], None]:
    """Return what the sweep of one station calls with the share that is done."""
    total = _STEPS_A_STATION * len(scene.stations)

    def told(share: float) -> None:
        if progress is not None:
            done = round(_STEPS_A_STATION * (index + share))
            progress(done, total, f"coverage of {scene.stations[index].name}")

    return told


def _predicted(
    scene: Scene, area: Area, store: FieldStore | None, station: Station, progress: Callable[[float], None]
) -> StoredCoverage:
    """Return the field maps of a station, from the store where there is one that has them."""
    height_m = scene.study.content.television.receive_height_m
    air = scene.conditions
    if store is None:
        maps = predict_coverage(area, station, conditions=air, rx_height_m=height_m, progress=progress)
        return StoredCoverage(maps, from_cache=False)
    return stored_coverage(store, station, conditions=air, rx_height_m=height_m, progress=progress)


def _station(
    scene: Scene, predicted: StoredCoverage, station: Station, census: Census | None
) -> StationCoverage:
    maps = predicted.maps
    services = tuple(_covered(scene, each, census) for each in maps)
    minima = [service.minimum_field_dbuv_m for service in services]
    weakest = weakest_margin([each.field_dbuv_m for each in maps], minima)
    people = count_people(census, weakest)
    return StationCoverage(station, services, weakest, people, predicted.from_cache)


def _covered(scene: Scene, field_map: FieldMap, census: Census | None) -> ServiceCoverage:
    minimum = minimum_field(scene, field_map.frequency_mhz)
    margin_db = field_map.field_dbuv_m - minimum.median_dbuv_m
    return ServiceCoverage(field_map, minimum, count_people(census, margin_db))


def _service_names(scene: Scene) -> list[str]:
    """Return each service name once, in the order in which the file brings them."""
    return list(dict.fromkeys(service.name for station in scene.stations for service in station.services))


def _network(name: str, stations: tuple[StationCoverage, ...], census: Census | None) -> Network:
    """Combine all stations that radiate a service."""
    found = [
        (covered.station, service.margin_db)
        for covered in stations
        for service in covered.services
        if service.field_map.service == name
    ]
    return network_of(name, found, census)
