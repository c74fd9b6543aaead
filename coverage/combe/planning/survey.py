"""Survey points against the prediction: the statistics of its error, and a correction of it for one place.

The error is measured less predicted. A local correction is the mean error of the places, drawn towards
nought by n/(n + n0): few places say little about the rest. n0 is the variance of errors from place to place
over that of the mean error from area to area; with 7 dB (6 to 9 dB is usual, from memory) and 3 dB (our own
choice) it is about 5. Several services at one place err together, so a place counts once, with the mean of
its errors.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from combe.errors import RangeError
from combe.words import tell

SHRINKAGE_PLACES: Final = 5.0
"""n0."""

FEWEST_PLACES: Final = 5
"""Places below which no correction is made (our own choice)."""

GREATEST_OFFSET_DB: Final = 10.0
"""More than this has another cause than the ground, such as a wrong power or aerial (our own choice)."""

PERCENTILES: Final = (10.0, 50.0, 90.0)
DISTANCE_EDGES_KM: Final = (0.0, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, math.inf)
OBSTRUCTION_EDGES_DB: Final = (-math.inf, 10.0, 20.0, math.inf)

_PLACE_DECIMALS: Final = 5
"""About a metre: points nearer than this are one place."""


@dataclass(frozen=True)
class SurveyPoint:
    """A measured field strength at ``height_m`` above ground; ``row`` says where in the table it stands."""

    row: int
    longitude_deg: float
    latitude_deg: float
    station: str
    service: str
    field_dbuv_m: float
    height_m: float

    @property
    def place(self) -> tuple[float, float]:
        """Longitude and latitude, rounded to about a metre."""
        return round(self.longitude_deg, _PLACE_DECIMALS), round(self.latitude_deg, _PLACE_DECIMALS)


@dataclass(frozen=True)
class SurveyError:
    """A survey point beside its prediction."""

    point: SurveyPoint
    predicted_dbuv_m: float
    distance_km: float
    diffraction_loss_db: float
    line_of_sight: bool

    @property
    def error_db(self) -> float:
        """Measured less predicted."""
        return self.point.field_dbuv_m - self.predicted_dbuv_m


@dataclass(frozen=True)
class ErrorStatistics:
    """Statistics of errors [dB]; ``deviation_db`` has n − 1 below, and is NaN for one reading."""

    label: str
    count: int
    places: int
    mean_db: float
    deviation_db: float
    rms_db: float
    percentiles_db: Mapping[float, float]


@dataclass(frozen=True)
class LocalCorrection:
    """What is added to the predicted field of a station, and what it rests on."""

    station: str
    offset_db: float
    mean_error_db: float
    places: int
    weight: float
    """n/(n + n0)."""
    source: str

    @property
    def words(self) -> str:
        """What every map made with it says."""
        return tell(
            "{station} {offset_db:+.1f} dB (mean error {mean_error_db:+.1f} dB at "
            "{places} survey places of {source}, weighted {weight:.2f})",
            station=self.station,
            offset_db=self.offset_db,
            mean_error_db=self.mean_error_db,
            places=self.places,
            source=self.source,
            weight=self.weight,
        )


def error_statistics(errors: Sequence[SurveyError], label: str = "all") -> ErrorStatistics:
    """Return the statistics of one error or more.

    Raises
    ------
    RangeError
        There is none.
    """
    if not errors:
        raise RangeError("number of survey points", 0, "1 or more")
    values = np.array([error.error_db for error in errors], dtype=np.float64)
    percentiles = np.percentile(values, PERCENTILES)
    return ErrorStatistics(
        label=label,
        count=int(values.size),
        places=len({error.point.place for error in errors}),
        mean_db=float(values.mean()),
        deviation_db=float(values.std(ddof=1)) if values.size > 1 else math.nan,
        rms_db=float(np.sqrt(np.mean(values**2))),
        percentiles_db=dict(zip(PERCENTILES, percentiles.tolist(), strict=True)),
    )


def by_distance(errors: Sequence[SurveyError]) -> tuple[ErrorStatistics, ...]:
    """Return the statistics by bands of distance from the station; bands without points are left out."""
    return _by_band(errors, lambda each: each.distance_km, DISTANCE_EDGES_KM, "km")


def by_obstruction(errors: Sequence[SurveyError]) -> tuple[ErrorStatistics, ...]:
    """Return the statistics of points in line of sight, then of obstructed ones by their diffraction loss."""
    clear = [error for error in errors if error.line_of_sight]
    hidden = [error for error in errors if not error.line_of_sight]
    in_sight = (error_statistics(clear, "line of sight"),) if clear else ()
    bands = _by_band(hidden, lambda each: each.diffraction_loss_db, OBSTRUCTION_EDGES_DB, "dB diffraction")
    return (*in_sight, *bands)


def by_station(errors: Sequence[SurveyError]) -> tuple[ErrorStatistics, ...]:
    """Return the statistics of each station, in the order in which they come."""
    names = dict.fromkeys(error.point.station for error in errors)
    return tuple(
        error_statistics([error for error in errors if error.point.station == name], name) for name in names
    )


def local_correction(
    station: str, errors: Sequence[SurveyError], source: str, *, shrinkage: float = SHRINKAGE_PLACES
) -> LocalCorrection:
    """Return the correction of a station's fields by the survey.

    Parameters
    ----------
    station : str
    errors : sequence of SurveyError
        Those of other stations are left alone.
    source : str
        What the points were read from, for words.
    shrinkage : float
        n0, 0 or more; 0 takes the mean error as it is.

    Raises
    ------
    RangeError
        Fewer than five places, or more than 10 dB of offset.
    """
    if not shrinkage >= 0.0:
        raise RangeError("shrinkage of a local correction", shrinkage, "0 or more")
    places = place_errors_db(errors, station)
    require_places(station, len(places), source)
    # Few places are drawn towards no correction: n0 places of prior belief that the prediction is right.
    mean_db, weight = float(np.mean(places)), len(places) / (len(places) + shrinkage)
    if abs(weight * mean_db) > GREATEST_OFFSET_DB:
        raise RangeError(
            f"local correction of {station}",
            f"{weight * mean_db:+.1f} dB",
            f"up to {GREATEST_OFFSET_DB:g} dB",
            "so large an error has another cause; check ERP, aerial and survey",
        )
    return LocalCorrection(station, weight * mean_db, mean_db, len(places), weight, source)


def places_by_station(points: Iterable[SurveyPoint]) -> dict[str, int]:
    """Return at how many places each station was measured."""
    places: dict[str, set[tuple[float, float]]] = {}
    for point in points:
        places.setdefault(point.station, set()).add(point.place)
    return {station: len(found) for station, found in places.items()}


def require_places(station: str, count: int, source: str, fewest: int = FEWEST_PLACES) -> None:
    """Raise :class:`RangeError` where a station was measured at too few places for a correction."""
    if count < fewest:
        raise RangeError(
            f"survey places of {station} in {source}",
            count,
            f"{fewest} or more for a correction",
            "measure at more places, or write apply_correction = false",
        )


def errors_by_place(errors: Sequence[SurveyError], station: str) -> dict[tuple[float, float], float]:
    """Return the mean error [dB] of a station at each place where it was measured."""
    by_place: dict[tuple[float, float], list[float]] = {}
    for error in errors:
        # Many readings at one place say little more than one: each place counts once.
        if error.point.station == station:
            by_place.setdefault(error.point.place, []).append(error.error_db)
    return {place: float(np.mean(values)) for place, values in by_place.items()}


def place_errors_db(errors: Sequence[SurveyError], station: str) -> list[float]:
    """Return the mean error [dB] of each place of a station."""
    return list(errors_by_place(errors, station).values())


def _by_band(
    errors: Sequence[SurveyError],
    value: Callable[[SurveyError], float],
    edges: Sequence[float],
    unit: str,
) -> tuple[ErrorStatistics, ...]:
    bands = itertools.pairwise(edges)
    parted = [(low, high, [error for error in errors if low <= value(error) < high]) for low, high in bands]
    return tuple(
        error_statistics(inside, _band_words(low, high, unit)) for low, high, inside in parted if inside
    )


def _band_words(low: float, high: float, unit: str) -> str:
    if math.isinf(high):
        return tell("{low:g} {unit} or more", low=low, unit=unit)
    return (
        tell("under {high:g} {unit}", high=high, unit=unit)
        if low in (0.0, -math.inf)
        else tell("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit)
    )
