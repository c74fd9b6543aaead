"""The document of a comparison: which study is better on which count, how surely, and where."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import spoken
from combe.publishing.document import Document, Part, Section, Table, Words
from combe.publishing.fields import text
from combe.publishing.text import capital
from combe.reports.compare_form import (
    COUNT_WORDS,
    FORM,
    Compared,
    count_columns,
    difference_columns,
    feed_columns,
    find_count,
    held_of,
    place_columns,
    range_of_difference,
)
from combe.reports.how_sure import OF_TEN, range_words
from combe.reports.study import study_named
from combe.words import joined, shaped, tell

if TYPE_CHECKING:
    from combe.answers.compare import Against, CompareReport
    from combe.answers.compare_counts import Count
    from combe.answers.compare_places import PlaceDifference
    from combe.answers.compare_stations import StationDifference

MOST_PLACES: Final = 20
"""So many places are told to readers; the JSON has all of them."""

_SOMEBODY: Final = 0.5
_NEITHER: Final = ("equal", "cannot be told apart", "not judged")


class _Place(NamedTuple):
    """A place with what readers call it."""

    shown_name: str
    found: PlaceDifference


class _Differs(NamedTuple):
    """One thing that differs of a station."""

    station: str
    how: str
    what: str


def document(report: CompareReport, map_page: Path | None = None) -> Document:
    """Return the document of a comparison; its map is named where it was written."""
    first, letters, counts = report.first, report.letters, told_counts(report.counts)
    made_by = dict(report.provenance)
    if invented := next((each for each in _invented(report) if each), ""):
        made_by["invented"] = invented
    return Document(
        form=FORM,
        answer=Compared(report, map_page),
        title=_title(report),
        headline=tuple(line for each in report.against for line in headline_of(report, each)),
        parts=(
            *_remarks(report),
            Table("Count by count", count_columns(letters), counts, brief=True, note=_NOTE),
            Table("How sure", difference_columns(letters), counts, note=_SURE_NOTE),
            *_feeds(report),
            *(part for each in report.against for part in _of_study(each, several=len(letters) > 2)),
            *_by(report, "By service", "by_service"),
            *_by(report, "By district, all services", "by_district"),
            Table("The studies", FORM["studies"].only("letter", "study", "title"), report.sides),
        ),
        study=study_named(first.project, made_by),
        made_by=made_by,
        files={"map": map_page} if map_page else {},
    )


_NOTE: Final = "no count outweighs another here: which matters most is for whoever decides"
_SURE_NOTE: Final = tell(
    "the range holds {of_ten} by the error of the prediction; studies are told apart where nine draws in "
    "ten agree with the counts. Harm, power and cost have no error worked out, and are held as they are; so "
    "is a feed margin over one and the same path",
    of_ten=OF_TEN,
)


def _title(report: CompareReport) -> str:
    first, *others = (
        tell("{letter} ({source})", letter=each.letter, source=each.project.source) for each in report.sides
    )
    return tell("{others} held against {first}", others=joined(" and ", others), first=first)


def _invented(report: CompareReport) -> list[str]:
    return [each.report.provenance.get("invented", "") for each in report.sides]


def headline_of(report: CompareReport, against: Against) -> tuple[str, ...]:
    """Return the sentences of one study against the first; few of them where there are several studies."""
    people, better = people_words(report, against), _better_words(report, against)
    if len(report.against) > 1:
        return people, tell("{letter} against A, {better}", letter=against.letter, better=better)
    return people, capital(better), *_alone_words(against)


def people_words(report: CompareReport, against: Against) -> str:
    """Return how many people have all services in a study and in the first, and how sure that is."""
    count, letter = find_count(report, "served"), against.letter
    held, here = held_of(count, against), count.values[report.letters.index(letter)]
    if held.difference is None or count.values[0] is None:
        return tell("No people are counted in A and {letter}.", letter=letter)
    by_error = tell(
        " ({range_of_difference} by the prediction's error)", range_of_difference=range_of_difference(held)
    )
    return tell(
        "All services: A serves {values} people, {letter} {here}, {more_words}{by_error}.",
        values=spoken(count.values[0]),
        letter=letter,
        here=spoken(here),
        more_words=_more_words(held.difference),
        by_error=by_error,
    )


def _more_words(difference: float) -> str:
    if abs(difference) < _SOMEBODY:
        return "as many"
    apart = spoken(abs(difference))
    return tell("{apart} more", apart=apart) if difference > 0.0 else tell("{apart} fewer", apart=apart)


def _better_words(report: CompareReport, against: Against) -> str:
    """Return on which counts which study is better; no count is weighed against another."""
    by: dict[str, list[str]] = {}
    for count in told_counts(report.counts):
        by.setdefault(held_of(count, against).better, []).append(_plain_words(count.key))
    words = {"A": "A better", against.letter: tell("{letter} better", letter=against.letter)}
    order = ("A", against.letter, *_NEITHER)
    told = [
        tell("{get}: {by}", get=words.get(each, each), by=joined(", ", by[each]))
        for each in order
        if each in by
    ]
    return tell("{told}.", told=joined("; ", told))


def told_counts(counts: Sequence[Count]) -> tuple[Count, ...]:
    """Return the counts that are known of any study: of what nobody states nothing is told."""
    return tuple(each for each in counts if any(value is not None for value in each.values))


def _plain_words(key: str) -> str:
    return shaped(COUNT_WORDS[key], _before_comma)


def _before_comma(words: str) -> str:
    return words.partition(",")[0]


def _alone_words(against: Against) -> tuple[str, ...]:
    letter, here, there = against.letter, against.only_second, against.only_first
    if here is None or there is None:
        return ()
    if max(here, there) < _SOMEBODY:
        return (tell("Nobody is served in {letter} and not in A, or the other way round.", letter=letter),)
    here_range, there_range = map(range_words, (against.only_second_range, against.only_first_range))
    return (
        tell(
            "Served in {letter} and not in A: {here} people ({here_range} by the error); "
            "in A and not in {letter}: {there} ({there_range}).",
            letter=letter,
            here=spoken(here),
            here_range=here_range,
            there=spoken(there),
            there_range=there_range,
        ),
    )


def _remarks(report: CompareReport) -> list[Part]:
    lines = tuple(
        tell("{letter}: {words}", letter=capital(each.letter), words=words)
        for each in report.against
        for words in each.remarks
    )
    return [Words(lines, "Less sure", listed=True, brief=True)] if lines else []


def _feeds(report: CompareReport) -> list[Part]:
    if not report.feeds:
        return []
    note = "the least margin over all that is asked of a relay's services, and the verdict on its feed"
    return [Table("Feeds of the relays", feed_columns(report.letters), report.feeds, note=note)]


def _of_study(against: Against, *, several: bool) -> list[Part]:
    """Return which stations differ, and where who is served in one study alone."""
    of = tell(", {letter} and A", letter=against.letter) if several else ""
    return [_stations(against.stations, of), *_places(against, of)]


def _stations(found: tuple[StationDifference, ...], of: str) -> Part:
    title = tell("Stations that differ{of}", of=of)
    if not found:
        return Words(("None does.",), title)
    rows = tuple(_Differs(each.station, each.how, words) for each in found for words in each.words or ("",))
    fields = (
        text("", "station", "station", once=True),
        text("", "how", "how", once=True),
        text("", "what differs from A", "what"),
    )
    return Table(title, fields, rows)


def _places(against: Against, of: str) -> list[Part]:
    if not against.places:
        return []
    shown = tuple(
        _Place(each.name or tell("area {number}", number=number), each)
        for number, each in enumerate(against.places[:MOST_PLACES], 1)
    )
    rest = len(against.places) - len(shown)
    note = (
        tell("{rest} more places are in the JSON", rest=rest)
        if rest
        else "at the middle of the people who differ"
    )
    title = tell("Where people are served in one study alone{of}", of=of)
    return [Table(title, place_columns(against.letter), shown, note=note)]


def _by(report: CompareReport, title: str, name: str) -> list[Part]:
    """Return the counts by service or by district, a table for each."""
    counts = getattr(report, name)
    groups = dict.fromkeys(each.district or each.of for each in counts)
    columns = count_columns(report.letters)
    tables = tuple(
        Table(group, columns, tuple(each for each in counts if (each.district or each.of) == group))
        for group in groups
    )
    return [Section(title, tables)] if tables else []
