"""Holds studies over the same ground side by side: which is better on which count. It does not choose.

Each study is asked as ``combe cover`` asks it, with its feeds; the first is the one that the others are held
against.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combe.answers.compare_counts import (
    Count,
    FeedHeld,
    feeds_held,
    least_feed_count,
    people_counts,
    plain_count,
)
from combe.answers.compare_fit import remarks_on, require_fit
from combe.answers.compare_places import (
    OnlyIn,
    PlaceDifference,
    only_in,
    people_alone,
    people_by_side,
    place_differences,
)
from combe.answers.compare_sides import Pair
from combe.answers.compare_stations import StationDifference, station_differences
from combe.answers.cover import CoverReport, Progress, cover_report
from combe.answers.cover_ground import cover_ground
from combe.answers.network import Network
from combe.answers.people_places import PeoplePlace
from combe.answers.relay_totals import cost_of_relays, erp_of_relays_w, harm_to_others
from combe.answers.ways import part_of
from combe.errors import RangeError
from combe.planning import Census, CountDifferences, CountRanges, PeopleCount, PeopleRange, homes_of
from combe.project import Project
from combe.reception import Field

LETTERS: Final = "ABC"
FEWEST: Final = 2

ASSUMED: Final = (
    "where one mast serves a place in both studies the error of the prediction is one, and takes nothing "
    "from the difference; where the masts differ, all of it is drawn apart"
)
"""What the chances of a comparison stand on."""


@dataclass(frozen=True)
class Side:
    """One study of a comparison: its letter, and its coverage."""

    letter: str
    report: CoverReport

    @property
    def project(self) -> Project:
        """The study's project."""
        return self.report.project


@dataclass(frozen=True)
class Against:
    """A study held against the first.

    ``only_second`` are the people with all services in this one and not in the first, ``only_first`` the
    other way round, both as counted and in ranges; None without people. ``margin_db`` is this study's margin
    of all services over the cells of the first, ``cells`` where which study serves.
    """

    letter: str
    remarks: tuple[str, ...]
    stations: tuple[StationDifference, ...]
    margin_db: Field
    cells: OnlyIn
    only_second: float | None
    only_first: float | None
    only_second_range: PeopleRange | None
    only_first_range: PeopleRange | None
    places: tuple[PlaceDifference, ...]
    people: tuple[PeoplePlace, ...]


@dataclass(frozen=True)
class CompareReport:
    """Studies side by side.

    ``counts`` are those of all services, of feeds, harm, power and cost; ``by_service`` and ``by_district``
    the people of each. ``against`` has each study but the first.
    """

    sides: tuple[Side, ...]
    counts: tuple[Count, ...]
    by_service: tuple[Count, ...]
    by_district: tuple[Count, ...]
    feeds: tuple[FeedHeld, ...]
    against: tuple[Against, ...]
    provenance: dict[str, str]

    @property
    def first(self) -> CoverReport:
        """The coverage that the others are held against."""
        return self.sides[0].report

    @property
    def letters(self) -> tuple[str, ...]:
        """The letters of the studies."""
        return tuple(each.letter for each in self.sides)


def compare_report(
    projects: Sequence[Project], progress: Progress | None = None, *, cache_folder: Path | None = None
) -> CompareReport:
    """Hold two or three projects side by side; the first is what the others are held against.

    Raises
    ------
    RangeError
        Fewer than two or more than three; other ground, people or rules.
    StudyError, TerrainGapError, RasterError, TableError, OutputError
        As :func:`combe.answers.cover.cover_report`.
    """
    if not FEWEST <= len(projects) <= len(LETTERS):
        raise RangeError("number of studies", len(projects), f"{FEWEST} to {len(LETTERS)}")
    reports, censuses = [], []
    for number, project in enumerate(projects):
        ground = cover_ground(project)
        told = part_of(progress, number, len(projects))
        reports.append(cover_report(project, told, cache_folder=cache_folder, feeds=True, ground=ground))
        censuses.append(ground.census)
        require_fit(reports[0], reports[-1])
    return _compared(reports, censuses)


