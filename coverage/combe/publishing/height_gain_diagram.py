"""Draws how the field goes with the height of the receiving aerial."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, SOFT, drawing, open_frame, series, svg_text
from combe.publishing.text import number, shortened

_LONGEST: Final = 22
_NARROWEST_DB: Final = 6.0
_FADED: Final = (0, (2, 2))


@dataclass(frozen=True)
class HeightLine:
    """The field of one service [dB(µV/m)] at each height: its median, and where it is known that in the fade.

    ``null_height_m`` are heights at which a ray from the ground is expected to cancel it.
    """

    name: str
    field_dbuv_m: tuple[float, ...]
    faded_dbuv_m: tuple[float, ...] = ()
    null_height_m: tuple[float, ...] = ()


@dataclass(frozen=True)
class HeightGain:
    """Heights [m above ground], lowest first, the lines of the services, and the planned height [m].

    ``time_percent`` is the time for which the field of the fade is exceeded.
    """

    height_m: tuple[float, ...]
    lines: tuple[HeightLine, ...]
    planned_height_m: float
    time_percent: float = 50.0

    def __post_init__(self) -> None:
        if len(self.height_m) < 2 or not self.lines:
            given = f"{len(self.height_m)} heights and {len(self.lines)} services"
            raise RangeError("height-gain diagram", given, "two heights and one service, or more")
        for line in self.lines:
            for fields in (line.field_dbuv_m, line.faded_dbuv_m or line.field_dbuv_m):
                if len(fields) != len(self.height_m):
                    allowed = f"{len(self.height_m)}, one for each height"
                    raise RangeError(f"fields of {line.name}", len(fields), allowed)


def height_gain_svg(scan: HeightGain) -> str:
    """Return the diagram as SVG text, height upwards; the same input gives the same bytes."""
    with drawing(9.0, 3.8) as (figure, axes):
        for place, line in enumerate(scan.lines):
            _draw(axes, scan, line, place)
        words = f"planned {number(scan.planned_height_m, 1)} m"
        axes.axhline(scan.planned_height_m, color=ACCENT, linewidth=1.2, linestyle=(0, (5, 2)), label=words)
        _widen(axes, [each for line in scan.lines for each in (*line.field_dbuv_m, *line.faded_dbuv_m)])
        _explain(axes, scan)
        axes.set_xlabel("field strength, dB(µV/m)")
        axes.set_ylabel("receiving aerial, m above ground")
        open_frame(axes)
        axes.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5, frameon=False, fontsize=9)
        for text in axes.get_legend().get_texts():
            text.set_parse_math(False)
        return svg_text(figure)


def _widen(axes: Any, fields: list[float]) -> None:
    """Keep a field that hardly changes from filling the width."""
    low, high = min(fields), max(fields)
    room = max(_NARROWEST_DB, 1.1 * (high - low)) / 2.0
    axes.set_xlim((low + high) / 2.0 - room, (low + high) / 2.0 + room)
    axes.ticklabel_format(axis="x", useOffset=False)


def _explain(axes: Any, scan: HeightGain) -> None:
    """Say what dashes and short strokes are, where there are any."""
    if any(line.faded_dbuv_m for line in scan.lines):
        words = f"for {scan.time_percent:g} % of time; marks: median"
        axes.plot([], [], color=SOFT, linewidth=1.1, linestyle=_FADED, label=words)
    if any(line.null_height_m for line in scan.lines):
        axes.plot(
            [],
            [],
            color=SOFT,
            linestyle="none",
            marker="_",
            markersize=11,
            label="heights of nulls to expect",
        )


def _draw(axes: Any, scan: HeightGain, line: HeightLine, place: int) -> None:
    colour, mark = series(place)
    axes.plot(
        line.field_dbuv_m, scan.height_m, color=colour, marker=mark, markersize=4, linewidth=1.3,
        label=shortened(line.name, _LONGEST),
    )  # fmt: skip
    if line.faded_dbuv_m:
        axes.plot(line.faded_dbuv_m, scan.height_m, color=colour, linewidth=1.1, linestyle=_FADED)
    if line.null_height_m:
        # Strokes at the left edge: nulls are heights, and stand at no field.
        left = [0.012 + 0.03 * place] * len(line.null_height_m)
        axes.plot(
            left, line.null_height_m, color=colour, linestyle="none", marker="_", markersize=11,
            markeredgewidth=2.2, transform=axes.get_yaxis_transform(),
        )  # fmt: skip
