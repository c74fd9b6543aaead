"""What the form on a sheet's page is built from: readings, what they should be, and how they are judged."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from combe.digits import true_minus
from combe.publishing.document import Filling
from combe.publishing.text import file_stems
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.visit import SheetReport, StationSheet
    from combe.planning.visits import Bounds, SheetRow

VISIT_CAUTIONS: Final = (
    "Do not go alone; say when you will be back. Only trained people climb, with harness, permit and a plan "
    "for rescue.",
    "Before anyone is near the aerials: output off or reduced, locked, and proved off with a meter.",
    "Mains isolated and proved dead before a cover comes off; supplies hold charge. Earth before you touch.",
    "Never open a feeder or connector under power. No work on the mast with lightning, ice or high wind.",
    "The licence, its frequencies and its powers are not changed on a visit. Put back what you found.",
)
"""Common practice, no source; in our own words."""

_CARE: Final = {"feeder": 3, "output coupler": 3, "equipment": 2, "mast": 0}
"""Which caution stands again where the work is that it is for."""

_TOLD: Final = (
    "Readings are judged as you type, by what the sheet expects; a drift over the years is judged by "
    "combe visit. All is kept in this browser alone, and a private window forgets it: save the table at the "
    "end of the visit."
)


def filling(report: SheetReport, sheet: StationSheet) -> Filling:
    """Return the form in which the sheet of a station is filled in on its page."""
    from combe.planning.visits import COLUMNS, OPTIONAL_COLUMNS, SHEET_COLUMNS
    from combe.tables import EARLIEST, FORMULA_STARTS, LONGEST_CELL

    days = [row.last.date for row in sheet.rows if row.last is not None]
    after = tell("after {days}", days=max(days)) if days else "the first visit"
    return Filling(
        "Fill in",
        {
            # A visit is that which follows on what the log holds; the next one begins with an empty form.
            "key": f"combe visit: {report.project.title}: {sheet.station.name}: {after}",
            "station": sheet.station.name,
            "file": file_stems([[sheet.station.name]])[0],
            "told": _TOLD,
            "columns": [*COLUMNS, *OPTIONAL_COLUMNS, *SHEET_COLUMNS],
            "longest": LONGEST_CELL,
            "earliest": EARLIEST.isoformat(),
            "formula_starts": list(FORMULA_STARTS),
            "groups": [_group(title, list(rows)) for title, rows in groupby(_as_printed(sheet), key=_title)],
        },
    )


def _as_printed(sheet: StationSheet) -> tuple[SheetRow, ...]:
    return (*sheet.readings, *sheet.checks)


def _title(each: SheetRow) -> str:
    return (
        tell("{test_point}: checks", test_point=each.row.test_point)
        if each.row.scale == "check"
        else each.row.test_point
    )


def _group(title: str, rows: list[SheetRow]) -> dict[str, Any]:
    care = _CARE.get(rows[0].row.test_point)
    return {
        "title": title,
        "care": "" if care is None else VISIT_CAUTIONS[care],
        "rows": [_row(each) for each in rows],
    }


def _row(each: SheetRow) -> dict[str, Any]:
    from combe.planning.visits import entry_of, sheet_cells

    entry, row, key = entry_of(each), each.row, each.key
    return {
        "id": joined("\n", key[1:]),
        "title": tell(
            "{test_point}: {quantity}{service}",
            test_point=key.test_point,
            quantity=row.quantity,
            service=tell(", {service}", service=key.service) if key.service else "",
        ),
        "where": row.where,
        "scale": row.scale,
        "side": row.side,
        "unit": row.unit,
        "compared_in": row.compared_in,
        "routine": list(entry.routine),
        "commissioning": list(entry.commissioning),
        "last": entry.last,
        "repeat": entry.repeat,
        "units": [unit._asdict() for unit in entry.units],
        "told": {
            "routine": _expected(each, entry.routine),
            "commissioning": _expected(each, entry.commissioning, afresh=True),
        },
        "cells": sheet_cells(each),
    }


def _expected(each: SheetRow, bounds: Bounds, *, afresh: bool = False) -> str:
    """Return what a reading should be: what is predicted, its tolerance, and what was read before."""
    from combe.planning.visits import shown

    def said(value: float) -> str:
        return shown(value, each.row, with_unit=False)

    told = [] if each.expected is None else [tell("predicted {shown}", shown=shown(each.expected, each.row))]
    low, high = bounds
    if low is not None and high is not None:
        told.append(tell("within {said} to {said_2}", said=said(low), said_2=said(high)))
    elif low is not None:
        told.append(tell("{said} or more", said=said(low)))
    elif high is not None:
        told.append(tell("{said} or less", said=said(high)))
    else:
        told.append("" if each.row.scale == "check" else "nothing is expected")
    if not afresh and each.record_value is not None and each.record is not None:
        told.append(tell("record {said} of {date}", said=said(each.record_value), date=each.record.date))
    if not afresh and each.last_value is not None and each.last is not None and each.last != each.record:
        told.append(tell("last {said} of {date}", said=said(each.last_value), date=each.last.date))
    return true_minus(joined("; ", filter(None, told)))
