"""Stations of a project's source that are off the air: left out of all, and told where one asks for them."""

from __future__ import annotations

from collections.abc import Sequence

from combe.errors import RangeError, did_you_mean
from combe.words import joined, tell


def off_air_words(names: Sequence[str]) -> str:
    """Return the line that says which stations are off the air, and what that means here."""
    return tell("{names}; left out of all that is worked out", names=joined(", ", names))


def off_air_hint(names: Sequence[str]) -> str:
    """Return what an error of something missing adds where it may be among the stations off the air."""
    return f"; off the air in this study: {joined(', ', names)}" if names else ""


def off_air_advice(name: str, off_air: Sequence[str]) -> str:
    """Return why a station of a name is not there, letter case aside; empty where it is none off the air."""
    if name.casefold() not in [each.casefold() for each in off_air]:
        return ""
    return "it is off the air in this study: on_air = false stands at it, or at a station that feeds it"


def no_station(name: str, names: Sequence[str], off_air: Sequence[str]) -> RangeError:
    """Return the error that a name is that of no station, with the nearest, or that it is off the air."""
    nearest = did_you_mean(name, names)
    advice = off_air_advice(name, off_air) or (nearest if nearest.startswith("did") else "see combe check")
    return RangeError("station", f'"{name}"', ", ".join(names), advice)


def require_off_air(off_air: Sequence[str], names: Sequence[str]) -> None:
    """Raise RangeError for a station that is on the air and off it at once."""
    for name in off_air:
        if name in names:
            raise RangeError("station off the air", f'"{name}"', "one that is not among the stations")
