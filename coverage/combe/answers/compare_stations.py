"""What differs between the stations of two projects, in words: moved, changed, added, taken away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from combe.digits import spoken
from combe.geodesy import distance_km
from combe.project import Project
from combe.stations import Pattern, Service, Station
from combe.words import joined, tell

_KM: Final = 1.0
_HERE_KM: Final = 0.0005


@dataclass(frozen=True)
class StationDifference:
    """A station that is another in two projects: ``how`` is moved, changed, added or taken away."""

    station: str
    how: str
    words: tuple[str, ...]


def station_differences(first: Project, second: Project) -> tuple[StationDifference, ...]:
    """Return how the stations of a second project differ from those of a first, by their names."""
    before = {each.name: each for each in first.stations}
    after = {each.name: each for each in second.stations}
    found = []
    for name, station in before.items():
        if name not in after:
            off = name in second.off_air
            found.append(StationDifference(name, "taken away", ("off the air",) if off else ()))
        elif words := (*_changes(station, after[name]), *_beside(first, second, name)):
            moved = any(each.startswith("moved") for each in words)
            found.append(StationDifference(name, "moved" if moved else "changed", words))
    found += [
        StationDifference(name, "added", (_in_short(station),))
        for name, station in after.items()
        if name not in before
    ]
    return tuple(found)


def _in_short(station: Station) -> str:
    services = joined(
        ", ",
        (
            tell(
                "{name} on channel {channel}, {watts}",
                name=each.name,
                channel=each.channel,
                watts=_watts(each.erp_w),
            )
            for each in station.services
        ),
    )
    return tell(
        "{role} at {place}, aerial {aerial_height_m:g} m; {services}",
        role=station.role,
        place=_place(station),
        aerial_height_m=station.aerial_height_m,
        services=services,
    )


def _changes(was: Station, now: Station) -> Iterator[str]:
    if (was.longitude_deg, was.latitude_deg) != (now.longitude_deg, now.latitude_deg):
        yield tell("moved {way}, to {place}", way=_way(was, now), place=_place(now))
    told = (
        ("role", was.role, now.role),
        ("hears", was.parent or "nobody", now.parent or "nobody"),
        (
            "aerial",
            tell("{aerial_height_m:g} m", aerial_height_m=was.aerial_height_m),
            tell("{aerial_height_m:g} m", aerial_height_m=now.aerial_height_m),
        ),
        ("polarization", was.polarization, now.polarization),
        ("horizontal pattern", *_patterns(was.horizontal_pattern, now.horizontal_pattern)),
        ("vertical pattern", *_patterns(was.vertical_pattern, now.vertical_pattern)),
        (
            "bearing",
            tell("{bearing_deg:g}°", bearing_deg=was.bearing_deg),
            tell("{bearing_deg:g}°", bearing_deg=now.bearing_deg),
        ),
        ("tilt", tell("{tilt_deg:g}°", tilt_deg=was.tilt_deg), tell("{tilt_deg:g}°", tilt_deg=now.tilt_deg)),
    )
    yield from (
        tell("{what} {item} → {other}", what=what, item=one, other=other)
        for what, one, other in told
        if one != other
    )
    yield from _service_changes(was.services, now.services)


def _service_changes(was: Sequence[Service], now: Sequence[Service]) -> Iterator[str]:
    before, after = ({each.name: each for each in side} for side in (was, now))
    for name, service in before.items():
        if name not in after:
            yield tell("{name} taken away", name=name)
            continue
        other = after[name]
        if service.channel != other.channel:
            yield tell(
                "{name} channel {channel} → {channel_2}",
                name=name,
                channel=service.channel,
                channel_2=other.channel,
            )
        if service.erp_w != other.erp_w:
            yield tell(
                "{name} {watts} → {watts_2}",
                name=name,
                watts=_watts(service.erp_w),
                watts_2=_watts(other.erp_w),
            )
        if _rest(service) != _rest(other):
            yield tell("{name} otherwise radiated", name=name)
    for name, service in after.items():
        if name not in before:
            yield tell(
                "{name} added on channel {channel}, {watts}",
                name=name,
                channel=service.channel,
                watts=_watts(service.erp_w),
            )


def _rest(service: Service) -> tuple[Any, ...]:
    return service.offset_twelfths, service.precision_offset, service.offset_khz, service.television


def _beside(first: Project, second: Project, name: str) -> Iterator[str]:
    """Yield what else of a station differs: what it receives with, what is behind its power, its cost."""
    pairs: tuple[tuple[str, Mapping[str, Any], Mapping[str, Any]], ...] = (
        ("feed", first.feeds, second.feeds),
        ("output", first.outputs, second.outputs),
    )
    for what, one, other in pairs:
        if one.get(name) != other.get(name):
            yield tell("{what} otherwise", what=what)
    costs = [each.running_costs.get(name) for each in (first, second)]
    if costs[0] != costs[1]:
        yield tell("running cost {costs} → {costs_2}", costs=spoken(costs[0]), costs_2=spoken(costs[1]))


def _patterns(was: Pattern | None, now: Pattern | None) -> tuple[str, str]:
    """Return what patterns are called; that they are others of one name where they are."""
    one, other = (each.source if each else "none" for each in (was, now))
    tables = [(each.angle_deg, each.relative_db) if each else () for each in (was, now)]
    if tables[0] == tables[1]:
        return "", ""
    return (one, other) if one != other else (one, tell("another {other}", other=other))


def _way(was: Station, now: Station) -> str:
    away_km = distance_km(was.longitude_deg, was.latitude_deg, now.longitude_deg, now.latitude_deg)
    return (
        tell("{away_km:.1f} km", away_km=away_km)
        if away_km >= _KM
        else tell("{away_km:.0f} m", away_km=1000.0 * max(away_km, _HERE_KM))
    )


def _place(station: Station) -> str:
    return tell(
        "{longitude_deg:.4f}°, {latitude_deg:.4f}°",
        longitude_deg=station.longitude_deg,
        latitude_deg=station.latitude_deg,
    )


def _watts(power_w: float) -> str:
    return (
        tell("{power_w} kW", power_w=spoken(power_w / 1000.0, 1))
        if power_w >= 1000.0
        else tell("{power_w:g} W", power_w=power_w)
    )
