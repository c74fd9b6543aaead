"""The counts by which studies are held against one another, and which study is better on each.

Of people the error of the prediction decides whether two studies can be told apart; of feeds too, where the
path is another one. Harm, power and cost have no error worked out, and are held as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

from combe.answers.cover import CoverReport
from combe.answers.feed import RelayFeed
from combe.answers.relay_totals import least_feed, least_margin_db
from combe.answers.site_candidates import SURE_LEAD
from combe.planning import COUNTS, CountDifferences, CountRanges, Difference, PeopleCount, PeopleRange

EQUAL: Final = "equal"
APART: Final = "cannot be told apart"
NOT_JUDGED: Final = "not judged"

PEOPLE_WORDS: Final = dict(zip(COUNTS, ("served", "newly served", "lost", "unserved"), strict=True))
_MORE_IS_BETTER: Final = ("served", "newly_served", "least_feed_margin_db")
_SOMEBODY: Final = 0.5
_LEAST_MARGIN_DB: Final = 0.05
"""As much as readers see of a margin."""

_VERDICTS: Final = ("fails", "passes")


@dataclass(frozen=True)
class Held:
    """How a study stands on a count against the first.

    ``difference`` is its value less that of the first, and ``range`` where that lies by the error of the
    prediction; ``chance_of_more`` is the chance that it is over 0. What has no error worked out has neither.
    ``better`` is the letter of a study, or one of EQUAL, APART and NOT_JUDGED.
    """

    letter: str
    difference: float | None
    better: str
    range: PeopleRange | None = None
    chance_of_more: float | None = None


@dataclass(frozen=True)
class Count:
    """One count of all studies: ``key`` says what is counted, ``of`` in which services, ``district`` where.

    ``ranges`` are those that each study has by itself, None where it has none.
    """

    key: str
    of: str
    district: str
    values: tuple[float | None, ...]
    ranges: tuple[PeopleRange | None, ...]
    held: tuple[Held, ...]


@dataclass(frozen=True)
class FeedHeld:
    """The feed of a relay in each study: least margin and verdict, None where there is no such relay."""

    relay: str
    margins_db: tuple[float | None, ...]
    verdicts: tuple[str | None, ...]
    held: tuple[Held, ...]


def people_counts(
    letters: Sequence[str],
    of: str,
    district: str,
    counted: Sequence[tuple[PeopleCount | None, CountRanges | None]],
    differences: Sequence[CountDifferences | None],
) -> Iterator[Count]:
    """Yield the counts of a group of people, with the differences of each study from the first."""
    for key in COUNTS:
        values = tuple(None if people is None else getattr(people, key) for people, _ in counted)
        ranges = tuple(None if each is None else getattr(each, key) for _, each in counted)
        found = [None if each is None else getattr(each, key) for each in differences]
        held = tuple(
            _people_held(key, (letters[0], letter), (values[0], value), each)
            for letter, value, each in zip(letters[1:], values[1:], found, strict=True)
        )
        yield Count(key, of, district, values, ranges, held)


def plain_count(key: str, letters: Sequence[str], values: Sequence[float | None]) -> Count:
    """Return a count that has no error: held as it is."""
    held = []
    for letter, value in zip(letters[1:], values[1:], strict=True):
        if values[0] is None or value is None:
            held.append(Held(letter, None, NOT_JUDGED))
            continue
        more = value - values[0]
        equal = abs(more) < _SOMEBODY if key == "harm" else math.isclose(value, values[0], abs_tol=1e-9)
        held.append(Held(letter, more, EQUAL if equal else _winner(key, (letters[0], letter), more)))
    return Count(key, "", "", tuple(values), (None,) * len(values), tuple(held))


def _people_held(
    key: str, letters: tuple[str, str], values: tuple[float | None, float | None], found: Difference | None
) -> Held:
    one, two = values
    if one is None or two is None or found is None:
        return Held(letters[1], None, NOT_JUDGED)
    more, ends, chance = two - one, found.range, found.chance_of_more
    if max(map(abs, (more, ends.low, ends.high))) < _SOMEBODY:
        better = EQUAL
    elif (more > 0.0 and chance >= SURE_LEAD) or (more < 0.0 and chance <= 1.0 - SURE_LEAD):
        better = _winner(key, letters, more)
    else:
        better = APART
    return Held(letters[1], more, better, ends, chance)


def _winner(key: str, letters: tuple[str, str], more: float) -> str:
    return letters[int((more > 0.0) == (key in _MORE_IS_BETTER))]


def least_feed_count(letters: Sequence[str], reports: Sequence[CoverReport]) -> Count:
    """Return the least margin of any feed of each study."""
    found = [least_feed(each) for each in reports]
    held = tuple(
        _feed_held((letters[0], letter), (found[0], each), (reports[0], report))
        for letter, each, report in zip(letters[1:], found[1:], reports[1:], strict=True)
    )
    values = tuple(each and each[1] for each in found)
    return Count("least_feed_margin_db", "", "", values, (None,) * len(values), held)


def feeds_held(letters: Sequence[str], reports: Sequence[CoverReport]) -> tuple[FeedHeld, ...]:
    """Return the feeds of all relays, by name, as each study has them."""
    by_name = [{each.relay.name: each for each in report.relay_feeds} for report in reports]
    verdicts = [{each.relay: each.verdict for each in report.standings} for report in reports]
    found = []
    for name in dict.fromkeys(name for each in verdicts for name in each):
        sides = [_with_margin(each.get(name)) for each in by_name]
        told = tuple(each.get(name) for each in verdicts)
        held = tuple(
            _feed_of_relay((letters[0], letter), (sides[0], side), (told[0], verdict), (reports[0], report))
            for letter, side, verdict, report in zip(
                letters[1:], sides[1:], told[1:], reports[1:], strict=True
            )
        )
        found.append(FeedHeld(name, tuple(each and each[1] for each in sides), told, held))
    return tuple(found)


def _with_margin(relay: RelayFeed | None) -> tuple[RelayFeed, float] | None:
    margin_db = least_margin_db(relay) if relay else None
    return None if relay is None or margin_db is None else (relay, margin_db)


_Side = tuple[RelayFeed, float] | None


def _feed_of_relay(
    letters: tuple[str, str],
    sides: tuple[_Side, _Side],
    verdicts: tuple[str | None, str | None],
    reports: tuple[CoverReport, CoverReport],
) -> Held:
    """Return how one relay's feed stands: a feed that passes is better than one that fails."""
    held = _feed_held(letters, sides, reports)
    if set(verdicts) == set(_VERDICTS):
        better = letters[verdicts.index("passes")]
        return Held(letters[1], held.difference, better, held.range, held.chance_of_more)
    return held if None not in verdicts and "not judged" not in verdicts else Held(
        letters[1], held.difference, NOT_JUDGED
    )  # fmt: skip