def _compared(reports: Sequence[CoverReport], censuses: Sequence[Census | None]) -> CompareReport:
    letters = LETTERS[: len(reports)]
    first, census = reports[0], censuses[0]
    pairs = [Pair(first, *each) for each in zip(reports[1:], _paired(censuses), strict=True)]
    people = _People(letters, reports, pairs, census)
    return CompareReport(
        sides=tuple(Side(*each) for each in zip(letters, reports, strict=True)),
        counts=(*people.all_services, *_plain(letters, reports)),
        by_service=tuple(people.by_service()),
        by_district=tuple(people.by_district()),
        feeds=feeds_held(letters, reports),
        against=tuple(
            _against(letter, pair, found[0] if found else None)
            for letter, pair, found in zip(letters[1:], pairs, people.found, strict=True)
        ),
        provenance={**first.provenance, "comparison": ASSUMED},
    )


def _paired(censuses: Sequence[Census | None]) -> list[tuple[Census | None, Census | None]]:
    return [(censuses[0], each) for each in censuses[1:]]


def _plain(letters: str, reports: Sequence[CoverReport]) -> Iterator[Count]:
    yield least_feed_count(letters, reports)
    yield plain_count("harm", letters, [harm_to_others(each) for each in reports])
    yield plain_count("erp_w", letters, [erp_of_relays_w(each.project) for each in reports])
    yield plain_count("running_cost", letters, [cost_of_relays(each.project) for each in reports])


class _People:
    """The people of all studies, with the differences of each from the first, by service and by district."""

    def __init__(
        self, letters: str, reports: Sequence[CoverReport], pairs: Sequence[Pair], census: Census | None
    ) -> None:
        self.letters, self.reports, self.pairs = letters, reports, pairs
        self._homes = None if census is None else homes_of(census)
        self.found = [self._differences(pair, reports[0].all_services.name) for pair in pairs]
        networks = [each.all_services for each in reports]
        self.all_services = tuple(self._counts(networks, self.found))

    def by_service(self) -> Iterator[Count]:
        """Yield the counts of each service that all studies have."""
        for name in _shared([[each.name for each in report.services] for report in self.reports]):
            networks = [
                next(each for each in report.services if each.name == name) for report in self.reports
            ]
            yield from self._counts(networks, [self._differences(pair, name) for pair in self.pairs])

    def by_district(self) -> Iterator[Count]:
        """Yield the counts of all services in each district that all studies have."""
        networks = [each.all_services for each in self.reports]
        for name in _shared([[district for district, _ in each.districts] for each in networks]):
            at = [[district for district, _ in each.districts].index(name) for each in networks]
            counted = [
                (each.districts[index][1], each.district_ranges[index] if each.district_ranges else None)
                for each, index in zip(networks, at, strict=True)
            ]
            # The first group is everybody.
            differences = [found[1 + at[0]] if found else None for found in self.found]
            yield from people_counts(self.letters, networks[0].name, name, counted, differences)

    def _counts(
        self, networks: Sequence[Network], found: Sequence[tuple[CountDifferences, ...] | None]
    ) -> Iterator[Count]:
        counted: list[tuple[PeopleCount | None, CountRanges | None]] = [
            (each.people, each.ranges) for each in networks
        ]
        differences = [each[0] if each else None for each in found]
        return people_counts(self.letters, networks[0].name, "", counted, differences)

    def _differences(self, pair: Pair, name: str) -> tuple[CountDifferences, ...] | None:
        return None if self._homes is None else pair.differences(self._homes, name)


def _shared(names: Sequence[Sequence[str]]) -> list[str]:
    return [each for each in names[0] if all(each in others for others in names[1:])]


def _against(letter: str, pair: Pair, found: CountDifferences | None) -> Against:
    first, second = pair.first, pair.second
    margin_db = pair.margin_db(second.all_services)
    cells = only_in(first.all_services.margin_db, margin_db)
    people = people_by_side(first, cells)
    alone = people_alone(first, cells)
    return Against(
        letter,
        remarks_on(first, second),
        station_differences(first.project, second.project),
        margin_db,
        cells,
        *alone,
        found.only_second if found else None,
        found.only_first if found else None,
        place_differences(first, cells),
        people,
    )
