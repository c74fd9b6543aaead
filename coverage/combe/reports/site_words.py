"""What the list of hills says of its search: the funnel of hills, the own relay, the gap, the time."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from combe.digits import spoken, true_minus
from combe.reports.site_wide import wide_lines
from combe.words import tell

if TYPE_CHECKING:
    from combe.answers.site_report import OwnRelay, SiteReport


def gap_words(gap: float) -> str:
    """Return how far a set is proved to be the best."""
    if not math.isfinite(gap):
        return "nothing proved"
    return "proved, gap 0" if gap == 0.0 else tell("gap {gap:.2g} % left unproved", gap=100.0 * gap)


def funnel_lines(report: SiteReport) -> list[str]:
    """Return how the cells of the grid become hills, one line each."""
    work = report.work
    search, asked = work.search, work.question
    time_words = (
        tell(" for {time_percent:g} % of time", time_percent=asked.time_percent)
        if asked.time_percent > 50.0
        else ""
    )
    heard = [
        tell(
            "{size} cells of {cell_size_m:g} m; "
            "{heard} hear a parent with {required_margin_db:g} dB{time_words}",
            size=spoken(work.feeds[0].cells.size),
            cell_size_m=work.area.grid.cell_size_m,
            heard=spoken(search.heard),
            required_margin_db=asked.chain.required_margin_db,
            time_words=time_words,
        )
    ]
    rules = [
        tell("{left} of them: {words}", left=spoken(left), words=words) for words, left in work.funnel.steps
    ]
    lines = [*heard, *rules] if search.wide is None else wide_lines(work, search.wide, rules, time_words)
    lines.append(
        tell(
            "{size} hills against {size_2} places with {total} people who lack a service",
            size=spoken(search.hills.size),
            size_2=spoken(search.problem.targets.row.size),
            total=spoken(work.unserved.total),
        )
    )
    return lines


def own_lines(report: SiteReport) -> list[str]:
    """Return what became of each relay of the study, failures, and how harm was judged."""
    lines = [true_minus(own_words(own)) for own in report.own]
    lines += [
        tell("failed: hills {first} to {last}: {words}", first=each.first, last=each.last, words=each.words)
        for each in report.failures
    ]
    return [*lines, tell("harm: {harm_words}", harm_words=true_minus(report.work.search.harm_words))]


def own_words(own: OwnRelay) -> str:
    """Return what became of a relay of the study."""
    worth = (
        ""
        if own.people is None
        else tell(" would serve {people} by the search, as the relay tried here;", people=spoken(own.people))
    )
    was = " was" if own.words.startswith("not searched") else ""
    return tell(
        "the study's own {name}{worth}{was} {words}", name=own.name, worth=worth, was=was, words=own.words
    )


def speed_words(report: SiteReport) -> str:
    """Return how long the search took and at what rate, or that it was there from an earlier run."""
    search = report.work.search
    if search.run is not None and search.run.found == search.run.blocks:
        return tell("all {blocks} blocks were there from an earlier run", blocks=search.run.blocks)
    again = search.run.found if search.run else 0
    known = (
        tell(", {again} of {blocks} blocks from an earlier run", again=again, blocks=search.run.blocks)
        if search.run and again
        else ""
    )
    return tell(
        "{seconds:.1f} s: {hills_per_second} hills, "
        "{pairs_per_second:.2f} million pairs of hill and place, a second; "
        "{priced_hills} hills priced{known}",
        seconds=search.seconds,
        hills_per_second=spoken(report.hills_per_second),
        pairs_per_second=report.pairs_per_second / 1e6,
        priced_hills=spoken(search.priced_hills),
        known=known,
    )
