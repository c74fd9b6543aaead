"""What would carry a feed that fails: a higher aerial, more gain, or another parent, each tried and judged.

Nothing here reckons with margins: each try is the project with the change, judged by the judge of the feed.
So a change helps only where all that fails the feed is mended by it, and what cannot be mended by height or
gain (a loop, an overload, a failing feed before it) shows as tries that fail.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

from combe.answers.feed import FeedReport, RelayFeed, relay_feed
from combe.answers.receiving import sends_all
from combe.answers.relay_site import Known, apart_km, relay_site
from combe.digits import telling
from combe.errors import CombeError
from combe.project import Feed
from combe.stations import Station
from combe.words import joined, tell

HIGHEST_M: Final = 60.0
"""Heights are tried up to this above ground, or to ``MOST_RAISE_M`` over the planned one (our own choice)."""

MOST_RAISE_M: Final = 40.0
MOST_GAIN_DB: Final = 12.0
"""Gain is tried up to so much more (our own choice): that of sixteen like aerials in place of one."""

STEP_M: Final = 4.0
STEP_DB: Final = 2.0
FINENESS: Final = 0.5
"""Metres or decibels to which the least change is found."""

MOST_PARENTS: Final = 8
"""So many other parents are tried, the nearest (our own choice)."""

_RANGES: Final = {"height_m": 500.0, "gain_dbi": 40.0}
"""The most that a feed takes."""

Kind = Literal["height", "gain", "parent"]


@dataclass(frozen=True)
class Advice:
    """One way to mend a feed as it was tried, or that no try of its kind mends it.

    Parameters
    ----------
    kind : Kind
    helps : bool
        Whether the feed passes with it.
    short, words, tried : str
        The change alone, empty where there was nothing to try; what comes of it; what was tried.
    height_m, added_gain_db, parent
        The change itself, by its kind; of height and gain None where none of them helps, of a parent None
        where there is none to try.
    margin_db : float or None
        Least margin of the services with it [dB]; None where no height or gain helps, and where it is not
        known.
    """

    kind: Kind
    helps: bool
    short: str
    words: str
    tried: str
    height_m: float | None = None
    added_gain_db: float | None = None
    parent: str | None = None
    margin_db: float | None = None


def with_advice(report: FeedReport) -> FeedReport:
    """Return a report of all relays of a project with advice for each whose feed fails.

    A feed that passes has none, and one that cannot be judged None: what is not known cannot be mended.
    """
    made: dict[str, RelayFeed | None] = {gap.relay: None for gap in report.gaps}
    made |= {each.relay.name: each for each in report.relays}
    return replace(
        report, relays=tuple(replace(each, advice=feed_advice(each, made)) for each in report.relays)
    )


def feed_advice(failing: RelayFeed, made: Mapping[str, RelayFeed | None]) -> tuple[Advice, ...] | None:
    """Return what would carry a feed: height, gain, and parents, the best of these first.

    Parameters
    ----------
    failing
        The feed as it is.
    made
        All feeds of the project by relay, None for one that cannot be predicted: those of other parents.
    """
    if failing.verdict != "fails":
        return () if failing.verdict == "passes" else None
    return _height(failing, made), _gain(failing, made), *_parents(failing, made)


def _tried(
    was: RelayFeed, feed: Feed, made: Mapping[str, RelayFeed | None], known: Known | None = None
) -> RelayFeed:
    """Judge a relay that receives in another way, all else as it is."""
    project = was.site.project
    relay = replace(was.relay, parent=feed.parent)
    changed = project.with_station(relay, feed=feed, output=project.outputs.get(relay.name))
    return relay_feed(relay_site(changed, relay, feed, known), made)


def _height(was: RelayFeed, made: Mapping[str, RelayFeed | None]) -> Advice:
    feed = was.side.feed
    planned_m = feed.aerial.height_m
    highest_m = min(max(HIGHEST_M, planned_m + MOST_RAISE_M), _RANGES["height_m"])

    def at(height_m: float) -> RelayFeed:
        return _tried(was, replace(feed, aerial=replace(feed.aerial, height_m=height_m)), made)

    found = _least(at, planned_m, highest_m, STEP_M)
    tried = tell("{planned_m:g} to {highest_m:g} m above ground", planned_m=planned_m, highest_m=highest_m)
    if found.value is None:
        words = tell(
            "no height up to {highest_m:g} m above ground makes it pass: {why}",
            highest_m=highest_m,
            why=_why(found, "m"),
        )
        return Advice(
            "height",
            helps=False,
            short=tell("heights up to {highest_m:g} m", highest_m=highest_m),
            words=words,
            tried=tried,
        )
    more_m = found.value - planned_m
    words = tell(
        "a receiving aerial {more_m:g} m higher, {value:g} m above ground, {passes}",
        more_m=more_m,
        value=found.value,
        passes=_passes(found.best),
    )
    if found.fails_again_at is not None:
        words += tell(
            "; higher up it fails again, first at {fails_again_at:g} m of those tried",
            fails_again_at=found.fails_again_at,
        )
    return Advice(
        "height",
        helps=True,
        short=tell("an aerial {more_m:g} m higher", more_m=more_m),
        words=words + _own_words(feed),
        tried=tried,
        height_m=found.value,
        margin_db=_margin_db(found.best),
    )


def _gain(was: RelayFeed, made: Mapping[str, RelayFeed | None]) -> Advice:
    feed = was.side.feed
    given_dbi = feed.aerial.gain_dbi
    most_db = min(MOST_GAIN_DB, _RANGES["gain_dbi"] - given_dbi)

    # Gain changes no path, so all tries share what is known of them over the year.
    known = Known()

    def with_more(gain_db: float) -> RelayFeed:
        aerial = replace(feed.aerial, gain_dbi=given_dbi + gain_db)
        return _tried(was, replace(feed, aerial=aerial), made, known)

    found = _least(with_more, 0.0, most_db, STEP_DB)
    tried = tell("0 to {most_db:g} dB more than {given_dbi:g} dBi", most_db=most_db, given_dbi=given_dbi)
    if found.value is None:
        words = tell(
            "no gain up to {most_db:g} dB more makes it pass: {why}", most_db=most_db, why=_why(found, "dB")
        )
        return Advice(
            "gain",
            helps=False,
            short=tell("gain up to {most_db:g} dB more", most_db=most_db),
            words=words,
            tried=tried,
        )
    words = tell(
        "{value:g} dB more gain of the receiving aerial {passes}",
        value=found.value,
        passes=_passes(found.best),
    )
    if found.fails_again_at is not None:
        words += tell("; with {fails_again_at:g} dB more it fails again", fails_again_at=found.fails_again_at)
    return Advice(
        "gain",
        helps=True,
        short=tell("{value:g} dB more gain", value=found.value),
        words=tell(
            "{words}; it narrows the beam as well, which is not counted{own_words}",
            words=words,
            own_words=_own_words(feed),
        ),
        tried=tried,
        added_gain_db=found.value,
        margin_db=_margin_db(found.best),
    )


class _Found(NamedTuple):
    """The least value found that passes, with the feed there; the tries that did not pass, by their value."""

    value: float | None
    best: RelayFeed | None
    fails_again_at: float | None
    missed: dict[float, RelayFeed]


def _least(judge: Callable[[float], RelayFeed], low: float, high: float, step: float) -> _Found:
    """Return the least value over ``low`` that passes: stepped through to ``high``, then halved.

    Every step is tried, so that a feed which fails again further on is told; between two steps it is taken to
    turn but once.
    """
    count = max(math.ceil((high - low) / step - 1e-9), 0)
    values = [min(low + number * step, high) for number in range(1, count + 1)]
    tries = {value: judge(value) for value in values}
    missed = {value: each for value, each in tries.items() if each.verdict != "passes"}
    passing = [value for value in values if value not in missed]
    if not passing:
        return _Found(None, None, None, missed)
    least = passing[0]
    below = max([low, *(value for value in missed if value < least)])
    while least - below > FINENESS + 1e-9:
        middle = below + FINENESS * math.ceil((least - below) / (2.0 * FINENESS) - 1e-9)
        tries[middle] = judge(middle)
        if tries[middle].verdict == "passes":
            least = middle
        else:
            below = middle
    again = min((value for value in missed if value > least), default=None)
    return _Found(least, tries[least], again, missed)


def _why(found: _Found, unit: str) -> str:
    """Say what fails all tries; or the last of them, where they have nothing in common."""
    if not found.missed:
        return "there is no room for a try"
    causes = [_causes(each) for each in found.missed.values()]
    common = [cause for cause in causes[0] if all(cause in each for each in causes)]
    if common:
        told = joined(" and ", common)
        if len(common) == 1:
            return tell("{causes} stays at each", causes=told)
        return tell("{causes} stay at each", causes=told)
    value, last = max(found.missed.items())
    return tell("with {value:g} {unit} it {standing}", value=value, unit=unit, standing=_standing(last))


def _own_words(feed: Feed) -> str:
    return "; isolation from its own outputs is taken to stay as it is" if feed.own_output else ""


def _parents(was: RelayFeed, made: Mapping[str, RelayFeed | None]) -> tuple[Advice, ...]:
    """Try other stations that radiate all services of the relay, the nearest of them; the best first."""
    there = sorted(_candidates(was), key=lambda each: apart_km(each, was.relay))
    if not there:
        words = "no other station radiates all of its services without being fed by it"
        tried = "stations that radiate all of its services"
        return (Advice("parent", helps=False, short="", words=words, tried=tried),)
    nearest = there[:MOST_PARENTS]
    tried = "all that radiate its services"
    if len(nearest) < len(there):
        tried = tell(
            "the nearest {nearest} of {there} that radiate its services",
            nearest=len(nearest),
            there=len(there),
        )
    found = [_parent(was, each, made, tried) for each in nearest]
    return tuple(sorted(found, key=_rank))


def _rank(advice: Advice) -> tuple[bool, float]:
    return not advice.helps, math.inf if advice.margin_db is None else -advice.margin_db


def _parent(was: RelayFeed, parent: Station, made: Mapping[str, RelayFeed | None], tried: str) -> Advice:
    """Try another parent, the aerial turned to it and put into its polarization."""
    feed = was.side.feed
    turned = replace(feed.aerial, bearing_deg=None, polarization=None)
    try:
        found = _tried(was, replace(feed, parent=parent.name, aerial=turned), made)
    except CombeError as error:
        words = tell("{name} as parent cannot be predicted: {error}", name=parent.name, error=error)
        return Advice(
            "parent",
            helps=False,
            short=tell("{name} as parent", name=parent.name),
            words=words,
            tried=tried,
            parent=parent.name,
        )
    passes = found.verdict == "passes"
    away = tell(
        "{name} as parent, {distance_km:.2f} km away,",
        name=parent.name,
        distance_km=found.services[0].budget.distance_km,
    )
    return Advice(
        "parent",
        helps=passes,
        short=tell("{name} as parent", name=parent.name),
        words=tell("{away} {passes}", away=away, passes=_passes(found) if passes else _standing(found)),
        tried=tried,
        parent=parent.name,
        margin_db=_margin_db(found),
    )


def _candidates(was: RelayFeed) -> Iterable[Station]:
    project = was.site.project
    # Without the relay those that hang on it are gone too, so no circle can come of the rest.
    for station in was.site.project.without(was.relay.name).stations:
        if station.name != was.parent.name and sends_all(project, station, was.relay.services):
            yield station


def _margin_db(found: RelayFeed | None) -> float | None:
    margins_db = [each.budget.margin_db for each in found.services] if found else [math.nan]
    return None if any(map(math.isnan, margins_db)) else min(margins_db)


def _passes(found: RelayFeed | None) -> str:
    assert found is not None, "told only of a try that passes"
    worst = found.scantiest.budget
    return tell(
        "passes with a least margin of {margin_db} dB",
        margin_db=telling(worst.margin_db, worst.required_margin_db, 1),
    )


def _standing(found: RelayFeed) -> str:
    """Say how a try stands that does not pass."""
    if found.verdict == "not judged":
        return tell("is not judged: {reason}", reason=found.scantiest.reason)
    return tell("fails: {causes}", causes=joined(", ", _causes(found)))


def _causes(found: RelayFeed) -> Sequence[str]:
    return list(dict.fromkeys(cause for each in found.services for cause in each.causes))
