"""Draws the feed chain: levels from point to point, the receiver's window, and the field over height.

The waterfall has level and noise of every service at every point, and the limits; the window says where each
service sits at the median, faded and enhanced.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, INK, SOFT, drawing, figures, open_frame, series, svg_text
from combe.publishing.page_language import in_page_language
from combe.publishing.text import number, shortened
from combe.words import tell

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
            _draw_chain(axes, line, place, len(chain.lines))
        _draw_limits(axes, chain)
        _dress_waterfall(axes, chain)
        return svg_text(figure)


def _draw_chain(axes: Any, line: WaterfallLine, place: int, count: int) -> None:
    """Draw a service beside its fellows: the level as steps with marks, the noise dashed, C/N between."""
    colour, mark = series(place)
    shift = 0.0 if count == 1 else _SPREAD * (place / (count - 1) - 0.5)
    x = [at + shift for at in range(len(line.level_dbm))]
    axes.vlines(x, line.noise_dbm, line.level_dbm, color=colour, linewidth=1.0, alpha=0.35, zorder=2)
    axes.plot(x, line.level_dbm, color=colour, linewidth=1.2, marker=mark, markersize=5, zorder=4)
    axes.plot(x, line.noise_dbm, color=colour, linewidth=1.0, linestyle=(0, (4, 2)), zorder=3)
    axes.plot(x, line.noise_dbm, color=colour, linestyle="none", marker="_", markersize=6, zorder=3)
    # Nothing but an entry of the legend.
    axes.plot([], [], color=colour, marker=mark, markersize=5, label=shortened(line.name, _LONGEST))
    if place == 0:
        for at, level in zip(x, line.level_dbm, strict=True):
            words = figures(level, 1)
            axes.annotate(
                words, (at, level), xytext=(0, 7), textcoords="offset points", ha="center", va="bottom",
                fontsize=8, color=colour, zorder=6,
            )  # fmt: skip


def _draw_limits(axes: Any, chain: Waterfall) -> None:
    """Draw the limit of all signals together where a point has one."""
    for at, limit in enumerate(chain.limit_dbm):
        if limit is not None:
            axes.hlines(limit, at - 0.4, at + 0.4, color=ACCENT, linewidth=2.0, zorder=5)
            words = in_page_language(tell("limit of all {limit}", limit=number(limit, 1)))
            axes.annotate(
                words, (at, limit), xytext=(0, 3), textcoords="offset points",
                ha="center", va="bottom", fontsize=8, color=ACCENT, zorder=6,
            )  # fmt: skip


def _dress_waterfall(axes: Any, chain: Waterfall) -> None:
    axes.set_xticks(range(len(chain.points)), [_label(point) for point in chain.points], parse_math=False)
    axes.set_xlim(-0.6, len(chain.points) - 0.4)
    axes.set_ylabel(in_page_language("dBm, median of time"))
    axes.tick_params(axis="x", length=0, labelcolor=INK, labelsize=9)
    axes.margins(y=0.12)
    axes.plot([], [], color=SOFT, linewidth=1.0, linestyle=(0, (4, 2)), label=in_page_language("noise"))
    open_frame(axes)
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, 1.13), ncols=5, frameon=False, fontsize=9, borderaxespad=0.0
    )
    for words in axes.get_legend().get_texts():
        # Names may hold dollar signs, which would be read as mathematics.
        words.set_parse_math(False)


def _label(point: str) -> str:
    """Return a point's name, broken into two lines where it has words."""
    return "\n".join(shortened(in_page_language(point), _LONGEST).split(" ", 1))


_HELD: Final = "#d9e8e6"


@dataclass(frozen=True)
class WindowBar:
    """One service at the receiver's input [dBm]: faded, median, enhanced; None where that is not known."""

    name: str
    faded_dbm: float
    median_dbm: float
    enhanced_dbm: float | None

    @property
    def levels_dbm(self) -> tuple[float, ...]:
        """What is known, from the lowest."""
        found = (self.faded_dbm, self.median_dbm, self.enhanced_dbm)
        return tuple(level for level in found if level is not None)


