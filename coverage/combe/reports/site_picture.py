"""The picture of a hill: what it newly serves of the ground, whom it serves and whom it harms."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from combe.answers.site_setup import cell_of
from combe.digits import spoken
from combe.publishing.site_picture import HillPicture, PictureMark, hill_svg, marks_html
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.site_candidates import Candidate
    from combe.answers.site_report import SiteReport


def hill_picture(report: SiteReport, candidate: Candidate) -> str:
    """Return whom a hill serves and harms, as part of a page."""
    area = report.work.area
    picture = HillPicture(
        area.heights_m,
        candidate.newly,
        area.grid.cell_size_m,
        (
            *_people_marks(report, candidate),
            *_harmed_marks(report, candidate),
            *_station_marks(report),
            *_hill_marks(report, (candidate,)),
        ),
        tell("What hill {rank} newly serves, over the shaded ground", rank=candidate.rank),
    )
    return f"{hill_svg(picture)}{marks_html(picture)}"


def _people_marks(report: SiteReport, candidate: Candidate) -> list[PictureMark]:
    """Return the places with people who lack a service, told apart by whether a hill serves them."""
    targets, people = report.work.search.problem.targets, report.work.search.problem.people
    served = candidate.served
    size = np.clip(np.sqrt(people / max(float(people.max()), 1e-9)), 0.55, 1.0)
    return [
        PictureMark(
            "served" if served[j] else "unserved",
            float(targets.row[j]),
            float(targets.column[j]),
            "",
            tell("{people} people, newly served", people=spoken(people[j], 1))
            if served[j]
            else tell("{people} people, lack a service", people=spoken(people[j], 1)),
            float(size[j]),
        )
        for j in range(people.size)
    ]


def _harmed_marks(report: SiteReport, candidate: Candidate) -> list[PictureMark]:
    """Return the places with people who lose a service from others by a hill."""
    search = report.work.search
    people, places = search.problem.harm.victims.people, search.problem.harm.places
    return [
        PictureMark(
            "harmed",
            float(places.row[v]),
            float(places.column[v]),
            "",
            tell("{people} people lose a service from another station", people=spoken(people[v], 1)),
        )
        for v in candidate.harms
    ]


def _station_marks(report: SiteReport) -> list[PictureMark]:
    """Return the stations that stand on the grid; beyond it a label would stand without its mark."""
    marks, grid = [], report.work.area.grid
    for station in report.work.project.stations:
        row, column = cell_of(report.work.area, station.longitude_deg, station.latitude_deg)
        if -0.5 <= row < grid.rows - 0.5 and -0.5 <= column < grid.columns - 0.5:
            marks.append(
                PictureMark(
                    "station",
                    row,
                    column,
                    station.name,
                    tell("{name}, {role}", name=station.name, role=station.role),
                )
            )
    return marks


def _hill_marks(report: SiteReport, listed: tuple[Candidate, ...]) -> list[PictureMark]:
    columns = report.work.area.grid.columns
    marks = []
    for each in listed:
        row, column = divmod(int(report.work.search.hills[each.hill]), columns)
        feed = tell(
            "hears {parent}, search margin {feed_margin_db} dB",
            parent=each.parent,
            feed_margin_db=spoken(each.feed_margin_db, 1),
        )
        told = tell(
            "hill {rank}: {people} people, {feed}", rank=each.rank, people=spoken(each.people), feed=feed
        )
        marks.append(PictureMark("hill", row, column, str(each.rank), told))
    return marks
