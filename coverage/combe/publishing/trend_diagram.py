"""Draws a series of readings over the years as SVG: points, record, tolerance, drift and steps."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass
from typing import Any, Final

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, INK, SOFT, STYLE, open_frame, svg_text, write_decimals
from combe.publishing.page_language import in_page_language
from combe.publishing.text import plain

_BAND, _DEEP = "#d9e8ea", "#14505c"
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_STYLE: Final = {**STYLE, "font.size": 9.5}


@dataclass(frozen=True)
class TrendDrawing:
    """All that one trend picture shows; values in one unit, ``lowest`` and ``highest`` may be None.

    ``out`` tells of each reading whether it lay outside. ``line`` holds (date, value) pairs of the drift,
    ``steps`` the dates of the readings before and after a step with its words.
    """

    title: str
    unit: str
    dates: tuple[datetime.date, ...]
    values: tuple[float, ...]
    out: tuple[bool, ...]
    lowest: float | None = None
    highest: float | None = None
    record: float | None = None
    expected: float | None = None
    line: tuple[tuple[datetime.date, float], ...] = ()
    line_words: str = ""
    steps: tuple[tuple[datetime.date, datetime.date, str], ...] = ()

    def __post_init__(self) -> None:
        counts = {len(self.dates), len(self.values), len(self.out)}
        if len(counts) != 1 or not self.dates:
            raise RangeError("readings of a trend picture", sorted(counts), "one or more, as many of each")
        if not all(math.isfinite(value) for value in self.values):
            raise RangeError("values of a trend picture", "not finite", "finite numbers")


def trend_svg(drawing: TrendDrawing) -> str:
    """Return the picture as an SVG text; the same input gives the same bytes."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(_STYLE):
        figure = Figure(figsize=(6.2, 2.7), layout="constrained")
        axes = figure.add_subplot()
        write_decimals(axes)
        _limit(axes, drawing)
        _draw_tolerance(axes, drawing)
        _draw_readings(axes, drawing)
        _draw_steps(axes, drawing)
        _dress(axes, drawing)
        return svg_text(figure)


def _limit(axes: Any, drawing: TrendDrawing) -> None:
    """Set the limits: all readings and, where they are near, the tolerance and the prediction."""
    low, high = _value_span(drawing)
    axes.set_ylim(low, high)
    days = [drawing.dates[0].toordinal(), drawing.dates[-1].toordinal()]
    margin = max(0.04 * (days[1] - days[0]), 20.0)
    first, last = (datetime.date.fromordinal(round(day)) for day in (days[0] - margin, days[1] + margin))
    axes.set_xlim(first, last)


def _value_span(drawing: TrendDrawing) -> tuple[float, float]:
    low, high = min(drawing.values), max(drawing.values)
    reach = max(high - low, 1e-9 * max(abs(low), abs(high), 1.0))
    edges = (drawing.lowest, drawing.highest, drawing.expected, drawing.record)
    given = [edge for edge in edges if edge is not None]
    # An edge far away would press the readings into a line, so only near ones count; if none is near, the
    # first two are shown all the same.
    near = [edge for edge in given if low - 3.0 * reach <= edge <= high + 3.0 * reach] or given[:2]
    low, high = min(low, *near, low), max(high, *near, high)
    spare = 0.18 * (high - low) or max(0.1 * abs(high), 0.5)
    return low - spare, high + 1.6 * spare


def _draw_tolerance(axes: Any, drawing: TrendDrawing) -> None:
    """Shade what is within tolerance, and draw the record and the prediction."""
    bottom, top = axes.get_ylim()
    if drawing.lowest is not None or drawing.highest is not None:
        low = bottom if drawing.lowest is None else drawing.lowest
        high = top if drawing.highest is None else drawing.highest
        axes.axhspan(
            low, high, color=_BAND, linewidth=0, zorder=0, label=in_page_language("within tolerance")
        )
        for edge in (drawing.lowest, drawing.highest):
            if edge is not None:
                axes.axhline(edge, color=_DEEP, linewidth=0.8, linestyle=(0, (4, 2)), zorder=1)
    if drawing.record is not None:
        axes.axhline(drawing.record, color=_DEEP, linewidth=1.0, zorder=1, label=in_page_language("record"))
    if drawing.expected is not None and bottom <= drawing.expected <= top:
        look = {"color": SOFT, "linewidth": 1.2, "linestyle": (0, (1, 1.5))}
        axes.axhline(drawing.expected, zorder=1, label=in_page_language("predicted"), **look)


def _draw_readings(axes: Any, drawing: TrendDrawing) -> None:
    """Draw the readings, those outside with another shape, and the line of the drift."""
    axes.plot(drawing.dates, drawing.values, color=SOFT, linewidth=0.8, zorder=3)
    for outside, marker, colour, label in ((False, "o", INK, "reading"), (True, "X", ACCENT, "outside")):
        chosen = [
            (day, value)
            for day, value, out in zip(drawing.dates, drawing.values, drawing.out, strict=True)
            if out is outside
        ]
        if chosen:
            days, values = zip(*chosen, strict=True)
            look = {"marker": marker, "markersize": 6.5 if outside else 4.5, "linestyle": "none"}
            axes.plot(days, values, color=colour, zorder=5, label=in_page_language(label), **look)
    if drawing.line:
        days, values = zip(*drawing.line, strict=True)
        label = plain(in_page_language(drawing.line_words))
        axes.plot(days, values, color=ACCENT, linewidth=1.3, zorder=4, label=label)


def _draw_steps(axes: Any, drawing: TrendDrawing) -> None:
    """Mark the gap in which each step was made, and say how large it is."""
    for number, (before, after, words) in enumerate(drawing.steps):
        axes.axvspan(before, after, color=ACCENT, alpha=0.13, linewidth=0, zorder=0)
        middle = datetime.date.fromordinal((before.toordinal() + after.toordinal()) // 2)
        axes.annotate(
            plain(in_page_language(words)),
            (middle, 0.03 + 0.1 * (number % 2)),
            xycoords=("data", "axes fraction"),
            ha="center",
            color=ACCENT,
            fontsize=8.5,
            parse_math=False,
            zorder=6,
        ).set_in_layout(False)


def _with_months(formatter: Any) -> Any:
    """Return a formatter of dates that names months in the language of the page."""
    in_english, offset = formatter.format_ticks, formatter.get_offset
    formatter.format_ticks = lambda values: [_months_told(words) for words in in_english(values)]
    formatter.get_offset = lambda: _months_told(offset())
    return formatter


def _months_told(words: str) -> str:
    return re.sub("|".join(_MONTHS), lambda found: in_page_language(found[0]), words)


def _dress(axes: Any, drawing: TrendDrawing) -> None:
    """Set labels, ticks, legend and title."""
    from matplotlib import dates

    made: Any = dates
    locator = made.AutoDateLocator(minticks=3, maxticks=8)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(_with_months(made.ConciseDateFormatter(locator)))
    axes.set_ylabel(plain(in_page_language(drawing.unit)), parse_math=False)
    open_frame(axes)
    axes.legend(loc="upper center", ncols=6, frameon=False, fontsize=7.5, columnspacing=1.0)
    title = plain(in_page_language(drawing.title))
    axes.set_title(title, loc="left", fontsize=10, color=INK, parse_math=False)
