"""Combines stations into a network: each place takes every service from the station that gives it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import NamedTuple

import numpy as np

from combe.reception.service import Field, served_mask, strongest_field, weakest_field
from combe.stations.transmitter import Station
from combe.study.people_count import (
    Census,
    Counts,
    PeopleCount,
    Standing,
    count_by_district,
    count_standing,
)

ALL_SERVICES = "All services"


class StationMargins(NamedTuple):
    """Margins [dB] of one station's service, arrays (rows, columns), NaN without prediction.

    With every station on the air; with the parents alone (None for a relay); and against noise alone.
    ``unknown`` is how many interferers have no prediction.
    """

    station: Station
    margin_db: Field
    margin_before_db: Field | None
    noise_margin_db: Field
    unknown: Counts


@dataclass(frozen=True)
class Network:
    """Margin [dB] of a service, or of all, with every station on the air and with the parents alone.

    Margins, not fields, are compared, since the minimum field differs from channel to channel. Arrays of
    shape (rows, columns); NaN where no station has a prediction. ``noise_margin_db`` is the margin if nothing
    interfered, ``serving`` how many stations serve the cell (of all services: the least of them),
    ``unknown`` how many interferers of the best station have no prediction (of all services: the most), and
    ``districts`` the people of each district by its name.
    """

    name: str
    margin_db: Field
    margin_before_db: Field
    noise_margin_db: Field
    serving: Counts
    unknown: Counts
    people: PeopleCount | None
    districts: tuple[tuple[str, PeopleCount], ...] = ()


def network_of(name: str, stations: Sequence[tuple[Station, Field]], census: Census | None) -> Network:
    """Combine the margins of the stations that radiate one service where nothing interferes."""
    return network_on_air(
        name,
        [
            StationMargins(
                station, margin, margin if station.role == "parent" else None, margin, _nothing(margin)
            )
            for station, margin in stations
        ],
        census,
    )


def network_on_air(name: str, stations: Sequence[StationMargins], census: Census | None) -> Network:
    """Combine the margins of the stations that radiate one service; at least one."""
    after = strongest_field([each.margin_db for each in stations])
    parents = [each.margin_before_db for each in stations if each.margin_before_db is not None]
    standing = Standing(
        margin_db=after,
        margin_before_db=strongest_field(parents) if parents else _never_served(after),
        noise_margin_db=strongest_field([each.noise_margin_db for each in stations]),
        serving=_serving([each.margin_db for each in stations]),
        unknown=_unknown(stations),
    )
    return _network(name, standing, census)


def all_services(services: Sequence[Network], census: Census | None) -> Network:
    """Combine services: a place is served when every one of them is, from whichever station."""
    standing = Standing(
        margin_db=weakest_field([service.margin_db for service in services]),
        margin_before_db=weakest_field([service.margin_before_db for service in services]),
        noise_margin_db=weakest_field([service.noise_margin_db for service in services]),
        serving=reduce(np.minimum, [service.serving for service in services]),
        unknown=reduce(np.maximum, [service.unknown for service in services]),
    )
    return _network(ALL_SERVICES, standing, census)


def _network(name: str, standing: Standing, census: Census | None) -> Network:
    margin_db, before_db, noise_db, serving, unknown = standing
    assert before_db is not None and noise_db is not None and serving is not None and unknown is not None
    people, districts = count_standing(census, standing), count_by_district(census, standing)
    return Network(name, margin_db, before_db, noise_db, serving, unknown, people, districts)


def _serving(margins_db: Sequence[Field]) -> Counts:
    """Return how many stations serve each cell."""
    served = [served_mask(margin_db, 0.0) for margin_db in margins_db]
    count: Counts = np.sum(served, axis=0, dtype=np.int16)
    return count


def _unknown(stations: Sequence[StationMargins]) -> Counts:
    """Return how many interferers of each cell's best station have no prediction."""
    if not any(each.unknown.any() for each in stations):
        return _nothing(stations[0].margin_db)
    margins_db = np.stack([np.nan_to_num(each.margin_db, nan=-np.inf) for each in stations])
    best = margins_db.argmax(axis=0)[None]
    count: Counts = np.take_along_axis(np.stack([each.unknown for each in stations]), best, axis=0)[0]
    return count


def _nothing(like: Field) -> Counts:
    return np.zeros(like.shape, dtype=np.int16)


def _never_served(like: Field) -> Field:
    """Return a margin below any, for a service that no parent radiates."""
    return np.where(np.isnan(like), np.nan, -np.inf)
