"""Fields at a neighbour's test points: how far over a trigger, by bearing, and together on one channel.

A field falls by as many dB as the power towards its place does. So what is over the trigger is what has to
go, and the greatest excess of all places of a sector is what a pattern has to hold back into it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Literal

from combe.decibels import power_sum_db
from combe.errors import RangeError
from combe.stations import Service, Station, horizontal_gain_db
from combe.terrain import PlaceAlong

Held = Literal["over", "under", "under even in free space", "not judged", "no trigger"]
"""How a field stands to the trigger; under is not over, and no more is said by it."""

SECTOR_DEG: Final = 10.0
"""Width of the sectors in which reductions are told (our own choice)."""


@dataclass(frozen=True)
class FieldThere:
    """The field of one service of one station at one place.

    Parameters
    ----------
    number, place, station, service
        Where, the place by its number from 1, and of what.
    distance_km, bearing_deg : float
        From the station.
    erp_towards_dbw : float or None
        Towards the place; None where the ground between is not known.
    field_dbuv_m : float or None
        Median of places, exceeded for the time asked; None where it is not judged.
    at_most_dbuv_m : float or None
        What it cannot be over by the model, where it is not judged; None where the model sets no bound.
    trigger_dbuv_m : float or None
        What it is held against.
    reason : str
        Why it is not judged.
    """

    number: int
    place: PlaceAlong
    station: Station
    service: Service
    distance_km: float
    bearing_deg: float
    erp_towards_dbw: float | None = None
    field_dbuv_m: float | None = None
    at_most_dbuv_m: float | None = None
    trigger_dbuv_m: float | None = None
    reason: str = ""

    @property
    def excess_db(self) -> float | None:
        """Field less trigger; None where either is not known."""
        if self.field_dbuv_m is None or self.trigger_dbuv_m is None:
            return None
        return self.field_dbuv_m - self.trigger_dbuv_m

    @property
    def held(self) -> Held:
        """How it stands to the trigger."""
        if self.trigger_dbuv_m is None:
            return "not judged" if self.field_dbuv_m is None else "no trigger"
        if self.field_dbuv_m is None:
            bounded = self.at_most_dbuv_m is not None and self.at_most_dbuv_m <= self.trigger_dbuv_m
            return "under even in free space" if bounded else "not judged"
        return "over" if self.field_dbuv_m > self.trigger_dbuv_m else "under"

    @property
    def rank(self) -> tuple[bool, float]:
        """A key that puts the highest over its trigger first, or the highest at all; unknown ones last."""
        known = self.field_dbuv_m if self.excess_db is None else self.excess_db
        return (True, 0.0) if known is None else (False, -known)


@dataclass(frozen=True)
class Sector:
    """What goes into a sector of bearings from a station: over all its services and all places there.

    ``highest`` is that most over its trigger, or the highest where there is none; None where none is judged.
    ``not_judged`` counts the fields that nothing is known of: what is said is then said at least.
    """

    station: Station
    from_deg: float
    places: int
    not_judged: int
    highest: FieldThere | None

    @property
    def to_deg(self) -> float:
        """The bearing at which it ends [degrees]."""
        return self.from_deg + SECTOR_DEG

    @property
    def excess_db(self) -> float | None:
        """The greatest excess over a trigger."""
        return self.highest.excess_db if self.highest else None

    @property
    def reduction_db(self) -> float | None:
        """By how much the power into it has to fall for every field to meet its trigger, 0 or more."""
        return None if self.excess_db is None else max(0.0, self.excess_db)

    @property
    def pattern_db(self) -> float | None:
        """The station's horizontal pattern towards the highest field, against its maximum."""
        if self.highest is None:
            return None
        return float(horizontal_gain_db(self.station, self.highest.bearing_deg))

    @property
    def pattern_needed_db(self) -> float | None:
        """The level of the pattern there that would meet the trigger at the power as it is."""
        if self.pattern_db is None or self.reduction_db is None:
            return None
        return self.pattern_db - self.reduction_db

    @property
    def erp_allowed_dbw(self) -> float | None:
        """The ERP of the highest service towards its place that would just meet the trigger."""
        if self.highest is None or self.highest.erp_towards_dbw is None or self.excess_db is None:
            return None
        return self.highest.erp_towards_dbw - self.excess_db


@dataclass(frozen=True)
class ChannelSum:
    """The stations of one channel together, by the sum of their powers, where that is highest.

    Of the places at which all of them are judged; ``left_out`` counts the others.
    """

    channel: int
    parts: tuple[FieldThere, ...]
    field_dbuv_m: float
    left_out: int

    @property
    def place(self) -> PlaceAlong:
        """Where it is highest."""
        return self.parts[0].place

    @property
    def excess_db(self) -> float | None:
        """Over the trigger."""
        trigger_dbuv_m = self.parts[0].trigger_dbuv_m
        return None if trigger_dbuv_m is None else self.field_dbuv_m - trigger_dbuv_m


def highest_first(fields: Iterable[FieldThere]) -> tuple[FieldThere, ...]:
    """Return fields with the highest over its trigger first; those not judged come last, in their order."""
    return tuple(sorted(fields, key=lambda each: each.rank))


def sectors_of(station: Station, fields: Iterable[FieldThere]) -> tuple[Sector, ...]:
    """Return the sectors of a station's bearings in which there are places, clockwise from north.

    Raises
    ------
    RangeError
        A field of another station.
    """
    own = sorted(fields, key=_sector_number)
    for each in own:
        if each.station is not station:
            raise RangeError("station of a field", repr(each.station.name), repr(station.name))
    return tuple(_sector(station, number, list(group)) for number, group in groupby(own, _sector_number))


def _sector_number(field: FieldThere) -> int:
    return int(field.bearing_deg // SECTOR_DEG)


def _sector(station: Station, number: int, fields: Sequence[FieldThere]) -> Sector:
    highest = highest_first(fields)[0]
    return Sector(
        station=station,
        from_deg=number * SECTOR_DEG,
        places=len({each.number for each in fields}),
        not_judged=sum(each.held == "not judged" for each in fields),
        highest=None if highest.field_dbuv_m is None else highest,
    )


def channel_sums(fields: Iterable[FieldThere]) -> tuple[ChannelSum, ...]:
    """Return for each channel of several stations the highest sum of their powers, in order of channels."""
    found = []
    for (_, channel), group in groupby(sorted(fields, key=_channel), _channel):
        there: dict[int, list[FieldThere]] = {}
        for each in group:
            there.setdefault(each.number, []).append(each)
        summed = [_summed(channel, parts) for parts in there.values() if len(parts) > 1]
        known = [each for each in summed if each is not None]
        if known:
            highest = max(known, key=lambda each: each.field_dbuv_m)
            left_out = len(summed) - len(known)
            found.append(ChannelSum(channel, highest.parts, highest.field_dbuv_m, left_out))
    return tuple(found)


def _channel(field: FieldThere) -> tuple[float, int]:
    """Return what tells a channel; one number may be of two rasters."""
    return field.service.frequency_mhz, field.service.channel


def _summed(channel: int, parts: Sequence[FieldThere]) -> ChannelSum | None:
    """Return the sum at one place, None where any part of it is not judged."""
    levels = [each.field_dbuv_m for each in parts if each.field_dbuv_m is not None]
    if len(levels) < len(parts):
        return None
    return ChannelSum(channel, tuple(parts), float(power_sum_db(*levels)), 0)
