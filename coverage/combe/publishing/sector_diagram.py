"""Draws what goes into each sector of bearings from a station as SVG: how far over or under a limit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from combe.publishing.colours import MARK_COLOURS
from combe.publishing.diagram import RULE, SOFT, drawing, svg_text

_WIDTH_IN, _HEIGHT_IN = 8.6, 3.8
_STEP_DB: Final = 10.0
_FINE_DB: Final = 40.0
"""Up to so wide a scale every step is written on it."""

_OVER: Final = MARK_COLOURS["newly served"]
_UNDER: Final = MARK_COLOURS["served before"]
_HATCH: Final = "////"


class SectorBar(NamedTuple):
    """A sector and what stands in it [dB over a limit]; ``level_db`` None where nothing is known."""

    from_deg: float
    to_deg: float
    level_db: float | None


def sectors_svg(bars: Sequence[SectorBar]) -> str:
    """Return the sectors around a station, north upwards, the limit as a ring; the same bytes each time.

    What is over the limit is hatched, so that it is told without colour.
    """
    levels = [bar.level_db for bar in bars if bar.level_db is not None]
    low_db = _STEP_DB * np.floor(min([*levels, 0.0]) / _STEP_DB) - _STEP_DB
    high_db = _STEP_DB * max(np.ceil(max([*levels, 0.0]) / _STEP_DB), 1.0)
    with drawing(_WIDTH_IN, _HEIGHT_IN, polar=True) as (figure, axes):
        axes.set_theta_zero_location("N")
        axes.set_theta_direction(-1)
        for bar in bars:
            if bar.level_db is None:
                continue
            over = bar.level_db > 0.0
            axes.bar(
                np.radians((bar.from_deg + bar.to_deg) / 2.0),
                bar.level_db - low_db,
                width=np.radians(bar.to_deg - bar.from_deg),
                bottom=low_db,
                facecolor=_OVER if over else _UNDER,
                edgecolor="white",
                linewidth=0.6,
                hatch=_HATCH if over else None,
            )
        around = np.radians(np.linspace(0.0, 360.0, 181))
        axes.plot(around, np.zeros_like(around), color=SOFT, linewidth=1.2)
        axes.set_rlim(low_db, high_db)
        step_db = _STEP_DB if high_db - low_db <= _FINE_DB else 2.0 * _STEP_DB
        ticks = np.arange(step_db * np.ceil((low_db + 1.0) / step_db), high_db + 1.0, step_db)
        axes.set_rticks(ticks)
        axes.set_yticklabels([_signed(each) for each in ticks], fontsize=8, color=SOFT)
        axes.set_rlabel_position(_empty_bearing(bars))
        axes.grid(color=RULE, linewidth=0.8)
        axes.spines["polar"].set_color(SOFT)
        return svg_text(figure)


def _signed(level_db: float) -> str:
    return "0 dB" if level_db == 0.0 else f"{level_db:+.0f}".replace("-", "−")


def _empty_bearing(bars: Sequence[SectorBar]) -> float:
    """Return the bearing at which the scale stands: as far from all sectors as may be."""
    taken = np.array([(bar.from_deg + bar.to_deg) / 2.0 for bar in bars] or [0.0])
    tried = np.arange(5.0, 360.0, 10.0)
    apart = np.abs((tried[:, None] - taken + 180.0) % 360.0 - 180.0).min(axis=1)
    return float(tried[int(np.argmax(apart))])
