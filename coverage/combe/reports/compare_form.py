"""The form of a comparison: its fields, and the columns in which readers see studies side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.digits import spoken
from combe.publishing.document import Form
from combe.publishing.fields import Field, many, number, one, people, text, texts
from combe.reports.how_sure import RANGE
from combe.words import joined, tell

if TYPE_CHECKING:
    from pathlib import Path

    from combe.answers.compare import Against, CompareReport
    from combe.answers.compare_counts import Count, FeedHeld, Held
    from combe.planning import PeopleRange

COUNT_WORDS: Final = {
    "served": "people served",
    "newly_served": "people newly served",
    "lost": "people who lose a service",
    "unserved": "people unserved",
    "least_feed_margin_db": "least feed margin, dB",
    "harm": "people harmed",
    "erp_w": "ERP of the relays, W",
    "running_cost": "running cost of the relays",
}
"""What readers see of a count, by its key."""

_DECIMALS: Final = {"least_feed_margin_db": 1}


class Compared(NamedTuple):
    """A comparison with the map that was written of it, if any."""

    report: CompareReport
    map_page: Path | None


class _OfStudy(NamedTuple):
    """A value of one study."""

    letter: str
    value: float | None
    range: PeopleRange | None


class _FeedOfStudy(NamedTuple):
    """The feed of a relay in one study."""

    letter: str
    margin_db: float | None
    verdict: str | None


def _values(count: Count) -> list[_OfStudy]:
    return [_OfStudy(*each) for each in zip("ABC", count.values, count.ranges, strict=False)]


def _feed_values(feed: FeedHeld) -> list[_FeedOfStudy]:
    return [_FeedOfStudy(*each) for each in zip("ABC", feed.margins_db, feed.verdicts, strict=False)]


HELD: Final = many(
    "held",
    text("letter", meaning="of the study that is held against A"),
    number("difference", meaning="its value less that of A", null="one of them is not known"),
    one("range", *RANGE, null="no error is worked out", meaning="of the difference"),
    number("chance_of_more", decimals=2, null="no error is worked out", meaning="that it is over 0"),
    text("better", meaning="letter of a study; equal, cannot be told apart, or not judged"),
)  # fmt: skip


def _counts(key: str, get: str, **more: Any) -> Field:
    return many(
        key,
        text("count", get="key", meaning=joined(", ", COUNT_WORDS)),
        text("services", get="of", meaning="all, or one; empty where services have no part in it"),
        text("district", meaning="empty for all"),
        many(
            "values",
            text("letter"),
            number("value", null="not known, or not stated"),
            one("range", *RANGE, null="no error is worked out", meaning="of the study by itself"),
            get=_values,
        ),
        HELD,
        get=get,
        **more,
    )


PLACES: Final = many(
    "places",
    text("name", meaning="empty where people come without names"),
    number("longitude_deg", "longitude", decimals=4),
    number("latitude_deg", "latitude", decimals=4),
    people("people", "people there"),
    people("people_only_here", get="only_second"),
    people("people_only_in_a", get="only_first"),
)
STATIONS: Final = many(
    "stations",
    text("station", "station"),
    text("how", "how", meaning="moved, changed, added or taken away"),
    texts("words", meaning="what differs, each in words"),
)

FORM: Final = Form(
    "compare",
    (
        many(
            "studies",
            text("letter", "letter"),
            text("study", "study", "project.source", meaning="file"),
            text("title", "title", "project.title"),
            text("note", get="project.note"),
            get="report.sides",
        ),
        _counts("counts", "report.counts"),
        _counts("by_service", "report.by_service", like="as counts"),
        _counts("by_district", "report.by_district", like="as counts"),
        many(
            "feeds",
            text("relay", "relay"),
            many(
                "values",
                text("letter"),
                number("margin_db", null="not known, or no such relay"),
                text("verdict", null="no such relay"),
                get=_feed_values,
            ),
            HELD,
            get="report.feeds",
            meaning="the least margin of each relay's services",
        ),
        many(
            "against",
            text("letter"),
            texts("remarks", meaning="what makes the comparison less sure"),
            people("people_only_here", get="only_second", null="no people",
                   meaning="with all services in this study and not in A"),
            people("people_only_in_a", get="only_first", null="no people", meaning="the other way round"),
            one("only_here_range", *RANGE, get="only_second_range", null="no people"),
            one("only_in_a_range", *RANGE, get="only_first_range", null="no people"),
            STATIONS,
            PLACES,
            get="report.against",
            meaning="each study but A",
        ),
    ),
    files=(("map", "without --out"), ("page", "without --html"), ("index", "without --out")),
)  # fmt: skip


def count_columns(letters: tuple[str, ...]) -> tuple[Field, ...]:
    """Return the columns of a table of counts: each study's value, then which is better."""
    several = len(letters) > 2
    return (
        text("", "count", lambda count: COUNT_WORDS[count.key]),
        *(text("", letter, _shown(at), right=True) for at, letter in enumerate(letters)),
        *(
            text("", tell("better of A and {letter}", letter=letter) if several else "better", _better(at))
            for at, letter in enumerate(letters[1:])
        ),
    )


