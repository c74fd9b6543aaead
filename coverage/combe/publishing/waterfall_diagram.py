"""Draws the feed chain as a waterfall: level and noise of every service at every point, and the limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, INK, SOFT, drawing, open_frame, series, svg_text
from combe.publishing.text import number, shortened

_WIDTH_IN: Final = 9.0
_SPREAD: Final = 0.44
"""Part of the room of a point over which the services stand side by side."""

_LONGEST: Final = 22


@dataclass(frozen=True)
class WaterfallLine:
    """One service: level and noise [dBm] at each point."""

    name: str
    level_dbm: tuple[float, ...]
    noise_dbm: tuple[float, ...]


@dataclass(frozen=True)
class Waterfall:
    """A chain: its points in order, its services, and the tightest limit at each point [dBm] or None."""

    points: tuple[str, ...]
    lines: tuple[WaterfallLine, ...]
    limit_dbm: tuple[float | None, ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2 or not self.lines:
            given = f"{len(self.points)} points and {len(self.lines)} services"
            raise RangeError("waterfall", given, "two points and one service, or more")
        sizes = {
            len(self.limit_dbm),
            *(len(row) for line in self.lines for row in (line.level_dbm, line.noise_dbm)),
        }
        if sizes != {len(self.points)}:
            raise RangeError(
                "values of a waterfall", sorted(sizes), f"{len(self.points)}, one for each point"
            )


def waterfall_svg(chain: Waterfall) -> str:
    """Return the waterfall as SVG text; the same input gives the same bytes."""
    with drawing(_WIDTH_IN, 4.4) as (figure, axes):
        for place, line in enumerate(chain.lines):
            _draw_line(axes, line, place, len(chain.lines))
        _draw_limits(axes, chain)
        _dress(axes, chain)
        return svg_text(figure)


def _draw_line(axes: Any, line: WaterfallLine, place: int, count: int) -> None:
    """Draw a service beside its fellows: the level as steps with marks, the noise dashed, C/N between."""
    colour, mark = series(place)
    shift = 0.0 if count == 1 else _SPREAD * (place / (count - 1) - 0.5)
    x = [at + shift for at in range(len(line.level_dbm))]
    axes.vlines(x, line.noise_dbm, line.level_dbm, color=colour, linewidth=1.0, alpha=0.35, zorder=2)
    axes.plot(x, line.level_dbm, color=colour, linewidth=1.2, marker=mark, markersize=5, zorder=4)
    axes.plot(x, line.noise_dbm, color=colour, linewidth=1.0, linestyle=(0, (4, 2)), zorder=3)
    axes.plot(x, line.noise_dbm, color=colour, linestyle="none", marker="_", markersize=6, zorder=3)
    axes.plot([], [], color=colour, marker=mark, markersize=5, label=shortened(line.name, _LONGEST))
    if place == 0:
        for at, level in zip(x, line.level_dbm, strict=True):
            words = number(level, 1)
            axes.annotate(
                words, (at, level), xytext=(0, 7), textcoords="offset points", ha="center", va="bottom",
                fontsize=8, color=colour, zorder=6,
            )  # fmt: skip


def _draw_limits(axes: Any, chain: Waterfall) -> None:
    """Draw the limit of all signals together where a point has one."""
    for at, limit in enumerate(chain.limit_dbm):
        if limit is not None:
            axes.hlines(limit, at - 0.4, at + 0.4, color=ACCENT, linewidth=2.0, zorder=5)
            axes.annotate(
                f"limit of all {number(limit, 1)}", (at, limit), xytext=(0, 3), textcoords="offset points",
                ha="center", va="bottom", fontsize=8, color=ACCENT, zorder=6,
            )  # fmt: skip


def _dress(axes: Any, chain: Waterfall) -> None:
    axes.set_xticks(range(len(chain.points)), [_label(point) for point in chain.points], parse_math=False)
    axes.set_xlim(-0.6, len(chain.points) - 0.4)
    axes.set_ylabel("dBm, median of time")
    axes.tick_params(axis="x", length=0, labelcolor=INK, labelsize=9)
    axes.margins(y=0.12)
    axes.plot([], [], color=SOFT, linewidth=1.0, linestyle=(0, (4, 2)), label="noise")
    open_frame(axes)
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, 1.13), ncols=5, frameon=False, fontsize=9, borderaxespad=0.0
    )
    for words in axes.get_legend().get_texts():
        words.set_parse_math(False)


def _label(point: str) -> str:
    """Return a point's name, broken into two lines where it has words."""
    return "\n".join(shortened(point, _LONGEST).split(" ", 1))
