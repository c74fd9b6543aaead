"""The document of a brief: two sheets to decide by, and behind them every input to repeat the work by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from combe.publishing.document import Document, Facts, Part, Picture, Section, StudyNamed, Table, Words
from combe.publishing.fields import Field, as_told, text
from combe.publishing.text import shortened
from combe.reports.brief_appendix import MOST_FEEDS, MOST_GROUPS, PEOPLE, appendix
from combe.reports.brief_form import (
    FEEDS,
    FORM,
    LONGEST_NAME,
    MEASURING,
    OTHERS,
    SETTLEMENTS,
    Briefed,
    reading_name,
)
from combe.reports.brief_next import next_lines
from combe.reports.brief_words import (
    cost_lines,
    feed_line,
    harm_line,
    limit_words,
    own_place_words,
    people_line,
    uncertain_lines,
)
from combe.reports.cover_form import HARM, UNSERVED, districts_of
from combe.reports.study import network_sentence, study_named, way_sentence
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport

__all__ = ["FORM", "document"]

LONGEST_NOTE: Final = 200
MOST_HARM: Final = 3
"""Pairs of a relay and a service that the sheets have room for; JSON and the page of cover have all."""

_SOMEBODY: Final = 0.5
_OF_THREE: Final = 18
"""Of a name where three stand in a row."""


def document(report: BriefReport) -> Document:
    """Return the document of a brief."""
    asked = Briefed(report)
    return Document(
        form=FORM,
        answer=asked,
        title="brief for a decision",
        headline=(people_line(report), feed_line(report), harm_line(report)),
        parts=(
            Section("", _first_sheet(asked), new_sheet=True),
            Section("", _second_sheet(asked), new_sheet=True),
            Section(
                "Appendix: what this rests on, so that it can be repeated", appendix(asked), appendix=True
            ),
        ),
        study=_study(report),
        made_by=report.provenance,
    )


def _study(report: BriefReport) -> StudyNamed:
    """Return the name of the study; of a long note the beginning, for the appendix has all of it."""
    named = study_named(report.project, report.provenance)
    return replace(named, note=shortened(named.note, LONGEST_NOTE))


def _brief_name(field: Field, longest: int = LONGEST_NAME) -> Field:
    """Return a name so short that a row stays a line or two; the appendix and JSON have it whole."""
    return text("", field.head, lambda row: shortened(field.of(row), longest))


def _first_sheet(asked: Briefed) -> tuple[Part, ...]:
    report = asked.report
    picture = Picture(lambda: _drawn(report), _described(report), "Where")
    return (
        Section("", (picture, Section("", tuple(_who(asked)))), beside=True),
        *_feeds(report),
        *_remarks(report),
    )


def _second_sheet(asked: Briefed) -> tuple[Part, ...]:
    report = asked.report
    return (
        *_harmed(report),
        *_elsewhere(report),
        Words(cost_lines(report), "What it costs"),
        Words(uncertain_lines(report), "What is uncertain", listed=True),
        Words(next_lines(report), "What to do next", listed=True),
        *_measure(report),
    )


def _drawn(report: BriefReport) -> str:
    from combe.publishing.served_picture import served_svg
    from combe.reports.brief_map import picture_of

    return served_svg(picture_of(report))


def _described(report: BriefReport) -> str:
    from combe.reports.brief_map import described

    return described(report)


def _who(asked: Briefed) -> list[Part]:
    """Return the people in all services: all of them, by district, and by settlement."""
    report = asked.report
    network = report.cover.all_services
    if network.people is None:
        return [Words(("Nobody is counted.",), "Who is served")]
    parts: list[Part] = [
        Facts(FORM["all_services"].only(*_counted(report), "people_total"), network, title="Who is served"),
    ]
    counted = FORM["all_services"].only(
        "people_newly_served", "people_lost", "people_unserved", "people_total"
    )
    districts = districts_of(network)
    if districts:
        ranked = sorted(districts, key=lambda each: -(each.people.newly_served or 0.0))
        fields = (_brief_name(text("", "district", "name")), *_short(counted))
        parts.append(_cut("By district", fields, ranked, MOST_GROUPS))
    return [*parts, *_settlements(asked)]


def _counted(report: BriefReport) -> tuple[str, ...]:
    """Return what is told of the people; without a relay nobody is newly served, nor loses anything."""
    return PEOPLE if report.relays else ("people_served", "people_unserved")


def _short(fields: tuple[Field, ...]) -> tuple[Field, ...]:
    """Return fields of people under short heads, for half a sheet."""
    heads = {"newly served": "newly", "in all": "people"}
    return tuple(as_told(each, heads.get(each.head, each.head)) for each in fields)


def _settlements(asked: Briefed) -> list[Part]:
    report = asked.report
    if report.settlements:
        (name, *rest) = SETTLEMENTS.only("name", "people", "served", "newly_served", "lost", "unserved")
        fields = (_brief_name(name), *rest)
        return [_cut("By settlement", fields, report.settlements, MOST_GROUPS)]
    if not asked.unserved:
        return []
    fields = (text("", "settlement", "name"), *UNSERVED.only("people", "people_unserved", "missing_db"))
    note = "missing: by how much a stronger field would serve half of them"
    return [_cut("Who stays unserved", fields, asked.unserved, MOST_GROUPS, note)]


def _cut(
    title: str,
    fields: tuple[Field, ...],
    rows: Sequence[Any],
    most: int,
    note: str = "",
    *,
    brief: bool = False,
    where: str = "appendix",
) -> Table:
    """Return a table of the first rows, which says how many more there are, and where."""
    left = len(rows) - most
    told = joined(
        "; ",
        filter(None, (note, tell("{left} more in the {where}", left=left, where=where) if left > 0 else "")),
    )
    shown = tuple(rows[:most])
    return Table(title, fields, shown, note=told, brief=brief, unless_zero=("lost", "no prediction"))


def _feeds(report: BriefReport) -> list[Part]:
    if not report.feeds:
        return []
    several = len(report.relays) > 1
    keys = ("verdict", "receiver_input_dbm", "margin_db", "required_margin_db", "time_percent")
    fields = (
        *(map(_brief_name, FEEDS.only("relay")) if several else ()),
        *map(_brief_name, FEEDS.only("service")),
        *FEEDS.only(*keys),
        text("", "what limits it", limit_words),
    )
    note = (
        "level: at the relay's receiver; margin: over the carrier-to-noise ratio that the service needs, in "
        "the worst time that is asked"
    )
    return [_cut("Does the signal arrive", fields, report.feeds, MOST_FEEDS, note, brief=True)]


def _harmed(report: BriefReport) -> list[Part]:
    """Return who loses by it: whose viewers, of which service."""
    hit = sorted(report.cover.harm, key=lambda each: -(each.fall_below or 0.0))
    hit = [each for each in hit if (each.fall_below or 0.0) >= _SOMEBODY]
    keys = (
        "relay",
        "station",
        "service",
        "people_fall_below",
        "people_served_otherwise",
        "people_left_without",
    )
    names, counts = HARM.only(*keys[:3]), HARM.only(*keys[3:])
    fields = (*(_brief_name(each, _OF_THREE) for each in names), *counts)
    return [_cut("Who loses", fields, hit, MOST_HARM, where="JSON")] if hit else []


def _remarks(report: BriefReport) -> list[Part]:
    """Return by which way of receiving all is judged, and what the search of hills knows nothing of."""
    known = network_sentence(report.project) if report.alternatives else ()
    told = (*way_sentence(report.project), *known)
    return [Words(told)] if told else []


def _elsewhere(report: BriefReport) -> list[Part]:
    """Return the best other places and why not; or that they were not looked for."""
    title = "Could it stand elsewhere"
    found = report.alternatives
    if found is None:
        words = "Not looked into: the study has no [siting]."
        if report.project.siting is not None:
            words = "Not looked into here: ask again with --alternatives, which tries every hill."
        return [Words((words,), title)]
    if not found.others:
        return [Words(("No other hill is worth anything by the search.",), title)]
    priced = report.site is not None and report.site.work.search.has_costs
    known = ("rank", "people", "people_harmed", "feed_verdict", "judged_margin_db")
    keys = (*known, *(("cost",) if priced else ()), "words")
    note = own_place_words(found)
    return [Table(title, OTHERS.only(*keys), found.others, note=note, unless_zero=("harmed",))]


def _measure(report: BriefReport) -> list[Part]:
    if not report.measuring:
        return []
    note = (
        "The prediction hardly tells whether the people in doubt are served, so a reading there tells most."
    )
    called = {id(each): reading_name(number) for number, each in enumerate(report.measuring)}
    on_map = text("", "on the map", lambda place: called[id(place)])
    fields = (on_map, *MEASURING.only("place", "people", "people_in_doubt", "margin_db"))
    return [Table("Where to measure", fields, report.measuring, note=note)]