def difference_columns(letters: tuple[str, ...]) -> tuple[Field, ...]:
    """Return the columns that tell how sure each difference from A is."""
    found: list[Field] = [text("", "count", lambda count: COUNT_WORDS[count.key])]
    for at, letter in enumerate(letters[1:]):
        found += [
            text("", tell("{letter} less A", letter=letter), _difference(at), right=True),
            text("", tell("{letter} less A, range", letter=letter), _range(at), right=True),
            text("", tell("chance that {letter} has more", letter=letter), _chance(at), right=True),
        ]
    return tuple(found)


def feed_columns(letters: tuple[str, ...]) -> tuple[Field, ...]:
    """Return the columns of the feeds: margin and verdict in each study, then which is better."""
    found = [text("", "relay", "relay")]
    for at, letter in enumerate(letters):
        found.append(text("", tell("{letter}, dB", letter=letter), _margin(at), right=True))
        found.append(text("", tell("{letter}, verdict", letter=letter), _verdict(at)))
    return (
        *found,
        *(
            text("", tell("better of A and {item}", item=each), _better(at))
            for at, each in enumerate(letters[1:])
        ),
    )


def place_columns(letter: str) -> tuple[Field, ...]:
    """Return the columns of the places where people are served in one study alone."""
    lon, lat, count = PLACES.only("longitude_deg", "latitude_deg", "people")
    return (
        text("", "place", "shown_name"),
        *(_within(each) for each in (lon, lat, count)),
        people("people_only_here", tell("in {letter}, not in A", letter=letter), "found.only_second"),
        people("people_only_in_a", tell("in A, not in {letter}", letter=letter), "found.only_first"),
    )


def signed(value: float, decimals: int = 0) -> str:
    """Return a difference with its sign."""
    words = spoken(value, decimals)
    return tell("+{words}", words=words) if value > 0.0 and words.strip("0.") else words


def range_of_difference(held: Held) -> str:
    """Return between which numbers a difference lies; a dash without an error."""
    if held.range is None:
        return "–"
    low, high = signed(held.range.low), signed(held.range.high)
    return low if low == high else tell("{low} to {high}", low=low, high=high)


def _within(field: Field) -> Field:
    return replace(field, get=f"found.{field.key}")


def _shown(at: int) -> Callable[[Count], str]:
    return lambda count: spoken(count.values[at], _DECIMALS.get(count.key, 0))


def _better(at: int) -> Callable[[Any], str]:
    def words(row: Any) -> str:
        held: Held = row.held[at]
        return held.better

    return words


def _difference(at: int) -> Callable[[Count], str]:
    def words(count: Count) -> str:
        found = count.held[at].difference
        return "–" if found is None else signed(found, _DECIMALS.get(count.key, 0))

    return words


def _range(at: int) -> Callable[[Count], str]:
    return lambda count: range_of_difference(count.held[at])


def _chance(at: int) -> Callable[[Count], str]:
    def words(count: Count) -> str:
        held = count.held[at]
        found = held.chance_of_more
        return (
            "–" if found is None or held.better == "equal" else tell("{found} %", found=spoken(100.0 * found))
        )

    return words


def _margin(at: int) -> Callable[[FeedHeld], str]:
    return lambda feed: spoken(feed.margins_db[at], 1)


def _verdict(at: int) -> Callable[[FeedHeld], str]:
    return lambda feed: feed.verdicts[at] or "no such relay"


def find_count(report: CompareReport, key: str) -> Count:
    """Return a count of all services by its key."""
    return next(each for each in report.counts if each.key == key)


def held_of(count: Count, against: Against) -> Held:
    """Return how a study stands on a count."""
    return next(each for each in count.held if each.letter == against.letter)
