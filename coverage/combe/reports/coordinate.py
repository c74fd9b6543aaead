"""The document of a coordination: fields at a neighbour's places, over their triggers, and what has to go."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from combe.digits import rounded_up
from combe.publishing.document import Document, Form, Picture, Section, Table, Words
from combe.publishing.fields import Mark, flag, many, mark, number, text, texts, whole
from combe.reports.profile import profile_picture
from combe.reports.study import study_named
from combe.words import joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.coordinate import CoordinateReport
    from combe.planning import FieldThere, Sector

LISTED: Final = 100
"""Fields that a table shows, the highest first; JSON and files hold all."""

_LOOKS: Final = {
    "over": "fails",
    "under": "noted",
    "under even in free space": "noted",
    "no trigger": "noted",
}

_DECIDES: Final = "An estimate over the terrain: the method of the agreement decides."


def _held(there: FieldThere) -> Mark:
    return Mark(_LOOKS.get(there.held, "not judged"), there.held)


_EXCESS: Final = number(
    "excess_db", "over", signed=True, limit=0.0, meaning="field less trigger",
    null="not judged, or no trigger",
)  # fmt: skip
_NOT_JUDGED: Final = "it is not judged"
_FIELDS: Final = many(
    "fields",
    whole("place_number", "", "number", meaning="of the places in their order, from 1"),
    text("place", "place", "place.words"),
    number("longitude_deg", "", "place.longitude_deg"),
    number("latitude_deg", "", "place.latitude_deg"),
    text("station", "station", "station.name"),
    text("service", "service", "service.name"),
    whole("channel", "ch", "service.channel"),
    number("frequency_mhz", "", "service.frequency_mhz"),
    number("distance_km", "distance", decimals=1),
    number("bearing_deg", "bearing", decimals=0, meaning="from the station"),
    number("erp_towards_dbw", "", null=_NOT_JUDGED),
    number("field_dbuv_m", "field", null=_NOT_JUDGED),
    number(
        "at_most_dbuv_m", "at most", meaning="what it cannot be over by the model, whatever the ground",
        null="the field is judged, or the model sets no bound",
    ),
    number("trigger_dbuv_m", "trigger", null="none is given for its frequency"),
    _EXCESS,
    mark("held", "held", _held, meaning="over, under, under even in free space, not judged or no trigger"),
    text("reason", "reason", lambda there: there.reason or None, null="it is judged"),
    get="fields",
    meaning="every service at every place; the highest over its trigger first, those not judged last",
)  # fmt: skip
_SECTORS: Final = many(
    "sectors",
    text("station", "station", "station.name", once=True),
    number("from_deg", "from", decimals=0),
    number("to_deg", "to", decimals=0),
    whole("places", "places"),
    whole("fields_not_judged", "not judged", "not_judged", meaning="fields there of which nothing is known"),
    text("service", "service", "highest.service.name", null="none is judged"),
    number("distance_km", "at", "highest.distance_km", decimals=1, null="none is judged"),
    number("field_dbuv_m", "field", "highest.field_dbuv_m", null="none is judged"),
    number("excess_db", "over", signed=True, limit=0.0, null="none is judged, or no trigger"),
    number(
        "reduction_db", "reduction", meaning="that brings every judged field there to its trigger",
        null="none is judged, or no trigger",
    ),
    number("pattern_db", "pattern now", meaning="towards the highest field", null="none is judged"),
    number(
        "pattern_needed_db", "pattern needed", meaning="at the power as it is", null="as reduction_db"
    ),
    number(
        "erp_allowed_dbw", "ERP allowed", meaning="of the highest service, that just meets its trigger",
        null="as reduction_db",
    ),
    get="sectors",
    meaning="what goes into each sector of bearings from a station that has places",
)  # fmt: skip
_SUMS: Final = many(
    "sums",
    whole("channel", "ch"),
    number("frequency_mhz", "", lambda each: each.parts[0].service.frequency_mhz),
    texts("stations", "stations", lambda each: [part.station.name for part in each.parts]),
    text("place", "place", "place.words"),
    number("field_dbuv_m", "together", meaning="sum of powers"),
    number("excess_db", "over", signed=True, limit=0.0, null="no trigger"),
    whole("left_out", "places left out", meaning="where not all of them are judged"),
    get="sums",
    meaning="stations of one channel together, where that is highest",
)

FORM: Final = Form(
    "coordinate",
    (
        number("time_percent", "", "asked.time_percent", meaning="for which fields are exceeded"),
        number("height_m", "", "asked.height_m", meaning="of the receiving aerial above ground"),
        number("spacing_km", "", "asked.spacing_km"),
        whole("places", "", lambda report: len(report.places)),
        whole("field_count", "", lambda report: len(report.fields), meaning="services of stations at places"),
        whole("over", "", lambda report: len(report.held("over")), meaning="fields over their trigger"),
        whole("not_judged", "", lambda report: len(report.held("not judged"))),
        whole("under_in_free_space", "", lambda report: len(report.held("under even in free space"))),
        flag("has_triggers", "", lambda report: bool(report.asked.triggers)),
        _SECTORS,
        _SUMS,
        _FIELDS,
    ),
    files=(("page", "without --html"), ("csv", "without --csv"), ("gpkg", "without --gpkg")),
)

_COLUMNS: Final = (
    "place", "station", "service", "channel", "distance_km", "bearing_deg", "field_dbuv_m", "trigger_dbuv_m",
    "excess_db",
)  # fmt: skip
_UNKNOWN: Final = (
    "place", "station", "service", "distance_km", "at_most_dbuv_m", "trigger_dbuv_m", "held", "reason"
)  # fmt: skip
_SECTOR_COLUMNS: Final = (
    "station", "from_deg", "to_deg", "places", "fields_not_judged", "service", "excess_db", "pattern_db",
    "pattern_needed_db", "erp_allowed_dbw",
)  # fmt: skip


def document(report: CoordinateReport, listed: int = LISTED) -> Document:
    """Return the document of a coordination; ``listed`` fields stand in each table."""
    judged = tuple(each for each in report.fields if each.field_dbuv_m is not None)
    unknown = report.fields[len(judged) :]
    return Document(
        form=FORM,
        answer=report,
        title=tell_number(
            len(report.places),
            "fields at {count} place for coordination",
            "fields at {count} places for coordination",
        ),
        headline=_headline(report),
        parts=(
            *_highest_table(judged),
            *_towards(report),
            *_pictures(report),
            *_table("Fields, the highest first", _COLUMNS, judged, listed),
            *_sums(report),
            *_table("Not judged", _UNKNOWN, unknown, listed),
            Words(_LIMITS, "What this does not know", listed=True),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


_LIMITS: Final = (
    "Agreements name their own method, terrain data and table of values, and these decide; a field under its "
    "trigger here is no leave to go on the air.",
    "Between the points of a line the field may be higher: take a smaller spacing.",
    "Each field is exceeded for that time by itself. A sum of several takes them all at once, and is on the "
    "high side.",
)


def _headline(report: CoordinateReport) -> tuple[str, ...]:
    lines = (_highest_words(report), _counts(report), *_reductions(report), _DECIDES)
    return tuple(line for line in lines if line)


def _highest_words(report: CoordinateReport) -> str:
    highest = report.highest
    if highest is None:
        return tell("No field is judged: {next}.", next=next(iter(report.reasons), ""))
    service = tell(
        "{name} {name_2} (ch {channel})",
        name=highest.station.name,
        name_2=highest.service.name,
        channel=highest.service.channel,
    )
    field = tell(
        "{field_dbuv_m:.1f} dB(µV/m) at {words}", field_dbuv_m=highest.field_dbuv_m, words=highest.place.words
    )
    if highest.excess_db is None:
        return tell("Highest: {service}, {field}; no trigger is given for it.", service=service, field=field)
    return tell(
        "Highest: {service}, {field}, {over_words}.",
        service=service,
        field=field,
        over_words=_over_words(highest),
    )


def _over_words(there: FieldThere) -> str:
    assert there.excess_db is not None, "it has a trigger"
    side = "over" if there.held == "over" else "under"
    return tell("{excess_db:.1f} dB {side}", excess_db=abs(there.excess_db), side=side)


def _counts(report: CoordinateReport) -> str:
    """Say how many fields are over, not judged, or bounded."""
    total, unknown, bounded = (
        len(report.fields), len(report.held("not judged")), len(report.held("under even in free space"))
    )  # fmt: skip
    fields = tell_number(total, "{count} field", "{count} fields")
    over = tell("{held} of {fields} over the trigger", held=len(report.held("over")), fields=fields)
    parts = [over if report.asked.triggers else tell("{fields}, held against no trigger", fields=fields)]
    parts += [tell("{unknown} not judged", unknown=unknown)] if unknown else []
    parts += (
        [tell("{bounded} without terrain and under even in free space", bounded=bounded)] if bounded else []
    )
    return tell(
        "{parts}; {time_percent:g} % of time, {height_m:g} m up.",
        parts=joined("; ", parts),
        time_percent=report.asked.time_percent,
        height_m=report.asked.height_m,
    )


def _reductions(report: CoordinateReport) -> tuple[str, ...]:
    """Say by how much each station is over, and towards where."""
    told = []
    for station in report.stations:
        over = [
            each for each in report.sectors if each.station is station and (each.reduction_db or 0.0) > 0.0
        ]
        if over:
            most = max(each.reduction_db or 0.0 for each in over)
            least = " at least" if any(each.not_judged for each in over) else ""
            told.append(
                tell(
                    "{name}{least} {most} dB less towards {bearings}",
                    name=station.name,
                    least=least,
                    most=rounded_up(most),
                    bearings=_bearings(over),
                )
            )
    return (tell("To meet it: {told}.", told=joined("; ", told)),) if told else ()


def _bearings(sectors: Sequence[Sector]) -> str:
    """Return sectors as ranges of bearings, those that meet put together, over north as well."""
    runs: list[list[float]] = []
    for each in sectors:
        if runs and runs[-1][1] == each.from_deg:
            runs[-1][1] = each.to_deg
        else:
            runs.append([each.from_deg, each.to_deg])
    if len(runs) > 1 and runs[0][0] == 0.0 and runs[-1][1] == 360.0:
        runs[0][0] = runs.pop()[0]
    return joined(", ", (tell("{low:.0f} to {high:.0f}°", low=low, high=high) for low, high in runs))


def _highest_table(judged: Sequence[FieldThere]) -> tuple[Table, ...]:
    """Return the highest field of each service of each station."""
    first = {(each.station.name, each.service.name): each for each in reversed(judged)}
    rows = tuple(each for each in judged if first[each.station.name, each.service.name] is each)
    columns = _FIELDS.only(*_COLUMNS)
    return (Table("Where each service is highest", columns, rows, brief=True),) if rows else ()


def _towards(report: CoordinateReport) -> tuple[Table, ...]:
    note = (
        "The highest field of each sector over its trigger: by so much the power into it has to fall. The "
        "pattern needed keeps the power as it is; the ERP allowed is that of the service told."
    )
    columns = _SECTORS.only(*_SECTOR_COLUMNS)
    return (Table("Towards each bearing", columns, report.sectors, note),)


def _table(title: str, columns: Sequence[str], rows: Sequence[FieldThere], listed: int) -> tuple[Table, ...]:
    if not rows:
        return ()
    note = (
        tell("{listed} of {rows}; JSON, CSV and GeoPackage hold all.", listed=listed, rows=len(rows))
        if len(rows) > listed
        else ""
    )
    return (Table(title, _FIELDS.only(*columns), tuple(rows[:listed]), note),)


def _sums(report: CoordinateReport) -> tuple[Table, ...]:
    if not report.sums:
        return ()
    columns = tuple(each for each in _SUMS.fields if each.head)
    return (Table("Stations of one channel together", columns, report.sums, "By the sum of their powers."),)


def _pictures(report: CoordinateReport) -> tuple[Section | Picture, ...]:
    """Return the profile to the highest field, and for each station what goes into which sector."""
    path, highest = report.highest_path, report.highest
    if path is None or highest is None:
        return ()
    profile = profile_picture(path, highest.service.name, "The way to the highest field")
    around = tuple(_around(report, name) for name in dict.fromkeys(_known(report.sectors)))
    return (profile, *((Section("Over the trigger, by bearing", around),) if around else ()))


def _known(sectors: Iterable[Sector]) -> list[str]:
    return [each.station.name for each in sectors if each.excess_db is not None]


def _around(report: CoordinateReport, station: str) -> Picture:
    own = [each for each in report.sectors if each.station.name == station]
    words = joined(
        "; ",
        (
            tell(
                "{from_deg:.0f} to {to_deg:.0f}°: {excess_db:+.1f} dB",
                from_deg=each.from_deg,
                to_deg=each.to_deg,
                excess_db=each.excess_db,
            )
            for each in own
            if each.excess_db is not None
        ),
    )
    return Picture(
        lambda: _drawn(own),
        tell("{station}, dB over the trigger by bearing: {words}.", station=station, words=words),
        station,
    )


def _drawn(sectors: Sequence[Sector]) -> str:
    from combe.publishing.sector_diagram import SectorBar, sectors_svg

    return sectors_svg([SectorBar(each.from_deg, each.to_deg, each.excess_db) for each in sectors])
