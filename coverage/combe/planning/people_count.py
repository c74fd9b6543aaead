"""Counts the people in the study area by what the margins say: served, unserved, newly served, lost."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.reception import Field, predicted_mask, served_mask
from combe.terrain import People, StudyGrid, covered_fraction, people_on_grid

Mask = npt.NDArray[np.bool_]

ROUNDING: Final = 1e-6
"""How far fractions may stray from 0 to 1, or over one another, by resampling; they are then clipped."""


ELSEWHERE: Final = "elsewhere"
"""Name of the people who live in no district."""

Counts = npt.NDArray[np.int16]


@dataclass(frozen=True)
class PeopleReport:
    """People by what the prediction says of them.

    ``served`` + ``unserved`` + ``without_prediction`` = ``total``. ``newly_served`` are among the served;
    None where there is nothing to compare with. Numbers of people, not rounded.
    """

    total: float
    served: float
    unserved: float
    without_prediction: float
    newly_served: float | None = None


def people_served(counts: FloatArray, fraction: FloatArray) -> float:
    """Return the people of the covered fractions.

    Parameters
    ----------
    counts : array (r, c)
        People per population cell, 0 or more.
    fraction : array (r, c)
        Covered fraction of each cell, 0 to 1.

    Returns
    -------
    float
        Sum in double precision.

    Raises
    ------
    RangeError
        For shapes that differ, counts that are negative or not finite, fractions outside 0 to 1.
    """
    people = _checked_counts(counts)
    return _sum(people, _checked_fraction("served fraction", fraction, people.shape))


def people_report(
    counts: FloatArray,
    *,
    served: FloatArray,
    predicted: FloatArray,
    newly_served: FloatArray | None = None,
) -> PeopleReport:
    """Count people from the covered fractions of their cells.

    Parameters
    ----------
    counts : array (r, c)
        People per population cell, 0 or more; a population raster's no-data cells are 0 by then.
    served : array (r, c)
        Fraction of each cell that is served, 0 to 1.
    predicted : array (r, c)
        Fraction of each cell that has a prediction; 0 for cells outside the study.
    newly_served : array (r, c), optional
        Fraction that :func:`newly_served_mask` marks.

    Returns
    -------
    PeopleReport

    Raises
    ------
    RangeError
        As :func:`people_served`; also where more is served than predicted, or newly served than served.
    """
    people = _checked_counts(counts)
    known = _checked_fraction("predicted fraction", predicted, people.shape)
    reached = _within("served fraction", served, known, "the predicted fraction")
    new = None
    if newly_served is not None:
        new = _sum(people, _within("newly served fraction", newly_served, reached, "the served fraction"))
    return PeopleReport(
        total=float(people.sum()),
        served=_sum(people, reached),
        unserved=_sum(people, known - reached),
        without_prediction=_sum(people, 1.0 - known),
        newly_served=new,
    )


def newly_served_mask(served_after: Mask, served_before: Mask, predicted_before: Mask) -> Mask:
    """Return where a place is served after a change and was not before.

    A place with no prediction of the time before is not counted: nobody knows whether it is new.

    Parameters
    ----------
    served_after, served_before, predicted_before : bool arrays of one shape

    Returns
    -------
    bool array
    """
    new: Mask = served_after & ~served_before & predicted_before
    return new


def _checked_counts(counts: FloatArray) -> npt.NDArray[np.float64]:
    people = np.asarray(counts, dtype=np.float64)
    bad = int(np.count_nonzero(~(np.isfinite(people) & (people >= 0.0))))
    if bad:
        raise RangeError(
            "people per cell", f"negative or not finite in {bad} of {people.size} cells", "0 or more"
        )
    return people


def _checked_fraction(name: str, fraction: FloatArray, shape: tuple[int, ...]) -> npt.NDArray[np.float64]:
    part = np.asarray(fraction, dtype=np.float64)
    if part.shape != shape:
        raise RangeError(f"shape of the {name}", part.shape, f"{shape}, as the people")
    bad = int(np.count_nonzero(~((part >= -ROUNDING) & (part <= 1.0 + ROUNDING))))
    if bad:
        raise RangeError(name, f"outside 0 to 1 or NaN in {bad} of {part.size} cells", "0 to 1")
    return np.clip(part, 0.0, 1.0)


def _within(
    name: str, fraction: FloatArray, whole: npt.NDArray[np.float64], whole_name: str
) -> npt.NDArray[np.float64]:
    part = _checked_fraction(name, fraction, whole.shape)
    over = int(np.count_nonzero(part > whole + ROUNDING))
    if over:
        raise RangeError(name, f"over {whole_name} in {over} of {part.size} cells", f"at most {whole_name}")
    return np.minimum(part, whole)


def _sum(people: npt.NDArray[np.float64], fraction: npt.NDArray[np.float64]) -> float:
    return float(np.sum(people * fraction))


class DistrictPeople(NamedTuple):
    """The people of one district in the part of the population's cells that holds them all.

    ``counts`` has the shape of the cells [rows, columns]; elsewhere the district has nobody.
    """

    rows: slice
    columns: slice
    counts: FloatArray


@dataclass(frozen=True)
class Districts:
    """Names of districts; ``people_of`` returns the people of one, by its place among the names.

    A district comes with its own frame of cells, so that thousands of small ones cost no more than a few
    large ones.
    """

    names: tuple[str, ...]
    people_of: Callable[[int], DistrictPeople]


@dataclass(frozen=True)
class Census:
    """The people of the study: the raster, the grid, and how many of them live inside the grid.

    ``inside`` is the fraction of each population cell that lies on the grid.
    """

    people: People
    grid: StudyGrid
    total: float
    inside: FloatArray
    districts: Districts | None = None

    @cached_property
    def on_cells(self) -> FloatArray:
        """How many people live on each cell of the grid, shape (rows, columns)."""
        return people_on_grid(self.grid, self.people)

    @cached_property
    def reaches(self) -> dict[bytes, PeopleCount]:
        """What :func:`count_reach` has counted of this census, by the hashes of its masks."""
        return {}


@dataclass(frozen=True)
class PeopleCount:
    """People inside the study grid; ``served`` + ``unserved`` + ``without_prediction`` = ``total``.

    ``served_before`` (by parents alone), ``newly_served`` and ``lost`` (served before and not now) are None
    where nothing is compared. People where nobody knows what was served before count as served and not as
    newly served. ``served_twice`` have a second station that would serve them; ``limited_by_interference``
    are unserved, and would be served if there were noise alone. ``interference_unknown`` are served as far as
    known, though some interferer has no prediction where they live.
    """

    total: float
    served: float
    unserved: float
    without_prediction: float
    served_before: float | None = None
    newly_served: float | None = None
    lost: float | None = None
    served_twice: float | None = None
    limited_by_interference: float | None = None
    interference_unknown: float | None = None


class Standing(NamedTuple):
    """What is known of each grid cell, arrays (rows, columns): margins [dB], and how many stations serve.

    ``unknown`` is how many interferers of the best station have no prediction. What is None is not counted.
    """

    margin_db: Field
    margin_before_db: Field | None = None
    noise_margin_db: Field | None = None
    serving: Counts | None = None
    unknown: Counts | None = None


def take_census(people: People | None, grid: StudyGrid, districts: Districts | None = None) -> Census | None:
    """Return the people inside the grid, or None where the study has no people."""
    if people is None:
        return None
    inside = covered_fraction(np.ones((grid.rows, grid.columns), dtype=np.bool_), grid, people)
    return Census(people, grid, people_served(people.counts, inside), inside, districts)


def count_standing(census: Census | None, standing: Standing) -> PeopleCount | None:
    """Count all people inside the grid by what is known of their cells; None without a census."""
    return None if census is None else _count(_fractions(census, standing), census.people.counts)


def count_reach(census: Census | None, served: Mask, predicted: Mask) -> PeopleCount | None:
    """Count people by where they are served and where there is a prediction; None without a census."""
    if census is None:
        return None
    # Of a network of which one station moved, the others mostly reach whom they reached before.
    key = b"".join(hashlib.blake2b(np.packbits(mask).data).digest() for mask in (served, predicted))
    if key not in census.reaches:
        part = _Fractions(census.inside, _fraction(census, served), _fraction(census, predicted))
        census.reaches[key] = _count(part, census.people.counts)
    return census.reaches[key]


def count_by_district(census: Census | None, standing: Standing) -> tuple[tuple[str, PeopleCount], ...]:
    """Count the people of each district, and at the end those who live in none; nothing without districts."""
    if census is None or census.districts is None:
        return ()
    fractions = _fractions(census, standing)
    *counted, (elsewhere, others) = [
        (name, _count(fractions.within(each.rows, each.columns), each.counts))
        for name, each in people_by_district(census.people, census.districts)
    ]
    # Less than half a person would be printed as nobody.
    return (*counted, (elsewhere, others)) if others.total >= 0.5 else tuple(counted)


def people_by_district(people: People, districts: Districts) -> Iterator[tuple[str, DistrictPeople]]:
    """Yield the people of each district with its name, and at the end those who live in none."""
    rest = people.counts.copy()
    for index, name in enumerate(districts.names):
        found = districts.people_of(index)
        rest[found.rows, found.columns] -= found.counts
        yield name, found
    # Districts that share a cell may together take a hair more than it holds.
    yield ELSEWHERE, DistrictPeople(slice(None), slice(None), np.maximum(rest, 0.0))


def people_where(census: Census | None, masks: Sequence[Mask]) -> list[float | None]:
    """Return the people under each of some masks over the grid; None without a census."""
    if census is None:
        return [None for _ in masks]
    return [_people_on(census, mask) for mask in masks]


def _people_on(census: Census, mask: Mask) -> float:
    """Return the people on some cells of the grid; those of the population's own cells, but for rounding."""
    return float(np.sum(census.on_cells, where=mask))


