"""Where a relay would hear a parent: the feed at every cell, and the cells that keep the margin asked.

The arithmetic is that of a relay's feed budget (combe.reception.budget), over whole maps. Other stations on
the parent's channel are added to the noise, with no discrimination by the receive aerial, which is on the
safe side; the wanted field of the share of the year asked stands against their median, and the wanted
median against their field of 1 % of time, whichever leaves less. The wanted field falls by ITU-R P.2001-4 in
the climate of the study, whatever the model of the median.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.decibels import (
    FloatArray,
    field_from_loss_dbuv_m,
    power_dbm_from_field,
    power_sum_db,
    thermal_noise_dbm,
)
from combe.errors import RangeError
from combe.prediction import (
    Area,
    Conditions,
    IntArray,
    StraightLosses,
    directions,
    shortest_path_km,
    straight_losses,
)
from combe.propagation.p2001 import Climate
from combe.reception import FeedChain
from combe.standards import NoiseEnvironment, noise_rise_db
from combe.stations import Service, Station, erp_towards_dbw

_ROUNDING_DB: Final = 1e-9
_SAME_CHANNEL_MHZ: Final = 0.5
_SLACK: Final = 1.01
"""By how much the distance over the grid may be over that of the exact path."""


@dataclass(frozen=True)
class FeedMap:
    """The feed from one parent at cells (n,), for services in the order of ``services``.

    ``input_dbm`` median at the receiver, ``carrier_to_noise_db`` (interferers among the noise) and
    ``margin_db`` at the time asked: shape (services, n); NaN without prediction, and the last two nearer to
    the parent than an exact path begins.
    """

    parent: str
    services: tuple[str, ...]
    cells: IntArray
    distance_km: FloatArray
    input_dbm: FloatArray
    carrier_to_noise_db: FloatArray
    margin_db: FloatArray
    interferers: tuple[str, ...]

    @property
    def worst_margin_db(self) -> FloatArray:
        """Margin of the worst service, shape (n,); NaN where any has no prediction."""
        worst: FloatArray = np.min(self.margin_db, axis=0)
        return worst


@dataclass(frozen=True)
class FeedQuestion:
    """What a feed has to do: receiving side, climate, share of a year [%], allowance over the fade [dB].

    ``noise_environment`` is that of the receive aerial, by ITU-R P.372.
    """

    chain: FeedChain
    climate: Climate
    time_percent: float = 99.0
    fade_allowance_db: float = 0.0
    noise_environment: NoiseEnvironment = "none"


class _Arrival:
    """Fields [dB(µV/m)] of a station at cells, median and rare, with the fade; shape (services, n)."""

    def __init__(
        self, station: Station, losses: StraightLosses, erp_dbw: FloatArray, allowance_db: float
    ) -> None:
        self.fields = [
            _field(service, erp_dbw[k], losses.median_db[k]) for k, service in enumerate(station.services)
        ]
        self.rare = [
            _field(service, erp_dbw[k], losses.rare_db[k]) for k, service in enumerate(station.services)
        ]
        self.fade_db = losses.fade_db + allowance_db
        self.distance_km = losses.distance_km


def _field(service: Service, erp_dbw: FloatArray, loss_db: FloatArray) -> FloatArray:
    return field_from_loss_dbuv_m(erp_dbw, loss_db, service.frequency_mhz)


def feed_maps(
    area: Area,
    stations: Sequence[Station],
    parents: Sequence[str],
    services: Sequence[str],
    cells: npt.ArrayLike,
    conditions: Conditions,
    question: FeedQuestion,
    *,
    threads: int | None = None,
) -> list[FeedMap]:
    """Return the feed of each parent at grid cells, given by flat index (n,).

    Parameters
    ----------
    stations
        All that are on the air: parents, and interferers on their channels.
    parents
        Names of those that may be received; each must radiate all ``services``.
    services
        Names of the services that the relay needs.

    Raises
    ------
    RangeError
        For a parent that lacks a service, or a station beyond the ground that was read.
    TerrainGapError
        For a station on a void.
    """
    flat = np.asarray(cells, dtype=np.int64)
    known = {station.name: station for station in stations}
    disturbing = _disturbing(parents, services, known)
    arrivals: dict[str, _Arrival] = {}
    for station in stations:
        # Only what is received fades, and only what disturbs counts for 1 % of time; the rest need no price.
        fades, rares = station.name in parents, station.name in disturbing
        if fades or rares:
            arrivals[station.name] = _arrive(
                area, station, flat, conditions, question, fades=fades, rares=rares, threads=threads
            )
    near_km = _SLACK * shortest_path_km(conditions.model)
    return [_feed_of(known[name], services, flat, known, arrivals, question, near_km) for name in parents]


def _arrive(
    area: Area,
    station: Station,
    cells: IntArray,
    conditions: Conditions,
    question: FeedQuestion,
    *,
    fades: bool,
    rares: bool,
    threads: int | None,
) -> _Arrival:
    rx_m = question.chain.aerial_height_m
    losses = straight_losses(
        area,
        station,
        cells,
        conditions,
        rx_height_m=rx_m,
        time_percent=question.time_percent,
        climate=question.climate,
        fades=fades,
        rares=rares,
        threads=threads,
    )
    bearing, elevation = directions(area, station, cells, rx_m, losses.distance_km, conditions)
    erp = np.stack([erp_towards_dbw(station, service, bearing, elevation) for service in station.services])
    return _Arrival(station, losses, erp, question.fade_allowance_db)


def _feed_of(
    parent: Station,
    services: Sequence[str],
    cells: IntArray,
    known: Mapping[str, Station],
    arrivals: Mapping[str, _Arrival],
    question: FeedQuestion,
    near_km: float,
) -> FeedMap:
    numbers = _numbers(parent, services)
    chain, arrival = question.chain, arrivals[parent.name]
    inputs, ratios, names = [], [], []
    for k in numbers:
        mhz = parent.services[k].frequency_mhz
        wanted_dbm = _input_dbm(arrival.fields[k], mhz, chain)
        others = _co_channel(parent, k, known)
        usual = [_input_dbm(arrivals[name].fields[n], mhz, chain) for name, n in others]
        rare = [_input_dbm(arrivals[name].rare[n], mhz, chain) for name, n in others]
        floor = np.full(cells.size, _noise_dbm(question, mhz))
        at_time = wanted_dbm - arrival.fade_db[k] - power_sum_db(floor, *usual)
        # Fades and interference from afar do not come at the same time: the worse of a faded wanted field
        # with usual interferers, and a usual one with rare interferers.
        ratios.append(np.minimum(at_time, wanted_dbm - power_sum_db(floor, *rare)))
        inputs.append(wanted_dbm)
        names += [f"{name} on {mhz:g} MHz" for name, _ in others]
    # Nearer than an exact path begins, the check afterwards would refuse what the map allows.
    ratio = np.where(arrival.distance_km < near_km, np.nan, np.stack(ratios))
    return FeedMap(
        parent=parent.name,
        services=tuple(services),
        cells=cells,
        distance_km=arrival.distance_km,
        input_dbm=np.stack(inputs),
        carrier_to_noise_db=ratio,
        margin_db=ratio - chain.required_cn_db,
        interferers=tuple(dict.fromkeys(names)),
    )


def _noise_dbm(question: FeedQuestion, frequency_mhz: float) -> float:
    """Return the noise at the receiver's input [dBm]: its own, and the aerial's past feeder and splitter."""
    chain = question.chain
    rise_db = noise_rise_db(
        question.noise_environment,
        frequency_mhz,
        noise_figure_db=chain.noise_figure_db,
        feeder_loss_db=chain.feeder_loss_db + chain.splitter_loss_db,
    )
    return thermal_noise_dbm(chain.bandwidth_mhz) + chain.noise_figure_db + rise_db


def _numbers(parent: Station, services: Sequence[str]) -> list[int]:
    """Return the place of each service among those of a parent."""
    radiated = [service.name for service in parent.services]
    missing = [name for name in services if name not in radiated]
    if missing:
        raise RangeError(f"service of the relay, from {parent.name}", repr(missing[0]), ", ".join(radiated))
    return [radiated.index(name) for name in services]


def _disturbing(parents: Sequence[str], services: Sequence[str], known: Mapping[str, Station]) -> set[str]:
    """Return the names of the stations on a channel that a parent is received on."""
    return {
        name
        for parent in parents
        for k in _numbers(known[parent], services)
        for name, _ in _co_channel(known[parent], k, known)
    }


def _co_channel(parent: Station, k: int, known: Mapping[str, Station]) -> list[tuple[str, int]]:
    """Return (station, number of the service) of all others on the channel of a parent's service."""
    mhz = parent.services[k].frequency_mhz
    return [
        (name, n)
        for name, station in known.items()
        if name != parent.name
        for n, service in enumerate(station.services)
        if abs(service.frequency_mhz - mhz) < _SAME_CHANNEL_MHZ
    ]


