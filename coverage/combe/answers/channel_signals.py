"""Predicts what choosing channels needs: the settled services, and a relay on all that it may take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from combe.answers.emissions import (
    emissions_of,
    interfering_conditions,
    rules_of,
)
from combe.answers.people_targets import PeopleTargets
from combe.answers.survey import Corrections, corrections_of, offset_db
from combe.decibels import FloatArray
from combe.planning.channels.harm import Public, Signal
from combe.planning.grid_tiles import StationService
from combe.prediction.area import Area
from combe.prediction.targets import Targets, find_targets, predict_targets
from combe.project import Project, service_conditions
from combe.standards.channels import centre_frequency_mhz, channel_raster
from combe.standards.dvbt2 import UHF_RANGE_MHZ
from combe.stations.transmitter import Service, Station
from combe.terrain.grid import to_grid_m


@dataclass(frozen=True)
class Field:
    """The study with its places: what every prediction here goes by."""

    project: Project
    area: Area
    targets: Targets
    public: Public
    corrections: Corrections


def usable_channels(project: Project) -> tuple[int, ...]:
    """Return the channels of the study's raster for which planning values hold."""
    raster = channel_raster(project.channel_raster)
    low, high = UHF_RANGE_MHZ
    numbers = range(raster.first_channel, raster.last_channel + 1)
    return tuple(each for each in numbers if low <= centre_frequency_mhz(raster.name, each) <= high)


def lay_field(project: Project, area: Area, people: PeopleTargets) -> Field:
    """Put the places with people on the ground.

    Raises
    ------
    RangeError
        Without any.
    """
    targets = find_targets(area, people.longitude_deg, people.latitude_deg)
    x_m, y_m = to_grid_m(area.grid, people.longitude_deg, people.latitude_deg)
    public = Public(x_m, y_m, people.people, rules_of(project), project.interference.cross_polarization)
    return Field(project, area, targets, public, corrections_of(project))


def signals_of_station(field: Field, station: Station) -> tuple[Signal, ...]:
    """Return the services of a station as signals at the places."""
    median, at_time = predicted(field, station)
    return tuple(
        _signal(field, station, service, median[index], at_time[index])
        for index, service in enumerate(station.services)
    )


def signals_on_channels(
    field: Field, relay: Station, channels: Sequence[int]
) -> dict[tuple[str, int], Signal]:
    """Return each service of a relay on each of some channels, by (service, channel).

    The relay is predicted once with one watt on every channel; the services differ by their ERP.
    """
    raster = field.project.channel_raster
    tried = tuple(Service(str(each), each, centre_frequency_mhz(raster, each), 1.0) for each in channels)
    median, at_time = predicted(field, replace(relay, services=tried))
    found = {}
    for service in relay.services:
        erp_db = 10.0 * np.log10(service.erp_w)
        for index, one in enumerate(tried):
            there = replace(service, channel=one.channel, frequency_mhz=one.frequency_mhz)
            fields = median[index] + erp_db, at_time[index] + erp_db
            found[service.name, one.channel] = _signal(field, relay, there, *fields)
    return found


def predicted(field: Field, station: Station) -> tuple[FloatArray, FloatArray]:
    """Return the fields of a station's services (services, n) for wanted and interfering signals."""
    height_m = field.project.receive_height_m
    usual, later = service_conditions(field.project), interfering_conditions(field.project)
    median = predict_targets(field.area, station, field.targets, conditions=usual, rx_height_m=height_m)
    median = median + offset_db(field.corrections, station.name)
    if later == usual:
        return median, median
    at_time = predict_targets(field.area, station, field.targets, conditions=later, rx_height_m=height_m)
    return median, at_time + offset_db(field.corrections, station.name)


def _signal(
    field: Field, station: Station, service: Service, median: FloatArray, at_time: FloatArray
) -> Signal:
    named = StationService(station, service)
    (emission,) = emissions_of(field.project, field.area.grid, [named])
    return Signal(emission, service.channel, median, at_time)
