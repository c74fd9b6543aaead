"""The document of channels: what each output may take, whom it would harm, and what suits all at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.digits import spoken
from combe.publishing.document import Document, Form, Part, Section, Table, Words
from combe.publishing.fields import UNITS, Field, Mark, many, number, numbers, one, text, texts, whole
from combe.reports.forecast import FORECAST
from combe.reports.study import network_sentence, study_named, way_sentence
from combe.words import joined, shaped, tell

if TYPE_CHECKING:
    from combe.answers.channel_plan import ChannelPlan
    from combe.answers.channels import ChannelsReport
    from combe.planning.channels import HarmIn, JointHarm, OutputRanking, RankedChannel

NOBODY: Final = 0.5
"""Fewer people than this are none in words [people]."""


class Chosen(NamedTuple):
    """An output on a channel; without a plan there is none, and without a judgement nobody is counted."""

    output: OutputRanking
    channel: int | None
    own: HarmIn | None = None


class Together(NamedTuple):
    """Outputs on the air together, and what they do."""

    joint: JointHarm
    outputs: tuple[Chosen, ...]
    plan: ChannelPlan | None = None


def _proposed(report: ChannelsReport) -> tuple[Chosen, ...]:
    channels = report.plan.channels if report.plan else [None] * len(report.outputs)
    return tuple(Chosen(*pair) for pair in zip(report.outputs, channels, strict=True))


def _plan(report: ChannelsReport) -> Together | None:
    plan = report.plan
    return (
        None if plan is None else Together(plan.counted, _on_air(report, plan.counted, plan.channels), plan)
    )


def _present(report: ChannelsReport) -> Together:
    channels = [each.present_channel for each in report.outputs]
    return Together(report.present, _on_air(report, report.present, channels))


def _on_air(report: ChannelsReport, joint: JointHarm, channels: Sequence[int]) -> tuple[Chosen, ...]:
    return tuple(Chosen(*row) for row in zip(report.outputs, channels, joint.own, strict=True))


def _people(key: str, head: str, get: str = "", **more: Any) -> Field:
    """Return a number of people whose head tells what happens to them, with "people" below it."""
    return number(key, head, get, unit=UNITS["people"]._replace(name="people"), **more)


_OWN: Final = (
    _people("people_newly_served", "newly served", "own.newly_served", meaning="interference counted"),
    number(
        "people_hoped",
        "",
        "own.hoped",
        total=("people_newly_served", "people_denied"),
        meaning="newly served against noise alone",
    ),
    _people("people_denied", "harm in", "own.denied", meaning="of these, by interference"),
    number(
        "people_hoped_not_known",
        "",
        "own.not_known",
        meaning="of these, not denied as far as known: an interferer has no prediction there",
    ),
)
_HARM: Final = many(
    "harm",
    text("station", "station"),
    text("service", "service"),
    whole("channel", "ch"),
    _people("people", "harmed"),
    _people("people_not_known", "not known", "not_known"),
)
_JOINT: Final = (
    number("people_harmed", "", "joint.people_harmed", meaning="on the air together"),
    number("people_not_known", "", "joint.not_known"),
    many(
        "outputs",
        text("relay", "relay", "output.relay"),
        text("service", "service", "output.service"),
        whole("channel", "proposed"),
        *_OWN,
    ),
    replace(_HARM, get="joint.harm"),
)

_CHANNELS: Final = many(
    "channels",
    whole("channel", "channel"),
    number("frequency_mhz", "frequency"),
    number("people_harmed", "", total=("people_harmed_out", "people_denied"), meaning="out and in"),
    _people("people_harmed_out", "harm out", "harm_out"),
    *_OWN,
    _people("people_not_known", "not known", "not_known", meaning="these too"),
    _HARM,
    texts("cautions"),
    get="output.ranked",
    meaning="the best first",
)

FORM: Final = Form(
    "channels",
    (
        whole("places", "places"),
        number("people", "people"),
        number("people_left_out", "", "left_out", meaning="they live on voids"),
        many(
            "outputs",
            text("relay", "relay", "output.relay"),
            text("service", "service", "output.service"),
            number("erp_w", "ERP", "output.erp_w"),
            whole("present_channel", "study has", "output.present_channel"),
            whole("proposed_channel", "proposed", "channel", null="there is no plan"),
            _CHANNELS,
            many(
                "rejected",
                whole("channel", get=lambda row: row[0]),
                texts("reasons", get=lambda row: row[1]),
                get=lambda each: tuple(each.output.rejected.items()),
            ),
            get=_proposed,
        ),
        one(
            "plan",
            *_JOINT,
            number("people_summed", "", "plan.summed", meaning="as the assignment adds up"),
            many(
                "products",
                text("relay", get=lambda pair: pair[0]),
                numbers("outputs", lambda pair: sorted(pair[1].outputs)),
                whole("on_channel", get=lambda pair: pair[1].on_channel),
                get="plan.products",
            ),
            get=_plan,
            null="no assignment is possible",
        ),
        texts("refusal", meaning="why there is no plan, a line for each relay or output; else empty"),
        one("present", *_JOINT, get=_present, meaning="the channels of the study as it stands"),
        FORECAST,
    ),
    files=(("page", "without --html"),),
)

_RANKED: Final = (
    *_CHANNELS.only(
        "channel", "frequency_mhz", "people_harmed_out", "people_denied", "people_newly_served",
        "people_not_known",
    ),
    text("", "remarks", lambda each: _remarks(each)),
)  # fmt: skip
_REJECTED: Final = (
    text("", "channels", lambda row: joined(", ", map(str, row[0]))),
    text("", "why not", lambda row: joined("; ", row[1])),
)


def document(report: ChannelsReport, best: int = 6) -> Document:
    """Return the document of channels, with so many of the best of each output."""
    plan = _plan(report)
    parts: list[Part] = _plan_parts(report, plan) if plan else []
    for relay, outputs in groupby(_proposed(report), lambda each: each.output.relay):
        parts.append(_relay(relay, [each.output for each in outputs], best))
    if any(one.cautions for each in report.outputs for one in each.ranked):
        parts.append(Words((_group_words(),), "Aerial groups"))
    return Document(
        form=FORM,
        answer=report,
        title="output channels",
        headline=(
            *_headline(report),
            *way_sentence(report.project),
            *network_sentence(report.project),
        ),
        parts=tuple(parts),
        study=study_named(report.project, report.provenance),
        verdict=Mark("noted", "proposed") if plan else Mark("fails", "no assignment"),
        made_by=report.provenance,
    )


def _headline(report: ChannelsReport) -> tuple[str, ...]:
    counted = tell(
        "{people} people at {places} places", people=spoken(report.people), places=spoken(report.places)
    )
    if report.plan is None:
        return counted, *(tell("No assignment is possible. {why}", why=why) for why in report.refusal)
    joint, present = report.plan.counted, report.present
    by_plan, by_study = spoken(joint.people_harmed), spoken(present.people_harmed)
    harmed = tell(
        "{counted}. Harmed by the channels proposed, all on the air together: {by_plan}; by those of the "
        "study: {by_study} (a person counts once for each service)",
        counted=counted,
        by_plan=by_plan,
        by_study=by_study,
    )
    if max(joint.not_known, present.not_known) < NOBODY:
        return (harmed,)
    return harmed, (
        tell(
            "Not known, for an interferer has no prediction there: {not_known}; with the channels "
            "of the study: {not_known_2}",
            not_known=spoken(joint.not_known),
            not_known_2=spoken(present.not_known),
        )
    )


def _plan_parts(report: ChannelsReport, plan: Together) -> list[Part]:
    """Return the assignment, products that fall on an own output, and whom it harms."""
    joint = FORM["plan.outputs"].only("relay", "service", "channel", "people_newly_served", "people_denied")
    columns = (*joint[:2], *FORM["outputs"].only("present_channel"), *joint[2:])
    title = "Assignment that harms the fewest people"
    parts: list[Part] = [Table(title, columns, plan.outputs, brief=True)]
    if report.plan is not None and report.plan.products:
        lines = [
            tell(
                "{relay}: a third-order product of {str} falls on its own output {on_channel}",
                relay=relay,
                str=joined(", ", map(str, sorted(hit.outputs))),
                on_channel=hit.on_channel,
            )
            for relay, hit in report.plan.products
        ]
        parts.append(Words(tuple(lines), "Third-order products", listed=True))
    hurt = tuple(each for each in plan.joint.harm if max(each.people, each.not_known) >= NOBODY)
    if hurt:
        parts.append(Table("Whom the channels proposed harm", _HARM.fields, hurt, unless_zero=("not known",)))
    return parts


def _relay(relay: str, outputs: Sequence[OutputRanking], best: int) -> Section:
    """Return the channels of a relay's outputs; those rejected are the same for all of them."""
    parts = [_ranked(each, best) for each in outputs]
    why = sorted(outputs[0].rejected.items(), key=lambda row: row[1])
    rows = [([channel for channel, _ in some], told) for told, some in groupby(why, lambda row: row[1])]
    if rows:
        rows.sort(key=lambda row: row[0])
        parts.append(Table("Rejected", _REJECTED, tuple(rows)))
    return Section(relay, tuple(parts))


