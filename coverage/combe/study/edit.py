"""Changes a study's table by one edit: a station otherwise, one more, or one taken away.

The table is that of TOML, with the stations of a table of stations behind those of the file. It is never
changed itself. Here an edit is held to its keys, names and types; whether what it says is possible is found
by the study's own checks, which are to follow.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from typing import Any, Final, NamedTuple

from combe.errors import RangeError, did_you_mean, quoted
from combe.study.crosscheck import Table, is_number, is_whole, section_of, stations_of, tables_of, text_of
from combe.study.section import OMNI

Edited = dict[str, Any]

_ADD: Final = "add"
_REMOVE: Final = "remove"
_STATION: Final = "station"
_PLACE: Final = ("longitude_deg", "latitude_deg")
_DIGITS: Final = 12
"""Of numbers that are taken; a sum of a control's steps such as 0.30000000000000004 becomes 0.3."""

_PLAIN_HEIGHT_M: Final = 30.0
_PLAIN_FEED: Final[Mapping[str, float]] = {
    "aerial_height_m": 12.0,
    "aerial_gain_dbi": 14.0,
    "feeder_loss_db": 2.0,
    "noise_figure_db": 6.0,
    "required_margin_db": 10.0,
}
"""What a relay receives with where the study has no relay to copy; as [siting.feed] has it unless told."""

_MEMBERS: Final = 2
"""Fewest members of a network on one frequency."""


def edited(table: Table, edit: Mapping[str, Any]) -> Edited:
    """Return a study's table as an edit leaves it.

    Parameters
    ----------
    table
        A study's table without faults.
    edit
        ``{"station": NAME, ...}`` with keys of the station to be changed, where ``erp_w`` and ``channel`` are
        tables by the names of services; ``{"add": {...}}`` with ``name``, ``longitude_deg`` and
        ``latitude_deg``, and ``like``, ``parent`` and ``services`` where wanted; or ``{"remove": NAME}``.

    Raises
    ------
    RangeError
        An unknown key or name, a value of the wrong type, a name that is taken, or no station that stays.

    Examples
    --------
    >>> table = {"stations": [{"name": "Hill", "aerial_height_m": 30.0}]}
    >>> edited(table, {"station": "hill", "aerial_height_m": 45})
    {'stations': [{'name': 'Hill', 'aerial_height_m': 45.0}]}
    """
    kinds = {_STATION: _changed, _ADD: _with_one_more, _REMOVE: _without}
    asked = [kind for kind in kinds if kind in edit]
    if len(asked) != 1:
        given = " and ".join(asked) or ", ".join(map(str, edit)) or "nothing"
        raise RangeError("edit", given, "one of station, add, remove")
    return kinds[asked[0]](copy.deepcopy(dict(table)), edit)


def station_named(table: Table, field: str, name: object) -> Edited:
    """Return the station of a name, letter case and blanks aside; raises RangeError with the nearest name."""
    stations: list[Any] = [station for _, station in stations_of(table)]
    return _named(field, name, stations)


class _Key(NamedTuple):
    """A key of an edit: what its value is to be in words, and how it is taken; None for another type."""

    wanted: str
    take: Callable[[Any], Any]


def _number(value: Any) -> float | None:
    good = is_number(value) and math.isfinite(value)
    return float(f"{value:.{_DIGITS}g}") if good else None


def _whole(value: Any) -> int | None:
    return value if is_whole(value) else None


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) and value.strip() else None


def _truth(value: Any) -> bool | None:
    return value if isinstance(value, bool) else None


_A_NUMBER: Final = _Key("a number", _number)
_A_TEXT: Final = _Key("a text", _text)
_A_WHOLE: Final = _Key("a whole number", _whole)
_OF_A_STATION: Final[Mapping[str, _Key]] = {
    "longitude_deg": _A_NUMBER,
    "latitude_deg": _A_NUMBER,
    "aerial_height_m": _A_NUMBER,
    "polarization": _A_TEXT,
    "horizontal_pattern": _A_TEXT,
    "bearing_deg": _A_NUMBER,
    "vertical_pattern": _A_TEXT,
    "tilt_deg": _A_NUMBER,
    "on_air": _Key("true or false", _truth),
}
_OF_SERVICES: Final[Mapping[str, _Key]] = {"erp_w": _A_NUMBER, "channel": _A_WHOLE}
_OF_A_NEW_SERVICE: Final[Mapping[str, _Key]] = {"name": _A_TEXT, "channel": _A_WHOLE, "erp_w": _A_NUMBER}
_USUAL: Final[Mapping[str, object]] = {
    "horizontal_pattern": OMNI,
    "bearing_deg": 0.0,
    "vertical_pattern": OMNI,
    "tilt_deg": 0.0,
    "on_air": True,
}
"""What a station has that does not say; such a key is not written only to say the same."""


