"""The words and tables of a siting, for the terminal and the pages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from combe.digits import spoken

if TYPE_CHECKING:
    from combe.answers.site import Search
    from combe.answers.site_candidates import Candidate
    from combe.answers.site_report import OwnRelay, SiteReport
    from combe.planning.siting.best_set import SiteSet


_MAY_LACK: Final = ("harmed", "score", "feed")


def funnel_lines(report: SiteReport) -> list[str]:
    """Return how the cells of the grid become hills, one line each."""
    work = report.work
    search, asked = work.search, work.question
    cells = work.feeds[0].cells.size
    fed = _fed(report)
    time_words = f" for {asked.time_percent:g} % of time" if asked.time_percent > 50.0 else ""
    lines = [
        f"{spoken(cells)} cells of {work.area.grid.cell_size_m:g} m; {spoken(fed)} hear a parent with "
        f"{asked.chain.required_margin_db:g} dB{time_words}"
    ]
    lines += [f"{spoken(left)} of them: {words}" for words, left in work.funnel.steps]
    lines.append(
        f"{spoken(search.hills.size)} hills against {spoken(search.problem.targets.row.size)} places with "
        f"{spoken(work.unserved.total)} people who lack a service"
    )
    return lines


def _fed(report: SiteReport) -> int:
    from combe.planning.siting.feed_map import keep_fed

    work = report.work
    return int(keep_fed(work.feeds, work.question.chain.required_margin_db).cells.size)


def speed_words(report: SiteReport) -> str:
    """Return how long the search took and at what rate, or that it was there from an earlier run."""
    search = report.work.search
    if search.run is not None and search.run.found == search.run.blocks:
        return f"all {search.run.blocks} blocks were there from an earlier run"
    pairs = search.hills.size * search.problem.targets.row.size / max(search.seconds, 1e-9)
    again = search.run.found if search.run else 0
    known = f", {again} of {search.run.blocks} blocks from an earlier run" if search.run and again else ""
    return (
        f"{search.seconds:.1f} s: {spoken(report.hills_per_second)} hills, {pairs / 1e6:.2f} million pairs "
        f"of hill and place, a second; {spoken(search.priced_hills)} hills priced{known}"
    )


def list_table(report: SiteReport) -> tuple[list[str], list[list[object]]]:
    """Return heads and rows of the list; without harm, score or feed where there is nothing to tell."""
    costs = report.work.search.has_costs
    heads = [
        *(
            "hill",
            "longitude",
            "latitude",
            "ground m",
            "over valley m",
            "hears",
            "search margin dB",
            "people",
        ),
        *("harmed", "score", "counted", "alone", "pattern", "feed", *(["cost"] if costs else [])),
    ]
    rows: list[list[object]] = []
    for each in report.candidates:
        row: list[object] = [
            each.rank,
            spoken(each.station.longitude_deg, 5),
            spoken(each.station.latitude_deg, 5),
            round(each.ground_m),
            round(each.above_valley_m),
            each.parent,
            each.feed_margin_db,
            round(each.people),
            round(each.harmed),
            round(each.worth) if report.work.search.may_harm else 0,
            round(each.counted),
            round(each.alone),
            pattern_words(each.option, each.azimuth_deg),
            each.whole_feed.words if each.whole_feed.verdict != "passes" else "",
        ]
        rows.append([*row, *([round(each.cost)] if costs else [])])
    shown = [n for n, head in enumerate(heads) if head not in _MAY_LACK or any(row[n] for row in rows)]
    return [heads[n] for n in shown], [[row[n] for n in shown] for row in rows]


def meaning_words(heads: Sequence[str]) -> str:
    """Return what the columns of the list mean, those that it has."""
    meanings = {
        "search margin dB": "of the feed, by the search; a hill's own page has that of combe feed",
        "people": "newly served in all services, by the search",
        "harmed": "lose a service from another station",
        "score": "people less harmed, which orders the list",
        "counted": "people by the whole coverage of the station",
        "alone": "people reached by no other hill of the list",
        "feed": "verdict where it does not pass",
    }
    return "; ".join(f"{head}: {words}" for head, words in meanings.items() if head in heads)


def pattern_words(name: str, azimuth_deg: float) -> str:
    """Return a pattern with its azimuth."""
    return name if math.isnan(azimuth_deg) else f"{name} at {azimuth_deg:g}°"


def set_lines(report: SiteReport) -> list[str]:
    """Return the sets of sites, what each site needs, and hills that only they feed."""
    sets = report.sets
    lines = [
        f"best {row.size} together: {spoken(row.exact.people)} people{_net_words(row.exact)} "
        f"({_gap_words(row.exact.gap_fraction)}); one after the other {spoken(row.greedy.score)}"
        for row in sets.rows
        if row.size > 1
    ]
    for each in sets.sites if len(sets.sites) > 1 else ():
        power = "–".join(dict.fromkeys(f"{erp:.3g}" for erp in (min(each.erp_w), max(each.erp_w))))
        lines.append(
            f"{each.station.name} at {_place_words(each.station.longitude_deg, each.station.latitude_deg)} "
            f"adds {spoken(each.adds)}; {pattern_words(each.option, each.azimuth_deg)}, {power} W is enough"
        )
    if sets.for_share is not None:
        words = "cheapest" if report.work.search.has_costs else "fewest"
        share = report.work.siting.share_percent
        found = sets.for_share
        lines.append(
            f"{words} for {share:g} % of all who can be served: {len(found.hills)} sites, "
            f"{spoken(found.people)} people{_net_words(found)} ({_gap_words(found.gap_fraction)})"
        )
    for further in sets.further:
        lines.append(
            f"fed by {further.feeds_from} alone: {_place_words(further.longitude_deg, further.latitude_deg)} "
            f"would serve {spoken(further.people)} of those left{_taken_words(further.harmed)}, "
            f"with {spoken(further.margin_db, 1)} dB"
        )
    return lines


def _place_words(longitude_deg: float, latitude_deg: float) -> str:
    return f"{spoken(longitude_deg, 5)}, {spoken(latitude_deg, 5)}"


def _net_words(found: SiteSet) -> str:
    return f" less {spoken(found.harmed)} harmed, score {spoken(found.score)}" if found.harmed else ""


def _taken_words(harmed: float) -> str:
    return f" and take a service from {spoken(harmed)}" if harmed else ""


def _gap_words(gap: float) -> str:
    if not math.isfinite(gap):
        return "nothing proved"
    return "proved, gap 0" if gap == 0.0 else f"gap {100.0 * gap:.2g} % left unproved"


def own_lines(report: SiteReport) -> list[str]:
    """Return what became of each relay of the study, failures, and how harm was judged."""
    lines = [own_words(own) for own in report.own]
    run = report.work.search.run
    for failure in run.failures if run else ():
        lines.append(f"failed: hills {failure.first} to {failure.last}: {failure.words}")
    return [*lines, f"harm: {report.work.search.harm_words}"]


def own_words(own: OwnRelay) -> str:
    """Return what became of a relay of the study."""
    worth = (
        ""
        if own.people is None
        else f" would serve {spoken(own.people)} by the search, as the relay tried here;"
    )
    was = " was" if own.words.startswith("not searched") else ""
    return f"the study's own {own.name}{worth}{was} {own.words}"


def facts_of(candidate: Candidate, search: Search) -> list[tuple[str, str]]:
    """Return the facts of a hill in pairs of name and words."""
    exposure = candidate.exposure
    keep = (
        f"{spoken(exposure.distance_m, 1)} m" if exposure else f"not worked out: {candidate.exposure_fault}"
    )
    facts = [
        (
            "Longitude, latitude",
            _place_words(candidate.station.longitude_deg, candidate.station.latitude_deg),
        ),
        ("Ground", f"{spoken(candidate.ground_m)} m"),
        ("Over the lowest ground around", f"{spoken(candidate.above_valley_m)} m"),
        ("Slope", f"{candidate.slope_deg:.0f}°"),
        ("Hears", f"{candidate.parent}, {candidate.parent_km:.1f} km"),
        ("Weakest search margin", f"{spoken(candidate.feed_margin_db, 1)} dB"),
        ("Feed", candidate.whole_feed.words),
        ("People newly served, as scored", spoken(candidate.people)),
        (
            "People who lose a service by it",
            spoken(candidate.harmed) if search.harm_counted else "not looked at",
        ),
        ("Newly served by the whole coverage", spoken(candidate.counted)),
        ("Reached by no other of the list", spoken(candidate.alone)),
        ("Pattern", pattern_words(candidate.option, candidate.azimuth_deg)),
        ("Public keeps off the main beam", keep),
    ]
    if candidate.access_m is not None:
        facts.append(("To the nearest access", f"{spoken(candidate.access_m)} m"))
    if search.may_harm:
        facts.append(("Score, newly served less harmed", spoken(candidate.worth)))
    if search.has_costs:
        facts.append(("Cost", spoken(candidate.cost)))
    return facts