def newly_served(margin_db: Field, margin_before_db: Field) -> Mask:
    """Return where a place is served now, and was not before."""
    before = served_mask(margin_before_db, 0.0)
    return newly_served_mask(served_mask(margin_db, 0.0), before, predicted_mask(margin_before_db))


def lost(margin_db: Field, margin_before_db: Field) -> Mask:
    """Return where a place was served before and is not now, though there is a prediction."""
    return served_mask(margin_before_db, 0.0) & np.less(margin_db, 0.0)


def limited_by_interference(margin_db: Field, noise_margin_db: Field) -> Mask:
    """Return where a place is unserved and would be served against noise alone."""
    return served_mask(noise_margin_db, 0.0) & np.less(margin_db, 0.0)


class _Fractions(NamedTuple):
    """Which part of each population cell is in each state; None where not asked."""

    inside: FloatArray
    served: FloatArray
    predicted: FloatArray
    before: FloatArray | None = None
    new: FloatArray | None = None
    lost: FloatArray | None = None
    twice: FloatArray | None = None
    limited: FloatArray | None = None
    unknown: FloatArray | None = None

    def within(self, rows: slice, columns: slice) -> _Fractions:
        """Return the same of some of the cells."""
        return _Fractions(*(None if part is None else part[rows, columns] for part in self))  # type: ignore[arg-type]