def _taken(field: str, value: Any, key: _Key) -> Any:
    found = key.take(value)
    if found is None:
        raise RangeError(field, _shown(value), key.wanted)
    return found


def _shown(value: object) -> str:
    text = quoted(value) if isinstance(value, str) else repr(value)
    return text if len(text) <= 80 else f"{text[:77]}..."


def _require_keys(field: str, given: object, allowed: Iterable[str]) -> Mapping[str, Any]:
    """Return what is given as a table of no other keys than those allowed."""
    known = list(allowed)
    if not isinstance(given, Mapping):
        raise RangeError(field, _shown(given), "a table")
    for key in given:
        if key not in known:
            raise RangeError(
                f"a key of {field}", quoted(str(key)), ", ".join(known), did_you_mean(str(key), known)
            )
    return given


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _named(field: str, name: object, entries: Sequence[Edited]) -> Edited:
    """Return the entry of a name; that in the same letters goes before others."""
    names = [str(entry.get("name")) for entry in entries]
    given = _taken(field, name, _A_TEXT)
    for same in (str, _folded):
        for own, entry in zip(names, entries, strict=True):
            if same(own) == same(given):
                return entry
    raise RangeError(field, quoted(given), ", ".join(names), did_you_mean(given, names))


def _changed(table: Edited, edit: Mapping[str, Any]) -> Edited:
    """Return the table with a station changed."""
    _require_keys("a change", edit, (_STATION, *_OF_A_STATION, *_OF_SERVICES))
    station = station_named(table, _STATION, edit[_STATION])
    for key, kind in _OF_A_STATION.items():
        if key in edit:
            value = _taken(key, edit[key], kind)
            if key in station or value != _USUAL.get(key):
                station[key] = value
    for key, kind in _OF_SERVICES.items():
        if key in edit:
            _change_services(station, key, edit[key], kind)
    return table


def _change_services(station: Edited, key: str, given: object, kind: _Key) -> None:
    services: list[Any] = [service for _, service in tables_of(station, "services")]
    if not isinstance(given, Mapping):
        raise RangeError(key, _shown(given), "a table of services by their names")
    for name, value in given.items():
        service = _named(f"a service of {station['name']}", name, services)
        service[key] = _taken(f"{key} of {service['name']}", value, kind)


def _with_one_more(table: Edited, edit: Mapping[str, Any]) -> Edited:
    """Return the table with one more relay behind its last station."""
    _require_keys("an edit", edit, (_ADD,))
    keys = ("name", *_PLACE, "like", "parent", "services")
    wish = _require_keys(_ADD, edit[_ADD], keys)
    missing = [key for key in ("name", *_PLACE) if key not in wish]
    if missing:
        raise RangeError(missing[0], "not given", "a value", "a new relay has a name and a place")
    name = _free_name(table, wish["name"])
    place = {key: _taken(key, wish[key], _A_NUMBER) for key in _PLACE}
    model = _model(table, wish)
    parent = station_named(table, "parent", wish["parent"])["name"] if "parent" in wish else None
    relay = _plain(table, parent) if model is None else _copied(model, parent)
    services = _new_services(wish)
    if services:
        relay["services"] = services
        if "output" in relay:
            # These are the powers of other services, one by one; without them they follow from the ERP.
            relay["output"].pop("power_w", None)
    if not relay["services"]:
        raise RangeError(
            "services", "not given", "a list of name, channel, erp_w", "there is no relay to copy"
        )
    head = {"name": name, "role": "relay", **place}
    table["stations"].append(head | {key: value for key, value in relay.items() if key not in head})
    return table


def _free_name(table: Edited, given: object) -> str:
    name = str(_taken("name", given, _A_TEXT))
    taken = [str(station.get("name")) for _, station in stations_of(table)]
    if _folded(name) in map(_folded, taken):
        raise RangeError("name", quoted(name), "a name that no station has", f"taken are {', '.join(taken)}")
    return name


def _model(table: Edited, wish: Mapping[str, Any]) -> Edited | None:
    """Return the relay to be copied, the first unless told; None where there is none."""
    relays: list[Any] = [each for _, each in stations_of(table) if each.get("role") == "relay"]
    if "like" in wish:
        return _named("like", wish["like"], relays)
    return relays[0] if relays else None


