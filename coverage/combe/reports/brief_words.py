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
    then = (
        f"{spoken(people.served)} of {spoken(people.total)} then have them, {spoken(people.unserved)} do not"
    )
    if not report.relays:
        return f"People: {then.replace(' then have them', ' have all services')}."
    ranges = range_words(network.ranges.newly_served) if network.ranges else None
    sure = f" ({ranges}, {OF_TEN})" if ranges else ""
    whom = f"to whom {relays_named(report)} newly brings all services"
    if network.ranges and range_remarks(network):
        expected = spoken(network.ranges.newly_served.expected)
        return (
            f"People: count on {expected}{sure} newly with all services; the map, each place "
            f"as predicted, counts {spoken(people.newly_served)}: {then}."
        )
    return f"People: {spoken(people.newly_served)}{sure} {whom}; {then}."


def relays_named(report: BriefReport) -> str:
    """Return the relay by its name, several together."""
    return report.relays[0].name if len(report.relays) == 1 else f"the set of {len(report.relays)} relays"


def feed_line(report: BriefReport) -> str:
    """Return the verdict over all feeds, with the service that decides it."""
    if report.feed_verdict is None:
        return "Feed: the study has no relay."
    if not report.feeds:
        return f"Feed: {report.feed_verdict}; {'; '.join(report.lacking)}."
    if report.feed_verdict == "passes":
        return f"Feed: passes{_year_words(report)}. {_weakest_words(report)}"
    first = report.feeds[0]
    why = "; ".join(first.service.judged.not_judged or report.lacking)
    if first.service.verdict == "fails":
        why = f"{first.relay}, {first.service.received.name}: {limit_words(first)}"
    return f"Feed: {report.feed_verdict}, and coverage counts as if it passed. {capital(true_minus(why))}."


def _weakest_words(report: BriefReport) -> str:
    """Return the service with least margin over what is asked."""
    least = min(report.feeds, key=_over_asked_db)
    budget = least.service.budget
    whose = f"{least.relay}, " if len(report.relays) > 1 else ""
    return (
        f"The weakest service, {whose}{least.service.received.name}, stands "
        f"{telling(budget.margin_db, budget.required_margin_db, 1)} dB over its need for "
        f"{budget.time_percent:g} % of it; {budget.required_margin_db:g} dB are asked."
    )


def _year_words(report: BriefReport) -> str:
    """Return for how much of an average year every service arrives."""
    years = [each.service.year for each in report.feeds]
    known = [(year.stands_for.percent, year.share) for year in years if year.stands_for]
    # One that is not known could be the least.
    return f", for {min(known)[1]} of an average year" if known and len(known) == len(years) else ""


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
        whole = f"{spoken(lost)} people" if lost >= _SOMEBODY else "nobody"
        return f"Harm: {whole} who had all services before would lose one. {_worst_words(worst)}"
    if not cover.harm:
        return (
            "Harm: none to viewers; no relay is on a channel that another station's viewers can hear."
            f"{_neighbour_words(report)}"
        )
    return (
        f"Harm: nobody falls below the standard, so far as interference is counted.{_neighbour_words(report)}"
    )


def _neighbour_words(report: BriefReport) -> str:
    """Return that a neighbour has a say, where it has: no harm is found there, and none is looked for."""
    found = report.coordination
    over = found.held("over") if found else ()
    return " The neighbour has to be asked." if over else ""


def _worst_words(worst: Harm) -> str:
    return (
        f"At worst {worst.relay} takes {worst.service} of {worst.station} from {spoken(worst.fall_below)}, "
        f"and {spoken(worst.left_without)} of them get it from nobody."
    )


def limit_words(each: FeedOfService) -> str:
    """Return what limits a feed, and by how much it is right or short."""
    if math.isnan(each.spare_db):
        return f"{LIMITS[each.limit]}, by how much is not known"
    left = "to spare" if each.spare_db >= 0.0 else "short"
    return f"{LIMITS[each.limit]}, {telling(abs(each.spare_db), 0.0, 1)} dB {left}"


def uncertain_lines(report: BriefReport) -> tuple[str, ...]:
    """Return what is uncertain, and by how much."""
    cover, found = report.cover, []
    network = cover.all_services
    if network.ranges is not None:
        ranges, with_relays = network.ranges, " with the relays" if report.relays else ""
        found.append(
            f"{capital(OF_TEN)} {range_words(ranges.served)} people are served{with_relays}, and "
            f"{range_words(ranges.unserved)} are not."
        )
        found += range_remarks(network)
    found.append(
        f"The prediction of a whole area is typically off by {cover.error.common_db:.1f} dB, that of one "
        f"place by {cover.error.place_db:.1f} dB more (standard deviations)."
    )
    if report.in_doubt:
        told = ", ".join(
            f"{_short(each.name)} ({spoken(each.low)} to {spoken(each.high)} served)"
            for each in report.in_doubt
        )
        found.append(f"Most in doubt: {told}.")
    return (*found, *network_words(cover), *_unknown_lines(report), *_ground_lines(report))


