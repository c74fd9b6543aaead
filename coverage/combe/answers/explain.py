"""Explains one place of a study: which station serves it, what disturbs it, and what would have to change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from combe.answers.corrections import correction_words, error_words, station_error
from combe.answers.emissions import interference_words, protection_of
from combe.answers.explain_words import chance_words, words_of
from combe.answers.explained_ways import WayExplained, explain_ways, spots_by_way
from combe.answers.feed import FeedStanding, standings_of
from combe.answers.ground_check import check_stations
from combe.answers.path import PathReport, predict_between
from combe.answers.prediction_error import ErrorOfProject, error_of
from combe.answers.provenance import provenance
from combe.answers.spot import (
    Echo,
    Nuisance,
    Spot,
    echoes_at,
    look_at,
    noise_margin_db,
    nuisances,
    share_served,
    spot_margin_db,
)
from combe.errors import RangeError
from combe.geodesy import bearing_deg, distance_km
from combe.planning import chance_served
from combe.project import Project, project_area, project_grid
from combe.standards import describe
from combe.stations import Service, Station

if TYPE_CHECKING:
    from geopandas import GeoDataFrame


@dataclass(frozen=True)
class Disturber:
    """One interferer of a candidate; ``relation`` says how their channels lie; None never reaches service."""

    station: Station
    service: Service
    relation: str
    reference: str
    nuisance: Nuisance


@dataclass(frozen=True)
class EchoHeard:
    """One station of a network on one frequency, as heard here by an aerial that looks at a candidate."""

    station: Station
    echo: Echo


@dataclass(frozen=True)
class Candidate:
    """A station that could serve the place with a service.

    ``needed_dbuv_m`` is the median that serves against noise and interference together, ``margin_db`` how far
    the field is over it (served from 0 upwards), ``noise_margin_db`` over what noise alone asks. NaN without
    prediction. ``disturbers`` are in order, the strongest nuisance field first. ``feed`` says how the feed of
    a relay stands, of which the margin knows nothing; None for a station that is not fed off air. ``echoes``
    are of its network on one frequency, itself first; the margins then count all that a receiver can use.
    """

    station: Station
    service: Service
    system: str
    distance_km: float
    bearing_deg: float
    field_dbuv_m: float
    minimum_dbuv_m: float
    needed_dbuv_m: float
    noise_margin_db: float
    margin_db: float
    disturbers: tuple[Disturber, ...]
    feed: FeedStanding | None = None
    echoes: tuple[EchoHeard, ...] = ()

    @property
    def unknown(self) -> tuple[Disturber, ...]:
        """The interferers that have no prediction here; the margin leaves them out."""
        return tuple(each for each in self.disturbers if math.isnan(each.nuisance.nuisance_dbuv_m))

    @property
    def feed_words(self) -> str:
        """What has to be borne in mind of its feed; nothing where that passes, or where there is none."""
        return self.feed.words_of(self.service.name) if self.feed else ""


@dataclass(frozen=True)
class ServiceExplained:
    """One service at the place: candidates, the best margin first, and what follows, in sentences.

    ``share`` is the share of places that the best serves, 0 to 1, with interference and ``noise_share``
    without; NaN where nothing can interfere. ``chance`` is that of being served by the best, 0 to 1, given
    the error of the prediction; NaN without prediction. All is by the first way of receiving; ``ways`` tells
    of each.
    """

    name: str
    candidates: tuple[Candidate, ...]
    share: float
    noise_share: float
    chance: float
    words: tuple[str, ...]
    ways: tuple[WayExplained, ...] = ()

    @property
    def server(self) -> Candidate | None:
        """The station that serves, or None."""
        best = self.candidates[0]
        return best if best.margin_db >= 0.0 else None

    @property
    def served(self) -> bool | None:
        """Whether any station serves; None where none has a prediction."""
        margin_db = self.candidates[0].margin_db
        return None if math.isnan(margin_db) else margin_db >= 0.0

    @property
    def unknown(self) -> tuple[Disturber, ...]:
        """The interferers of the best candidate that have no prediction here."""
        return self.candidates[0].unknown


@dataclass(frozen=True)
class Explanation:
    """A place of the study, service by service.

    ``path`` is that from the best station of the service that stands worst, to the viewers' aerial; None
    where no station has a prediction, and at the foot of its mast.
    """

    project: Project
    longitude_deg: float
    latitude_deg: float
    ground_m: float
    services: tuple[ServiceExplained, ...]
    provenance: dict[str, str]
    path: PathReport | None = None

    def to_geodataframe(self) -> GeoDataFrame:
        """Return lines to the place from all that could serve it, service by service, the best first.

        Examples
        --------
        >>> import combe
        >>> lines = combe.explain(combe.demo(), -84.34, 36.61).to_geodataframe()
        >>> lines[["service", "station"]].iloc[0].tolist()
        ['Mux A', 'Larkcombe']
        """
        from combe.answers.frames import candidate_frame

        return candidate_frame(self)


def explain_place(project: Project, longitude_deg: float, latitude_deg: float) -> Explanation:
    """Explain one place [degrees], predicted for itself and not taken from a map's cell.

    Raises
    ------
    StudyError
        With every station whose ground, cover or zone is not known.
    RangeError, TerrainGapError
        For a place off the study grid, or on a void.
    RasterError, TableError
        Files that cannot be used.
    """
    check_stations(project)
    grid = project_grid(project)
    area = project_area(project, grid)
    spot = look_at(project, area, longitude_deg, latitude_deg)
    spots = spots_by_way(project, area, spot)
    names = dict.fromkeys(each.service.name for each in spot.radiated)
    found = {name: _candidates(project, spot, name) for name in names}
    feeds = standings_of(project, {each[0].station.name for each in found.values() if each[0].station.parent})
    error = error_of(project)
    services = tuple(
        replace(_service(spot, name, each, feeds, error), ways=explain_ways(project, spots, name))
        for name, each in found.items()
    )
    made = {
        **provenance(project, grid),
        **interference_words(project, spot.radiated, spot.partners),
        **correction_words(spot.corrections),
        **error_words(error, spot.corrections),
    }
    path = _path_to(project, services, longitude_deg, latitude_deg)
    return Explanation(project, longitude_deg, latitude_deg, spot.ground_m, services, made, path)


def _path_to(
    project: Project, services: Sequence[ServiceExplained], longitude_deg: float, latitude_deg: float
) -> PathReport | None:
    """Return the path from the best station of the service that stands worst; None without a prediction."""
    best = [each.candidates[0] for each in services if not math.isnan(each.candidates[0].margin_db)]
    if not best:
        return None
    worst = min(best, key=lambda each: each.margin_db)
    there = Station(
        "the place", "parent", longitude_deg, latitude_deg, project.field_height_m,
        worst.station.polarization, (worst.service,),
    )  # fmt: skip
    sender = replace(worst.station, services=(worst.service,))
    try:
        return predict_between(project, sender, there, project.field_height_m)
    except RangeError:
        # At the foot of the mast itself there is no way to be drawn.
        return None


def _candidates(project: Project, spot: Spot, name: str) -> list[Candidate]:
    """Return the stations that radiate a service, the best margin first, those without prediction last."""
    found = [
        _candidate(project, spot, index)
        for index, each in enumerate(spot.radiated)
        if each.service.name == name
    ]
    # Aerials that look at two stations of one network in one line have one margin: the stronger one is named.
    found.sort(key=lambda each: (math.isnan(each.margin_db), -round(each.margin_db, 6), -each.field_dbuv_m))
    return found


def _service(
    spot: Spot,
    name: str,
    candidates: Sequence[Candidate],
    feeds: Mapping[str, FeedStanding],
    error: ErrorOfProject,
) -> ServiceExplained:
    best = replace(candidates[0], feed=feeds.get(candidates[0].station.name))
    share, noise_share = share_served(spot, name)
    chance = _chance(spot, best, error)
    verdict, *rest = words_of(name, best)
    said = (verdict, *chance_words(best, chance), *rest)
    return ServiceExplained(name, (best, *candidates[1:]), share, noise_share, chance, said)


def _chance(spot: Spot, best: Candidate, error: ErrorOfProject) -> float:
    """Return the chance that the best candidate serves, given its errors; NaN where that is not known."""
    x_m, y_m = spot.place_m
    here_m = np.array([x_m]), np.array([y_m])
    found = station_error(spot.corrections, best.station.name, error, here_m, here_m)
    return float(chance_served(np.array([best.margin_db]), 0.0, np.hypot(*found))[0])


def _candidate(project: Project, spot: Spot, index: int) -> Candidate:
    station, service = spot.radiated[index]
    ends = (spot.longitude_deg, spot.latitude_deg, station.longitude_deg, station.latitude_deg)
    field_db, margin_db = float(spot.median_dbuv_m[index]), spot_margin_db(spot, index)
    return Candidate(
        station=station,
        service=service,
        system=project.television_of(service).name,
        distance_km=distance_km(*ends),
        bearing_deg=bearing_deg(*ends),
        field_dbuv_m=field_db,
        minimum_dbuv_m=float(spot.minimum_dbuv_m[index]),
        needed_dbuv_m=field_db - margin_db,
        noise_margin_db=noise_margin_db(spot, index),
        margin_db=margin_db,
        disturbers=tuple(_disturber(project, spot, each, service) for each in nuisances(spot, index)),
        echoes=tuple(
            EchoHeard(spot.radiated[each.emission].station, each) for each in echoes_at(spot, index)
        ),
    )


def _disturber(project: Project, spot: Spot, nuisance: Nuisance, wanted: Service) -> Disturber:
    station, service = spot.radiated[nuisance.emission]
    row = protection_of(project, wanted, service)
    assert row is not None, "only partners have nuisance fields"
    return Disturber(station, service, row.relation, describe(row.reference, row.confidence), nuisance)
