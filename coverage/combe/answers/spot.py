"""One place of a study: the fields of all services of all stations there, and how they are judged."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from combe.answers.corrections import Corrections, corrections_of, offset_at
from combe.answers.emissions import (
    emissions_of,
    interfering_conditions,
    interfering_stations,
    partners_among,
    rules_of,
)
from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.planning import StationService, services_of
from combe.prediction import Area, Conditions, Targets, find_targets, predict_targets
from combe.project import Project, minimum_field, service_conditions
from combe.reception import (
    Fields,
    Judged,
    Judges,
    Partners,
    WayOfReceiving,
    arrival_us,
    fields_at,
    gain_of_network,
    judge_emission,
    make_judges,
    nuisance_field_dbuv_m,
    off_axis_deg,
    weights_of,
)
from combe.standards import DIRECTIVITY_CURVES, curve_number
from combe.terrain import StudyGrid, to_grid_m, to_lonlat_deg

MOST_LOWERED_DB: Final = 80.0
"""An interferer that would have to come down by more than this is better taken off the air."""

_STEPS: Final = 40


@dataclass(frozen=True)
class Spot:
    """The fields at one place.

    ``radiated`` are all services of all stations; ``median_dbuv_m`` and ``at_time_dbuv_m`` (n,) their fields
    for the time of wanted and of interfering signals; ``minimum_dbuv_m`` (n,) the median that serves against
    noise alone. ``judges`` is None where nothing may disturb anything; ``corrections`` are in the fields.
    """

    longitude_deg: float
    latitude_deg: float
    ground_m: float
    radiated: tuple[StationService, ...]
    median_dbuv_m: FloatArray
    at_time_dbuv_m: FloatArray
    minimum_dbuv_m: FloatArray
    partners: Partners
    judges: Judges | None
    place_m: tuple[float, float]
    corrections: Corrections


class Echo(NamedTuple):
    """One signal of a network on one frequency here, as an aerial that looks at a station hears it.

    ``late_us`` after the first of them, ``weight`` the part of its power that a receiver can use, 0 to 1;
    NaN without prediction.
    """

    emission: int
    field_dbuv_m: float
    gain_db: float
    late_us: float
    weight: float


class Nuisance(NamedTuple):
    """One interferer of a wanted emission here, both by their index; see :func:`nuisances`.

    ``lower_by_db`` is how far it alone would have to come down for the service, None where even without it
    there is none, 0 where there is service already.
    """

    emission: int
    time: str
    field_dbuv_m: float
    protection_db: float
    off_axis_deg: float
    gain_db: float
    nuisance_dbuv_m: float
    margin_without_db: float
    lower_by_db: float | None


def look_at(project: Project, area: Area, longitude_deg: float, latitude_deg: float) -> Spot:
    """Predict all stations at one place [degrees], without a map.

    Raises
    ------
    RangeError, TerrainGapError
        For a place or a station off the grid, or on a void.
    """
    _check_place(area.grid, longitude_deg, latitude_deg)
    targets = find_targets(area, [longitude_deg], [latitude_deg])
    radiated, corrections = services_of(project.stations), corrections_of(project)
    partners = partners_among(project, radiated)
    x_m, y_m = to_grid_m(area.grid, longitude_deg, latitude_deg)
    names = (station.name for station in project.stations)
    offsets_db = [float(offset_at(corrections, name, x_m, y_m)) for name in names]
    usual = [service_conditions(project, station.services) for station in project.stations]
    later = [interfering_conditions(project)] * len(usual)
    median = _fields(project, area, targets, usual, range(len(project.stations)), offsets_db)
    at_time = median.copy()
    if later != usual:
        stations = interfering_stations(project, radiated, partners)
        disturbing = _fields(project, area, targets, later, stations, offsets_db)
        at_time = np.where(np.isnan(disturbing), median, disturbing)
    return Spot(
        longitude_deg, latitude_deg, float(targets.height_m[0]), radiated, median, at_time,
        _minima(project, radiated), partners, _judges(project, area, radiated, partners),
        (float(x_m), float(y_m)), corrections,
    )  # fmt: skip


def seen_by(spot: Spot, project: Project, area: Area, way: WayOfReceiving) -> Spot:
    """Return a place as another way of receiving has it; its fields stay, unless they are of another height.

    Errors as :func:`look_at`.
    """
    other, radiated = project.received_by(way), spot.radiated
    if other.field_height_m != project.field_height_m:
        return look_at(other, area, spot.longitude_deg, spot.latitude_deg)
    partners = partners_among(other, radiated)
    judges = _judges(other, area, radiated, partners)
    return replace(spot, minimum_dbuv_m=_minima(other, radiated), partners=partners, judges=judges)


def _minima(project: Project, radiated: Sequence[StationService]) -> FloatArray:
    """Return the medians that serve against noise alone [dB(µV/m)] (n,)."""
    minima = (minimum_field(project, each.service.frequency_mhz, service=each.service) for each in radiated)
    return np.array([each.median_dbuv_m for each in minima])


def _judges(
    project: Project, area: Area, radiated: Sequence[StationService], partners: Partners
) -> Judges | None:
    """Return the judges; None where nothing may disturb anything."""
    if not partners.emission.size:
        return None
    return make_judges(emissions_of(project, area.grid, radiated), rules_of(project), partners)


def _check_place(grid: StudyGrid, longitude_deg: float, latitude_deg: float) -> None:
    """Refuse a place off the grid, and say where the grid lies."""
    x_m, y_m = (float(each) for each in to_grid_m(grid, longitude_deg, latitude_deg))
    east_m, south_m = (
        grid.west_m + grid.columns * grid.cell_size_m,
        grid.north_m - grid.rows * grid.cell_size_m,
    )
    if grid.west_m <= x_m <= east_m and south_m <= y_m <= grid.north_m:
        return
    corners = to_lonlat_deg(grid, [grid.west_m, grid.west_m, east_m, east_m], [grid.north_m, south_m] * 2)
    (west, east), (south, north) = ((float(each.min()), float(each.max())) for each in corners)
    raise RangeError(
        "the place",
        f"longitude {longitude_deg:.5f}, latitude {latitude_deg:.5f}",
        f"on the study grid, longitude {west:.3f} to {east:.3f}, latitude {south:.3f} to {north:.3f}",
        "the longitude comes first",
    )


def noise_margin_db(spot: Spot, emission: int) -> float:
    """Return the margin of an emission against noise alone [dB], echoes added; NaN without prediction."""
    if spot.judges is not None and _grouped(spot, emission):
        return float(gain_of_network(spot.judges, _heard(spot), emission).noise_margin_db[0, 0])
    return float(spot.median_dbuv_m[emission] - spot.minimum_dbuv_m[emission])


def spot_margin_db(spot: Spot, emission: int, off_air: Iterable[int] = ()) -> float:
    """Return the margin of an emission with all others on the air but some [dB]; NaN without prediction."""
    noise_db = noise_margin_db(spot, emission)
    if spot.judges is None or math.isnan(noise_db):
        return noise_db
    on_air = np.ones(len(spot.radiated), dtype=np.bool_)
    on_air[list(off_air)] = False
    judged = judge_emission(spot.judges, _heard(spot), emission, on_air)
    if _grouped(spot, emission):
        return float(judged.margin_db[0, 0])
    return min(float(judged.margin_db[0, 0]), noise_db)


def share_served(spot: Spot, service: str) -> tuple[float, float]:
    """Return the shares of places that the best station serves, with interference and without, 0 to 1.

    NaN where nothing can disturb anything, so that nobody asked.
    """
    if spot.judges is None:
        return math.nan, math.nan
    judged = [
        judge_emission(spot.judges, _heard(spot), index)
        for index, each in enumerate(spot.radiated)
        if each.service.name == service
    ]
    best = max(judged, key=_known_margin_db)
    return float(best.share[0, 0]), float(best.noise_share[0, 0])


def _known_margin_db(judged: Judged) -> float:
    """Return the margin at the one place [dB], below any for no prediction."""
    return float(np.nan_to_num(judged.margin_db[0, 0], nan=-np.inf))


def nuisances(spot: Spot, wanted: int) -> list[Nuisance]:
    """Return the interferers of an emission here, the strongest first, those without prediction last.

    Of an echo only what the receiver cannot use is one.
    """
    pairs = range(spot.partners.start[wanted], spot.partners.start[wanted + 1])
    used = {each.emission: each.weight for each in echoes_at(spot, wanted)}
    rows = [
        _nuisance(spot, wanted, pair, used.get(int(spot.partners.emission[pair]), 0.0))
        for pair in pairs
        if used.get(int(spot.partners.emission[pair])) != 1.0
    ]
    return sorted(rows, key=lambda row: (math.isnan(row.nuisance_dbuv_m), -row.nuisance_dbuv_m))


def echoes_at(spot: Spot, wanted: int) -> list[Echo]:
    """Return what of its network an aerial hears that looks at an emission, that one first; none without."""
    if spot.judges is None or not _grouped(spot, wanted) or math.isnan(spot.median_dbuv_m[wanted]):
        return []
    emissions, partners = spot.judges.emissions, spot.partners
    pairs = [
        pair for pair in range(partners.start[wanted], partners.start[wanted + 1]) if partners.echo[pair]
    ]
    if not pairs:
        return []
    heard = [wanted, *(int(partners.emission[pair]) for pair in pairs)]
    gains = [0.0, *(_gain_db(spot, wanted, pair) for pair in pairs)]
    levels = spot.median_dbuv_m[heard] + np.array(gains)
    arrivals = np.array([_arrival_us(spot, each) for each in heard])
    known = ~np.isnan(levels)
    symbol = emissions[wanted].one_frequency
    assert symbol is not None, "grouped"
    weights = np.full(len(heard), math.nan)
    weights[known] = weights_of(arrivals[known], levels[known], emissions[wanted].minimum_dbuv_m, symbol)
    first_us = arrivals[known].min()
    return [
        Echo(each, float(spot.median_dbuv_m[each]), gain, float(late - first_us), float(weight))
        for each, gain, late, weight in zip(heard, gains, arrivals, weights, strict=True)
    ]


def _arrival_us(spot: Spot, emission: int) -> float:
    """Return when an emission of a network arrives here [µs]."""
    assert spot.judges is not None, "only judged places have echoes"
    own = spot.judges.emissions[emission]
    symbol, (x_m, y_m) = own.one_frequency, spot.place_m
    assert symbol is not None, "grouped"
    return float(arrival_us(own.x_m - x_m, own.y_m - y_m, symbol.delay_us))


def _gain_db(spot: Spot, wanted: int, pair: int) -> float:
    """Return the gain of an aerial that looks at an emission towards one of its pairs [dB]."""
    other = int(spot.partners.emission[pair])
    # A nuisance field of a field of 0 dB(µV/m) and a ratio of 0 dB is the gain of the aerial.
    return float(
        nuisance_field_dbuv_m(
            np.zeros(()),
            np.zeros(()),
            tropospheric_db=0.0,
            continuous_db=0.0,
            off_axis=float(off_axis_deg(*spot.place_m, _site(spot, wanted), _site(spot, other))),
            crossed=bool(spot.partners.crossed[pair]),
            curve=DIRECTIVITY_CURVES[_curve(spot, wanted)],
        )
    )


def _grouped(spot: Spot, emission: int) -> bool:
    return spot.judges is not None and spot.judges.emissions[emission].one_frequency is not None


def _nuisance(spot: Spot, wanted: int, pair: int, used: float) -> Nuisance:
    partners, other = spot.partners, int(spot.partners.emission[pair])
    tropospheric_db, continuous_db = (
        float(each[pair]) for each in (partners.tropospheric_db, partners.continuous_db)
    )
    median, at_time = float(spot.median_dbuv_m[other]), float(spot.at_time_dbuv_m[other])
    if used > 0.0:
        # The receiver uses a part of this echo: only the rest is a nuisance.
        rest_db = 10.0 * math.log10(1.0 - used)
        tropospheric_db, continuous_db = tropospheric_db + rest_db, continuous_db + rest_db
    continuous = median + continuous_db > at_time + tropospheric_db
    field_db, protection_db = (median, continuous_db) if continuous else (at_time, tropospheric_db)
    angle = float(off_axis_deg(*spot.place_m, _site(spot, wanted), _site(spot, other)))
    nuisance = nuisance_field_dbuv_m(
        spot.median_dbuv_m[other],
        spot.at_time_dbuv_m[other],
        tropospheric_db=tropospheric_db,
        continuous_db=continuous_db,
        off_axis=angle,
        crossed=bool(partners.crossed[pair]),
        curve=DIRECTIVITY_CURVES[_curve(spot, wanted)],
    )
    return Nuisance(
        other,
        "echo" if partners.echo[pair] else "continuous" if continuous else "tropospheric",
        field_db,
        protection_db,
        angle,
        float(nuisance) - field_db - protection_db,
        float(nuisance),
        spot_margin_db(spot, wanted, [other]),
        _lower_by_db(spot, wanted, other),
    )


def _curve(spot: Spot, wanted: int) -> int:
    """Return the number of the directivity curve of an emission's viewers."""
    assert spot.judges is not None, "only judged places have nuisance fields"
    directional = spot.judges.emissions[wanted].directional
    return curve_number(spot.radiated[wanted].service.frequency_mhz, directional=directional)


