"""Combines stations into a network: each place takes every service from the station that gives it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from combe.reception.service import Field, strongest_field, weakest_field
from combe.stations.transmitter import Station
from combe.study.people_count import Census, PeopleCount, count_people

ALL_SERVICES = "All services"


@dataclass(frozen=True)
class Network:
    """Margin [dB] of a service, or of all, with every station on the air and with the parents alone.

    Margins, not fields, are compared, since the minimum field differs from channel to channel. Arrays of
    shape (rows, columns); NaN where no station has a prediction.
    """

    name: str
    margin_db: Field
    margin_before_db: Field
    people: PeopleCount | None


def network_of(name: str, stations: Sequence[tuple[Station, Field]], census: Census | None) -> Network:
    """Combine the margins of the stations that radiate one service; at least one."""
    after = strongest_field([margin for _, margin in stations])
    parents = [margin for station, margin in stations if station.role == "parent"]
    before = strongest_field(parents) if parents else _never_served(after)
    return Network(name, after, before, count_people(census, after, before))


def all_services(services: Sequence[Network], census: Census | None) -> Network:
    """Combine services: a place is served when every one of them is, from whichever station."""
    after = weakest_field([service.margin_db for service in services])
    before = weakest_field([service.margin_before_db for service in services])
    return Network(ALL_SERVICES, after, before, count_people(census, after, before))


def _never_served(like: Field) -> Field:
    """Return a margin below any, for a service that no parent radiates."""
    return np.where(np.isnan(like), np.nan, -np.inf)
