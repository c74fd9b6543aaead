"""A state of the desk that is worked out: the study with its edits, and the coverage that follows from it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Final

from combe.answers.cover import CoverReport
from combe.errors import CombeError, StudyError
from combe.project import Project
from combe.study.file import Study

Edit = Mapping[str, Any]


@dataclass(frozen=True)
class Settled:
    """The study as edits leave it, and its coverage.

    ``edits`` lead from the file to ``table``, the study's table; ``settled_s`` is the time that it took.
    """

    edits: tuple[Edit, ...]
    table: Mapping[str, Any] = field(repr=False)
    study: Study = field(repr=False)
    project: Project = field(repr=False)
    report: CoverReport = field(repr=False)
    settled_s: float


def with_edit(edits: Sequence[Edit], edit: Edit) -> tuple[Edit, ...]:
    """Return edits with one more; of one station in a row only what came of them is kept."""
    last = edits[-1] if edits else {}
    if "station" not in edit or last.get("station") != edit["station"]:
        return (*edits, dict(edit))
    tables = {key: {**last[key], **edit[key]} for key in ("erp_w", "channel") if key in last and key in edit}
    return (*edits[:-1], {**last, **edit, **tables})


class FaultError(CombeError, ValueError):
    """A study that edits make and that cannot be: its faults in one line, at stations by name."""


_PLACE: Final = re.compile(r"stations\[(\d+)\](?:\.services\[(\d+)\])?(\.|: )?")


@contextmanager
def told_by_names(table: Mapping[str, Any]) -> Iterator[None]:
    """Raise faults of a study's table as a :class:`FaultError`, with stations and services by their names."""
    try:
        yield
    except StudyError as error:
        raise FaultError("; ".join(_by_names(each, table) for each in error.faults)) from None


def _by_names(fault: str, table: Mapping[str, Any]) -> str:
    """Return a fault without the numbers by which a file counts.

    >>> table = {"stations": [{"name": "Hill", "services": [{"name": "Mux 1"}]}]}
    >>> _by_names("stations[0].services[0].channel: is that of stations[0].tilt_deg", table)
    "Hill, Mux 1: channel: is that of Hill's tilt_deg"
    """

    def named(place: re.Match[str]) -> str:
        try:
            station = table["stations"][int(place[1])]
            names = [station["name"], *([station["services"][int(place[2])]["name"]] if place[2] else [])]
            joined = (", " if place.start() == 0 else "'s ").join(names)
        except (LookupError, TypeError):
            return place[0]
        if place[3] is None:
            return joined
        return joined + (": " if place.start() == 0 or place[3] == ": " else " " if place[2] else "'s ")

    return _PLACE.sub(named, fault)
