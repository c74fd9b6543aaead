"""What each station of a coverage serves by itself, service by service, against all others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from combe.answers.cover_run import (
    CoverRun,
    field_map_of,
    judged_alone,
    predicted_where,
    served_where,
    sweep_s,
)
from combe.decibels import FloatArray
from combe.planning import Mask, PeopleCount
from combe.prediction import FieldMap
from combe.project import MinimumField
from combe.reception import Field, location_probability, required_medians_dbuv_m
from combe.stations import Station


@dataclass(frozen=True)
class ServiceCoverage:
    """One service of one station: its field map, the field that serves, and the people it serves.

    Maps have the shape (rows, columns) and are read from their files each time they are asked, so that the
    memory does not grow with the stations: keep what is used twice.
    """

    station: str
    service: str
    channel: int
    frequency_mhz: float
    minimum: MinimumField
    people: PeopleCount | None
    emission: int
    run: CoverRun = field(repr=False, compare=False)

    @property
    def field_map(self) -> FieldMap:
        """The predicted field with what made it, read from its file."""
        return field_map_of(self.run, self.emission)

    @property
    def served(self) -> Mask:
        """Where this station serves, against noise and all other stations."""
        return served_where(self.run, self.emission)

    @property
    def cells(self) -> int:
        """Number of cells with a prediction."""
        return int(np.count_nonzero(predicted_where(self.run, self.emission)))

    @property
    def sweep_s(self) -> float:
        """Time [s] of the sweep that all services of the station share."""
        return sweep_s(self.run, self.emission)

    @property
    def disturbed(self) -> bool:
        """Whether any other station may disturb it."""
        return bool(self.run.disturbers[self.emission])

    @property
    def judged_margin_db(self) -> Field:
        """Margin [dB] against noise and all other stations; ``margin_db`` where nothing interferes.

        Judged anew each time from the files of those who may disturb it.
        """
        return judged_alone(self.run, self.emission)[0]

    @property
    def minimum_field_dbuv_m(self) -> float:
        """Median field [dB(µV/m)] that serves the share of places that the study asks."""
        return self.minimum.median_dbuv_m

    @property
    def required_fields_dbuv_m(self) -> Mapping[float, float]:
        """Median fields [dB(µV/m)] for 50, 70, 95 and 99 % of places, by percentage."""
        return required_medians_dbuv_m(self.minimum.at_a_place_dbuv_m, self.minimum.location_deviation_db)

    @property
    def location_probability(self) -> FloatArray:
        """Share of the places of each cell that noise alone leaves served, 0 to 1, NaN as the field.

        With the planning standard's deviation over places, about the map's median.
        """
        return location_probability(
            self.field_map.field_dbuv_m,
            self.minimum.at_a_place_dbuv_m,
            self.minimum.location_deviation_db,
        )

    @property
    def location_probability_with_interference(self) -> Field:
        """Share of the places of each cell that are served against noise and all other stations, 0 to 1.

        By the study's way of summing interference, judged anew each time; NaN as the field.
        """
        return judged_alone(self.run, self.emission)[1]

    @property
    def margin_db(self) -> Field:
        """Field over the minimum [dB], against noise alone; NaN without prediction."""
        return self.field_map.field_dbuv_m - self.minimum_field_dbuv_m


@dataclass(frozen=True)
class StationCoverage:
    """One station: each of its services, and the people whom it serves with all of them.

    ``from_cache`` tells that its fields were kept from an earlier run.
    """

    station: Station
    services: tuple[ServiceCoverage, ...]
    people: PeopleCount | None
    from_cache: bool = False
