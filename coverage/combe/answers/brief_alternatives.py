"""The best hills other than where the study's relay stands, and in a sentence each how it compares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from combe.answers.site_candidates import SURE_LEAD, Candidate, count_again, hill_station
from combe.answers.site_report import SiteReport
from combe.answers.site_setup import cell_of
from combe.decibels import FloatArray
from combe.digits import spoken
from combe.planning import chance_of_more
from combe.words import joined, tell

MOST_ALTERNATIVES: Final = 2
"""So many other hills are told (our own choice)."""

_SOMEBODY: Final = 0.5


@dataclass(frozen=True)
class OwnPlace:
    """The cell on which a relay of the study stands, priced by the search as every other hill.

    ``draws`` are as those of :attr:`combe.answers.site_candidates.Candidate.draws`.
    """

    name: str
    row: float
    column: float
    people: float
    harmed: float
    cost: float
    feed_margin_db: float
    draws: FloatArray

    @property
    def value(self) -> float:
        """What it is compared by: the score per cost."""
        return (self.people - self.harmed) / self.cost


@dataclass(frozen=True)
class Alternative:
    """A hill other than the relay's own place.

    ``fewer`` are the people by whom its score is under that of the relay's own place, over it where negative;
    ``own_leads_fraction`` is the chance that the own place is worth more. Both are None where the search did
    not price the own place, ``against`` is then empty. ``words`` say why it ranks where it does.
    """

    hill: Candidate
    against: str
    fewer: float | None
    own_leads_fraction: float | None
    words: str


@dataclass(frozen=True)
class Alternatives:
    """The relay's own place, None where it was not priced with ``own_words`` why, and the other hills."""

    own: OwnPlace | None
    own_words: str
    others: tuple[Alternative, ...]


def alternatives(site: SiteReport, most: int = MOST_ALTERNATIVES) -> Alternatives:
    """Return the best hills that are not where a relay of the study stands."""
    places = [place for each in site.own if (place := _own_place(site, each.name))]
    own = max(places, key=lambda each: each.value, default=None)
    others = [each for each in site.candidates if not _is_own(site, each)][:most]
    words = joined("; ", (tell("{name}: {words}", name=each.name, words=each.words) for each in site.own))
    return Alternatives(own, words, tuple(_alternative(site, own, each) for each in others))


def _own_place(site: SiteReport, name: str) -> OwnPlace | None:
    """Return the cell of a relay; None where the search left it out or did not price it."""
    work = site.work
    relay = work.project.station(name)
    row, column = cell_of(work.area, relay.longitude_deg, relay.latitude_deg)
    cell = round(row) * work.area.grid.columns + round(column)
    at = int(np.searchsorted(work.search.hills, cell))
    hills = work.search.hills
    on_grid = -0.5 <= row < work.area.grid.rows - 0.5 and -0.5 <= column < work.area.grid.columns - 0.5
    if not on_grid or at == hills.size or hills[at] != cell or np.isnan(work.search.value[at]):
        return None
    _, draws, _ = count_again(work, hill_station(work, at, name))
    search = work.search
    return OwnPlace(
        name=name,
        row=float(row),
        column=float(column),
        people=float(search.people[at]),
        harmed=float(search.harmed[at]),
        cost=float(search.cost[at]),
        feed_margin_db=float(search.feed_margin_db[at]),
        draws=draws,
    )


def _is_own(site: SiteReport, hill: Candidate) -> bool:
    """Return whether a hill is that of a relay of the study: nearer than hills of the list keep apart."""
    work = site.work
    near_m = max(work.siting.apart_m, work.area.grid.cell_size_m)
    row, column = divmod(int(work.search.hills[hill.hill]), work.area.grid.columns)
    relays = work.project.relays
    stands = [cell_of(work.area, each.longitude_deg, each.latitude_deg) for each in relays]
    return any(
        float(np.hypot(row - at[0], column - at[1])) * work.area.grid.cell_size_m < near_m for at in stands
    )


def _alternative(site: SiteReport, own: OwnPlace | None, hill: Candidate) -> Alternative:
    if own is None:
        return Alternative(hill, "", None, None, _alone_words(hill))
    mine, theirs = ((each.draws - each.harmed) / each.cost for each in (own, hill))
    chance = chance_of_more(mine, theirs)
    fewer = (own.people - own.harmed) - hill.score
    words = _why(own, hill, fewer, chance, priced=site.work.search.has_costs)
    return Alternative(hill, own.name, fewer, chance, words)


def _alone_words(hill: Candidate) -> str:
    """Say how a hill stands where the relay's own place was left out of the search."""
    if hill.whole_feed.verdict != "passes":
        return _feed_words(hill)
    return tell(
        "nothing here speaks against it: {feed_words}; the relay's own place was not searched",
        feed_words=_feed_words(hill),
    )


def _why(own: OwnPlace, hill: Candidate, fewer: float, chance: float, *, priced: bool) -> str:
    """Say what puts the hill behind the relay's own place, or that nothing found here does."""
    if hill.whole_feed.verdict != "passes":
        return _feed_words(hill)
    harm = hill.harmed - own.harmed
    parts = [_people_words(own.name, fewer, harm)]
    if priced:
        parts.append(
            tell("it costs {cost} against {cost_2}", cost=spoken(hill.cost), cost_2=spoken(own.cost))
        )
    parts.append(_lead_words(own.name, chance))
    if hill.feed_margin_db < own.feed_margin_db:
        less_db = spoken(own.feed_margin_db - hill.feed_margin_db, 1)
        parts.append(tell("its feed has {less_db} dB less margin", less_db=less_db))
    return joined("; ", parts)


def _people_words(own: str, fewer: float, harm: float) -> str:
    """Say by how many people the hill is worth less than the own place, or more."""
    counted = "harm taken off, " if abs(harm) >= _SOMEBODY else ""
    if fewer >= _SOMEBODY:
        return tell(
            "{counted}it would serve {fewer} fewer people than {own}",
            counted=counted,
            fewer=spoken(fewer),
            own=own,
        )
    if fewer <= -_SOMEBODY:
        return tell(
            "{counted}it would serve {fewer} more people than {own}",
            counted=counted,
            fewer=spoken(-fewer),
            own=own,
        )
    return tell("{counted}it would serve as many people as {own}", counted=counted, own=own)


def _lead_words(own: str, chance: float) -> str:
    """Say whether the error of the prediction leaves the order as it is."""
    if chance >= SURE_LEAD:
        return tell("{own} is worth more even so far as the prediction errs", own=own)
    if chance <= 1.0 - SURE_LEAD:
        return tell("it is worth more than {own} even so far as the prediction errs", own=own)
    return "that is less than the prediction can err, so neither is shown to be better"


def _feed_words(hill: Candidate) -> str:
    feed = hill.whole_feed
    if feed.verdict == "fails":
        return tell("its feed fails: {causes}", causes=joined(", ", feed.causes))
    if feed.verdict == "not judged":
        return tell("its feed is not judged: {not_judged}", not_judged=joined("; ", feed.not_judged))
    return tell("its feed passes with {margin_db} dB", margin_db=spoken(feed.margin_db, 1))
