"""What is said of the clearance of a path: its values, its rows, and the sentence of an engineer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.constants import CLEAR_FRESNEL_RADII
from combe.digits import spoken, telling, true_minus
from combe.publishing.document import Table
from combe.publishing.fields import Field, many, number, one, text, within
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.path import PathReport, PathService
    from combe.prediction import Clearance

_AIR: Final = (
    number("k", "k", decimals=2, meaning="effective over true radius of the Earth"),
    number("effective_radius_km"),
    number("time_percent", "for", meaning="of the time this k is exceeded"),
    number("distance_km", "edge at", meaning="the controlling edge from the start"),
    number(
        "clearance_m", "clear by", decimals=1, limit=0.0,
        meaning="line over the edge with its cover; below 0 where it blocks",
    ),
    number("first_fresnel_m", "first Fresnel radius", decimals=1),
    number("clearance_radii", "in radii", decimals=1, limit=CLEAR_FRESNEL_RADII),
)  # fmt: skip
_IN_EACH_AIR: Final = (
    one("median", *_AIR),
    one("exceeded_99_9", *_AIR, like="as median, in the air whose k is exceeded for 99.9 % of the time"),
)

CLEARANCE: Final = one("clearance", *_IN_EACH_AIR, null="no ground lies between the ends")
"""Of a service of a path."""


def clearance_of_feed() -> Field:
    """Return the clearance of all services that a relay receives, a row each."""
    return many(
        "clearance",
        text("name", get="service.name"),
        *within("clearance", _IN_EACH_AIR),
        get=lambda relay: _clear(_heard(relay)),
        meaning="of the path, by service",
    )


def _heard(relay: Any) -> Iterable[PathService]:
    return (relay.path.of_service(each.received.name) for each in relay.services)


def _clear(services: Iterable[PathService]) -> tuple[PathService, ...]:
    return tuple(each for each in services if each.clearance is not None)


_ODD: Final = "the study's own k is less than that, so one of both is not of this place"


class _Row(NamedTuple):
    service: str
    air: Clearance


def clearance_table(path: PathReport, names: Iterable[str]) -> Table:
    """Return the clearance of some services of a path in both airs, with the rule by which it is read."""
    services = _clear(map(path.of_service, names))
    rows = tuple(
        _Row(each.service.name, air)
        for each in services
        if each.clearance
        for air in (each.clearance.median, each.clearance.exceeded_99_9)
    )
    odd = (
        tell("; {odd}", odd=_ODD)
        if any(each.clearance and each.clearance.contradicts for each in services)
        else ""
    )
    note = tell(
        "Line of sight over {ground}, the Earth's curve counted. From {clear_fresnel_radii:g} of the "
        "radius on an edge costs next to nothing (common practice). The median k is the study's; that "
        "exceeded for 99.9 % of the time is by ITU-R P.2001-4, {climate_words}{odd}.",
        ground=_ground(path),
        clear_fresnel_radii=CLEAR_FRESNEL_RADII,
        climate_words=path.project.climate_words,
        odd=odd,
    )
    fields = (text("", "service", "service", once=True), *within("air", [each for each in _AIR if each.head]))
    return Table("Clearance of the path", fields, rows, note)


def clearance_words(path: PathReport, service: str) -> str:
    """Say by how much the line clears its controlling edge, or is blocked by it, in both airs."""
    found = path.of_service(service)
    if found.clearance is None:
        return "no ground lies between the ends"
    median, rare, ground = found.clearance.median, found.clearance.exceeded_99_9, _ground(path)
    again = tell("by {metres}", metres=_metres(rare)) if _alike(median, rare) else _relation(rare, ground)
    return tell(
        "at k {k:.2f} {relation}, {radii} first Fresnel radii at "
        "{frequency_mhz:g} MHz; at k {k_2:.2f}, exceeded for {time_percent:g} % of "
        "the time, {again}, {radii_2} radii{odd}",
        k=median.k,
        relation=_relation(median, ground),
        radii=_radii(median),
        frequency_mhz=found.service.frequency_mhz,
        k_2=rare.k,
        time_percent=rare.time_percent,
        again=again,
        radii_2=_radii(rare),
        odd=tell("; {odd}", odd=_ODD) if found.clearance.contradicts else "",
    )


def clearance_in_short(path: PathReport, service: str) -> str:
    """Say whether the ends see one another, and the clearance in both airs, in one line of a terminal."""
    found = path.of_service(service)
    sight = "In line of sight" if found.prediction.line_of_sight else "Blocked"
    if found.clearance is None:
        return sight
    median, rare = found.clearance.median, found.clearance.exceeded_99_9
    clear = sight if median.blocked else tell("{sight}, clear", sight=sight)
    first = tell(
        "{in_short} at {distance_km:.2f} km",
        in_short=_in_short(median, " first Fresnel radii"),
        distance_km=median.distance_km,
    )
    again = (
        _in_short(rare)
        if _alike(median, rare)
        else tell(
            "{state} {in_short} at {distance_km:.2f} km",
            state=_state(rare),
            in_short=_in_short(rare),
            distance_km=rare.distance_km,
        )
    )
    return tell(
        "{clear} {first}; {again} at k {k:.2f} ({time_percent:g} % of time)",
        clear=clear,
        first=first,
        again=again,
        k=rare.k,
        time_percent=rare.time_percent,
    )


def _in_short(air: Clearance, unit: str = "") -> str:
    return (
        tell("by {metres}, {radii}{unit},", metres=_metres(air), radii=_radii(air), unit=unit)
        if air.blocked
        else tell("by {radii}{unit}", radii=_radii(air), unit=unit)
    )


def _state(air: Clearance) -> str:
    return "blocked" if air.blocked else "clear"


def _alike(median: Clearance, rare: Clearance) -> bool:
    return (median.blocked, median.edge_index) == (rare.blocked, rare.edge_index)


def _ground(path: PathReport) -> str:
    return "the ground" if path.clutter_height_m is None else "the ground and its cover"


def _relation(air: Clearance, ground: str) -> str:
    place = tell("{ground} at {distance_km:.2f} km", ground=ground, distance_km=air.distance_km)
    if air.blocked:
        return tell(
            "{place} {part} the line by {metres}",
            place=place,
            part="block" if "cover" in ground else "blocks",
            metres=_metres(air),
        )
    return tell("the line clears {place} by {metres}", place=place, metres=_metres(air))


def _metres(air: Clearance) -> str:
    metres = abs(air.clearance_m)
    return tell("{metres} m", metres=spoken(metres, 0 if metres >= 10.0 else 1))


def _radii(air: Clearance) -> str:
    return true_minus(telling(air.clearance_radii, CLEAR_FRESNEL_RADII, 1))
