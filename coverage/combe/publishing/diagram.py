"""What all diagrams share: their look, the colours of services, and SVG text that is the same each time."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from combe.publishing.page_language import in_page_language
from combe.publishing.text import number
from combe.words import Digits

INK: Final = "#23292c"
SOFT: Final = "#6a655c"
PAPER: Final = "#fffdf8"
RULE: Final = "#e4dece"
ACCENT: Final = "#b4520f"

STYLE: Final[dict[Any, Any]] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "combe",
    "font.family": "sans-serif",
    "font.size": 10.0,
    "figure.facecolor": PAPER,
    "axes.facecolor": PAPER,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
}

_FONT_WARNINGS: Final = (r"Glyph \d+ .* missing from", r"Matplotlib currently does not support .* natively")
"""How matplotlib's warnings on signs that its own font lacks begin."""

LABEL_BOX: Final = {"boxstyle": "square,pad=0.2", "facecolor": PAPER, "edgecolor": "none", "alpha": 0.8}

SERIES: Final = (
    ("#14505c", "o"),
    ("#b4520f", "s"),
    ("#6b4c9a", "^"),
    ("#4d7a2f", "D"),
    ("#8a6d1f", "v"),
    ("#a63a58", "P"),
    ("#2f6f9f", "X"),
    ("#55524c", "*"),
)
"""Colour and mark of the first eight services; the marks tell them apart without the colour."""


def series(number: int) -> tuple[str, str]:
    """Return colour and mark of a service, counted from 0; the ninth is drawn as the first."""
    return SERIES[number % len(SERIES)]


@contextmanager
def drawing(width_in: float, height_in: float, *, polar: bool = False) -> Iterator[tuple[Any, Any]]:
    """Give a figure and its axes in our style; sizes in inches."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(STYLE):
        figure = Figure(figsize=(width_in, height_in), layout="constrained")
        axes = figure.add_subplot(projection="polar" if polar else None)
        write_decimals(axes)
        yield figure, axes


def write_decimals(axes: Any) -> None:
    """Have the numbers of both axes written as the language of the page writes them."""
    from matplotlib.ticker import ScalarFormatter

    class Decimals(ScalarFormatter):
        """Writes the decimal sign of the language."""

        def __call__(self, x: float, pos: int | None = None) -> str:
            """Return a number of the axis."""
            return in_page_language(Digits(super().__call__(x, pos)))

    for axis in (axes.xaxis, axes.yaxis):
        # The axes of a polar diagram have formatters of their own.
        if isinstance(axis.get_major_formatter(), ScalarFormatter):
            axis.set_major_formatter(Decimals())


def figures(value: float, decimals: int = 0) -> str:
    """Return a number for a picture, as the language of the page writes it."""
    return in_page_language(number(value, decimals))


def svg_text(figure: Any) -> str:
    """Return a figure as SVG text without a date, so that the same input gives the same bytes.

    Names may be in any script. Words stay words in the picture, and whoever shows it finds a font for them;
    the font by which they are measured here may lack their signs, which is no matter.
    """
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    text = io.StringIO()
    canvas: Any = FigureCanvasSVG(figure)
    with warnings.catch_warnings():
        for words in _FONT_WARNINGS:
            warnings.filterwarnings("ignore", message=words, category=UserWarning)
        canvas.print_svg(text, metadata={"Date": None, "Creator": None})
    return text.getvalue()


def open_frame(axes: Any) -> None:
    """Take the frame's upper and right side away and draw a faint grid."""
    axes.grid(visible=True, color=RULE, linewidth=0.6, zorder=0)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
