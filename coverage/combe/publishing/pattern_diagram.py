"""Draws the patterns of an aerial as SVG: around the mast, and above and below the horizontal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from combe.publishing.diagram import ACCENT, INK, RULE, SOFT, drawing, open_frame, svg_text
from combe.publishing.page_language import in_page_language

FLOOR_DB: Final = -40.0
"""The lowest level that a picture shows; what is below lies on its edge."""

_WIDTH_IN, _HEIGHT_IN = 5.0, 4.4


def horizontal_svg(bearing_deg: Sequence[float], relative_db: Sequence[float]) -> str:
    """Return the pattern around the mast, north upwards; the same input gives the same bytes."""
    with drawing(_WIDTH_IN, _HEIGHT_IN, polar=True) as (figure, axes):
        bearings = [*bearing_deg, bearing_deg[0] + 360.0]
        levels = _shown([*relative_db, relative_db[0]])
        axes.set_theta_zero_location("N")
        axes.set_theta_direction(-1)
        axes.plot(np.radians(bearings), levels, color=ACCENT, linewidth=1.4)
        axes.set_rlim(FLOOR_DB, 0.0)
        axes.set_rticks([-30.0, -20.0, -10.0, -3.0, 0.0])
        axes.set_rlabel_position(157.5)
        axes.set_yticklabels(["−30", "−20", "−10", "−3", "0 dB"], fontsize=8, color=SOFT)
        axes.grid(color=RULE, linewidth=0.8)
        axes.spines["polar"].set_color(SOFT)
        return svg_text(figure)


def vertical_svg(elevation_deg: Sequence[float], relative_db: Sequence[float]) -> str:
    """Return the pattern by elevation at the beam's bearing; the same input gives the same bytes."""
    with drawing(_WIDTH_IN, _HEIGHT_IN) as (figure, axes):
        axes.axvline(0.0, color=INK, linewidth=0.8)
        axes.plot(elevation_deg, _shown(relative_db), color=ACCENT, linewidth=1.4)
        axes.set_xlim(-90.0, 90.0)
        axes.set_xticks(range(-90, 91, 30))
        axes.set_ylim(FLOOR_DB, 1.0)
        axes.set_xlabel(in_page_language("elevation, degrees over the horizontal"))
        axes.set_ylabel(in_page_language("level against the beam, dB"))
        open_frame(axes)
        return svg_text(figure)


def _shown(relative_db: Sequence[float]) -> Any:
    return np.maximum(np.asarray(relative_db, dtype=float), FLOOR_DB)
