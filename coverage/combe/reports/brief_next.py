"""What the brief says is to be done next: where to measure, whom to ask, what to find out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from combe.digits import spoken, true_minus
from combe.publishing.text import shortened
from combe.reports.brief_form import LONGEST_NAME
from combe.words import chain, joined, tell

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport


_SOMEBODY: Final = 0.5
_MOST_TOLD: Final = 2
"""Of a list that may be long in a large network."""

_MOST_LACKING: Final = 1

_LONGEST_LACKING: Final = 180
"""So much of it takes two lines; JSON has it whole."""


def relays_named(report: BriefReport) -> str:
    """Return the relay by its name, several together."""
    return (
        report.relays[0].name
        if len(report.relays) == 1
        else tell("the set of {relays} relays", relays=len(report.relays))
    )


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
            short=short(relay.name),
            polarization=relay.polarization,
            channels=channels,
        )
    ]


def _harm_questions(report: BriefReport) -> list[str]:
    """Return whose agreement is wanted."""
    hit = [each for each in report.cover.harm if (each.fall_below or 0.0) >= _SOMEBODY]
    names = dict.fromkeys(each.station for each in hit)
    return (
        [tell("Licence: ask for the consent of those who radiate {few}.", few=few([*names]))] if names else []
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
        told = few(
            [
                tell("{short} {distance_m} m", short=short(relay), distance_m=spoken(distance_m, 1))
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
    return [*lines, *([tell("Exposure is not worked out of {few}.", few=few(faults))] if faults else [])]


def short(name: str) -> str:
    """Return a name as long as a sheet has room for."""
    return shortened(name, LONGEST_NAME)


def few(told: Sequence[str]) -> str:
    """Return some of a list in words, and how many more there are."""
    more = len(told) - _MOST_TOLD
    rest = tell("; and {more} more", more=more) if more > 0 else ""
    return chain(joined("; ", told[:_MOST_TOLD]), rest)
