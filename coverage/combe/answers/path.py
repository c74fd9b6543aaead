"""Predicts one path: from the aerial of one station to the aerial of another, for each service."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.answers.ground_check import check_stations
from combe.answers.provenance import provenance
from combe.decibels import FloatArray, field_from_loss_dbuv_m
from combe.errors import RangeError
from combe.geodesy import bearing_deg, distance_km
from combe.prediction import ClearanceOverTime, PathPrediction, clearance_over_time, predict_path
from combe.project import Project, ground_height_m, shown_conditions
from combe.propagation.p526 import Construction, compare_constructions
from combe.propagation.p1812 import INLAND
from combe.stations import Service, Station, erp_towards_dbw
from combe.terrain import TerrainProfile, ZoneCells, clutter_heights, exact_step_m, geodesic_profile, zones_at

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

FEWEST_STEPS: Final = 10
"""A path shorter than this many raster cells is sampled in so many steps, since P.1812 asks for four."""

SHORTEST_STEP_M: Final = 0.1


@dataclass(frozen=True)
class PathService:
    """One service over the path; the field is that of the station's own ERP towards the other end.

    ``clearance`` is that over the ground with its cover; None where no ground lies between the ends.
    ``constructions`` are the classical ones for several knife edges, for checking by hand.
    """

    service: Service
    prediction: PathPrediction
    erp_towards_dbw: float
    field_strength_dbuv_m: float
    clearance: ClearanceOverTime | None
    constructions: tuple[Construction, ...]


class Way(NamedTuple):
    """The ground from a station to a place, with cover and zone at each point where there are any."""

    bearing_deg: float
    profile: TerrainProfile
    clutter_height_m: FloatArray | None
    zone: ZoneCells | None


class FieldOver(NamedTuple):
    """What a service of a station makes at the end of a way."""

    prediction: PathPrediction
    erp_towards_dbw: float
    field_strength_dbuv_m: float


@dataclass(frozen=True)
class PathReport:
    """A path between two stations.

    ``rx_height_m`` is the relay's receiving aerial where it is fed by the first station, else the other
    station's transmitting aerial. Heights of aerials are above ground. ``clutter_height_m`` is the cover at
    each point of the profile and ``zone`` the zone, or None where the study has none.
    """

    project: Project
    from_station: Station
    to_station: Station
    bearing_deg: float
    tx_height_m: float
    rx_height_m: float
    profile: TerrainProfile
    clutter_height_m: FloatArray | None
    zone: ZoneCells | None
    services: tuple[PathService, ...]
    provenance: dict[str, str]

    @property
    def sea_fraction(self) -> float | None:
        """Share of the path over sea, 0 to 1; None where the study has no zones."""
        steps = self.services[0].prediction.p1812_steps
        return steps.sea_fraction if steps and self.zone is not None else None

    def of_service(self, name: str) -> PathService:
        """Return what was found of one service by its name."""
        return next(each for each in self.services if each.service.name == name)

    def to_geodataframe(self) -> GeoDataFrame:
        """Return the points of the profile, with cover and zone where the study has them.

        Examples
        --------
        >>> import combe
        >>> points = combe.path(combe.demo(), "Tarnbeacon", "Larkcombe").to_geodataframe()
        >>> points.columns.tolist()
        ['distance_km', 'ground_m', 'geometry']
        """
        from combe.answers.frames import profile_frame

        return profile_frame(self)


def path_report(project: Project, from_name: str, to_name: str) -> PathReport:
    """Predict the path from one station of a study to another.

    Raises
    ------
    RangeError
        A name that is not in the study, or one station twice.
    StudyError
        With either station that stands on no ground.
    TerrainGapError, RasterError
        Ground missing on the way, or terrain that cannot be used.
    """
    project = replace(project, conditions=shown_conditions(project))
    sender, receiver = project.station(from_name), project.station(to_name)
    if sender is receiver:
        raise RangeError("path", f'from "{sender.name}" to itself', "two stations")
    check_stations(project, (sender, receiver))
    return predict_between(project, sender, receiver, far_height_m(project, sender, receiver))


def far_height_m(project: Project, sender: Station, receiver: Station) -> float:
    """Return the height [m] above ground of the aerial at the far end."""
    for relay, feed in project.fed:
        if relay is receiver and feed.parent == sender.name:
            return feed.aerial.height_m
    return receiver.aerial_height_m


def predict_between(project: Project, sender: Station, receiver: Station, rx_height_m: float) -> PathReport:
    """Predict all services of a station at another one."""
    way = way_to(project, sender, receiver)
    return PathReport(
        project=project,
        from_station=sender,
        to_station=receiver,
        bearing_deg=way.bearing_deg,
        tx_height_m=sender.aerial_height_m,
        rx_height_m=rx_height_m,
        profile=way.profile,
        clutter_height_m=way.clutter_height_m,
        zone=way.zone,
        services=tuple(_service(project, sender, each, way, rx_height_m) for each in sender.services),
        provenance=provenance(project, over_year=False),
    )


def way_to(project: Project, sender: Station, receiver: Station) -> Way:
    """Return the ground from a station to another; errors as :func:`way_between`, either named on a void."""
    for station in (sender, receiver):
        ground_height_m(project, station)
    return way_between(project, sender, receiver.longitude_deg, receiver.latitude_deg)


def way_between(project: Project, sender: Station, longitude_deg: float, latitude_deg: float) -> Way:
    """Return the ground from a station to a place.

    Raises
    ------
    TerrainGapError, RasterError
        Ground, cover or zones missing on the way.
    """
    place = (sender.longitude_deg, sender.latitude_deg, longitude_deg, latitude_deg)
    step_m = max(1000.0 * distance_km(*place) / FEWEST_STEPS, SHORTEST_STEP_M)
    step_m = exact_step_m(step_m, covered=project.cover is not None)
    profile = geodesic_profile(project.terrain, *place, step_m=step_m)
    cover_m = clutter_heights(project.cover, profile.lon_deg, profile.lat_deg) if project.cover else None
    zone = zones_at(project.zones, profile.lon_deg, profile.lat_deg) if project.zones else None
    return Way(bearing_deg(*place), profile, cover_m, zone)


def field_over(
    project: Project, sender: Station, service: Service, way: Way, rx_height_m: float
) -> FieldOver:
    """Return the field of one service of a station at the end of a way, by the project's model and air.

    Raises
    ------
    ProfileError, RangeError
        A way that the model does not take.
    """
    prediction = predict_path(
        way.profile,
        tx_height_m=sender.aerial_height_m,
        rx_height_m=rx_height_m,
        frequency_mhz=service.frequency_mhz,
        polarization=sender.polarization,
        conditions=project.conditions,
        clutter_height_m=way.clutter_height_m,
        zone=INLAND if way.zone is None else way.zone,
    )
    erp_dbw = erp_towards_dbw(sender, service, way.bearing_deg, prediction.elevation_deg)
    field = field_from_loss_dbuv_m(erp_dbw, prediction.basic_loss_db, service.frequency_mhz)
    return FieldOver(prediction, erp_dbw, field)


def _service(
    project: Project, sender: Station, service: Service, way: Way, rx_height_m: float
) -> PathService:
    prediction, erp_dbw, field = field_over(project, sender, service, way, rx_height_m)
    profile = way.profile
    constructions = compare_constructions(
        profile.distance_km,
        profile.height_m,
        tx_height_m=sender.aerial_height_m,
        rx_height_m=rx_height_m,
        frequency_mhz=service.frequency_mhz,
        effective_radius_km=project.conditions.effective_radius_km,
    )
    clear = None
    if prediction.controlling_index is not None:
        clear = clearance_over_time(
            profile,
            tx_height_m=sender.aerial_height_m,
            rx_height_m=rx_height_m,
            frequency_mhz=service.frequency_mhz,
            median_radius_km=project.conditions.effective_radius_km,
            climate=project.climate,
            clutter_height_m=way.clutter_height_m,
        )
    return PathService(service, prediction, erp_dbw, field, clear, constructions)
