"""The districts of a coverage as its map shows them: their people in all services, and their outlines."""

from __future__ import annotations

from typing import Final

from combe.answers.cover import CoverReport
from combe.answers.district_shapes import district_rings
from combe.planning import ELSEWHERE
from combe.publishing.content import MapDistrict
from combe.words import Name, tell

MOST_DISTRICTS: Final = 300
"""Districts that a page holds at most."""


def shown_districts(report: CoverReport) -> tuple[int, ...]:
    """Return the numbers of the districts that a page holds: all, or those with most people, in order."""
    counted = report.all_services.districts
    if any(people.newly_served is None for _, people in counted):
        return ()
    order = sorted(range(len(counted)), key=lambda number: -counted[number][1].total)
    return tuple(sorted(order[:MOST_DISTRICTS]))


def map_districts(report: CoverReport) -> tuple[MapDistrict, ...]:
    """Return the districts that a page holds; those who live in none are one, without an outline."""
    counted, rings = report.all_services.districts, district_rings(report)
    return tuple(
        MapDistrict(
            name if name == ELSEWHERE else Name(name), people, rings[number] if number < len(rings) else ()
        )
        for number in shown_districts(report)
        for name, people in [counted[number]]
    )


def districts_left_out(report: CoverReport) -> str:
    """Return what the page says of the districts that it does not hold; nothing where it holds all."""
    every, shown = len(report.all_services.districts), len(shown_districts(report))
    if shown in (0, every):
        return ""
    return tell(
        "The {shown} districts with most people, of {every}; combe cover --full has all of them.",
        shown=shown,
        every=every,
    )
