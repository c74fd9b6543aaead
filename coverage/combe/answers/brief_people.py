"""Who is served in each named settlement, and where a measurement would tell most, both from a coverage."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport
from combe.answers.map_context import MOST_OFF_M, place_near
from combe.answers.people_places import in_blocks
from combe.decibels import FloatArray
from combe.geodesy import distance_km
from combe.planning import chance_served, lost, newly_served
from combe.reception import predicted_mask, served_mask
from combe.terrain import PeoplePoints, cells_to_lonlat_deg, people_on_grid, values_at_points

MOST_PLACES: Final = 4
"""So many places to measure at are told (our own choice): what a team does in a day or two."""

_PLACE_SIDE_M: Final = 600.0
"""People so near to one another are one place to measure at (our own choice)."""

_SOMEBODY: Final = 0.5
_LEAST_DOUBT: Final = 0.1
"""Share of the people of a place in doubt, under which a reading there would hardly tell anything new."""


@dataclass(frozen=True)
class NamedSettlement:
    """The people of all points of one name, by what the prediction says of their cells, in all services.

    ``served`` + ``unserved`` + ``without_prediction`` = ``people``; ``newly_served`` are among the served,
    ``lost`` among the unserved.
    """

    name: str
    people: float
    served: float
    newly_served: float
    lost: float
    unserved: float
    without_prediction: float


@dataclass(frozen=True)
class MeasuringPlace:
    """People who live close together and of whom the prediction hardly tells whether they are served.

    Parameters
    ----------
    name
        That of the nearest settlement with a name, empty without one within a kilometre.
    longitude_deg, latitude_deg
        Centre of gravity of those in doubt.
    people : float
        Who live there and have a prediction.
    people_in_doubt : float
        Twice the people whom the prediction is expected to count wrongly: all where a coin could be tossed,
        nobody where the margin is far from 0.
    margin_db : float
        Mean margin of all services, each cell by its people in doubt [dB].
    """

    name: str
    longitude_deg: float
    latitude_deg: float
    people: float
    people_in_doubt: float
    margin_db: float


def named_settlements(cover: CoverReport) -> tuple[NamedSettlement, ...] | None:
    """Return the settlements with names, the most people first; None where the people come without names."""
    points = cover.points
    if points is None or not any(points.names):
        return None
    after, before = cover.all_services.margin_db, cover.all_services.margin_before_db
    masks = served_mask(after, 0.0), newly_served(after, before), lost(after, before), predicted_mask(after)
    carried = [values_at_points(each, cover.grid, points) for each in masks]
    # People beyond the grid are counted nowhere, so that the settlements add up to what the coverage counts.
    people = points.people * values_at_points(np.ones(after.shape, np.bool_), cover.grid, points)
    found = [_settlement(name, people[at], [each[at] for each in carried]) for name, at in _by_name(points)]
    return tuple(sorted((each for each in found if each.people > 0.0), key=lambda each: -each.people))


def _by_name(points: PeoplePoints) -> list[tuple[str, npt.NDArray[np.intp]]]:
    """Return each name once with the numbers of its points, in the order in which they come."""
    numbers: dict[str, list[int]] = {}
    for number, name in enumerate(points.names):
        if name:
            numbers.setdefault(name, []).append(number)
    return [(name, np.array(each, dtype=np.intp)) for name, each in numbers.items()]


def _settlement(name: str, people: FloatArray, carried: list[FloatArray]) -> NamedSettlement:
    total = float(people.sum())
    served, new, gone, known = (float((people * each).sum()) for each in carried)
    return NamedSettlement(name, total, served, new, gone, known - served, total - known)


def measuring_places(cover: CoverReport, most: int = MOST_PLACES) -> tuple[MeasuringPlace, ...]:
    """Return where most people live of whom the prediction hardly tells whether they are served.

    A cell is served with the chance p by the error of the prediction; of its n people 2 n min(p, 1 − p) are
    in doubt. Cells are put together in squares, and the squares with most people in doubt are told.
    """
    if cover.people is None:
        return ()
    margin_db = np.asarray(cover.all_services.margin_db, dtype=np.float64)
    people = np.where(np.isnan(margin_db), 0.0, people_on_grid(cover.grid, cover.people))
    # Both errors are unknown before anybody has measured, so they count together.
    chance = chance_served(margin_db, 0.0, math.hypot(cover.error.common_db, cover.error.place_db))
    doubt = 2.0 * people * np.nan_to_num(np.minimum(chance, 1.0 - chance))
    rows, columns = np.indices(people.shape, dtype=np.float64)
    # Far below the parents' horizon a margin may be −inf; nobody there is in doubt.
    weighed_db = doubt * np.where(np.isfinite(margin_db), margin_db, 0.0)
    layers = np.stack([people, doubt, weighed_db, doubt * rows, doubt * columns])
    summed = in_blocks(layers, max(1, round(_PLACE_SIDE_M / cover.grid.cell_size_m)))
    flat = summed.reshape(len(layers), -1)
    worth = (flat[1] >= _SOMEBODY) & (flat[1] >= _LEAST_DOUBT * flat[0])
    ranked = np.argsort(np.where(worth, -flat[1], 0.0), kind="stable")[: min(most, int(worth.sum()))]
    return tuple(_place(cover, *map(float, flat[:, at])) for at in ranked)


def _place(
    cover: CoverReport, people: float, doubt: float, weighed_db: float, row: float, column: float
) -> MeasuringPlace:
    lon, lat = cells_to_lonlat_deg(cover.grid, row / doubt, column / doubt)
    place = float(lon), float(lat)
    name = _name_near(cover.points, *place) or place_near(cover.context, cover.grid, *place)
    return MeasuringPlace(name, *place, people, doubt, weighed_db / doubt)


def _name_near(points: PeoplePoints | None, lon_deg: float, lat_deg: float) -> str:
    if points is None:
        return ""
    away = [
        (distance_km(lon_deg, lat_deg, float(lon), float(lat)), name)
        for lon, lat, name in zip(points.longitude_deg, points.latitude_deg, points.names, strict=True)
        if name
    ]
    off_km, name = min(away, default=(math.inf, ""))
    return name if 1000.0 * off_km <= MOST_OFF_M else ""
