"""What is said of a coverage by television system, where a study has several."""

from __future__ import annotations

from typing import TYPE_CHECKING

from combe.digits import spoken
from combe.publishing.document import Table
from combe.reports.cover_form import BY_SYSTEM
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport


def system_sentences(report: CoverReport) -> tuple[str, ...]:
    """Return how many have all services of each television system; nothing where there is but one."""
    counted = [
        tell("{system} {served}", system=each.system, served=spoken(each.people.served))
        for each in report.by_system
        if each.whole and each.people
    ]
    if not counted:
        return ()
    return (
        tell(
            "With receivers of one system alone, all its services: {counted} people.",
            counted=joined(", ", counted),
        ),
    )


def system_table(report: CoverReport, *, counted: bool) -> Table:
    """Return what each television system serves by itself, without people where none are ``counted``."""
    shown = BY_SYSTEM.fields
    if not counted:
        shown = BY_SYSTEM.only("system", "service", "stations", "cells_served")
    note = "of all services: places that have every one of the system's, each from whichever station"
    return Table("With receivers of one television system", shown, report.by_system, note=note)
