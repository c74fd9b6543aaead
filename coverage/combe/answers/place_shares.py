"""Tells of each cell of a coverage in what share of its places a service, or all of them, can be received."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np

from combe.answers.cover import CoverReport, ServiceCoverage
from combe.answers.network import ALL_SERVICES
from combe.project import MinimumField
from combe.reception import PLANNING_PERCENTAGES, Field, required_median_dbuv_m, weakest_field


@dataclass(frozen=True)
class PlaceShares:
    """Shares of places of one service, or of all, as a median field with its deviation and need.

    The share in a cell is that of a normal scatter about ``field_dbuv_m`` (rows, columns), NaN without
    prediction, which reaches ``minimum.at_a_place_dbuv_m``. Where services or stations need different
    fields, theirs are carried over to this one need, so that the share stays the same.
    """

    name: str
    field_dbuv_m: Field
    minimum: MinimumField
    planning_percent: float
    """Share of places [%] that counts as served, to which ``minimum.median_dbuv_m`` belongs."""

    @property
    def required_fields_dbuv_m(self) -> dict[float, float]:
        """Median fields [dB(µV/m)] for 50, 70, 95 and 99 % of places, by percentage."""
        need, deviation = self.minimum.at_a_place_dbuv_m, self.minimum.location_deviation_db
        return {percent: required_median_dbuv_m(need, percent, deviation) for percent in PLANNING_PERCENTAGES}


def place_shares(report: CoverReport) -> tuple[PlaceShares, ...]:
    """Return the shares of all services and, where there are several, of each."""
    covered = [service for station in report.stations for service in station.services]
    planned: dict[str, float] = {}
    for station in report.project.stations:
        for service in station.services:
            # Of several systems the greatest share counts, for which all of them are met.
            percent = report.project.planned(service).location_percent
            planned[service.name] = max(percent, planned.get(service.name, 0.0))
    each = tuple(_of_service(network.name, covered, planned[network.name]) for network in report.services)
    return (_of_all(each), *(each if len(each) > 1 else ()))


def _of_service(name: str, covered: list[ServiceCoverage], percent: float) -> PlaceShares:
    """Take each cell from the station that serves most of its places; the first one's need is kept."""
    found = [service for service in covered if service.service == name]
    need = found[0].minimum
    fields = (_at_need(one.field_map.field_dbuv_m, one.minimum, need) for one in found)
    return PlaceShares(name, reduce(np.fmax, fields), need, percent)


def _of_all(services: tuple[PlaceShares, ...]) -> PlaceShares:
    """Take each cell from the service with the least share; the highest need is kept."""
    need = max((one.minimum for one in services), key=lambda minimum: minimum.median_dbuv_m)
    fields = [_at_need(one.field_dbuv_m, one.minimum, need) for one in services]
    return PlaceShares(ALL_SERVICES, weakest_field(fields), need, services[0].planning_percent)


def _at_need(field_dbuv_m: Field, own: MinimumField, other: MinimumField) -> Field:
    """Carry a field over to another need so that as many deviations lie between them as before."""
    spare: Any = np.asarray(field_dbuv_m, dtype=np.float64) - own.at_a_place_dbuv_m
    if own.location_deviation_db > 0.0 and other.location_deviation_db != own.location_deviation_db:
        spare = spare * (other.location_deviation_db / own.location_deviation_db)
    found: Field = spare + other.at_a_place_dbuv_m
    return found
