"""Counts the people in the study area by what the margins say: served, unserved, without prediction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from combe.decibels import FloatArray
from combe.planning.population import Mask, newly_served_mask, people_report, people_served
from combe.reception.service import Field, predicted_mask, served_mask
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People, covered_fraction


@dataclass(frozen=True)
class Census:
    """The people of the study: the raster, the grid, and how many of them live inside the grid."""

    people: People
    grid: StudyGrid
    total: float


@dataclass(frozen=True)
class PeopleCount:
    """People inside the study grid; ``served`` + ``unserved`` + ``without_prediction`` = ``total``.

    ``served_before`` (by parents alone) and ``newly_served`` are None where nothing is compared. People
    where nobody knows what was served before count as served and not as newly served.
    """

    total: float
    served: float
    unserved: float
    without_prediction: float
    served_before: float | None = None
    newly_served: float | None = None


def take_census(people: People | None, grid: StudyGrid) -> Census | None:
    """Return the people inside the grid, or None where the study has no people."""
    if people is None:
        return None
    inside = covered_fraction(np.ones((grid.rows, grid.columns), dtype=np.bool_), grid, people)
    return Census(people, grid, people_served(people.counts, inside))


def count_people(
    census: Census | None, margin_db: Field, margin_before_db: Field | None = None
) -> PeopleCount | None:
    """Count people by the margin [dB] in each grid cell, NaN where there is no prediction.

    Parameters
    ----------
    census
        None gives None.
    margin_db : array (rows, columns)
        Served where 0 or more.
    margin_before_db : array (rows, columns), optional
        The margin of the time before, to tell who is newly served.
    """
    if census is None:
        return None
    served = served_mask(margin_db, 0.0)
    new = None if margin_before_db is None else newly_served(margin_db, margin_before_db)
    report = people_report(
        census.people.counts,
        served=_fraction(census, served),
        predicted=_fraction(census, predicted_mask(margin_db)),
        newly_served=None if new is None else _fraction(census, new),
    )
    return PeopleCount(
        total=census.total,
        served=report.served,
        unserved=report.unserved,
        without_prediction=max(census.total - report.served - report.unserved, 0.0),
        served_before=_served_before(census, margin_before_db),
        newly_served=report.newly_served,
    )


def newly_served(margin_db: Field, margin_before_db: Field) -> Mask:
    """Return where a place is served now, and was not before."""
    before = served_mask(margin_before_db, 0.0)
    return newly_served_mask(served_mask(margin_db, 0.0), before, predicted_mask(margin_before_db))


def _served_before(census: Census, margin_before_db: Field | None) -> float | None:
    if margin_before_db is None:
        return None
    return people_served(census.people.counts, _fraction(census, served_mask(margin_before_db, 0.0)))


def _fraction(census: Census, mask: Mask) -> FloatArray:
    return covered_fraction(mask, census.grid, census.people)
