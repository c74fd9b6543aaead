"""The document of a visit: what is out, what drifts, every comparison, and a trend picture per reading."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from combe.digits import spoken, true_minus
from combe.publishing.document import Document, Form, Part, Picture, Section, Table, Words
from combe.publishing.fields import Mark, flag, many, mark, number, one, text, whole
from combe.publishing.text import capital
from combe.reports.study import study_named
from combe.words import joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.visit import VisitReport
    from combe.planning.visits import Against, Comparison, Judgement
    from combe.publishing.trend_diagram import TrendDrawing

LOOKS: Final = {"not judged": "noted", "within tolerance": "passes", "drifting": "drifts", "out": "fails"}
"""How the verdict on a reading looks. One of which no tolerance is known is no fault and no doubt."""


def _steps(each: Judgement) -> list[dict[str, Any]] | None:
    if each.row.scale == "check" or each.row.tolerance is None:
        return None
    days = [reading.date for reading in each.readings]
    return [{"from": days[step.index - 1], "to": days[step.index], "size": step.size} for step in each.steps]


def _comparisons(each: Judgement) -> list[dict[str, Any]]:
    return [{"found": found, "unit": each.row.compared_in} for found in each.comparisons]


def _count(status: str) -> Callable[[VisitReport], int]:
    return lambda report: sum(each.status == status for each in report.judgements)


_JUDGEMENTS: Final = many(
    "judgements",
    text("station", get="key.station"),
    text("service", get="key.service", meaning="empty where the reading is of none"),
    text("test_point", get="key.test_point"),
    text("quantity", get="key.quantity"),
    text("date", get="latest.date"),
    number("value"),
    text("unit", get="row.unit", meaning="of value, expected, record and last"),
    number("expected", null="nothing is predicted"),
    one(
        "air",
        number("fall_db"),
        number("rise_db"),
        null="the air does nothing to it",
        meaning="how far the path falls for 99 % of an average year and rises for 1 %, ITU-R P.2001-4",
    ),
    number("record", get="record_value"),
    text("record_on", get=lambda each: each.readings[each.record].date),
    flag("commissioned", meaning="the record is of a commissioning, and not just the first visit"),
    number("last", get="last_value", null="there was one visit alone"),
    text("last_on", get="last.date", null="there was one visit alone"),
    text("note", get="latest.note", meaning="remark on the latest reading"),
    text("photos", get="latest.photos", meaning="names of its photographs"),
    text("visit_note", get="latest.visit_note", meaning="remark on the whole visit"),
    text("status"),
    text("reason"),
    many(
        "comparisons",
        text("against", get="found.against"),
        number("difference", get="found.difference", null="with a limit, or none can be told"),
        text("difference_unit", get="unit"),
        text("status", get="found.status"),
        flag("decides", get="found.decides"),
        text("words", get="found.words"),
        get=_comparisons,
    ),
    many(
        "steps",
        text("from"),
        text("to"),
        number("size"),
        get=_steps,
        null="no tolerance is known",
    ),
    one(
        "drift",
        number("per_year", get="slope"),
        number("low", get="slope_low"),
        number("high", get="slope_high"),
        number("chance"),
        flag("significant"),
        get="trend",
        null="not judged, or no tolerance is known",
    ),
)

FORM: Final = Form(
    "visit",
    (
        text("log", get=lambda report: report.log.resolve(), meaning="path"),
        text("status", meaning="the most urgent one"),
        flag("stored"),
        whole("taken", get=lambda report: len(report.taken), meaning="readings from the file"),
        text("first_day", get="first_day", null="nothing was taken"),
        text("last_day", get="last_day", null="nothing was taken"),
        whole("rows_left_blank", meaning="of the sheet"),
        one(
            "counts",
            *(whole(name.replace(" ", "_"), get=_count(name)) for name in reversed(LOOKS)),
            get=lambda report: report,
            meaning="of readings by their status",
        ),
        _JUDGEMENTS,
    ),
    files=(("page", ""), ("index", "not written")),
)


def _name(each: Judgement) -> str:
    """Return what a reading is of, in words: test point, quantity, service."""
    service = tell(" of {service}", service=each.key.service) if each.key.service else ""
    return tell(
        "{test_point}, {quantity}{service}",
        test_point=each.key.test_point,
        quantity=each.key.quantity,
        service=service,
    )


def _shown(value: float | None, each: Judgement) -> str:
    from combe.planning.visits import shown

    return "–" if value is None else shown(value, each.row)


def _found(each: Judgement, against: Against) -> Comparison | None:
    return next((found for found in each.comparisons if found.against == against), None)


def _difference(against: Against) -> Callable[[Judgement], str]:
    """Return what says how far a reading is from what it is compared with."""

    def words(each: Judgement) -> str:
        from combe.planning.visits import difference_words, tolerance_words

        found = _found(each, against)
        told = [difference_words(each.row, found, each.air)] if found else []
        if against == "prediction" and found and each.air:
            told.append(
                tell("air -{fall_db:.1f} +{rise_db:.1f}", fall_db=each.air.fall_db, rise_db=each.air.rise_db)
            )
        if against == "commissioning":
            told += [tolerance_words(each.allowed)] if found else []
            told = [joined(", ", told)] if told else []
            told += [] if each.commissioned or len(each.values) == 1 else ["first visit"]
        return true_minus(joined("\n", told))

    return words


def _record(each: Judgement) -> str:
    """Return the record, or a dash where it is the very reading."""
    return _shown(each.record_value if len(each.values) > 1 else None, each)


def _drift(each: Judgement) -> str:
    from combe.planning.visits import drift_words

    return drift_words(each, yearly=False)


_COLUMNS: Final = (
    text("", "reading", "key.test_point", under="key.quantity"),
    text("", "service", lambda each: each.key.service or "–"),
    text("", "value", lambda each: _shown(each.value, each), under="latest.date", right=True),
    text(
        "", "predicted", lambda each: _shown(each.expected, each), under=_difference("prediction"), right=True
    ),
    text("", "record", _record, under=_difference("commissioning"), right=True),
    text(
        "",
        "last visit",
        lambda each: _shown(each.last_value, each),
        under=_difference("last visit"),
        right=True,
    ),
    text("", "drift a year", _drift),
    mark("", "verdict", lambda each: Mark(LOOKS[each.status], each.status)),
)


_NOTED: Final = (
    text("", "reading", "key.test_point", under="key.quantity"),
    text("", "service", lambda each: each.key.service or "–"),
    text("", "date", "latest.date"),
    text("", "remark", lambda each: each.latest.note or "–"),
    text("", "photographs", lambda each: each.latest.photos or "–"),
)


def document(report: VisitReport) -> Document:
    """Return the document of a visit, or of a look into the log."""
    stations = dict.fromkeys(each.key.station for each in report.judgements)
    amiss = [each for each in report.judgements if each.status in ("out", "drifting")]
    urgent = sorted(amiss, key=lambda each: each.status != "out")
    reasons = Words(
        tuple(_reason(each, with_station=len(stations) > 1) for each in urgent),
        "Out or drifting",
        listed=True,
        brief=True,
    )
    return Document(
        form=FORM,
        answer=report,
        title="site visits",
        headline=_headline(report),
        parts=(
            *((reasons,) if urgent else ()),
            *(
                _section(name, tuple(each for each in report.judgements if each.key.station == name))
                for name in stations
            ),
        ),
        study=study_named(report.project, report.provenance),
        verdict=Mark(LOOKS[report.status], report.status),
        made_by=report.provenance,
        next_words=(tell("stored: {log}", log=report.log),) if report.stored else (),
    )


def _headline(report: VisitReport) -> tuple[str, ...]:
    counted = [(status, _count(status)(report)) for status in reversed(LOOKS)]
    counts = joined(
        ", ",
        (tell("{count} {status}", count=spoken(count), status=status) for status, count in counted if count),
    )
    return tell("{status}; {taken}", status=capital(report.status), taken=_taken(report)), tell(
        "{counts}.", counts=counts
    )


def _taken(report: VisitReport) -> str:
    """Return what was taken in, in words."""
    first, last = report.first_day, report.last_day
    if first is None:
        return tell("the latest reading of every series in {name}.", name=report.log.name)
    span = f"{first}" if first == last else tell("{first} to {last}", first=first, last=last)
    stored = tell("stored in {name}", name=report.log.name) if report.stored else "not stored"
    blank = (
        tell("; {rows_left_blank} rows of the sheet were left blank", rows_left_blank=report.rows_left_blank)
        if report.rows_left_blank
        else ""
    )
    count = len(report.taken)
    return tell_number(
        count,
        "{count} reading of {span}, {stored}{blank}.",
        "{count} readings of {span}, {stored}{blank}.",
        span=span,
        stored=stored,
        blank=blank,
    )


def _reason(each: Judgement, *, with_station: bool) -> Mark:
    where = tell("{station}: ", station=each.key.station) if with_station else ""
    return Mark(
        LOOKS[each.status],
        tell(
            "{where}{name} {status}: {reason}",
            where=where,
            name=_name(each),
            status=each.status,
            reason=true_minus(each.reason),
        ),
    )


def _section(station: str, judgements: tuple[Judgement, ...]) -> Section:
    pictures = tuple(_picture(each) for each in judgements if _is_drawn(each))
    trends = pictures or (Words(("No reading was taken on more than one day yet.",)),)
    return Section(
        station,
        (
            Table("Readings", _COLUMNS, judgements, brief=True),
            *_remarks(judgements),
            Section("Trends", trends, beside=bool(pictures)),
        ),
    )


def _remarks(judgements: tuple[Judgement, ...]) -> tuple[Part, ...]:
    """Return what was remarked of the latest visits and readings, and their photographs; nothing without."""
    said = dict.fromkeys(
        tell("{date}: {visit_note}", date=each.latest.date, visit_note=each.latest.visit_note)
        for each in judgements
        if each.latest.visit_note
    )
    noted = tuple(each for each in judgements if each.latest.note or each.latest.photos)
    parts: list[Part] = [Words(tuple(said), "Remarks on the visit")] if said else []
    parts += [Table("Remarks and photographs", _NOTED, noted)] if noted else []
    return tuple(parts)


def _is_drawn(each: Judgement) -> bool:
    days = len(each.readings)
    return days > 1 and each.row.scale != "check" and all(map(math.isfinite, each.values))


def _picture(each: Judgement) -> Picture:
    words = tell(
        "{name}, {readings} readings. {status}. {reason}",
        name=_name(each),
        readings=len(each.readings),
        status=each.status,
        reason=true_minus(each.reason),
    )
    return Picture(lambda: _drawn(each), words)


def _drawn(each: Judgement) -> str:
    from combe.publishing.trend_diagram import trend_svg

    return trend_svg(trend_drawing(each))


def trend_drawing(each: Judgement) -> TrendDrawing:
    """Return the trend picture of a series; the tolerance is that of today's record."""
    from combe.answers.visit_history import series_history
    from combe.planning.visits import drift_words
    from combe.publishing.trend_diagram import TrendDrawing

    row, key = each.row, each.key
    dates = tuple(reading.date for reading in each.readings)
    history = series_history(each)
    return TrendDrawing(
        title=joined(" · ", filter(None, (key.test_point, row.quantity, key.service))),
        unit=row.unit,
        dates=dates,
        values=each.values,
        out=history.out,
        lowest=history.lowest,
        highest=history.highest,
        record=each.record_value,
        expected=each.expected,
        line=history.line,
        line_words=true_minus(drift_words(each)) if each.trend else "",
        steps=tuple(
            (
                dates[step.index - 1],
                dates[step.index],
                tell("step {signed} {compared_in}", signed=_signed(step.size), compared_in=row.compared_in),
            )
            for step in each.steps
        ),
    )


def _signed(value: float) -> str:
    sign = "+" if value > 0.0 else ""
    return sign + spoken(value, 1 if abs(value) < 1000.0 else 0)