@dataclass(frozen=True)
class WindowPicture:
    """The window [dBm] with its services, faded for ``time_percent`` and enhanced for ``rare_percent``."""

    lowest_dbm: float
    highest_dbm: float
    mute_dbm: float
    time_percent: float
    bars: tuple[WindowBar, ...]
    rare_percent: float = 1.0

    def __post_init__(self) -> None:
        if not self.bars:
            raise RangeError("services in the window", 0, "one or more")


def window_svg(window: WindowPicture) -> str:
    """Return the window as SVG text; the same input gives the same bytes."""
    with drawing(9.0, 1.55 + 0.36 * len(window.bars)) as (figure, axes):
        axes.axvspan(
            window.lowest_dbm,
            window.highest_dbm,
            color=_HELD,
            zorder=0,
            label=in_page_language("output held"),
        )
        mute = {"color": ACCENT, "linewidth": 1.6, "linestyle": (0, (5, 2)), "zorder": 1}
        axes.axvline(window.mute_dbm, label=in_page_language("mute"), **mute)
        for place, bar in enumerate(window.bars):
            _draw_windows(axes, bar, place)
        _dress_window(axes, window)
        return svg_text(figure)


def _draw_windows(axes: Any, bar: WindowBar, place: int) -> None:
    colour, mark = series(place)
    low, high = bar.levels_dbm[0], bar.levels_dbm[-1]
    axes.hlines(place, low, high, color=colour, linewidth=3.0, alpha=0.55, zorder=3)
    axes.plot([low, high], [place, place], color=colour, linestyle="none", marker="|",
              markersize=11, zorder=4)  # fmt: skip
    axes.plot([bar.median_dbm], [place], color=colour, marker=mark, markersize=7, linestyle="none", zorder=5)
    axes.annotate(
        " … ".join(figures(level, 1) for level in bar.levels_dbm),
        (high, place), xytext=(9, 0), textcoords="offset points", va="center", fontsize=8.5,
        color=INK, zorder=6,
    )  # fmt: skip


def _dress_window(axes: Any, window: WindowPicture) -> None:
    names = [shortened(bar.name, _LONGEST) for bar in window.bars]
    axes.set_yticks(range(len(names)), names, parse_math=False)
    axes.tick_params(axis="y", length=0, labelcolor=INK)
    axes.set_ylim(len(names) - 0.4, -0.6)
    levels = [level for bar in window.bars for level in bar.levels_dbm]
    low = min(*levels, window.mute_dbm) - 4.0
    axes.set_xlim(low, max(*levels, window.highest_dbm) + 12.0)
    known = all(bar.enhanced_dbm is not None for bar in window.bars)
    words = tell("receiver input, dBm: exceeded for {time:g} % of time … median", time=window.time_percent)
    if known:
        words = tell(
            "receiver input, dBm: exceeded for {time:g} % of time … median … for {rare:g} % of time",
            time=window.time_percent,
            rare=window.rare_percent,
        )
    axes.set_xlabel(in_page_language(words))
    open_frame(axes)
    axes.spines["left"].set_color(SOFT)
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, frameon=False, fontsize=9, borderaxespad=0.1
    )


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
            _draw_heights(axes, scan, line, place)
        words = in_page_language(tell("planned {height} m", height=number(scan.planned_height_m, 1)))
        axes.axhline(scan.planned_height_m, color=ACCENT, linewidth=1.2, linestyle=(0, (5, 2)), label=words)
        _widen(axes, [each for line in scan.lines for each in (*line.field_dbuv_m, *line.faded_dbuv_m)])
        _explain(axes, scan)
        axes.set_xlabel(in_page_language("field strength, dB(µV/m)"))
        axes.set_ylabel(in_page_language("receiving aerial, m above ground"))
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
        words = in_page_language(tell("for {time:g} % of time; marks: median", time=scan.time_percent))
        axes.plot([], [], color=SOFT, linewidth=1.1, linestyle=_FADED, label=words)
    if any(line.null_height_m for line in scan.lines):
        axes.plot(
            [],
            [],
            color=SOFT,
            linestyle="none",
            marker="_",
            markersize=11,
            label=in_page_language("heights of nulls to expect"),
        )


def _draw_heights(axes: Any, scan: HeightGain, line: HeightLine, place: int) -> None:
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
