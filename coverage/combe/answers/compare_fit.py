"""Whether studies fit together: the same ground, people and rules, so that their counts may be compared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from combe.answers.cover import CoverReport
from combe.answers.provenance import ways_words
from combe.errors import RangeError
from combe.project import Project
from combe.standards import mode_words
from combe.terrain import all_tiles, people_on_grid
from combe.words import joined, tell

_NEAR_PEOPLE: Final = 0.5
"""Sums of people that differ by less are the same people, spread over the cells in another order."""


def require_fit(first: CoverReport, second: CoverReport) -> None:
    """Refuse studies whose counts cannot be compared.

    Raises
    ------
    RangeError
        With the first thing in which they differ.
    """
    for what, is_here, asked in (*_rules(first, second), *_ground(first, second), *_people(first, second)):
        raise RangeError(
            tell("{what} of {source}", what=what, source=second.project.source),
            is_here,
            tell("{asked}, as {source} has", asked=asked, source=first.project.source),
            "only studies over the same ground, with the same people and rules, can be compared",
        )


def remarks_on(first: CoverReport, second: CoverReport) -> tuple[str, ...]:
    """Return in what studies differ that can still be compared: what makes the comparison less sure."""
    one, two = first.project, second.project
    found = []
    if not same_grid(first, second):
        found.append(
            tell(
                "its grid is {provenance} and not {provenance_2}: its cells are held "
                "against the nearest ones, the sums at the rim differ, and no error is shared",
                provenance=second.provenance["grid"],
                provenance_2=first.provenance["grid"],
            )
        )
    if not same_prediction(one, two):
        found.append("it is predicted by another model, other air or other ground cover: no error is shared")
    if (first.error.common_db, first.error.place_db) != (second.error.common_db, second.error.place_db):
        found.append("its prediction has another error")
    if one.climate != two.climate:
        found.append(
            tell("its feeds stand in another climate: {climate_words}", climate_words=two.climate_words)
        )
    if set(services_of(first)) != set(services_of(second)):
        found.append(
            tell(
                "its services are {services_of}: all services are others",
                services_of=joined(", ", services_of(second)),
            )
        )
    if one.networks != two.networks:
        found.append("its networks on one frequency are others")
    return tuple(found)


def services_of(report: CoverReport) -> tuple[str, ...]:
    """Return the names of the services of a coverage."""
    return tuple(each.name for each in report.services)


def same_grid(first: CoverReport, second: CoverReport) -> bool:
    """Return whether two coverages have the same cells."""
    return first.grid == second.grid


def same_prediction(one: Project, two: Project) -> bool:
    """Return whether a path is predicted alike in two projects, so that it is off alike."""
    return (one.conditions, one.cover is None, one.zones is None, one.survey is None) == (
        two.conditions, two.cover is None, two.zones is None, two.survey is None,
    )  # fmt: skip


_Differs = Iterator[tuple[str, str, str]]
"""What differs, as the second study has it and as the first does."""


def _rules(first: CoverReport, second: CoverReport) -> _Differs:
    one, two = first.project, second.project
    pairs = zip(_rule_words(one).items(), _rule_words(two).values(), strict=True)
    yield from ((what, words, asked) for (what, asked), words in pairs if words != asked)
    if _televisions(one) != _televisions(two):
        yield "television", "planned by other rules", "the same systems and values"
    if one.interference != two.interference:
        yield "interference", "counted otherwise", "the same"


def _rule_words(project: Project) -> dict[str, str]:
    return {
        "television": mode_words(project.television),
        "location_percent": tell("{location_percent:g}", location_percent=project.location_percent),
        "channel raster": project.channel_raster,
        "receive_height_m": tell("{receive_height_m:g}", receive_height_m=project.receive_height_m),
        "ways of receiving": ways_words(project),
        "noise environment": str(project.noise_environment or "not given"),
    }


def _televisions(project: Project) -> object:
    return project.television, dict(project.televisions)


def _ground(first: CoverReport, second: CoverReport) -> _Differs:
    if first.project.grid.area_deg != second.project.grid.area_deg:
        yield "area of the grid", _area_words(second), _area_words(first)
    if same_grid(first, second):
        differ = ~np.isclose(first.heights_m, second.heights_m, rtol=0.0, atol=0.01, equal_nan=True)
        if differ.any():
            yield (
                "terrain",
                tell("another in {sum} of {size} cells", sum=differ.sum(), size=differ.size),
                "the same heights",
            )
        return
    one, two = (_terrain_of(each.project) for each in (first, second))
    if one != two:
        yield (
            "terrain",
            tell("of other tiles ({name})", name=joined(", ", (name for name, *_ in two[0]))),
            "the same tiles",
        )


def _area_words(report: CoverReport) -> str:
    area = report.project.grid.area_deg
    return (
        "all of the terrain" if area is None else joined(", ", (tell("{item:g}", item=each) for each in area))
    )


def _terrain_of(project: Project) -> tuple[tuple[tuple[str, int, int], ...], str]:
    tiles = all_tiles(project.terrain)
    return tuple((each.name, each.rows, each.columns) for each in tiles), project.terrain.vertical_datum


def _people(first: CoverReport, second: CoverReport) -> _Differs:
    if first.people is None or second.people is None:
        if first.people is not second.people:
            yield "people", _whether(second), _whether(first)
        return
    if same_grid(first, second):
        one, two = (people_on_grid(each.grid, each.people) for each in (first, second) if each.people)
        apart = float(np.abs(one - two).sum())
    else:
        one_total, two_total = (_everybody(each) for each in (first, second))
        apart = 0.0 if one_total is None or two_total is None else abs(one_total - two_total)
    if apart >= _NEAR_PEOPLE:
        yield (
            "people",
            tell("others ({source})", source=second.people.source),
            tell("the same ({source})", source=first.people.source),
        )


def _everybody(report: CoverReport) -> float | None:
    """Return all people of a source, also beyond the grid; None where they are too many to add up."""
    if report.points is not None:
        return float(report.points.people.sum())
    source = report.project.people
    return source.everybody(report.people)[1] if source is not None and report.people is not None else None


def _whether(report: CoverReport) -> str:
    return "none" if report.people is None else report.people.source
