"""The sentences of a brief: the answer in three lines, what is uncertain, and what to do next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from combe.digits import spoken, telling, true_minus
from combe.publishing.text import capital, shortened
from combe.reports.brief_form import LIMITS, LONGEST_NAME
from combe.reports.cover import network_words
from combe.reports.how_sure import OF_TEN, range_remarks, range_words
from combe.words import chain, joined, tell

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport, FeedOfService
    from combe.answers.brief_alternatives import Alternatives
    from combe.planning import Harm

_SOMEBODY: Final = 0.5
_MOST_TOLD: Final = 2
"""Of a list that may be long in a large network."""

_MOST_LACKING: Final = 1
_LONGEST_LACKING: Final = 180
"""So much of it takes two lines; JSON has it whole."""


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


def relays_named(report: BriefReport) -> str:
    """Return the relay by its name, several together."""
    return (
        report.relays[0].name
        if len(report.relays) == 1
        else tell("the set of {relays} relays", relays=len(report.relays))
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
                    short=_short(each.name),
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


def decision_lines(report: BriefReport) -> tuple[str, ...]:
    """Return between what is to be decided, and what is open until then; nothing without a relay."""
    if not report.relays:
        return ()
    others = report.alternatives.others if report.alternatives else ()
    more = [each for each in others if each.fewer is not None and each.fewer <= -_SOMEBODY]
    instead = (
        tell(", or hill {rank} is looked into first, which would serve more", rank=more[0].hill.rank)
        if more
        else ""
    )
    over = report.coordination.held("over") if report.coordination else ()
    wanted = {
        "what it costs": not report.costs.given,
        "whether the signal arrives": report.feed_verdict != "passes",
        "whether the neighbour agrees": bool(over),
        tell("readings at {measuring} places", measuring=len(report.measuring)): bool(report.measuring),
    }
    missing = joined("; ", (words for words, open_yet in wanted.items() if open_yet))
    still = tell("; open until then: {missing}", missing=missing) if missing else ""
    return (
        tell(
            "Decide whether {relays_named} is built as the study has it{instead}{still}.",
            relays_named=relays_named(report),
            instead=instead,
            still=still,
        ),
    )


def next_lines(report: BriefReport) -> tuple[str, ...]:
    """Return which questions are open before anybody builds: licence, exposure, feed."""
    return (
        *decision_lines(report),
        *_coordination_lines(report),
        *_harm_questions(report),
        *_viewers_lines(report),
        *_exposure_lines(report),
        *_lacking_lines(report),
    )


def _coordination_lines(report: BriefReport) -> list[str]:
    if report.coordination_fault:
        return [
            tell(
                "Licence: the neighbour cannot be asked yet: {coordination_fault}.",
                coordination_fault=report.coordination_fault,
            )
        ]
    found = report.coordination
    if found is None:
        return ["Licence: no neighbour is named in the study; ask the authority whether there is one."]
    over, highest = len(found.held("over")), found.highest
    if over and highest is not None and highest.excess_db is not None:
        return [
            tell(
                "Licence: coordinate with the neighbour, and begin there. {over} of {fields} field "
                "strengths are over the trigger from which it has a say, {name} by up to "
                "{excess_db:.1f} dB at {words}.",
                over=over,
                fields=len(found.fields),
                name=highest.station.name,
                excess_db=highest.excess_db,
                words=highest.place.words,
            )
        ]
    if not found.asked.triggers:
        return ["Licence: fields at the neighbour are told by combe coordinate; no trigger is given."]
    unknown = len(found.held("not judged"))
    rest = tell(", and {unknown} are not judged", unknown=unknown) if unknown else ""
    return [
        tell(
            "Licence: none of {fields} fields at the neighbour is over the trigger{rest}.",
            fields=len(found.fields),
            rest=rest,
        )
    ]


def _viewers_lines(report: BriefReport) -> list[str]:
    """Return what the newly served need on their roofs, for one relay; of several each has its own."""
    if len(report.relays) != 1:
        return []
    relay = report.relays[0]
    channels = joined(", ", dict.fromkeys(f"{service.channel}" for service in relay.services))
    return [
        tell(
            "Viewers: tell them that they need an aerial towards {short}, {polarization}, "
            "for channels {channels}.",
            short=_short(relay.name),
            polarization=relay.polarization,
            channels=channels,
        )
    ]


def _harm_questions(report: BriefReport) -> list[str]:
    """Return whose agreement is wanted."""
    hit = [each for each in report.cover.harm if (each.fall_below or 0.0) >= _SOMEBODY]
    names = dict.fromkeys(each.station for each in hit)
    return (
        [tell("Licence: ask for the consent of those who radiate {few}.", few=_few([*names]))]
        if names
        else []
    )


def _lacking_lines(report: BriefReport) -> list[str]:
    """Return what to find out of the feeds, as much as there is room for."""
    told = [shortened(true_minus(words), _LONGEST_LACKING) for words in report.lacking]
    lines = [
        tell("Feed: find out what is not known: {words}", words=words)
        if words.endswith("…")
        else tell("Feed: find out what is not known: {words}.", words=words)
        for words in told
    ]
    more = len(lines) - _MOST_LACKING
    rest = [tell("Feed: {more} more that are not known, in the JSON.", more=more)] if more > 0 else []
    return [*lines[:_MOST_LACKING], *rest]


def _exposure_lines(report: BriefReport) -> list[str]:
    """Return how far the public keeps off, the farthest first."""
    known = [(each.distance_m, each.relay) for each in report.exposures if each.distance_m is not None]
    ranked = sorted(known, key=lambda each: -each[0])
    lines = []
    if ranked:
        told = _few(
            [
                tell("{short} {distance_m} m", short=_short(relay), distance_m=spoken(distance_m, 1))
                for distance_m, relay in ranked
            ]
        )
        lines.append(
            tell("Exposure: keep the public off the main beam: {told} (ICNIRP 2020, free space).", told=told)
        )
    faults = [
        tell("{relay}: {fault}", relay=each.relay, fault=each.fault)
        for each in report.exposures
        if each.fault
    ]
    return [*lines, *([tell("Exposure is not worked out of {few}.", few=_few(faults))] if faults else [])]


def _short(name: str) -> str:
    return shortened(name, LONGEST_NAME)


def _few(told: Sequence[str]) -> str:
    """Return some of a list in words, and how many more there are."""
    more = len(told) - _MOST_TOLD
    rest = tell("; and {more} more", more=more) if more > 0 else ""
    return chain(joined("; ", told[:_MOST_TOLD]), rest)


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
        each = _few(
            [
                tell("{short} {yearly}", short=_short(one.relay), yearly=spoken(one.yearly))
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
