"""Writes the page of a visit: what is out, what drifts, every comparison, and a trend picture per reading."""

from __future__ import annotations

import base64
import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.digits import true_minus
from combe.planning.visits.judge import (
    DAYS_A_YEAR,
    Against,
    Comparison,
    Judgement,
    commissioned,
    difference_words,
    drift_words,
    judge_series,
    tolerance_words,
)
from combe.planning.visits.sheet import tolerated
from combe.planning.visits.units import shown
from combe.publishing.figure import make_figure
from combe.publishing.inline import self_contained_html
from combe.publishing.map_panel import invented_html
from combe.publishing.parts import filled, foot_html, page_part, wide_html
from combe.publishing.text import breakable, encode, number, plain
from combe.publishing.trend_diagram import TrendDrawing, trend_svg
from combe.standards.visit_readings import RoutineReading

_SIGNS: Final = {"not judged": "·", "within tolerance": "✓", "drifting": "~", "out": "✗"}
_LOOKS: Final = {"not judged": "noted", "within tolerance": "passes", "drifting": "drifts", "out": "fails"}
_HEADS: Final = (
    "Reading", "Service", "Day", "Value", "Predicted", "Record", "Last visit", "Drift a year", "Verdict",
)  # fmt: skip


@dataclass(frozen=True)
class VisitPage:
    """All that the page of a visit shows; judgements in the order of the table."""

    title: str
    subtitle: str
    judgements: tuple[Judgement, ...]
    note: str = ""
    provenance: tuple[str, ...] = ()
    invented_note: str = ""


def render_visit_page(page: VisitPage) -> str:
    """Return the page as one HTML text that asks the network for nothing."""
    stations = dict.fromkeys(judgement.key.station for judgement in page.judgements)
    sections = [
        _station_html(name, [each for each in page.judgements if each.key.station == name])
        for name in stations
    ]
    body = filled(
        "visit_body.html",
        title=encode(page.title),
        subtitle=encode(page.subtitle),
        note=invented_html(page.invented_note),
        summary=f"<p>{encode(page.note)}</p>{_counts_html(page.judgements)}",
        stations="".join(sections),
        foot=foot_html(page.provenance),
    )
    style = page_part("feed.css") + page_part("visit.css")
    figure = make_figure(plain(page.title), with_map=False, style=style, body=body, script="")
    return self_contained_html(figure)


def trend_drawing(judgement: Judgement) -> TrendDrawing:
    """Return the trend picture of a series; the tolerance is that of today's record."""
    row, key = judgement.row, judgement.key
    low, high, _ = tolerated(row, judgement.values[judgement.record], judgement.expected)
    dates = tuple(reading.date for reading in judgement.readings)
    return TrendDrawing(
        title=" · ".join(filter(None, (key.test_point, row.quantity, key.service))),
        unit=row.unit,
        dates=dates,
        values=judgement.values,
        out=tuple(
            judge_series(judgement.readings[: count + 1], judgement.expected).status == "out"
            for count in range(len(dates))
        ),
        lowest=low,
        highest=high,
        record=judgement.values[judgement.record],
        expected=judgement.expected,
        line=_line(judgement),
        line_words=true_minus(drift_words(judgement)) if judgement.trend else "",
        steps=tuple(
            (dates[step.index - 1], dates[step.index], f"step {_signed(step.size)} {row.compared_in}")
            for step in judgement.steps
        ),
    )


def _line(judgement: Judgement) -> tuple[tuple[datetime.date, float], ...]:
    """Return the line of a drift that is more than chance, behind the last step."""
    trend, row = judgement.trend, judgement.row
    if trend is None or not trend.significant or row.scale == "power":
        return ()
    first = judgement.steps[-1].index if judgement.steps else judgement.record
    end = judgement.latest.date
    span_years = (end - judgement.readings[first].date).days / DAYS_A_YEAR
    start = trend.level_at_end - trend.slope * span_years
    return (judgement.readings[first].date, start), (end, trend.level_at_end)


