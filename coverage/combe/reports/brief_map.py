"""What the map of a brief shows: the ground, what is served of it, people left out, and the stations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from combe.answers.site_setup import cell_of
from combe.publishing.served_picture import GROUNDS, ServedMark, ServedPicture
from combe.publishing.served_picture import described as words_of
from combe.publishing.text import shortened
from combe.reports.brief_form import LONGEST_NAME, reading_name

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport

_LEAST_SIZE: Final = 0.15


def picture_of(report: BriefReport) -> ServedPicture:
    """Return the picture of a brief."""
    grid = report.cover.grid
    return ServedPicture(
        report.heights_m,
        _ground(report),
        grid.cell_size_m,
        (*_people(report), *_stations(report), *_places(report)),
    )


def described(report: BriefReport) -> str:
    """Return what the picture shows, in words."""
    return words_of(picture_of(report))


def _ground(report: BriefReport) -> npt.NDArray[np.int8]:
    """Return what is served of each cell, in all services, by the numbers of GROUNDS."""
    network = report.cover.all_services
    after, before = network.margin_db, network.margin_before_db
    found: npt.NDArray[np.int8] = np.zeros(after.shape, dtype=np.int8)
    found[after >= 0.0] = GROUNDS.index("newly served")
    # Where nobody knows what was served before, nothing is called new.
    found[(after >= 0.0) & ((before >= 0.0) | np.isnan(before))] = GROUNDS.index("served before")
    found[(after < 0.0) & (before >= 0.0)] = GROUNDS.index("lost")
    found[np.isnan(after)] = GROUNDS.index("no prediction")
    return found


def _people(report: BriefReport) -> list[ServedMark]:
    """Return the places of people who lack a service, the fullest first, so that no small one is hidden."""
    unserved = [each for each in report.places if each.state == "unserved"]
    most = max((each.people for each in unserved), default=1.0)
    marks = []
    for each in sorted(unserved, key=lambda place: -place.people):
        row, column = cell_of(report.cover.run.area, each.longitude_deg, each.latitude_deg)
        size = max(_LEAST_SIZE, (each.people / most) ** 0.5)
        marks.append(ServedMark("people", float(row), float(column), size=size))
    return marks


def _places(report: BriefReport) -> list[ServedMark]:
    """Return the places that the tables tell of, by what they are called there."""
    others = report.alternatives.others if report.alternatives else ()
    hills = [
        (f"{each.hill.rank}", each.hill.station.longitude_deg, each.hill.station.latitude_deg)
        for each in others
    ]
    told = [(*each, "another hill") for each in hills]
    told += [
        (reading_name(number), each.longitude_deg, each.latitude_deg, "where to measure")
        for number, each in enumerate(report.measuring)
    ]
    marks = []
    for name, longitude_deg, latitude_deg, words in told:
        row, column = cell_of(report.cover.run.area, longitude_deg, latitude_deg)
        marks.append(ServedMark("place", float(row), float(column), name, words=words))
    return marks


def _stations(report: BriefReport) -> list[ServedMark]:
    """Return the stations that stand on the grid; beyond it a label would stand without its mark."""
    marks, grid = [], report.cover.grid
    for each in report.project.stations:
        row, column = cell_of(report.cover.run.area, each.longitude_deg, each.latitude_deg)
        if -0.5 <= row < grid.rows - 0.5 and -0.5 <= column < grid.columns - 0.5:
            marks.append(ServedMark(each.role, float(row), float(column), shortened(each.name, LONGEST_NAME)))
    return marks
