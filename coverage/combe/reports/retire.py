"""The document of relays that could go: who hangs on each, and what may close together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import spoken
from combe.publishing.document import Document, Facts, Form, Table, Words
from combe.publishing.fields import flag, many, number, people, text, texts
from combe.reports.study import study_named, unfed_headline, unfed_part, way_sentence
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.retire import RelayAlone, RetireReport


class Row(NamedTuple):
    """A relay with the verdict on its feed."""

    alone: RelayAlone
    feed: str | None


def _rows(report: RetireReport) -> tuple[Row, ...]:
    feeds = {each.relay: each.verdict for each in report.standings}
    return tuple(Row(each, feeds.get(each.station.name)) for each in report.relays)


_RELAYS: Final = many(
    "relays",
    text("name", "relay", "alone.station.name"),
    text("fed_by", "fed by", "alone.station.parent", null="the study does not say"),
    text("feed", "feed", null="the study does not say how it is fed"),
    texts("followers", "feeds", "alone.followers", meaning="relays that close with it, since it feeds them"),
    people("people_without", "people without", "alone.without", meaning="with every service now, not then"),
    number("running_cost", "running cost", "alone.running_cost", decimals=0, null="the study states none"),
    number(
        "spared", "spared", "alone.spared", decimals=0, meaning="with those that it feeds",
        null="the study states none",
    ),
    flag("closes", "can close", "alone.closes", meaning="one of the set"),
    get=_rows,
    meaning="one by one, the fewest people first",
)  # fmt: skip

FORM: Final = Form(
    "retire",
    (
        number("keep_percent", "have to keep", meaning="of the people with every service now"),
        people("people", "people with every service now"),
        texts("closed", get="closed", meaning="the set that can close together"),
        people(
            "people_kept", "people who keep it", "closing.people", meaning="at least: by who serves them now"
        ),
        people(
            "people_served_after", "with every service, judged anew", "served_after",
            meaning="the network without the set", null="nothing closes, or a service would be gone",
        ),
        many(
            "losses", text("service", "service"), people("people_now", "now", "now"),
            people("people_then", "then", "then"),
            meaning="services that fewer have once the set is closed; empty where it was not judged anew",
        ),
        flag("by_cost", meaning="running costs are spared, and not the number of relays"),
        number("spared", "spared", "closing.spared", decimals=0, meaning="relays or running costs"),
        number("spared_at_most", "at most", "closing.most", decimals=0, meaning="by any set, as proved"),
        number("gap", "not proved", "closing.gap", decimals=1),
        _RELAYS,
    ),
    files=(("page", "without --html"),),
)  # fmt: skip

_LOSSES: Final = FORM["losses"].fields
_SET: Final = (
    "keep_percent", "people", "people_kept", "people_served_after", "spared", "spared_at_most"
)  # fmt: skip
_SAFE: Final = (
    "Who would be left without is counted by who serves each place now, all stations on the air. A relay "
    "that closes disturbs nobody any more, so nobody else loses by it."
)


def document(report: RetireReport) -> Document:
    """Return the document of relays that could go."""
    priced = report.by_cost
    columns = _RELAYS.only(
        "name", "fed_by", "feed", "followers", "people_without",
        *(("running_cost", "spared") if priced else ()), "closes",
    )  # fmt: skip
    facts = tuple(FORM[key] for key in _SET)
    return Document(
        form=FORM,
        answer=report,
        title="relays that could go",
        headline=(*_headline(report), *way_sentence(report.project)),
        parts=(
            *unfed_part(report.standings),
            Table("Each relay by itself", columns, _rows(report), _SAFE, brief=True),
            Facts(facts, report, "The set that can close"),
            *((Table("Services that fewer have then", _LOSSES, report.losses),) if report.losses else ()),
            Words((_CHOICE,), "What this does not know"),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


_CHOICE: Final = (
    "People are counted, and not what a relay is to them: a village without any other way to be warned "
    "weighs here as much as a suburb. The choice is the network's owner's, and its authority's."
)


def _headline(report: RetireReport) -> tuple[str, ...]:
    told = tuple(line for line in _set_words(report) if line)
    return (*told, *unfed_headline(report.standings))


def _set_words(report: RetireReport) -> tuple[str, ...]:
    closed, closing, keep = (
        report.closed,
        report.closing,
        tell("{keep_percent:g} %", keep_percent=report.keep_percent),
    )
    whole = spoken(report.people)
    if not closed:
        least = report.relays[0]
        return (
            tell(
                "No relay can close while {keep} of {whole} people keep every service; on {name} "
                "hang {without}.",
                keep=keep,
                whole=whole,
                name=least.station.name,
                without=spoken(least.without),
            ),
        )
    count = (
        tell("{closed} of {relays} relays", closed=len(closed), relays=len(report.relays))
        if len(report.relays) > 1
        else "The relay"
    )
    spared = tell(" and spare {spared} a year", spared=spoken(closing.spared)) if report.by_cost else ""
    lost = spoken(report.people - closing.people)
    after = (
        "Without them a service is on the air no more."
        if report.served_after is None
        else tell(
            "Judged anew without them, {served_after} people have every service.",
            served_after=spoken(report.served_after),
        )
    )
    fewer = joined(
        "; ",
        (
            tell(
                "{service} {then}, now {now}",
                service=each.service,
                then=spoken(each.then),
                now=spoken(each.now),
            )
            for each in report.losses
        ),
    )
    unproved = (
        tell("Not proved the best: {gap} more at most.", gap=spoken(closing.gap, 1))
        if closing.gap > 1e-6
        else ""
    )
    return (
        tell(
            "{count} can close{spared}: {closed}. {lost} of {whole} people would be left without; "
            "{keep} have to keep every service.",
            count=count,
            spared=spared,
            closed=joined(", ", closed),
            lost=lost,
            whole=whole,
            keep=keep,
        ),
        after,
        tell("Fewer have single services then: {fewer}.", fewer=fewer) if fewer else "",
        unproved,
    )