def _counts_html(judgements: Sequence[Judgement]) -> str:
    """Return how many readings are of each verdict."""
    counted = [(name, sum(each.status == name for each in judgements)) for name in reversed(_SIGNS)]
    chips = " ".join(f"{_verdict_html(name)} {count}" for name, count in counted if count)
    return f'<p class="counts">{chips}</p>'


def _station_html(station: str, judgements: Sequence[Judgement]) -> str:
    amiss = [each for each in judgements if each.status in ("drifting", "out")]
    urgent = sorted(amiss, key=lambda each: each.status != "out")
    reasons = "".join(f"<li>{_verdict_html(each.status)} {encode(_told(each))}</li>" for each in urgent)
    listed = f'<ul class="reasons">{reasons}</ul>' if reasons else ""
    heads = "".join(f'<th scope="col">{head}</th>' for head in _HEADS)
    rows = "".join(_row_html(each) for each in judgements)
    pictures = "".join(_picture_html(each) for each in judgements if _drawn(each))
    table = f'<table class="readings compared"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'
    trends = pictures or "<p>No reading was taken on more than one day yet.</p>"
    return (
        f"<section><h2>{encode(station)}</h2>{listed}{wide_html(table, f'Readings of {station}')}"
        f'<h3>Trends</h3><div class="trends">{trends}</div></section>'
    )


def _told(judgement: Judgement) -> str:
    return true_minus(f"{name_of(judgement)}: {judgement.reason}")


def name_of(judgement: Judgement) -> str:
    """Return what a judgement is of, in words: test point, quantity, service."""
    key = judgement.key
    service = f" of {key.service}" if key.service else ""
    return f"{key.test_point}, {key.quantity}{service}"


def _row_html(judgement: Judgement) -> str:
    row, key, latest = judgement.row, judgement.key, judgement.latest
    cells = (
        breakable(key.service or "–"),
        latest.date.isoformat(),
        value_html(judgement.value, row),
        _with(judgement.expected, judgement, "prediction"),
        _with(judgement.values[judgement.record], judgement, "commissioning"),
        _with(judgement.values[-2] if len(judgement.values) > 1 else None, judgement, "last visit"),
        encode(true_minus(drift_words(judgement))),
        _verdict_html(judgement.status),
    )
    name = f"{breakable(key.test_point)}<small>{encode(key.quantity)}</small>"
    return f'<tr><th scope="row">{name}</th>{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'


def _with(value: float | None, judgement: Judgement, against: Against) -> str:
    """Return what a reading is compared with, and the difference under it."""
    found = next((each for each in judgement.comparisons if each.against == against), None)
    if value is None or (found is None and against != "prediction" and len(judgement.values) == 1):
        return "–"
    difference = f"<small>{_difference(found, judgement)}</small>" if found else ""
    mark = "" if against != "commissioning" or commissioned(judgement) else "<small>first visit</small>"
    return f"{value_html(value, judgement.row)}{difference}{mark}"


def value_html(value: float, row: RoutineReading) -> str:
    """Return a value with its unit and a true minus sign."""
    return encode(shown(value, row).replace("-", "−"))


def _difference(found: Comparison, judgement: Judgement) -> str:
    allowed = f", {tolerance_words(judgement.row)}" if found.against == "commissioning" else ""
    return encode(true_minus(f"{difference_words(judgement.row, found)}{allowed}"))


def _signed(value: float) -> str:
    sign = "+" if value > 0.0 else ""
    decimals = 1 if abs(value) < 1000.0 else 0
    return sign + number(value, decimals)


def _drawn(judgement: Judgement) -> bool:
    return (
        len(judgement.readings) > 1
        and judgement.row.scale != "check"
        and all(map(math.isfinite, judgement.values))
    )


def _picture_html(judgement: Judgement) -> str:
    svg = trend_svg(trend_drawing(judgement))
    words = (
        f"{name_of(judgement)}, {len(judgement.readings)} readings. {judgement.status}. "
        f"{true_minus(judgement.reason)}"
    )
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    return f'<img class="profile" src="data:image/svg+xml;base64,{data}" alt="{encode(words)}">'


def _verdict_html(status: str) -> str:
    """Return a verdict with its sign, told by shape as well as colour."""
    return f'<span class="verdict {_LOOKS[status]}">{_SIGNS[status]} {status}</span>'
