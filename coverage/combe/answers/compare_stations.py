"""What differs between the stations of two projects, in words: moved, changed, added, taken away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from combe.digits import spoken
from combe.geodesy import distance_km
from combe.project import Project
from combe.stations import Pattern, Service, Station

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
    services = ", ".join(
        f"{each.name} on channel {each.channel}, {_watts(each.erp_w)}" for each in station.services
    )
    return f"{station.role} at {_place(station)}, aerial {station.aerial_height_m:g} m; {services}"


def _changes(was: Station, now: Station) -> Iterator[str]:
    if (was.longitude_deg, was.latitude_deg) != (now.longitude_deg, now.latitude_deg):
        yield f"moved {_way(was, now)}, to {_place(now)}"
    told = (
        ("role", was.role, now.role),
        ("hears", was.parent or "nobody", now.parent or "nobody"),
        ("aerial", f"{was.aerial_height_m:g} m", f"{now.aerial_height_m:g} m"),
        ("polarization", was.polarization, now.polarization),
        ("horizontal pattern", *_patterns(was.horizontal_pattern, now.horizontal_pattern)),
        ("vertical pattern", *_patterns(was.vertical_pattern, now.vertical_pattern)),
        ("bearing", f"{was.bearing_deg:g}°", f"{now.bearing_deg:g}°"),
        ("tilt", f"{was.tilt_deg:g}°", f"{now.tilt_deg:g}°"),
    )
    yield from (f"{what} {one} → {other}" for what, one, other in told if one != other)
    yield from _service_changes(was.services, now.services)


def _service_changes(was: Sequence[Service], now: Sequence[Service]) -> Iterator[str]:
    before, after = ({each.name: each for each in side} for side in (was, now))
    for name, service in before.items():
        if name not in after:
            yield f"{name} taken away"
            continue
        other = after[name]
        if service.channel != other.channel:
            yield f"{name} channel {service.channel} → {other.channel}"
        if service.erp_w != other.erp_w:
            yield f"{name} {_watts(service.erp_w)} → {_watts(other.erp_w)}"
        if _rest(service) != _rest(other):
            yield f"{name} otherwise radiated"
    for name, service in after.items():
        if name not in before:
            yield f"{name} added on channel {service.channel}, {_watts(service.erp_w)}"


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
            yield f"{what} otherwise"
    costs = [each.running_costs.get(name) for each in (first, second)]
    if costs[0] != costs[1]:
        yield f"running cost {spoken(costs[0])} → {spoken(costs[1])}"


def _patterns(was: Pattern | None, now: Pattern | None) -> tuple[str, str]:
    """Return what patterns are called; that they are others of one name where they are."""
    one, other = (each.source if each else "none" for each in (was, now))
    tables = [(each.angle_deg, each.relative_db) if each else () for each in (was, now)]
    if tables[0] == tables[1]:
        return "", ""
    return (one, other) if one != other else (one, f"another {other}")


def _way(was: Station, now: Station) -> str:
    away_km = distance_km(was.longitude_deg, was.latitude_deg, now.longitude_deg, now.latitude_deg)
    return f"{away_km:.1f} km" if away_km >= _KM else f"{1000.0 * max(away_km, _HERE_KM):.0f} m"


def _place(station: Station) -> str:
    return f"{station.longitude_deg:.4f}°, {station.latitude_deg:.4f}°"


def _watts(power_w: float) -> str:
    return f"{spoken(power_w / 1000.0, 1)} kW" if power_w >= 1000.0 else f"{power_w:g} W"
