"""Draws the receiver's window: where each service sits at the median, faded and enhanced."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from combe.errors import RangeError
from combe.publishing.diagram import ACCENT, INK, SOFT, drawing, open_frame, series, svg_text
from combe.publishing.text import number, shortened

_HELD: Final = "#d9e8e6"
_LONGEST: Final = 22


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
        axes.axvspan(window.lowest_dbm, window.highest_dbm, color=_HELD, zorder=0, label="output held")
        axes.axvline(
            window.mute_dbm, color=ACCENT, linewidth=1.6, linestyle=(0, (5, 2)), zorder=1, label="mute"
        )
        for place, bar in enumerate(window.bars):
            _draw(axes, bar, place)
        _dress(axes, window)
        return svg_text(figure)


def _draw(axes: Any, bar: WindowBar, place: int) -> None:
    colour, mark = series(place)
    low, high = bar.levels_dbm[0], bar.levels_dbm[-1]
    axes.hlines(place, low, high, color=colour, linewidth=3.0, alpha=0.55, zorder=3)
    axes.plot([low, high], [place, place], color=colour, linestyle="none", marker="|",
              markersize=11, zorder=4)  # fmt: skip
    axes.plot([bar.median_dbm], [place], color=colour, marker=mark, markersize=7, linestyle="none", zorder=5)
    axes.annotate(
        " … ".join(number(level, 1) for level in bar.levels_dbm),
        (high, place), xytext=(9, 0), textcoords="offset points", va="center", fontsize=8.5,
        color=INK, zorder=6,
    )  # fmt: skip


def _dress(axes: Any, window: WindowPicture) -> None:
    names = [shortened(bar.name, _LONGEST) for bar in window.bars]
    axes.set_yticks(range(len(names)), names, parse_math=False)
    axes.tick_params(axis="y", length=0, labelcolor=INK)
    axes.set_ylim(len(names) - 0.4, -0.6)
    levels = [level for bar in window.bars for level in bar.levels_dbm]
    low = min(*levels, window.mute_dbm) - 4.0
    axes.set_xlim(low, max(*levels, window.highest_dbm) + 12.0)
    known = all(bar.enhanced_dbm is not None for bar in window.bars)
    axes.set_xlabel(
        f"receiver input, dBm: exceeded for {window.time_percent:g} % of time … median"
        + (f" … for {window.rare_percent:g} % of time" if known else "")
    )
    open_frame(axes)
    axes.spines["left"].set_color(SOFT)
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, frameon=False, fontsize=9, borderaxespad=0.1
    )
