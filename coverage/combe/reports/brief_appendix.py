"""The appendix of a brief: the tables of which its sheets show the first rows, and every input."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from combe.publishing.document import Part, Table
from combe.publishing.fields import Field, text, within
from combe.reports.brief_form import FEEDS, FILES, FORM, SETTINGS, SETTLEMENTS, STATIONS, Briefed, Radiated
from combe.reports.cover_form import UNSERVED, districts_of
from combe.words import tell

MOST_FEEDS: Final = 5
MOST_GROUPS: Final = 4
"""Rows for which the two sheets have room; what has more stands whole in the appendix."""

MOST_LISTED: Final = 60
"""Settlements that the appendix tells."""

PEOPLE: Final = (
    "people_served_before", "people_newly_served", "people_lost", "people_served", "people_unserved"
)  # fmt: skip

_SERVICES: Final = next(each for each in STATIONS.fields if each.key == "services")


def appendix(asked: Briefed) -> tuple[Part, ...]:
    """Return what the sheets have no room for, then stations, services, every setting, and the files."""
    report = asked.report
    rows = tuple(Radiated(each, service) for each in asked.stations for service in each.services)
    services = (text("", "station", "station.name"), *within("service", _SERVICES.fields))
    shown = STATIONS.only(
        "name", "role", "longitude_deg", "latitude_deg", "aerial_height_m", "polarization", "parent",
        "horizontal_pattern", "vertical_pattern",
    )  # fmt: skip
    return (
        *_by_people(asked),
        *_feeds(asked),
        Table("Stations", shown, asked.stations),
        Table("Services", services, rows),
        Table("All that was given, part by part", SETTINGS.fields, report.settings),
        *([Table("Files", FILES.fields, report.files)] if report.files else []),
    )


def _by_people(asked: Briefed) -> list[Part]:
    """Return districts and settlements whole, for the sheets show some of them, and long names in short."""
    report, parts = asked.report, list[Part]()
    districts = districts_of(report.cover.all_services) or []
    if districts:
        fields = (text("", "district", "name"), *FORM["all_services"].only(*PEOPLE, "people_total"))
        parts.append(Table("Every district", fields, tuple(districts), unless_zero=("lost",)))
    if report.settlements:
        parts.append(_first("Settlements", SETTLEMENTS.fields, report.settlements))
    elif len(asked.unserved or ()) > MOST_GROUPS:
        keys = ("longitude_deg", "latitude_deg", "people", "people_unserved", "missing_db")
        fields = (text("", "settlement", "name"), *UNSERVED.only(*keys))
        parts.append(_first("Settlements with people unserved", fields, asked.unserved or ()))
    return parts


def _first(title: str, fields: tuple[Field, ...], rows: Sequence[Any]) -> Table:
    """Return a table of as many rows as anybody reads; of thousands the JSON has the rest."""
    note = (
        tell("{rows} more are in the JSON", rows=len(rows) - MOST_LISTED) if len(rows) > MOST_LISTED else ""
    )
    return Table(title, fields, tuple(rows[:MOST_LISTED]), note=note, unless_zero=("lost", "no prediction"))


def _feeds(asked: Briefed) -> list[Part]:
    """Return every feed with its field and what limits it."""
    if not asked.report.feeds:
        return []
    keys = (
        "relay", "parent", "service", "verdict", "field_strength_dbuv_m", "receiver_input_dbm", "margin_db",
        "required_margin_db", "stands_for", "limited_by", "spare_db",
    )  # fmt: skip
    return [Table("Feeds", FEEDS.only(*keys), asked.report.feeds)]
