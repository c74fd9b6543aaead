"""The sentences of a brief: the answer in three lines, what is uncertain, and what to do next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from combe.digits import spoken, telling, true_minus
from combe.publishing.text import capital
from combe.reports.brief_form import LIMITS
from combe.reports.brief_next import few, relays_named, short
from combe.reports.cover import network_words
from combe.reports.how_sure import OF_TEN, range_remarks, range_words
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport, FeedOfService
    from combe.answers.brief_alternatives import Alternatives
    from combe.planning import Harm

_SOMEBODY: Final = 0.5


def people_line(report: BriefReport) -> str:
    """Return who is served, with the range of the newly served."""
    network = report.cover.all_services
    people = network.people
    if people is None:
        return "People: nobody is counted, for the study has no [people] section."
    counts = {
        "served": spoken(people.served),
        "total": spoken(people.total),
        "unserved": spoken(people.unserved),
    }
    if not report.relays:
        return tell("People: {served} of {total} have all services, {unserved} do not.", **counts)
    then = tell("{served} of {total} then have them, {unserved} do not", **counts)
    ranges = range_words(network.ranges.newly_served) if network.ranges else None
    sure = tell(" ({ranges}, {of_ten})", ranges=ranges, of_ten=OF_TEN) if ranges else ""
    whom = tell("to whom {relays_named} newly brings all services", relays_named=relays_named(report))
    if network.ranges and range_remarks(network):
        expected = spoken(network.ranges.newly_served.expected)
        return tell(
            "People: count on {expected}{sure} newly with all services; the map, each place "
            "as predicted, counts {newly_served}: {then}.",
            expected=expected,
            sure=sure,
            newly_served=spoken(people.newly_served),
            then=then,
        )
    return tell(
        "People: {newly_served}{sure} {whom}; {then}.",
        newly_served=spoken(people.newly_served),
        sure=sure,
        whom=whom,
        then=then,
    )


def feed_line(report: BriefReport) -> str:
    """Return the verdict over all feeds, with the service that decides it."""
    if report.feed_verdict is None:
        return "Feed: the study has no relay."
    if not report.feeds:
        return tell(
            "Feed: {feed_verdict}; {lacking}.",
            feed_verdict=report.feed_verdict,
            lacking=joined("; ", report.lacking),
        )
    if report.feed_verdict == "passes":
        return tell(
            "Feed: passes{year_words}. {weakest_words}",
            year_words=_year_words(report),
            weakest_words=_weakest_words(report),
        )
    first = report.feeds[0]
    why = joined("; ", first.service.judged.not_judged or report.lacking)
    if first.service.verdict == "fails":
        why = tell(
            "{relay}, {name}: {limit_words}",
            relay=first.relay,
            name=first.service.received.name,
            limit_words=limit_words(first),
        )
    return tell(
        "Feed: {feed_verdict}, and coverage counts as if it passed. {why}.",
        feed_verdict=report.feed_verdict,
        why=capital(true_minus(why)),
    )


def _weakest_words(report: BriefReport) -> str:
    """Return the service with least margin over what is asked."""
    least = min(report.feeds, key=_over_asked_db)
    budget = least.service.budget
    whose = tell("{relay}, ", relay=least.relay) if len(report.relays) > 1 else ""
    return tell(
        "The weakest service, {whose}{name}, stands "
        "{margin_db} dB over its need for "
        "{time_percent:g} % of it; {required_margin_db:g} dB are asked.",
        whose=whose,
        name=least.service.received.name,
        margin_db=telling(budget.margin_db, budget.required_margin_db, 1),
        time_percent=budget.time_percent,
        required_margin_db=budget.required_margin_db,
    )


def _year_words(report: BriefReport) -> str:
    """Return for how much of an average year every service arrives."""
    years = [each.service.year for each in report.feeds]
    known = [(year.stands_for.percent, year.share) for year in years if year.stands_for]
    # One that is not known could be the least.
    return (
        tell(", for {known} of an average year", known=min(known)[1])
        if known and len(known) == len(years)
        else ""
    )


def _over_asked_db(each: FeedOfService) -> float:
    return each.service.budget.margin_db - each.service.budget.required_margin_db


def harm_line(report: BriefReport) -> str:
    """Return who loses, and by what the worst harm is done."""
    cover = report.cover
    if not report.relays:
        return "Harm: the study has no relay."
    if cover.interference is None:
        return "Harm: not looked at, for the study does not count interference."
    worst = max(cover.harm, key=lambda each: each.fall_below or 0.0, default=None)
    lost = (cover.all_services.people.lost or 0.0) if cover.all_services.people else 0.0
    if worst is not None and (worst.fall_below or 0.0) >= _SOMEBODY:
        whole = tell("{lost} people", lost=spoken(lost)) if lost >= _SOMEBODY else "nobody"
        return tell(
            "Harm: {whole} who had all services before would lose one. {worst_words}",
            whole=whole,
            worst_words=_worst_words(worst),
        )
    if not cover.harm:
        return tell(
            "Harm: none to viewers; no relay is on a channel that another station's viewers can hear."
            "{neighbour_words}",
            neighbour_words=_neighbour_words(report),
        )
    return tell(
        "Harm: nobody falls below the standard, so far as interference is counted.{neighbour_words}",
        neighbour_words=_neighbour_words(report),
    )


def _neighbour_words(report: BriefReport) -> str:
    """Return that a neighbour has a say, where it has: no harm is found there, and none is looked for."""
    found = report.coordination
    over = found.held("over") if found else ()
    return " The neighbour has to be asked." if over else ""


def _worst_words(worst: Harm) -> str:
    return tell(
        "At worst {relay} takes {service} of {station} from {fall_below}, "
        "and {left_without} of them get it from nobody.",
        relay=worst.relay,
        service=worst.service,
        station=worst.station,
        fall_below=spoken(worst.fall_below),
        left_without=spoken(worst.left_without),
    )


def limit_words(each: FeedOfService) -> str:
    """Return what limits a feed, and by how much it is right or short."""
    if math.isnan(each.spare_db):
        return tell("{limits}, by how much is not known", limits=LIMITS[each.limit])
    left = "to spare" if each.spare_db >= 0.0 else "short"
    return tell(
        "{limits}, {spare_db} dB {left}",
        limits=LIMITS[each.limit],
        spare_db=telling(abs(each.spare_db), 0.0, 1),
        left=left,
    )


def uncertain_lines(report: BriefReport) -> tuple[str, ...]:
    """Return what is uncertain, and by how much."""
    cover, found = report.cover, []
    network = cover.all_services
    if network.ranges is not None:
        ranges, with_relays = network.ranges, " with the relays" if report.relays else ""
        found.append(
            tell(
                "{of_ten} {range_words} people are served{with_relays}, and {range_words_2} are not.",
                of_ten=capital(OF_TEN),
                range_words=range_words(ranges.served),
                with_relays=with_relays,
                range_words_2=range_words(ranges.unserved),
            )
        )
        found += range_remarks(network)
    found.append(
        tell(
            "The prediction of a whole area is typically off by {common_db:.1f} dB, that of one "
            "place by {place_db:.1f} dB more (standard deviations).",
            common_db=cover.error.common_db,
            place_db=cover.error.place_db,
        )
    )
    if report.in_doubt:
        told = joined(
            ", ",
            (
                tell(
                    "{short} ({low} to {high} served)",
                    short=short(each.name),
                    low=spoken(each.low),
                    high=spoken(each.high),
                )
                for each in report.in_doubt
            ),
        )
        found.append(tell("Most in doubt: {told}.", told=told))
    return (*found, *network_words(cover), *_unknown_lines(report), *_ground_lines(report))


def _unknown_lines(report: BriefReport) -> list[str]:
    """Return of whom nothing is known."""
    people, found = report.cover.all_services.people, []
    if people is not None and people.without_prediction >= _SOMEBODY:
        found.append(
            tell(
                "For {without_prediction} people there is no prediction.",
                without_prediction=spoken(people.without_prediction),
            )
        )
    if people is not None and (people.interference_unknown or 0.0) >= _SOMEBODY:
        found.append(
            tell(
                "{interference_unknown} people count as served though an interferer has no "
                "prediction where they live.",
                interference_unknown=spoken(people.interference_unknown),
            )
        )
    if report.cover.interference is None:
        found.append("Interference between stations is not counted.")
    return found


def _ground_lines(report: BriefReport) -> list[str]:
    """Return what the ground and the given data leave open."""
    found = []
    if report.project.terrain.surface_model:
        found.append("The terrain is a surface model: trees and roofs count as ground.")
    elif report.project.cover is None:
        found.append("The terrain is bare: no trees and houses are given, and they would weaken the field.")
    if report.project.off_air:
        found.append(
            tell(
                "Left out, for they are off the air: {off_air}.", off_air=joined(", ", report.project.off_air)
            )
        )
    if report.project.invented:
        found.append("The stations are invented, and so are the people, where there are any.")
    return found


def cost_lines(report: BriefReport) -> tuple[str, ...]:
    """Return what the relays cost, in a year and to build, and for each person; or that no cost is given."""
    costs = report.costs
    if not costs.given:
        return (
            "No cost is given in the study. Before anybody decides, somebody has to say what mast, power "
            "and way to the hill cost once, and what power, rent and visits cost in a year.",
        )
    found = []
    if any(one.yearly is not None for one in costs.relays):
        each = few(
            [
                tell("{short} {yearly}", short=short(one.relay), yearly=spoken(one.yearly))
                for one in costs.relays
            ]
        )
        together = tell("; together {total}", total=spoken(costs.total)) if len(costs.relays) > 1 else ""
        found.append(
            tell(
                "Running costs a year: {item}{together}; {each_words}.",
                item=each,
                together=together,
                each_words=_each_words(costs.each_person),
            )
        )
    if costs.sites is not None:
        found.append(
            tell(
                "To build, once: {sites}; {each_words}.",
                sites=spoken(costs.sites),
                each_words=_each_words(costs.sites_each_person),
            )
        )
    return tuple(found)


def _each_words(each: float | None) -> str:
    told = "not known" if each is None else spoken(each, 2)
    return tell("for each person newly served {told}", told=told)


def own_place_words(found: Alternatives) -> str:
    """Return what the search found of the relay's own place, by which the others are held."""
    if found.own is None:
        return true_minus(found.own_words)
    own = found.own
    return tell(
        "other hills by their people; the search gives {name} at its own place {people} "
        "newly served, and by the search's own receiving aerial {feed_margin_db} dB of margin",
        name=own.name,
        people=spoken(own.people),
        feed_margin_db=spoken(own.feed_margin_db, 1),
    )
