"""What is said of a coverage across ground that was filled in: cells and people, by the paths of stations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from combe.publishing.document import Part, Table
from combe.publishing.fields import many, one, people, text, whole

if TYPE_CHECKING:
    from combe.answers.filled_ground import FilledGround

_NOBODY_COUNTED: Final = "no people"

_STATION: Final = many(
    "stations",
    text("name", "station", "station"),
    whole("cells", "cells"),
    people("people", "people", null=_NOBODY_COUNTED),
    meaning="by the paths from each",
)
FILLED: Final = one(
    "filled_ground",
    whole("cells", "cells", "any_station.cells"),
    people("people", "people", "any_station.people", null=_NOBODY_COUNTED),
    _STATION,
    get="report.filled",
    meaning="cells whose path from any station crosses ground that was filled in, and who lives there",
    null="no void is filled",
)


def filled_parts(filled: FilledGround | None) -> list[Part]:
    """Return the table of what hangs on filled ground; nothing where no void is filled."""
    if filled is None:
        return []
    rows = (filled.any_station, *filled.stations)
    name = text("", "path from", lambda row: row.station or "any station")
    fields = (name, *_STATION.only("cells", "people"))
    note = "predicted over ground that nobody measured"
    return [Table("Paths across filled ground", fields, rows, note=note)]
