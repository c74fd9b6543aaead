"""Who is served by one study and not by the other: in which settlements, and where on a map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport
from combe.answers.people_places import PeoplePlace, lonlat_of_cells, places_by_state
from combe.decibels import FloatArray
from combe.geodesy import turned
from combe.planning import Mask, group_cells, people_served
from combe.reception import Field, predicted_mask, served_mask
from combe.terrain import PeoplePoints, covered_fraction, values_at_points

SIDES: Final = ("in both", "in the second alone", "in the first alone", "in neither", "no prediction")
"""What can be said of people whom two studies may serve."""

_SOMEBODY: Final = 0.5


@dataclass(frozen=True)
class PlaceDifference:
    """A settlement, or an area of touching cells with people, by who is served there in one study alone.

    ``name`` is empty where the people come without names; the place is the centre of those who differ.
    """

    name: str
    longitude_deg: float
    latitude_deg: float
    people: float
    only_second: float
    only_first: float


class OnlyIn(NamedTuple):
    """Cells (rows, columns) served in both studies, in one alone, and in neither; the rest is not known."""

    both: Mask
    second: Mask
    first: Mask
    neither: Mask


def only_in(margin_first_db: Field, margin_second_db: Field) -> OnlyIn:
    """Return which cells are served in which of two studies; none where either has no prediction."""
    known = predicted_mask(margin_first_db) & predicted_mask(margin_second_db)
    one, two = served_mask(margin_first_db, 0.0), served_mask(margin_second_db, 0.0)
    return OnlyIn(known & one & two, known & two & ~one, known & one & ~two, known & ~one & ~two)


def people_alone(report: CoverReport, cells: OnlyIn) -> tuple[float | None, float | None]:
    """Return the people served by the second study alone, and by the first alone; None without any."""
    people = report.people
    if people is None:
        return None, None
    second, first = (
        people_served(people.counts, covered_fraction(each, report.grid, people))
        for each in (cells.second, cells.first)
    )
    return second, first


def place_differences(report: CoverReport, cells: OnlyIn) -> tuple[PlaceDifference, ...]:
    """Return the places where people are served in one study alone, those with most of them first."""
    if report.people is None:
        return ()
    points = report.points
    found = _of_points(report, points, cells) if points is not None else _of_areas(report, cells)
    somebody = [each for each in found if each.only_second + each.only_first >= _SOMEBODY]
    return tuple(sorted(somebody, key=lambda each: -max(each.only_second, each.only_first)))


def people_by_side(report: CoverReport, cells: OnlyIn, most: int = 1500) -> tuple[PeoplePlace, ...]:
    """Return the people as places for a map, by who serves most of them."""
    people = report.people
    if people is None:
        return ()
    inside = covered_fraction(np.ones(cells.both.shape, dtype=np.bool_), report.grid, people)
    parts = [covered_fraction(each, report.grid, people) for each in cells]
    fractions = np.stack([*parts, inside - sum(parts, np.zeros_like(inside))])
    return tuple(places_by_state(people, np.clip(fractions, 0.0, 1.0) * people.counts, SIDES, most))


class _Units(NamedTuple):
    """People (n,) and where they are [degrees]; how many of them are served in one study alone."""

    longitude_deg: FloatArray
    latitude_deg: FloatArray
    people: FloatArray
    only_second: FloatArray
    only_first: FloatArray


def _of_points(report: CoverReport, points: PeoplePoints, cells: OnlyIn) -> list[PlaceDifference]:
    inside = values_at_points(np.ones(cells.both.shape, dtype=np.bool_), report.grid, points)
    second, first = (values_at_points(each, report.grid, points) for each in (cells.second, cells.first))
    here = points.people * inside
    units = _Units(points.longitude_deg, points.latitude_deg, here, here * second, here * first)
    numbers = {name: number for number, name in enumerate(dict.fromkeys(points.names))}
    labels = np.array([numbers[name] for name in points.names], dtype=np.intp)
    if len(numbers) < 2:
        # Without names each point is a place of its own.
        return _summed(units, np.arange(here.size), [""] * here.size)
    return _summed(units, labels, list(numbers))


def _of_areas(report: CoverReport, cells: OnlyIn) -> list[PlaceDifference]:
    people = report.people
    assert people is not None, "asked where there are people"
    lon, lat = lonlat_of_cells(people)
    masks = np.ones(cells.both.shape, dtype=np.bool_), cells.second, cells.first
    counts = [covered_fraction(each, report.grid, people) * people.counts for each in masks]
    labels = group_cells(people.counts)
    units = _Units(*(each[labels >= 0] for each in (lon, lat, *counts)))
    return _summed(units, labels[labels >= 0], [""] * (int(labels.max(initial=-1)) + 1))


def _summed(units: _Units, labels: npt.NDArray[np.integer], names: Sequence[str]) -> list[PlaceDifference]:
    """Return the places of some labels, each with the sums of its units."""

    def sums(weights: FloatArray) -> FloatArray:
        return np.bincount(labels, weights=weights, minlength=len(names)).astype(np.float64)

    differ = units.only_second + units.only_first
    total = sums(differ)
    people, second, first = (sums(each) for each in (units.people, units.only_second, units.only_first))
    east, north = sums(differ * units.longitude_deg), sums(differ * units.latitude_deg)
    return [
        PlaceDifference(
            names[at], float(turned(east[at] / total[at])), float(north[at] / total[at]),
            float(people[at]), float(second[at]), float(first[at]),
        )
        for at in np.flatnonzero(total > 0.0).tolist()
    ]  # fmt: skip