def _unknown_lines(report: BriefReport) -> list[str]:
    """Return of whom nothing is known."""
    people, found = report.cover.all_services.people, []
    if people is not None and people.without_prediction >= _SOMEBODY:
        found.append(f"For {spoken(people.without_prediction)} people there is no prediction.")
    if people is not None and (people.interference_unknown or 0.0) >= _SOMEBODY:
        found.append(
            f"{spoken(people.interference_unknown)} people count as served though an interferer has no "
            "prediction where they live."
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
        found.append(f"Left out, for they are off the air: {', '.join(report.project.off_air)}.")
    if report.project.invented:
        found.append("The stations are invented, and so are the people, where there are any.")
    return found


def decision_lines(report: BriefReport) -> tuple[str, ...]:
    """Return between what is to be decided, and what is open until then; nothing without a relay."""
    if not report.relays:
        return ()
    others = report.alternatives.others if report.alternatives else ()
    more = [each for each in others if each.fewer is not None and each.fewer <= -_SOMEBODY]
    instead = f", or hill {more[0].hill.rank} is looked into first, which would serve more" if more else ""
    over = report.coordination.held("over") if report.coordination else ()
    wanted = {
        "what it costs": not report.costs.given,
        "whether the signal arrives": report.feed_verdict != "passes",
        "whether the neighbour agrees": bool(over),
        f"readings at {len(report.measuring)} places": bool(report.measuring),
    }
    missing = "; ".join(words for words, open_yet in wanted.items() if open_yet)
    still = f"; open until then: {missing}" if missing else ""
    return (f"Decide whether {relays_named(report)} is built as the study has it{instead}{still}.",)


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
        return [f"Licence: the neighbour cannot be asked yet: {report.coordination_fault}."]
    found = report.coordination
    if found is None:
        return ["Licence: no neighbour is named in the study; ask the authority whether there is one."]
    over, highest = len(found.held("over")), found.highest
    if over and highest is not None and highest.excess_db is not None:
        return [
            f"Licence: coordinate with the neighbour, and begin there. {over} of {len(found.fields)} field "
            f"strengths are over the trigger from which it has a say, {highest.station.name} by up to "
            f"{highest.excess_db:.1f} dB at {highest.place.words}."
        ]
    if not found.asked.triggers:
        return ["Licence: fields at the neighbour are told by combe coordinate; no trigger is given."]
    unknown = len(found.held("not judged"))
    rest = f", and {unknown} are not judged" if unknown else ""
    return [f"Licence: none of {len(found.fields)} fields at the neighbour is over the trigger{rest}."]


def _viewers_lines(report: BriefReport) -> list[str]:
    """Return what the newly served need on their roofs, for one relay; of several each has its own."""
    if len(report.relays) != 1:
        return []
    relay = report.relays[0]
    channels = ", ".join(dict.fromkeys(f"{service.channel}" for service in relay.services))
    return [
        f"Viewers: tell them that they need an aerial towards {_short(relay.name)}, {relay.polarization}, "
        f"for channels {channels}."
    ]


def _harm_questions(report: BriefReport) -> list[str]:
    """Return whose agreement is wanted."""
    hit = [each for each in report.cover.harm if (each.fall_below or 0.0) >= _SOMEBODY]
    names = dict.fromkeys(each.station for each in hit)
    return [f"Licence: ask for the consent of those who radiate {_few([*names])}."] if names else []


def _lacking_lines(report: BriefReport) -> list[str]:
    """Return what to find out of the feeds, as much as there is room for."""
    told = [shortened(true_minus(words), _LONGEST_LACKING) for words in report.lacking]
    lines = [
        f"Feed: find out what is not known: {words}{'' if words.endswith('…') else '.'}" for words in told
    ]
    more = len(lines) - _MOST_LACKING
    rest = [f"Feed: {more} more that are not known, in the JSON."] if more > 0 else []
    return [*lines[:_MOST_LACKING], *rest]


def _exposure_lines(report: BriefReport) -> list[str]:
    """Return how far the public keeps off, the farthest first."""
    known = [(each.distance_m, each.relay) for each in report.exposures if each.distance_m is not None]
    ranked = sorted(known, key=lambda each: -each[0])
    lines = []
    if ranked:
        told = _few([f"{_short(relay)} {spoken(distance_m, 1)} m" for distance_m, relay in ranked])
        lines.append(f"Exposure: keep the public off the main beam: {told} (ICNIRP 2020, free space).")
    faults = [f"{each.relay}: {each.fault}" for each in report.exposures if each.fault]
    return [*lines, *([f"Exposure is not worked out of {_few(faults)}."] if faults else [])]


def _short(name: str) -> str:
    return shortened(name, LONGEST_NAME)


def _few(told: Sequence[str]) -> str:
    """Return some of a list in words, and how many more there are."""
    more = len(told) - _MOST_TOLD
    return f"{'; '.join(told[:_MOST_TOLD])}{f'; and {more} more' if more > 0 else ''}"


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
        each = _few([f"{_short(one.relay)} {spoken(one.yearly)}" for one in costs.relays])
        together = f"; together {spoken(costs.total)}" if len(costs.relays) > 1 else ""
        found.append(f"Running costs a year: {each}{together}; {_each_words(costs.each_person)}.")
    if costs.sites is not None:
        found.append(f"To build, once: {spoken(costs.sites)}; {_each_words(costs.sites_each_person)}.")
    return tuple(found)


def _each_words(each: float | None) -> str:
    told = "not known" if each is None else spoken(each, 2)
    return f"for each person newly served {told}"


def own_place_words(found: Alternatives) -> str:
    """Return what the search found of the relay's own place, by which the others are held."""
    if found.own is None:
        return true_minus(found.own_words)
    own = found.own
    return (
        f"other hills by their people; the search gives {own.name} at its own place {spoken(own.people)} "
        f"newly served, and by the search's own receiving aerial {spoken(own.feed_margin_db, 1)} dB of margin"
    )
