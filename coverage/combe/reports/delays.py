"""The document of static delays: who is served now, who would be, and what to set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from combe.digits import spoken
from combe.errors import quoted
from combe.publishing.document import Document, Facts, Form, Table, Words
from combe.publishing.fields import flag, many, number, people, text, texts, whole
from combe.reports.study import study_named, unfed_headline, unfed_part, way_sentence
from combe.words import Name, joined, tell

if TYPE_CHECKING:
    from combe.answers.delays import DelaysReport, MemberDelay

_MEMBERS: Final = many(
    "members",
    text("network", "network", "network"),
    text("station", "station", "station"),
    text(
        "repeats", "repeats", lambda each: each.now.heard or None,
        null="it gets the signal otherwise than off air on this channel",
    ),
    flag("kept", meaning="it was not changed, since the others are counted from it"),
    number("static_delay_now_us", "now", "now.static_us"),
    number("static_delay_advised_us", "advised", "advised.static_us"),
    number("searched_from_us", "from", "looked.least_us", null="kept"),
    number("searched_to_us", "to", "looked.greatest_us", null="kept"),
    number("radiated_now_us", "radiated now", "now.delay_us", meaning="after the time of the network"),
    number("radiated_advised_us", "radiated as advised", "advised.delay_us"),
    people(
        "people_one_us_off", "people 1 µs off", "people_beside",
        meaning="the fewest served with this delay 1 µs shorter or longer than advised",
        null="kept, or not tried",
    ),
    get="members",
)  # fmt: skip

FORM: Final = Form(
    "delays",
    (
        people("people", "people", meaning="in the cells of the grid"),
        people("people_now", "with every service now"),
        people("people_advised", "with the advised delays"),
        people(
            "people_served_after", "judged by coverage", "served_after",
            meaning="the advised delays judged as combe cover does", null="no other delay is advised",
        ),
        people(
            "people_at_most", "if every echo were of use",
            meaning="more than any delays can serve",
        ),
        texts("changed", get=lambda report: [each.station for each in report.changed],
              meaning="stations whose delay should be another"),
        whole("trials", "sets of delays tried"),
        whole("limit", "limit of trials"),
        flag("limit_reached", "ended by the limit", "exhausted"),
        _MEMBERS,
    ),
    files=(("page", "without --html"),),
)  # fmt: skip

_SEARCH: Final = (
    "people_now", "people_advised", "people_served_after", "people_at_most", "trials", "limit",
    "limit_reached",
)  # fmt: skip
_COLUMNS: Final = (
    "network", "station", "repeats", "static_delay_now_us", "static_delay_advised_us", "radiated_now_us",
    "radiated_advised_us", "people_one_us_off",
)  # fmt: skip

_LOOKED: Final = ("network", "station", "searched_from_us", "searched_to_us")

_RANGE: Final = (
    "Stations that radiate farther apart than the way between them and a guard interval meet in no window of "
    "a receiver, so no farther."
)
_NOTE: Final = (
    "Static delays, and times of radiation after the time of the network. A relay that repeats another "
    "station radiates later by the way from there and by what it takes itself, and can only wait."
)
_LIMITS: Final = (
    "The search is bounded: one delay at a time, from coarse steps down to 1 µs. It is not proved "
    "that no other delays serve more.",
    "Static delays are set to ±1 µs at best; the last column tells who is served when one is off by that.",
    "Measured times decide: what transmitters, links and relays take is as the study tells, and differs from "
    "set to set. Measure before and after a delay is changed.",
    "A station that waits longer does so for everybody. Whoever receives it is without a picture while it is "
    "changed, and all of a network are changed together.",
    "Delays are those of whole stations, alike for all of their services.",
)


def document(report: DelaysReport) -> Document:
    """Return the document of static delays."""
    notes = tuple(tell("{item}.", item=each) for each in report.notes)
    return Document(
        form=FORM,
        answer=report,
        title="static delays on one frequency",
        headline=(*_headline(report), *way_sentence(report.project)),
        parts=(
            *unfed_part(report.standings),
            Table("Delays [µs]", _MEMBERS.only(*_COLUMNS), report.members, _NOTE, brief=True),
            *((Words(_for_study(report), "For the study"),) if report.changed else ()),
            Table("Looked for within [µs]", _MEMBERS.only(*_LOOKED), report.members, _RANGE),
            Facts(tuple(FORM[key] for key in _SEARCH), report, "The search"),
            *((Words(notes, "Networks that delays do not help", listed=True),) if notes else ()),
            Words(_LIMITS, "What this does not know", listed=True),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


def _headline(report: DelaysReport) -> tuple[str, ...]:
    return (*_people_words(report), _search_words(report), *unfed_headline(report.standings))


def _people_words(report: DelaysReport) -> tuple[str, ...]:
    now = tell(
        "{people_now} of {people} people have every service now",
        people_now=spoken(report.people_now),
        people=spoken(report.people),
    )
    if not report.changed:
        return (tell("{now}; no delays were found that serve more.", now=now),)
    sets = joined(
        ", ", (tell("{station} {us}", station=each.station, us=_us(each)) for each in report.changed)
    )
    after = (
        ""
        if report.served_after is None
        else tell(" Judged by coverage: {served_after}.", served_after=spoken(report.served_after))
    )
    return (
        tell(
            "{now}; with the advised delays {people_advised}. Set: {sets}.",
            now=now,
            people_advised=spoken(report.people_advised),
            sets=sets,
        ),
        tell("Static delays are set to ±1 µs; measured times decide.{after}", after=after),
    )


def _us(member: MemberDelay) -> str:
    return tell(
        "{number} µs (now {number_2})",
        number=_number(member.advised.static_us),
        number_2=_number(member.now.static_us),
    )


def _number(value_us: float) -> str:
    return spoken(value_us, 0 if value_us == round(value_us) else 1)


def _search_words(report: DelaysReport) -> str:
    if report.trials == 0:
        return "More is not to be had: all who are left would be unserved if every echo were of use."
    tried = tell("A bounded search, not proved the best: {sets} of delays tried", sets=_sets(report.trials))
    if report.exhausted:
        return tell(
            "{tried}, then the limit ended it; try more with --trials {limit}.",
            tried=tried,
            limit=2 * report.limit,
        )
    return tell(
        "{tried} of {limit} allowed; at most {people_at_most} could be served.",
        tried=tried,
        limit=report.limit,
        people_at_most=spoken(report.people_at_most),
    )


def _sets(count: int) -> str:
    return tell("{count} set", count=count) if count == 1 else tell("{count} sets", count=count)


def _for_study(report: DelaysReport) -> tuple[str, ...]:
    """Return the line of each network for the study file."""
    return tuple(
        tell(
            "{name}: static_delay_us = {{ {pairs} }}",
            name=network.name,
            pairs=_pairs(network.static_delay_us),
        )
        for network in report.advised.networks
        if network not in report.project.networks
    )


def _pairs(delays_us: Mapping[str, float]) -> str:
    # A line to be copied, the same in every language.
    return Name(", ".join(f"{quoted(name)} = {delay_us:.1f}" for name, delay_us in delays_us.items()))
