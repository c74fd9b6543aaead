"""The sheet for the next visit, filled in by hand or on its page: cautions, distances, what to read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from combe.publishing.document import Document, Facts, Form, Part, Room, Section, Table, Words
from combe.publishing.fields import Field, Unit, blank, flag, many, number, one, text, whole
from combe.publishing.text import capital
from combe.reports.sheet_filling import VISIT_CAUTIONS, filling
from combe.reports.spectrum import SPECTRUM, spectrum_section
from combe.reports.study import study_named
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.visit import SheetReport, StationSheet
    from combe.planning import ComplianceDistance
    from combe.planning.visits import Reading, SheetRow

    Pair = tuple[ComplianceDistance, ComplianceDistance]

_AUDIENCES: Final = {"public": "the public", "occupational": "trained people at work"}
_METRES: Final = Unit("m", 1)
_LINES_OF_NOTES: Final = 4


def _source(each: SheetRow) -> str:
    from combe.standards import source_words

    return source_words(each.row)


FORM: Final = Form(
    "sheet",
    (
        text("log", get=lambda report: report.log.resolve(), meaning="path"),
        many(
            "stations",
            text("name", "station", "station.name"),
            whole("readings", "readings", lambda sheet: len(sheet.readings)),
            whole("checks", "checks", lambda sheet: len(sheet.checks)),
            many(
                "exposure",
                text("audience"),
                number("reflection_factor"),
                number("distance_m"),
                number("near_field_m", null="the size of the aerial is not given"),
                flag("in_near_field", null="the size of the aerial is not given"),
                text("standard"),
                text("caution"),
                get=lambda sheet: (*sheet.exposure, *sheet.exposure_reflected),
            ),
            text("exposure_fault", meaning="why there is none"),
            SPECTRUM,
            many(
                "rows",
                text("service", get="key.service"),
                text("test_point", get="key.test_point"),
                text("quantity", get="key.quantity"),
                text("unit", get="row.unit"),
                number("expected", null="nothing is predicted"),
                one(
                    "air",
                    number("fall_db"),
                    number("rise_db"),
                    null="the air does nothing to it",
                    meaning="how far the path falls for 99 % of an average year and rises for 1 %",
                ),
                number("record", get="record_value", null="none was taken yet"),
                number("lowest", null="no bound"),
                number("highest", null="no bound"),
                text("basis"),
                text("source", get=_source),
            ),
            get="sheets",
        ),
    ),
    files=(("page", ""), ("table", ""), ("index", "not written")),
)


def _place(sheet: StationSheet) -> str:
    lat, lon = sheet.station.latitude_deg, sheet.station.longitude_deg
    return tell(
        "{lat:.5f}° {hemisphere}, {lon:.5f}° {side}",
        lat=abs(lat),
        hemisphere="N" if lat >= 0.0 else "S",
        lon=abs(lon),
        side="E" if lon >= 0.0 else "W",
    )


def _radiates(sheet: StationSheet) -> str:
    return joined(
        " · ",
        (
            tell(
                "{name}, channel {channel}, {frequency_mhz:g} MHz, {erp_w:g} W ERP",
                name=each.name,
                channel=each.channel,
                frequency_mhz=each.frequency_mhz,
                erp_w=each.erp_w,
            )
            for each in sheet.station.services
        ),
    )


_FACTS: Final = (
    text("", "place (WGS 84)", _place),
    text("", "receives", lambda sheet: sheet.station.parent or "nothing off air"),
    text(
        "",
        "transmitting aerial",
        lambda sheet: tell(
            "{aerial_height_m:g} m above ground, {polarization}",
            aerial_height_m=sheet.station.aerial_height_m,
            polarization=sheet.station.polarization,
        ),
    ),
    text("", "radiates", _radiates),
)
_BLANKS: Final = tuple(
    map(blank, ("date, from, to", "who", "weather", "meters, each with its number and last calibration"))
)


def _near_field(pair: Pair) -> str:
    near_m = pair[0].near_field_m
    if near_m is None:
        return "not judged"
    return (
        tell("within its {near_m:.1f} m", near_m=near_m)
        if pair[0].in_near_field
        else tell("beyond its {near_m:.1f} m", near_m=near_m)
    )


_DISTANCES: Final = (
    text("", "in its main beam, at least", lambda pair: _AUDIENCES[pair[0].audience]),
    number("", "free space", lambda pair: pair[0].distance_m, unit=_METRES),
    number("", "with ground reflection", lambda pair: pair[1].distance_m, unit=_METRES),
    text("", "near field", _near_field),
)


def _kept(head: str, at: int, *, reflected: bool) -> Field:
    def distance(sheet: StationSheet) -> float | None:
        found = sheet.exposure_reflected if reflected else sheet.exposure
        return found[at].distance_m if found else None

    return number("", head, distance, unit=_METRES)


_KEPT: Final = (
    _kept("public", 0, reflected=False),
    _kept("public, reflected", 0, reflected=True),
    _kept("at work", 1, reflected=False),
    _kept("at work, reflected", 1, reflected=True),
)


def _bare(value: float | None, each: SheetRow) -> str:
    """Return a value without its unit, which stands with the name of the reading."""
    from combe.planning.visits import shown

    return "–" if value is None else shown(value, each.row, with_unit=False)


def _within(each: SheetRow) -> str:
    """Return between which values the reading is within tolerance, in words that no line parts."""
    low, high = each.lowest, each.highest
    if low is not None and high is not None:
        return tell("{bare}\u00a0to\u00a0{bare_2}", bare=_bare(low, each), bare_2=_bare(high, each))
    if low is not None:
        return tell("≥\u00a0{bare}", bare=_bare(low, each))
    return "–" if high is None else tell("≤\u00a0{bare}", bare=_bare(high, each))


def _quantity(each: SheetRow) -> str:
    unit = "" if each.row.unit in ("ratio", "count") else tell(" [{unit}]", unit=each.row.unit)
    return tell("{quantity}{unit}", quantity=each.row.quantity, unit=unit)


def _air(each: SheetRow) -> str:
    """Return what the air alone does to a reading."""
    return (
        ""
        if each.air is None
        else tell("air −{fall_db:.1f} +{rise_db:.1f}", fall_db=each.air.fall_db, rise_db=each.air.rise_db)
    )


def _day(reading: Reading | None) -> str:
    return "" if reading is None else f"{reading.date}"


_READINGS: Final = (
    text("", "where", "row.test_point", once=True),
    text("", "reading", _quantity, under="row.where", once=True),
    text(
        "",
        "service",
        lambda each: each.key.service or "–",
        under=lambda each: each.key.test_point if each.row.numbered else "",
    ),
    text("", "predicted", lambda each: _bare(each.expected, each), under=_air, right=True),
    text(
        "",
        "record",
        lambda each: _bare(each.record_value, each),
        under=lambda each: _day(each.record),
        right=True,
    ),
    text(
        "",
        "last visit",
        lambda each: _bare(each.last_value, each),
        under=lambda each: _day(each.last),
        right=True,
    ),
    text("", "within", _within, under="basis"),
    blank("read"),
)
_CHECKS: Final = (
    text("", "where", "key.test_point"),
    text("", "check", "row.quantity", under="row.where"),
    blank("ok", "☐"),
    blank("not ok", "☐"),
    blank("remark"),
)


def document(report: SheetReport) -> Document:
    """Return the sheet of each station for its next visit; on paper each begins a sheet of its own."""
    alone = len(report.sheets) == 1
    counts = tuple(
        tell(
            "{name}: {readings} readings and {checks} checks",
            name=each.station.name,
            readings=len(each.readings),
            checks=len(each.checks),
        )
        for each in report.sheets
    )
    return Document(
        form=FORM,
        answer=report,
        title="sheet for the next visit",
        headline=counts if alone else ("One sheet for each station; on paper each begins a page.",),
        parts=(
            *(() if alone else (_overview(report),)),
            *(
                part
                for each in report.sheets
                for part in (
                    _station(report, each, alone=alone),
                    *spectrum_section(each.spectrum, of="" if alone else each.station.name, new_sheet=True),
                )
            ),
        ),
        study=study_named(report.project, report.provenance),
        made_by=report.provenance,
    )


def _overview(report: SheetReport) -> Table:
    """Return how much there is to read at every station, and the distances to keep from its aerial."""
    return Table(
        "Stations, and distances from their transmitting aerials in the main beam",
        (*FORM["stations"].only("name", "readings", "checks"), *_KEPT),
        report.sheets,
        note="Reflected: with a ground reflection.",
        brief=True,
    )


def _station(report: SheetReport, sheet: StationSheet, *, alone: bool) -> Section:
    care = (Words(VISIT_CAUTIONS, "Before you begin", listed=True), _exposure(sheet, alone=alone))
    return Section(
        sheet.station.name,
        (
            Facts(_FACTS, sheet),
            Facts(_BLANKS, None),
            Section("", care, beside=True, framed=True),
            filling(report, sheet),
            Table("Readings", _READINGS, sheet.readings),
            Words((_sources(sheet.readings),)),
            Table("Checks", _CHECKS, sheet.checks),
            Room("Notes, repairs, what is to be done by whom", _LINES_OF_NOTES),
        ),
        new_sheet=True,
    )


def _exposure(sheet: StationSheet, *, alone: bool) -> Part:
    """Return the distances to keep from the aerial, all services summed, with their standard and caution."""
    title = "Distance from the transmitting aerial"
    if not sheet.exposure:
        why = sheet.exposure_fault or "no service is radiated"
        return Words((tell("Not worked out: {why}. Keep clear.", why=why),), title, brief=True)
    first, count = sheet.exposure[0], len(sheet.exposure[0].shares)
    services = "one service" if count == 1 else tell("all {count} services summed", count=count)
    cautions = joined("; ", dict.fromkeys(each.caution for each in sheet.exposure))
    near = (
        tell(
            "{services}, at full ERP. {standard}, whole body.",
            services=capital(services),
            standard=first.standard,
        ),
        tell(
            "Near field: {cautions}. Inside 2D²/λ of an aerial of length D these distances are a guide only: "
            "measure, or switch off.",
            cautions=cautions,
        ),
    )
    table = Table(
        title,
        _DISTANCES,
        tuple(zip(sheet.exposure, sheet.exposure_reflected, strict=True)),
        brief=alone,
    )
    return Section("", (table, Words(near)))


def _sources(rows: tuple[SheetRow, ...]) -> str:
    """Return where limits and tolerances are from."""
    from combe.standards import PRACTICE

    named = dict.fromkeys(
        tell("{quantity}: {source}", quantity=each.row.quantity, source=_source(each))
        for each in rows
        if each.row.reference != PRACTICE
    )
    return (
        joined("; ", (*named, tell("all other limits and tolerances: {practice}", practice=PRACTICE))) + "."
    )