def _fractions(census: Census, standing: Standing) -> _Fractions:
    margin_db, before_db, noise_db, serving, unknown = standing
    served = served_mask(margin_db, 0.0)

    def part(mask: Mask | None) -> FloatArray | None:
        return None if mask is None else _fraction(census, mask)

    return _Fractions(
        inside=census.inside,
        served=_fraction(census, served),
        predicted=_fraction(census, predicted_mask(margin_db)),
        before=part(None if before_db is None else served_mask(before_db, 0.0)),
        new=part(None if before_db is None else newly_served(margin_db, before_db)),
        lost=part(None if before_db is None else lost(margin_db, before_db)),
        twice=part(None if serving is None else np.greater_equal(serving, 2)),
        limited=part(None if noise_db is None else limited_by_interference(margin_db, noise_db)),
        unknown=part(None if unknown is None else served & np.greater(unknown, 0)),
    )


def _count(fractions: _Fractions, counts: FloatArray) -> PeopleCount:
    """Count some of the people; ``counts`` has the cells of the fractions, 0 where people are left out."""
    report = people_report(
        counts, served=fractions.served, predicted=fractions.predicted, newly_served=fractions.new
    )
    total = people_served(counts, fractions.inside)

    def people(fraction: FloatArray | None) -> float | None:
        return None if fraction is None else people_served(counts, fraction)

    return PeopleCount(
        total=total,
        served=report.served,
        unserved=report.unserved,
        # By difference: whoever lives in a cell that lies partly beyond the grid has no prediction there
        # either, and is not to be counted at all.
        without_prediction=max(total - report.served - report.unserved, 0.0),
        served_before=people(fractions.before),
        newly_served=report.newly_served,
        lost=people(fractions.lost),
        served_twice=people(fractions.twice),
        limited_by_interference=people(fractions.limited),
        interference_unknown=people(fractions.unknown),
    )


def _fraction(census: Census, mask: Mask) -> FloatArray:
    """Return the covered fraction of each population cell; all and nothing need not be worked out again."""
    if mask.all():
        return census.inside
    if not mask.any():
        return np.zeros_like(census.inside)
    return covered_fraction(mask, census.grid, census.people)
