"""The document of a coverage: who is served before and after, what each station does, and what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from combe.digits import spoken, true_minus
from combe.publishing.document import Document, Form, Part, Table, Words
from combe.publishing.fields import UNITS, Field, flag, many, number, one, people, text, whole
from combe.reports.study import study_named

if TYPE_CHECKING:
    from pathlib import Path

    from combe.answers.cover import CoverReport, ServiceCoverage, StationCoverage
    from combe.answers.network import Network
    from combe.planning.harm import Harm
    from combe.planning.people_count import PeopleCount
    from combe.planning.settlements import UnservedSettlement
    from combe.reports.cover_files import CoverFiles
    from combe.stations.transmitter import Service

MOST_HARM: Final = 40
"""Pairs of a relay and a service that readers see, those with most harm; JSON has all of them."""

_SOMEBODY: Final = 0.5
"""Fewer people are told as nobody."""


@dataclass(frozen=True)
class _Covered:
    """A coverage with the files that it left, if any were written."""

    report: CoverReport
    files: CoverFiles | None

    @property
    def stations(self) -> tuple[_Station, ...]:
        return tuple(_Station(each, self.files) for each in self.report.stations)

    @property
    def map_left_out(self) -> str:
        return self.files.left_out if self.files else ""

    @property
    def unserved(self) -> tuple[_Settlement, ...] | None:
        found = self.report.unserved
        return None if found is None else tuple(_Settlement(n, each) for n, each in enumerate(found, 1))


@dataclass(frozen=True)
class _Station:
    covered: StationCoverage
    files: CoverFiles | None

    @property
    def services(self) -> tuple[_Service, ...]:
        radiated = self.covered.station.services
        pairs = zip(self.covered.services, radiated, strict=True)
        return tuple(_Service(each, service, self.files) for each, service in pairs)


class _Service(NamedTuple):
    """One service of one station with its rasters."""

    covered: ServiceCoverage
    radiated: Service
    files: CoverFiles | None


class _Counted(NamedTuple):
    """The people of a district, as those of a service stand in a network."""

    name: str
    people: PeopleCount


class _Settlement(NamedTuple):
    """A settlement, numbered by the people who lack a service."""

    number: int
    found: UnservedSettlement

    @property
    def name(self) -> str:
        return self.found.name or f"group {self.number}"


def _districts(network: Network) -> list[_Counted] | None:
    return [_Counted(*each) for each in network.districts] or None


def _at(percent: float, fields: Mapping[float, float]) -> float:
    return fields[percent]


def _raster(kind: str) -> Any:
    """Return how the path of a raster of a service is read."""

    def path(each: _Service) -> Path | None:
        if each.files is None:
            return None
        found: Path | None = getattr(each.files, kind).get((each.covered.station, each.covered.service))
        return found and found.resolve()

    return path


def _people(key: str, head: str, get: str = "", **more: Any) -> Field:
    return people(key, head, get, **{"null": "no people", **more})


def _count(key: str, head: str, name: str, meaning: str = "", null: str = "") -> Field:
    return _people(key, head, f"people.{name}", meaning=meaning, null=null or "no people")


_UNCOUNTED: Final = "no people, or interference is not counted"
_PEOPLE: Final = (
    _count("people_served", "served", "served"),
    _count("people_served_before", "served before", "served_before", "by parents alone"),
    _count("people_newly_served", "newly served", "newly_served"),
    _count("people_lost", "lost", "lost", "served before, not now"),
    _count("people_served_twice", "served twice", "served_twice", "by a second station too"),
    _count("people_unserved", "unserved", "unserved"),
    _count(
        "people_limited_by_interference", "by interference", "limited_by_interference",
        "of the unserved: noise alone would leave them served", _UNCOUNTED,
    ),
    _count(
        "people_interference_unknown", "interferer unknown", "interference_unknown",
        "served as far as known: an interferer has no prediction there", _UNCOUNTED,
    ),
    _count("people_without_prediction", "no prediction", "without_prediction"),
    _people(
        "people_total", "in all", "people.total",
        total=("people_served", "people_unserved", "people_without_prediction"),
    ),
)  # fmt: skip
_COLUMNS: Final = (
    *("people_served_before", "people_newly_served", "people_lost", "people_served", "people_served_twice"),
    *("people_unserved", "people_limited_by_interference", "people_interference_unknown"),
    *("people_without_prediction", "people_total"),
)
_MAY_LACK: Final = ("lost", "served twice", "by interference", "interferer unknown")
_DISTRICTS: Final = many(
    "districts",
    text("name", "district"),
    *_PEOPLE,
    get=_districts,
    null="the people have none",
    like="name, and the same",
)
_SERVICE: Final = many(
    "services",
    text("name", "service", "covered.service"),
    whole("channel", "ch", "covered.channel"),
    number("frequency_mhz", "frequency", "covered.frequency_mhz"),
    number("erp_w", "ERP", "radiated.erp_w"),
    number("minimum_field_dbuv_m", "minimum", "covered.minimum_field_dbuv_m"),
    one(
        "required_fields_dbuv_m",
        *(
            number(f"{percent}", get=partial(_at, percent), unit=UNITS["dbuv_m"])
            for percent in (50, 70, 95, 99)
        ),
        get="covered.required_fields_dbuv_m",
        meaning="median for so many % of places",
    ),
    whole("cells", "cells", "covered.cells", meaning="with a prediction"),
    number("sweep_s", get="covered.sweep_s", meaning="of the sweep that all services of the station share"),
    _people("people_served", "people served", "covered.people.served"),
    text("raster", get=_raster("rasters"), meaning="path", null="not written"),
    number(
        "field_at_a_place_dbuv_m", get="covered.minimum.at_a_place_dbuv_m",
        meaning="that a receiver needs at one place",
    ),
    number(
        "location_deviation_db", get="covered.minimum.location_deviation_db",
        meaning="scatter of the field over places",
    ),
    text(
        "probability_raster", get=_raster("share_rasters"), meaning="path, against noise alone",
        null="without --probability",
    ),
    text(
        "probability_with_interference_raster", get=_raster("judged_rasters"), meaning="path",
        null="without --probability, and where no station may disturb",
    ),
)  # fmt: skip
_HARM: Final = many(
    "harm",
    text("relay", "relay"),
    text("station", "harmed"),
    text("service", "service"),
    whole("channel", "ch"),
    whole("cells", "cells"),
    _people("people_fall_below", "fall below", "fall_below"),
    _people("people_served_otherwise", "served otherwise", "served_otherwise"),
    _people("people_left_without", "left without", "left_without"),
    _people("people_not_known", "not known", "not_known"),
    get=lambda asked: None if asked.report.interference is None else asked.report.harm,
    null="the study does not count interference",
)
_UNSERVED: Final = many(
    "unserved",
    text("name", "settlement", "found.name"),
    number("longitude_deg", "longitude", "found.longitude_deg", decimals=4),
    number("latitude_deg", "latitude", "found.latitude_deg", decimals=4),
    _people("people", "people", "found.people", null=""),
    _people("people_unserved", "unserved", "found.unserved", null=""),
    _people("people_without_prediction", "no prediction", "found.unknown", null=""),
    number("missing_db", "missing", "found.missing_db", meaning="would serve half of the unserved"),
    number("worst_missing_db", "at worst", "found.worst_missing_db", meaning="would serve all of them"),
    meaning="settlements, of all services",
    null="without --unserved, or no people",
)

FORM: Final = Form(
    "cover",
    (
        flag("invented", get="report.project.invented"),
        one(
            "grid",
            text("crs", get="crs_name"), number("cell_size_m"), whole("rows"), whole("columns"),
            get="report.grid",
        ),
        many(
            "stations",
            text("name", "station", "covered.station.name"),
            text("role", "role", "covered.station.role"),
            flag("from_cache", get="covered.from_cache"),
            _people("people_served_all_services", "served with all", "covered.people.served"),
            _SERVICE,
        ),
        one("all_services", *_PEOPLE, _DISTRICTS, get="report.all_services"),
        many(
            "services", text("name"), *_PEOPLE, _DISTRICTS,
            get="report.services", like="name, and as all_services",
        ),
        one(
            "taken_up",
            whole("sweeps"), whole("sweeps_from_before"), whole("tiles"), whole("tiles_from_before"),
            get="report.taken_up",
            meaning="what an earlier run of this study left, finished or not",
        ),
        many(
            "feeds",
            text("relay", "relay"), text("parent", "parent"),
            text("verdict", "verdict", meaning="passes, not judged or fails"),
            text("words", meaning="empty where it passes"),
            many("services", text("service", "service"), text("verdict", "verdict"), text("reason", "why")),
            get="report.standings",
        ),
        flag(
            "interference", get="report.interference",
            meaning="whether any two stations may disturb one another", null="the study does not count it",
        ),
        _HARM,
        _UNSERVED,
        text("map_left_out", meaning="fields that the map does not hold, in words; empty where it has all"),
    ),
    files=(("map", "not written"), ("page", "without --html")),
)  # fmt: skip

_COUNTS: Final = FORM["all_services"].only(*_COLUMNS)
_SHOWN_SERVICE: Final = _SERVICE.only(
    "name", "channel", "frequency_mhz", "erp_w", "minimum_field_dbuv_m", "cells", "people_served"
)
_SHOWN_SETTLEMENT: Final = _UNSERVED.only(
    "longitude_deg", "latitude_deg", "people", "people_unserved", "missing_db", "worst_missing_db"
)
_SHOWN_FEED: Final = (
    text("", "relay", lambda pair: pair[0].relay),
    text("", "hears", lambda pair: pair[0].parent),
    text("", "service", lambda pair: pair[1].service),
    text("", "feed", lambda pair: pair[1].verdict),
    text("", "why", lambda pair: true_minus(pair[1].reason)),
)


def document(report: CoverReport, files: CoverFiles | None = None) -> Document:
    """Return the document of a coverage; its files are named where they were written."""
    asked = _Covered(report, files)
    counted = [each for each in (report.all_services, *report.services) if each.people]
    parts: list[Part] = [*_remarks(report), *_file_remarks(files)]
    if counted:
        fields = (text("", "people", "name"), *_COUNTS)
        # In brief there is room for one table: settlements are there only where they were asked for.
        brief = report.unserved is None
        parts.append(Table("People", fields, tuple(counted), brief=brief, unless_zero=_MAY_LACK))
    if report.unserved is not None:
        parts.append(_settlements(asked.unserved or ()))
    parts += [_by_district(each) for each in counted if each.districts]
    parts += _harm(report)
    parts += _feeds(report)
    parts.append(_stations(asked))
    written = {"rasters": files.written} if files else {}
    return Document(
        form=FORM,
        answer=asked,
        title=f"coverage, {report.provenance['grid']}",
        headline=(*_people_words(report), *_feed_words(report)),
        parts=tuple(parts),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
        files={"map": files.map_page} if files else {},
        beside=written,
        of_this_run=_taken_up_words(report),
    )


def _people_words(report: CoverReport) -> tuple[str, ...]:
    """Return the sentences that a reader in a hurry takes away."""
    people = report.all_services.people
    if people is None:
        return ("No [people] section is in the study: nobody is counted.",)
    new = f"{spoken(people.newly_served)} of them newly"
    if (people.lost or 0.0) >= _SOMEBODY:
        new += f", while {spoken(people.lost)} lose one"
    left = f"{spoken(people.unserved)} stay unserved"
    if (people.limited_by_interference or 0.0) >= _SOMEBODY:
        left += f", {spoken(people.limited_by_interference)} of them by interference"
    if people.without_prediction >= _SOMEBODY:
        left += f", and for {spoken(people.without_prediction)} there is no prediction"
    return (
        f"Of {spoken(people.total)} people, {spoken(people.served_before)} have all services from the "
        f"parents alone and {spoken(people.served)} with the relays, {new}; {left}.",
    )


def _feed_words(report: CoverReport) -> tuple[str, ...]:
    """Return which relays count as fed though their feeds do not pass."""
    said = {"fails": "fails", "not judged": "is not judged"}
    return tuple(
        f"The feed of {each.relay} {said[each.verdict]}, and it counts as if it passed."
        for each in report.standings
        if each.verdict != "passes"
    )


def _remarks(report: CoverReport) -> list[Words]:
    """Return what has to be borne in mind of the counts."""
    remarks = []
    told = [f"{each.words[0].upper()}{each.words[1:]}." for each in report.standings if each.words]
    if told:
        remarks.append(Words(tuple(told), "Feeds that do not pass", listed=True, brief=True))
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


def _settlements(found: Sequence[_Settlement]) -> Part:
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
    rows = tuple(_districts(network) or ())
    return Table(f"{network.name}, by district", fields, rows, unless_zero=_MAY_LACK)


def _harm(report: CoverReport) -> list[Part]:
    """Return what each relay takes from viewers of other stations; nothing where none can disturb any."""
    if not report.harm:
        return []
    shown, rest = most_harmed(report.harm)
    title = "Outgoing harm: people whose station falls below the standard because of a relay"
    note = f"{len(rest)} more pairs, {rest_words(rest)}, are in the JSON" if rest else ""
    return [Table(title, _HARM.fields, tuple(shown), note=note, unless_zero=("not known",))]


def most_harmed(harm: Sequence[Harm]) -> tuple[Sequence[Harm], Sequence[Harm]]:
    """Return the pairs that readers see, all in their order if they are few, and the rest."""
    if len(harm) <= MOST_HARM:
        return harm, ()
    ranked = sorted(harm, key=lambda one: (-(one.fall_below or 0.0), -one.cells, -(one.not_known or 0.0)))
    return ranked[:MOST_HARM], ranked[MOST_HARM:]


def rest_words(rest: Sequence[Harm]) -> str:
    """Return what the pairs that readers do not see do; of people nothing where none are counted."""
    hit = f"{sum(each.cells > 0 for each in rest)} of them with harm"
    people = [each.fall_below for each in rest if each.fall_below is not None]
    return f"{hit}, {spoken(sum(people))} people" if people else hit


def _feeds(report: CoverReport) -> list[Part]:
    """Return how the feed of each service of each relay stands."""
    rows = tuple((each, service) for each in report.standings for service in each.services)
    return [Table("Feeds of the relays", _SHOWN_FEED, rows)] if rows else []


def _stations(asked: _Covered) -> Table:
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
        f"taken up from an earlier run: {found.sweeps_from_before} of {found.sweeps} predictions, "
        f"{found.tiles_from_before} of {found.tiles} judged tiles",
    )