def _input_dbm(field_dbuv_m: FloatArray, frequency_mhz: float, chain: FeedChain) -> FloatArray:
    """Return the level [dBm] at the receiver's input."""
    power_dbm = power_dbm_from_field(field_dbuv_m, frequency_mhz, chain.aerial_gain_dbi)
    return power_dbm - chain.feeder_loss_db - chain.splitter_loss_db


@dataclass(frozen=True)
class FedCells:
    """The cells (n,) whose feed stands, each with its best parent (an index) and the margin there [dB]."""

    cells: IntArray
    parent: IntArray
    margin_db: FloatArray


def keep_fed(maps: Sequence[FeedMap], required_margin_db: float) -> FedCells:
    """Keep the cells whose worst service has the margin asked, from the parent that gives most."""
    # Not known ranks below any margin and never stands.
    worst = np.stack([np.nan_to_num(field_map.worst_margin_db, nan=-np.inf) for field_map in maps])
    parent = np.argmax(worst, axis=0)
    margin = worst[parent, np.arange(worst.shape[1])]
    # A margin of just what is asked stands, though a rounding error take a hair of it.
    kept = margin >= required_margin_db - _ROUNDING_DB
    return FedCells(maps[0].cells[kept], parent[kept].astype(np.int64), margin[kept])