def _copied(model: Edited, parent: str | None) -> Edited:
    """Return a copy of a relay that is on the air."""
    relay = copy.deepcopy(model)
    relay.pop("on_air", None)
    if parent is not None:
        relay["feed"]["from"] = parent
    if isinstance(relay["feed"].get("aerial"), dict):
        # From another place the parent lies in another direction; without a bearing the aerial looks at it.
        relay["feed"]["aerial"].pop("bearing_deg", None)
    return relay


def _plain(table: Edited, parent: str | None) -> Edited:
    """Return a relay such as [siting] describes, with what it leaves open plain."""
    siting = section_of(table, "siting")
    asked = section_of(siting, "feed")
    feed = dict(_PLAIN_FEED) | {key: asked[key] for key in _PLAIN_FEED if key in asked}
    named = asked.get("from") or [
        station["name"] for _, station in stations_of(table) if station.get("role") == "parent"
    ]
    services = [dict(service) for _, service in tables_of(siting, "services")]
    return {
        "aerial_height_m": siting.get("aerial_height_m", _PLAIN_HEIGHT_M),
        "polarization": siting.get("polarization", "vertical"),
        "services": services,
        "feed": {"from": parent or named[0]} | feed,
    } | ({"television": dict(siting["television"])} if "television" in siting else {})


def _new_services(wish: Mapping[str, Any]) -> list[Edited]:
    listed = wish.get("services", [])
    if not isinstance(listed, list):
        raise RangeError("services", _shown(listed), "a list of name, channel, erp_w")
    return [_new_service(entry) for entry in listed]


def _new_service(entry: object) -> Edited:
    given = _require_keys("a service", entry, _OF_A_NEW_SERVICE)
    missing = [key for key in _OF_A_NEW_SERVICE if key not in given]
    if missing:
        raise RangeError(f"{missing[0]} of a new service", "not given", _OF_A_NEW_SERVICE[missing[0]].wanted)
    return {key: _taken(f"{key} of a service", given[key], kind) for key, kind in _OF_A_NEW_SERVICE.items()}


def _without(table: Edited, edit: Mapping[str, Any]) -> Edited:
    """Return the table without a station, and without the relays that have nothing to receive then."""
    _require_keys("an edit", edit, (_REMOVE,))
    gone = _fed_by(table, station_named(table, _REMOVE, edit[_REMOVE])["name"])
    staying = [station for station in table["stations"] if station["name"] not in gone]
    if not staying:
        names = ", ".join(sorted(gone))
        raise RangeError(_REMOVE, names, "stations of which others stay", "a study has one station at least")
    table["stations"] = staying
    _leave_networks(table, gone)
    _leave_coordination(table, gone)
    _leave_siting(table, gone)
    return table


def _fed_by(table: Table, name: str) -> set[str]:
    """Return a station and all that receive it, at once or by way of others."""
    feeds = {
        str(station.get("name")): text_of(section_of(station, "feed"), "from")
        for _, station in stations_of(table)
    }
    found, last = {name}, 0
    while len(found) > last:
        last = len(found)
        found |= {relay for relay, source in feeds.items() if source in found}
    return found


def _leave_networks(table: Edited, gone: Container[str]) -> None:
    """Take stations out of networks on one frequency; what has too few members is none."""
    if "sfn" not in table:
        return
    for network in table["sfn"]:
        network["members"] = [name for name in network["members"] if name not in gone]
        for key in ("static_delay_us", "processing_delay_us"):
            if key in network:
                network[key] = {name: each for name, each in network[key].items() if name not in gone}
    table["sfn"] = [network for network in table["sfn"] if len(network["members"]) >= _MEMBERS]
    if not table["sfn"]:
        del table["sfn"]


def _leave_coordination(table: Edited, gone: Container[str]) -> None:
    """Take stations out of those that a neighbour asks about."""
    asked = section_of(table, "coordination").get("stations")
    if not asked:
        return
    left = [name for name in asked if name not in gone]
    if left:
        table["coordination"]["stations"] = left
    else:
        # An empty list would ask about all stations, which nobody did.
        del table["coordination"]


def _leave_siting(table: Edited, gone: Container[str]) -> None:
    """Take stations out of those that a relay to be sited may receive; without any it may receive all."""
    named = section_of(section_of(table, "siting"), "feed").get("from")
    if not named:
        return
    left = [name for name in named if name not in gone]
    if left:
        table["siting"]["feed"]["from"] = left
    else:
        del table["siting"]["feed"]["from"]