def _lower_by_db(spot: Spot, wanted: int, other: int) -> float | None:
    """Return how far one interferer must come down for the wanted emission to serve [dB]."""
    if spot_margin_db(spot, wanted) >= 0.0:
        return 0.0
    if not spot_margin_db(_lowered(spot, other, MOST_LOWERED_DB), wanted) >= 0.0:
        return None
    low, high = 0.0, MOST_LOWERED_DB
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        enough = spot_margin_db(_lowered(spot, other, middle), wanted) >= 0.0
        low, high = (low, middle) if enough else (middle, high)
    return high


def _lowered(spot: Spot, emission: int, by_db: float) -> Spot:
    """Return the place with one emission weaker."""
    change = np.zeros(len(spot.radiated))
    change[emission] = by_db
    return replace(
        spot, median_dbuv_m=spot.median_dbuv_m - change, at_time_dbuv_m=spot.at_time_dbuv_m - change
    )


def _heard(spot: Spot) -> Fields:
    return fields_at(*spot.place_m, spot.median_dbuv_m[:, None], spot.at_time_dbuv_m[:, None])


def _site(spot: Spot, emission: int) -> tuple[float, float]:
    assert spot.judges is not None, "only judged places have nuisance fields"
    return spot.judges.emissions[emission].x_m, spot.judges.emissions[emission].y_m


def _fields(
    project: Project,
    area: Area,
    targets: Targets,
    conditions: Sequence[Conditions],
    stations: Iterable[int],
    offsets_db: Sequence[float],
) -> FloatArray:
    """Return the field of every service at the place (n,), NaN for those of stations that are not asked.

    ``conditions`` and what is added to the fields are those of each station.
    """
    height_m, chosen = project.field_height_m, set(stations)
    found = [
        predict_targets(area, station, targets, conditions=conditions[index], rx_height_m=height_m)[:, 0]
        + offsets_db[index]
        if index in chosen
        else np.full(len(station.services), np.nan)
        for index, station in enumerate(project.stations)
    ]
    return np.concatenate(found)