def _ranked(each: OutputRanking, best: int) -> Part:
    title = tell(
        "{service}, {erp_w:g} W; the study has channel {present_channel}",
        service=each.service,
        erp_w=each.erp_w,
        present_channel=each.present_channel,
    )
    if not each.ranked:
        return Words(("No channel is left.",), title)
    more = len(each.ranked) - best
    note = (
        tell("The best {best}; {more} more with another --best, or in the JSON.", best=best, more=more)
        if more > 0
        else ""
    )
    return Table(title, _RANKED, each.ranked[:best], note, unless_zero=("not known",))


def _remarks(each: RankedChannel) -> str:
    """Return whom a channel harms, and what else speaks against it, in short."""
    hurt = [
        tell(
            "harms {station} {service} on {channel}",
            station=one.station,
            service=one.service,
            channel=one.channel,
        )
        for one in each.harm
        if one.people >= NOBODY
    ]
    return joined("; ", [*hurt, *(shaped(told, _before_bracket) for told in each.cautions)])


def _before_bracket(words: str) -> str:
    return words.partition(" (")[0]


def _group_words() -> str:
    from combe.planning.channels import AERIAL_GROUPS, SOURCE

    groups = joined(
        ", ",
        (
            tell(
                "{name} {low_mhz:g} to {high_mhz:g} MHz",
                name=one.name,
                low_mhz=one.low_mhz,
                high_mhz=one.high_mhz,
            )
            for one in AERIAL_GROUPS
        ),
    )
    return tell("{groups}; {source}", groups=groups, source=SOURCE)
