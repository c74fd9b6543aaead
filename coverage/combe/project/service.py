"""What a project's planning standard asks: the air of wanted fields, minimum fields, the grid, the ground."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from combe.prediction import Area, Conditions, survey_area
from combe.project.given import PeopleSource
from combe.project.project import Project
from combe.project.rules import GridWish
from combe.reception import heard_by, terms_of
from combe.standards import NoiseEnvironment, PlanningField, external_noise_db, planning_field
from combe.stations import Service, Station
from combe.terrain import StudyGrid, Terrain, clutter_under, ground_under, height_at, make_grid, zones_under


class MinimumField(NamedTuple):
    """Field of the planning standard: the least median, and the least at one place [dB(µV/m)]; σ [dB]."""

    median_dbuv_m: float
    at_a_place_dbuv_m: float
    location_deviation_db: float


def itemised_field(
    project: Project, frequency_mhz: float, *, service: Service | None = None
) -> PlanningField:
    """Return the planning standard's field item by item, as :func:`minimum_field` has it."""
    system, percent = project.television, project.location_percent
    if service is not None:
        planned = project.planned(service)
        system, percent = planned.system, planned.location_percent
    heard, terms = heard_by(system, project.way), terms_of(project.way, frequency_mhz)
    noise = project.noise_environment
    return planning_field(heard, frequency_mhz, percent, terms, noise_environment=noise)


def minimum_field(project: Project, frequency_mhz: float, *, service: Service | None = None) -> MinimumField:
    """Return the planning standard's minimum field at a frequency [MHz]; of a service where one is given.

    It is for the project's way of receiving. Of portable reception it is that outdoors at the height of the
    fields, with all that is lost from there to the aerial.
    """
    found = itemised_field(project, frequency_mhz, service=service)
    median_dbuv_m = found.median_field_dbuv_m
    return MinimumField(
        median_dbuv_m, median_dbuv_m - found.location_correction_db, found.location_deviation_db
    )


def minimum_field_dbuv_m(project: Project, frequency_mhz: float, *, service: Service | None = None) -> float:
    """Return the median [dB(µV/m)] of :func:`minimum_field`."""
    return minimum_field(project, frequency_mhz, service=service).median_dbuv_m


def feed_environment(project: Project) -> NoiseEnvironment:
    """Return the surroundings of relays' receive aerials; rural unless stated, for they are on hills."""
    return project.noise_environment or "rural"


def feed_noise_db(project: Project, frequency_mhz: float) -> float:
    """Return the noise that relays' receive aerials collect at a frequency [MHz], over kT0B [dB]."""
    return external_noise_db(feed_environment(project), frequency_mhz)


def service_conditions(project: Project, services: Iterable[Service] = ()) -> Conditions:
    """Return model and air of the fields by which service is judged: for the time of the planning standard.

    Of some services, or of all of the project; of several times the greatest, for which all of them are met.
    ``shown_time_percent`` has no part in it. A model without statistics of time gives its median, which
    :func:`combe.answers.provenance.time_words` tells.
    """
    if project.conditions.model != "p1812":
        return project.conditions
    systems = [project.television_of(each) for each in services] or project.systems
    return replace(project.conditions, time_percent=max(each.wanted_time_percent for each in systems))


def shown_conditions(project: Project) -> Conditions:
    """Return model and air of a path that is only shown: for the share of time that the project asks."""
    return replace(project.conditions, time_percent=project.shown_time_percent)


def project_grid(project: Project) -> StudyGrid:
    """Lay out the grid; raises RangeError or TerrainGapError where the project asks the impossible."""
    return grid_over(project.grid, project.terrain)


def grid_over(wish: GridWish, terrain: Terrain) -> StudyGrid:
    """Lay out a grid over a terrain; errors as :func:`project_grid`."""
    return make_grid(terrain, cell_size_m=wish.cell_size_m, crs=wish.crs, area_deg=wish.area_deg)


def project_area(project: Project, grid: StudyGrid) -> Area:
    """Return the grid with terrain, cover and zones, read once for all stations, those beyond the grid too.

    Raises
    ------
    RasterError, RangeError
        Rasters that cannot be read, a class of cover without a height, a code that is no zone.
    """
    places = [(station.longitude_deg, station.latitude_deg) for station in project.stations]
    ground = ground_under(project.terrain, grid, places)
    cover = clutter_under(project.cover, project.terrain, grid, ground) if project.cover else None
    zones = zones_under(project.zones, project.terrain, grid, ground) if project.zones else None
    return survey_area(project.terrain, grid, cover=cover, zones=zones, ground=ground)


def project_people(project: Project, grid: StudyGrid) -> PeopleSource | None:
    """Read the people in and around the grid, or return None where the project has no people.

    Raises
    ------
    RasterError, TableError
        A source of people or districts that cannot be used or lies elsewhere.
    """
    return None if project.people is None else project.people.over(grid)


def ground_height_m(project: Project, station: Station) -> float:
    """Return the ground height [m] under a station; raises TerrainGapError naming the station and tile."""
    what = f'station "{station.name}"'
    return height_at(project.terrain, station.longitude_deg, station.latitude_deg, what)
