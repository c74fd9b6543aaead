"""What a map shows so that one knows the place: context of the project, contour lines, and who owns them."""

from __future__ import annotations

from typing import Final

from combe.answers.cover import CoverReport
from combe.answers.map_context import context_notes
from combe.publishing.content import PlaceMark
from combe.publishing.map_lines import ContextMarks, ContourLevel, ContourMarks, ShapeMark
from combe.terrain import contours
from combe.words import joined, tell

_MOST_PLACES: Final = 3000

_KINDS: Final = {
    "place": "places",
    "road": "roads",
    "water": "water",
    "border": "borders",
    "other": "other features",
}


def context_marks(report: CoverReport) -> tuple[ContextMarks, ...]:
    """Return the layers of context that have anything on the map."""
    return tuple(
        ContextMarks(
            layer.kind,
            tuple(ShapeMark(each.name, each.form, each.parts) for each in layer.drawn.features),
        )
        for layer in report.context
        if layer.drawn.features
    )


def contour_marks(report: CoverReport) -> ContourMarks:
    """Return the contour lines of the study's ground."""
    found = contours(report.heights_m, report.grid)
    levels = (ContourLevel(each.height_m, each.index, each.lines) for each in found.levels)
    return ContourMarks(found.interval_m, tuple(levels))


def context_credits(report: CoverReport) -> tuple[str, ...]:
    """Return a sentence for each layer of context: what it is and whose; and what of it is not shown."""
    told = tuple(
        tell(
            "{kinds} on the map: {name}{credit}",
            kinds=_KINDS[layer.kind],
            name=layer.name,
            credit=tell("; {credit}", credit=layer.credit) if layer.credit else "",
        )
        for layer in report.context
    )
    return (*told, *context_notes(report.context))


def sheet_credits(report: CoverReport) -> tuple[str, ...]:
    """Return whose ground and whose lines a printed map shows, each owner once."""
    owners = [report.project.terrain.credit, *(layer.credit for layer in report.context)]
    names = ["ground", *(_KINDS[layer.kind] for layer in report.context)]
    told: dict[str, list[str]] = {}
    for owner, name in zip(owners, names, strict=True):
        if owner:
            told.setdefault(owner, []).append(name)
    return tuple(
        tell("{fromkeys}: {owner}", fromkeys=joined(", ", dict.fromkeys(what)), owner=owner)
        for owner, what in told.items()
    )


def named_places(report: CoverReport) -> tuple[PlaceMark, ...]:
    """Return the settlements of the study by their names, those with the most people first."""
    points = report.points
    if points is None:
        return ()
    rows = zip(
        points.names,
        points.longitude_deg.tolist(),
        points.latitude_deg.tolist(),
        points.people.tolist(),
        strict=True,
    )
    named = sorted((row for row in rows if row[0].strip()), key=lambda row: -row[3])
    return tuple(PlaceMark(*row) for row in named[:_MOST_PLACES])
