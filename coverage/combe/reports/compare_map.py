"""The map of studies side by side: a layer of each, and where one of them serves and another does not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from combe.answers.compare import Against, CompareReport, Side
from combe.answers.network import mapped_margin_db
from combe.files import clear_remains, write_text_atomically
from combe.planning import Mask
from combe.publishing.compare_page import SideBySide, render_compare
from combe.publishing.content import FeedPath, MapLayer, MapPage, PeopleMark, StationMark
from combe.publishing.fields import cells
from combe.publishing.page_about import PageAbout, way_to
from combe.reception import Field
from combe.reports.compare import document, people_words, told_counts
from combe.reports.compare_form import count_columns
from combe.reports.cover_layers import only_in_cells
from combe.reports.cover_map import feed_path, station_mark
from combe.words import Name, chain, tell

MAP_NAME: Final = "compare.html"

_ALONE: Final = "Served in one study alone"
_STATES: Final = {
    "in both": "served before",
    "in the second alone": "newly served",
    "in the first alone": "lost",
    "in neither": "unserved",
    "no prediction": "no prediction",
}
"""The marks of the map page, by what people are called who are told by two studies."""


def write_map(report: CompareReport, folder: Path, index: Path | None = None) -> Path:
    """Write the map into a folder, whole or not at all, and return its path; it leads back to ``index``.

    Raises
    ------
    OutputError
        A file that cannot be written.
    """
    clear_remains(folder)
    page = folder / MAP_NAME
    content = replace(map_content(report), index=way_to(index, page))
    write_text_atomically(page, render_compare(content, _said(report)))
    return page


def map_content(report: CompareReport) -> MapPage:
    """Return what the map of a comparison shows; people are told by the first two studies."""
    first = report.first
    made = document(report)
    invented = made.made_by.get("invented", "")
    return MapPage(
        title=tell(
            "{study}: {letters} and {last}",
            study=Name(first.project.title),
            letters=Name(", ".join(report.letters[:-1])),
            last=Name(report.letters[-1]),
        ),
        subtitle=Name("; ".join(f"{each.letter}: {each.project.source}" for each in report.sides)),
        grid=first.grid,
        heights_m=first.heights_m,
        layers=tuple(_layers(report)),
        before_keys=(),
        after_keys=(),
        people=_people(report.against[0]),
        people_words=_people_words(report.against[0].letter),
        stations=tuple(_stations(report)),
        feeds=tuple(_feeds(report)),
        provenance=tuple(chain(name, ": ", words) for name, words in made.made_by.items()),
        invented_note=invented,
        about=PageAbout(
            "compare_map", "Map of the comparison", first.project.title, made.headline[0], invented
        ),
    )


def _said(report: CompareReport) -> SideBySide:
    columns = count_columns(report.letters)
    rows = tuple(tuple(cells(columns, each)) for each in told_counts(report.counts))
    people = tuple(people_words(report, each) for each in report.against)
    remarks = tuple(chain(f"{each.letter}: ", words) for each in report.against for words in each.remarks)
    more = tuple(each for each in document(report).headline if each not in people)
    return SideBySide((*people, *remarks), more, tuple(each.head for each in columns), rows)


def _layers(report: CompareReport) -> Iterator[MapLayer]:
    """Yield the margin of each study, then where each other one and A serve alone."""
    margins = (report.first.all_services.margin_db, *(each.margin_db for each in report.against))
    for side, margin_db in zip(report.sides, margins, strict=True):
        yield _layer(
            side.letter.lower(),
            tell("{study}, every station", study=Name(side.letter)),
            side.letter,
            mapped_margin_db(margin_db),
            tell(
                "{study}: margin of the worst-off service, each from its best station",
                study=Name(side.project.source),
            ),
            "margin",
        )
    for against in report.against:
        letter = against.letter
        yield _alone(f"{letter}-only".lower(), letter, "A", against.margin_db, against.cells.second)
        yield _alone(f"a-not-{letter}".lower(), "A", letter, margins[0], against.cells.first)


def _alone(key: str, one: str, other: str, margin_db: Field, where: Mask) -> MapLayer:
    sides = {"one": Name(one), "other": Name(other)}
    told = tell("margin in {one} where {other} does not serve all services", **sides)
    title = tell("Served in {one} and not in {other}", **sides)
    values = only_in_cells(where, mapped_margin_db(margin_db))
    return _layer(key, title, _ALONE, values, told, "difference")


def _layer(key: str, title: str, group: str, values_db: Field, told: str, shows: str) -> MapLayer:
    return MapLayer(
        key=key,
        title=title,
        station=group,
        role="relay",
        service="All services",
        field_dbuv_m=values_db,
        threshold_dbuv_m=0.0,
        description=told,
        shows=shows,
    )


def _people(against: Against) -> tuple[PeopleMark, ...]:
    return tuple(
        PeopleMark(each.longitude_deg, each.latitude_deg, each.people, _STATES[each.state])
        for each in against.people
    )


def _people_words(letter: str) -> dict[str, str]:
    return {
        "served before": tell("served in {one} and {other}", one="A", other=letter),
        "newly served": tell("served in {one}, not in {other}", one=letter, other="A"),
        "lost": tell("served in {one}, not in {other}", one="A", other=letter),
        "unserved": "served in neither",
    }


def _stations(report: CompareReport) -> Iterator[StationMark]:
    """Yield each station once where it stands alike in all studies, else with the letters of its studies."""
    found: dict[StationMark, list[str]] = {}
    for side in report.sides:
        for station in side.project.stations:
            found.setdefault(station_mark(station), []).append(side.letter)
    for mark, letters in found.items():
        alike = len(letters) == len(report.sides)
        name = mark.name if alike else f"{mark.name} ({', '.join(letters)})"
        yield StationMark(
            name, mark.role, mark.longitude_deg, mark.latitude_deg, mark.aerial_height_m, mark.services
        )


def _feeds(report: CompareReport) -> Iterator[FeedPath]:
    yield from dict.fromkeys(path for side in report.sides for path in _paths(side))


def _paths(side: Side) -> Iterator[FeedPath]:
    feeds = side.report.feeds
    yield from (feed_path(each) for each in feeds.relays) if feeds else ()
