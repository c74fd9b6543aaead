"""The document of a coverage: who is served before and after, what each station does, and what is left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import spoken, true_minus
from combe.publishing.document import Document, Part, Table, Words
from combe.publishing.fields import text
from combe.reports.by_system import system_sentences, system_table
from combe.reports.cover_form import (
    COLUMNS,
    FORM,
    HARM,
    MAY_LACK,
    MEMBERS,
    ON_ONE_FREQUENCY,
    SERVICE,
    UNSERVED,
    Covered,
    Settlement,
    districts_of,
)
from combe.reports.filled_ground import filled_parts
from combe.reports.how_sure import range_sentences, range_table
from combe.reports.season import season_parts, season_words
from combe.reports.study import study_named, unfed_part, way_sentence
from combe.words import chain, joined, tell

if TYPE_CHECKING:
    from combe.answers.cover import CoverReport
    from combe.answers.forecast import Forecast
    from combe.answers.network import Network
    from combe.answers.one_frequency import Radiated
    from combe.answers.season_change import SeasonChange
    from combe.planning import Harm
    from combe.reports.cover_files import CoverFiles

MOST_HARM: Final = 40
"""Pairs of a relay and a service that readers see, those with most harm; JSON has all of them."""


class _Radiated(NamedTuple):
    """When a station radiates a service of its network."""

    service: str
    station: str
    radiated: Radiated


_SOMEBODY: Final = 0.5
"""Fewer people are told as nobody."""

_MOST_NAMES: Final = 5
_SEVERAL: Final = 2
_NOT_JUDGED: Final = ("is not judged", "are not judged")


_COUNTS: Final = FORM["all_services"].only(*COLUMNS)
_SHOWN_SERVICE: Final = SERVICE.only(
    "name", "channel", "frequency_mhz", "erp_w", "minimum_field_dbuv_m", "cells", "people_served"
)
_SHOWN_SETTLEMENT: Final = UNSERVED.only(
    "longitude_deg", "latitude_deg", "people", "people_unserved", "missing_db", "worst_missing_db"
)
_SHOWN_FEED: Final = (
    text("", "relay", lambda pair: pair[0].relay),
    text("", "hears", lambda pair: pair[0].parent),
    text("", "service", lambda pair: pair[1].service),
    text("", "feed", lambda pair: pair[1].verdict),
    text("", "why", lambda pair: true_minus(pair[1].reason)),
)


def document(
    report: CoverReport,
    files: CoverFiles | None = None,
    other_season: SeasonChange | None = None,
    forecast: Forecast | None = None,
) -> Document:
    """Return the document of a coverage; its files are named where they were written."""
    asked = Covered(report, files, other_season, forecast)
    counted = [each for each in (report.all_services, *report.services) if each.people]
    parts: list[Part] = [*_remarks(report), *_file_remarks(files)]
    if counted:
        fields = (text("", "people", "name"), *_COUNTS)
        # In brief there is room for one table: settlements are there only where they were asked for.
        brief = report.unserved is None
        parts.append(Table("People", fields, tuple(counted), brief=brief, unless_zero=MAY_LACK))
    parts += _ways(report)
    if report.unserved is not None:
        parts.append(_settlements(asked.unserved or ()))
    if report.by_system:
        parts.append(system_table(report, counted=bool(counted)))
    parts += _ranges(counted)
    parts += [_by_district(each) for each in counted if each.districts]
    parts += _networks(report)
    parts += season_parts(other_season)
    parts += _harm(report)
    parts += _feeds(report)
    parts += filled_parts(report.filled)
    parts.append(_stations(asked))
    written = {"rasters": files.written} if files else {}
    return Document(
        form=FORM,
        answer=asked,
        title=tell("coverage, {provenance}", provenance=report.provenance["grid"]),
        headline=(
            people_sentence(report),
            *range_sentences(report.all_services.ranges, relays=report.compared),
            *system_sentences(report),
            *network_words(report),
            *_way_words(report),
            *season_words(report, other_season),
            *_harm_words(report),
            *_feed_words(report),
        ),
        parts=tuple(parts),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
        files={"map": files.map_page} if files else {},
        beside=written,
        of_this_run=_taken_up_words(report),
    )


def people_sentence(report: CoverReport) -> str:
    """Return the sentence that a reader in a hurry takes away."""
    people = report.all_services.people
    if people is None:
        return "No [people] section is in the study: nobody is counted."
    left = tell("{unserved} stay unserved", unserved=spoken(people.unserved))
    if (people.limited_by_interference or 0.0) >= _SOMEBODY:
        left += tell(
            ", {limited_by_interference} of them by interference",
            limited_by_interference=spoken(people.limited_by_interference),
        )
    if people.without_prediction >= _SOMEBODY:
        left += tell(
            ", and for {without_prediction} there is no prediction",
            without_prediction=spoken(people.without_prediction),
        )
    if not report.compared:
        return tell(
            "Of {total} people, {served} have all services; {left}.",
            total=spoken(people.total),
            served=spoken(people.served),
            left=left,
        )
    new = tell("{newly_served} of them newly", newly_served=spoken(people.newly_served))
    if (people.lost or 0.0) >= _SOMEBODY:
        new += tell(", while {lost} lose one", lost=spoken(people.lost))
    return tell(
        "Of {total} people, {served_before} have all services from the "
        "parents alone and {served} with the relays, {new}; {left}.",
        total=spoken(people.total),
        served_before=spoken(people.served_before),
        served=spoken(people.served),
        new=new,
        left=left,
    )


def _ranges(counted: Sequence[Network]) -> list[Part]:
    """Return the ranges of all counts, of each service and district by district."""
    if not counted:
        return []
    lost = any(each.people and (each.people.lost or 0.0) >= _SOMEBODY for each in counted)
    by_district = [
        range_table(
            tell("How sure, {name}, by district", name=each.name),
            "district",
            districts_of(each) or (),
            lost=lost,
        )
        for each in counted
        if each.districts
    ]
    return [range_table("How sure", "people", counted, lost=lost), *by_district]


def _way_words(report: CoverReport) -> tuple[str, ...]:
    """Return how many people the other ways of receiving serve; of one on the roof alone nothing is said."""
    first, *others = report.ways
    told = [
        tell("by {name}: {served}", name=each.name, served=spoken(each.people.served))
        for each in others
        if each.people
    ]
    if told:
        return (
            tell("All services {told}; all else is for {name}.", told=joined(", ", told), name=first.name),
        )
    return way_sentence(report.project)


def _ways(report: CoverReport) -> list[Part]:
    """Return the people in all services by each way of receiving, where there are several."""
    rows = tuple(each for each in report.ways if each.people)
    if len(rows) < _SEVERAL:
        return []
    fields = (text("", "way of receiving", "name"), *_COUNTS)
    return [Table("People with all services, by way of receiving", fields, rows, unless_zero=MAY_LACK)]


def _feed_words(report: CoverReport) -> tuple[str, ...]:
    """Return which relays count as fed though their feeds do not pass."""
    told = []
    for verdict, alone, several in (("fails", "fails", "fail"), ("not judged", *_NOT_JUDGED)):
        names = [each.relay for each in report.standings if each.verdict == verdict]
        more = tell(" and {names} more", names=len(names) - _MOST_NAMES) if len(names) > _MOST_NAMES else ""
        listed = chain(joined(", ", names[:_MOST_NAMES]), more)
        if len(names) == 1:
            told.append(
                tell(
                    "The feed of {listed} {alone}, and it counts as if it passed.", listed=listed, alone=alone
                )
            )
        elif names:
            told.append(
                tell(
                    "The feeds of {listed} {several}, and they count as if they passed.",
                    listed=listed,
                    several=several,
                )
            )
    return tuple(told)


def network_words(report: CoverReport) -> tuple[str, ...]:
    """Return what networks on one frequency give and take, of the service for which they do most."""
    counted = [each for each in report.on_one_frequency if each.people_served_by_sum is not None]
    if not counted:
        return ()
    most = max(counted, key=lambda each: (each.people_hurt or 0.0, each.people_served_by_sum or 0.0))
    return (
        tell(
            "On one frequency, {service}: {people_served_by_sum} people are served by the sum "
            "alone; echoes that receivers cannot use leave {people_hurt} unserved.",
            service=most.service,
            people_served_by_sum=spoken(most.people_served_by_sum),
            people_hurt=spoken(most.people_hurt),
        ),
    )


def _harm_words(report: CoverReport) -> tuple[str, ...]:
    """Return the worst that any relay does to the viewers of another station."""
    counted = [each for each in report.harm if (each.fall_below or 0.0) >= _SOMEBODY]
    if not counted:
        return ()
    worst = max(counted, key=lambda each: each.fall_below or 0.0)
    return (
        tell(
            "The worst harm: {relay} takes {service} of {station} from {fall_below} people.",
            relay=worst.relay,
            service=worst.service,
            station=worst.station,
            fall_below=spoken(worst.fall_below),
        ),
    )


def _remarks(report: CoverReport) -> list[Words]:
    """Return what has to be borne in mind of the counts."""
    remarks = [*unfed_part(report.standings, brief=True)]
    time_words = report.provenance.get("time of service", "")
    if time_words.startswith("not judged"):
        remarks.append(
            Words(
                (tell("Time of service: {time_words}", time_words=time_words),), "Time of service", brief=True
            )
        )
    if report.interference is None:
        words = "Outgoing harm: not looked at, since the study does not count interference"
        remarks.append(Words((words,), brief=True))
    elif report.interference and not report.harm:
        words = "Outgoing harm: no relay is on a channel that another station's viewers can hear"
        remarks.append(Words((words,), brief=True))
    return remarks


def _file_remarks(files: CoverFiles | None) -> list[Words]:
    """Return what files leave out or do not count."""
    if files is None:
        return []
    lines = [files.left_out] if files.left_out else []
    if files.share_rasters:
        lines.append("share_*.tif and the map's shares of places count noise alone")
    if files.judged_rasters:
        lines.append("share_with_interference_*.tif count noise and all other stations that may disturb")
    return [Words(tuple(lines), "What the files hold", brief=True)] if lines else []


def _settlements(found: Sequence[Settlement]) -> Part:
    title = "Settlements with people unserved, of all services"
    if not found:
        return Words(("There are none.",), title)
    return Table(
        title,
        (text("", "settlement", "name"), *_SHOWN_SETTLEMENT),
        tuple(found),
        note="missing would serve half of the unserved there, at worst all of them",
        brief=True,
    )


def _by_district(network: Network) -> Table:
    fields = (text("", "district", "name"), *_COUNTS)
    rows = tuple(districts_of(network) or ())
    return Table(tell("{name}, by district", name=network.name), fields, rows, unless_zero=MAY_LACK)


def _networks(report: CoverReport) -> list[Part]:
    """Return what each network on one frequency gives and takes, and when its stations radiate."""
    effects = report.on_one_frequency
    if not effects:
        return []
    shown = ON_ONE_FREQUENCY.only(
        "service", "channel", "people_served_by_sum", "people_hurt", "cells_served_by_sum", "cells_hurt",
        "gain_db", "spread_us",
    )  # fmt: skip
    times = tuple(
        _Radiated(each.service, one.station, one.radiated) for each in effects for one in each.members
    )
    delays = (text("", "service", "service"), *MEMBERS.fields)
    symbols = joined(
        "; ",
        dict.fromkeys(
            tell("{network}: {symbols}", network=each.network, symbols=each.symbols) for each in effects
        ),
    )
    return [
        Table("Networks on one frequency", shown, effects, note=symbols),
        Table("When their stations radiate", delays, times),
    ]


def _harm(report: CoverReport) -> list[Part]:
    """Return what each relay takes from viewers of other stations; nothing where none can disturb any."""
    if not report.harm:
        return []
    shown, rest = most_harmed(report.harm)
    title = "Outgoing harm: people whose station falls below the standard because of a relay"
    note = (
        tell("{rest} more pairs, {rest_words}, are in the JSON", rest=len(rest), rest_words=rest_words(rest))
        if rest
        else ""
    )
    return [Table(title, HARM.fields, tuple(shown), note=note, unless_zero=("not known",))]


def most_harmed(harm: Sequence[Harm]) -> tuple[Sequence[Harm], Sequence[Harm]]:
    """Return the pairs that readers see, all in their order if they are few, and the rest."""
    if len(harm) <= MOST_HARM:
        return harm, ()
    ranked = sorted(harm, key=lambda one: (-(one.fall_below or 0.0), -one.cells, -(one.not_known or 0.0)))
    return ranked[:MOST_HARM], ranked[MOST_HARM:]


def rest_words(rest: Sequence[Harm]) -> str:
    """Return what the pairs that readers do not see do; of people nothing where none are counted."""
    hit = tell("{value} of them with harm", value=sum(each.cells > 0 for each in rest))
    people = [each.fall_below for each in rest if each.fall_below is not None]
    return tell("{hit}, {people} people", hit=hit, people=spoken(sum(people))) if people else hit


def _feeds(report: CoverReport) -> list[Part]:
    """Return how the feed of each service of each relay stands."""
    rows = tuple((each, service) for each in report.standings for service in each.services)
    return [Table("Feeds of the relays", _SHOWN_FEED, rows)] if rows else []


def _stations(asked: Covered) -> Table:
    """Return what each service of each station covers."""
    rows = tuple(service for station in asked.stations for service in station.services)
    fields = (text("", "station", "covered.station"), *_SHOWN_SERVICE)
    return Table("Each station by itself, against all others", fields, rows)


def _taken_up_words(report: CoverReport) -> tuple[str, ...]:
    """Return what an earlier run of the same study had left; nothing where all was worked out now."""
    found = report.taken_up
    if not (found.sweeps_from_before or found.tiles_from_before):
        return ()
    return (
        tell(
            "taken up from an earlier run: {sweeps_from_before} of {sweeps} predictions, "
            "{tiles_from_before} of {tiles} judged tiles",
            sweeps_from_before=found.sweeps_from_before,
            sweeps=found.sweeps,
            tiles_from_before=found.tiles_from_before,
            tiles=found.tiles,
        ),
    )