def _feed_held(
    letters: tuple[str, str], sides: tuple[_Side, _Side], reports: tuple[CoverReport, CoverReport]
) -> Held:
    """Return how a feed margin stands: with one error on one path, with errors apart on two."""
    one, two = sides
    if one is None or two is None:
        return Held(letters[1], None, NOT_JUDGED)
    more_db = two[1] - one[1]
    if _path(one[0]) == _path(two[0]):
        better = EQUAL if abs(more_db) < _LEAST_MARGIN_DB else _winner(_MARGIN, letters, more_db)
        return Held(letters[1], more_db, better)
    deviation_db = math.hypot(*(each for r in reports for each in (r.error.common_db, r.error.place_db)))
    chance = NormalDist().cdf(more_db / max(deviation_db, 1e-9))
    sure = max(chance, 1.0 - chance) >= SURE_LEAD
    better = _winner(_MARGIN, letters, more_db) if sure else APART
    return Held(letters[1], more_db, better, chance_of_more=chance)


_MARGIN: Final = "least_feed_margin_db"


def _path(feed: RelayFeed) -> tuple[float, ...]:
    """Return what the prediction of a feed's path hangs on: both ends and their heights."""
    ends = (feed.parent, feed.parent.aerial_height_m), (feed.relay, feed.side.aerial_height_m)
    return tuple(
        value for each, height_m in ends for value in (each.longitude_deg, each.latitude_deg, height_m)
    )
