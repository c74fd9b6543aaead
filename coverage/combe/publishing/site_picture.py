"""Draws whom a hill serves over the ground: shaded relief, what is newly served, marks with names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.publishing.colours import MARK_COLOURS, NEWLY_SERVED, NEWLY_SERVED_STRIPE, hillshade
from combe.publishing.diagram import INK, PAPER
from combe.publishing.page_language import told_html
from combe.publishing.picture_parts import png_link, rgb, scale_bar, svg_words

_STRENGTH: Final = 0.62
_STRIPE_STRENGTH: Final = 0.9
"""How much of its colour is mixed into the ground that is newly served: between the stripes, and on them."""

_LEVEL_LIGHT: Final = 0.82
"""Light on level ground, in which the legend shows its colours."""

_LARGEST_SIDE: Final = 1400
_LETTER_UNITS: Final = 1.6
"""Width that a letter may take, in hundredths of the picture, on a narrow page, where letters are larger."""

_COLOURS: Final = {
    "hill": "#b4520f",
    "station": INK,
    "served": MARK_COLOURS["newly served"],
    "unserved": MARK_COLOURS["unserved"],
    "harmed": MARK_COLOURS["served before"],
}


Kind = Literal["hill", "station", "served", "unserved", "harmed"]

_MEANINGS: Final[dict[Kind, str]] = {
    "hill": "hills of the list, by number",
    "station": "stations",
    "served": "people newly served",
    "unserved": "people who lack a service",
    "harmed": "people who lose a service from another station",
}


@dataclass(frozen=True)
class PictureMark:
    """A mark at a row and column [cells]: a hill, a station, people served, not served or harmed."""

    kind: Kind
    row: float
    column: float
    label: str
    told: str
    size: float = 1.0


@dataclass(frozen=True)
class HillPicture:
    """Ground and what is newly served of it, each (rows, columns)."""

    heights_m: npt.NDArray[np.floating]
    newly: npt.NDArray[np.bool_]
    cell_size_m: float
    marks: tuple[PictureMark, ...]
    described: str

    def __post_init__(self) -> None:
        if self.newly.shape != self.heights_m.shape:
            raise RangeError(
                "shape of what is newly served", self.newly.shape, f"{self.heights_m.shape}, the ground's"
            )


def hill_svg(picture: HillPicture) -> str:
    """Return the picture as SVG that needs nothing from elsewhere."""
    rows, columns = picture.heights_m.shape
    ground = f'<image href="{png_link(_image(picture))}" width="{columns}" height="{rows}"/>'
    unit = max(rows, columns) / 100.0
    marks = "".join(_mark(mark, unit, columns) for mark in picture.marks)
    bar = scale_bar((rows, columns), picture.cell_size_m, unit)
    return (
        f'<svg class="hills" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {columns} {rows}" '
        f'font-size="{unit:.2f}" role="img">'
        f"<title>{told_html(picture.described)}</title>{ground}{marks}{bar}</svg>"
    )


def marks_html(picture: HillPicture) -> str:
    """Return what ground and marks of a picture mean, each kind that it has beside its sign."""
    there = {mark.kind for mark in picture.marks}
    items = "".join(
        f'<li><svg width="18" height="14" viewBox="-4.5 -3.5 9 7">'
        f"{_sign(PictureMark(kind, -0.5, -0.5, '', '', 2.2), 2.0)}</svg> {told_html(words)}</li>"
        for kind, words in _MEANINGS.items()
        if kind in there
    )
    return f'<ul class="legend">{_newly_html() if picture.newly.any() else ""}{items}</ul>'


def _newly_html() -> str:
    """Return the line of the legend for ground that is newly served, striped as on the picture."""
    between, line = _over_level(NEWLY_SERVED, _STRENGTH), _over_level(NEWLY_SERVED_STRIPE, _STRIPE_STRENGTH)
    stripes = f'<path d="M-2 14l16-16M6 16l16-16" stroke="{line}" stroke-width="2.5"/>'
    swatch = f'<svg width="18" height="12"><rect width="18" height="12" fill="{between}"/>{stripes}</svg>'
    return f"<li>{swatch} {told_html('ground newly served in all services')}</li>"


def _image(picture: HillPicture) -> npt.NDArray[np.uint8]:
    """Return the coloured relief, (rows, columns, 3), thinned where it is large."""
    every = -(-max(picture.heights_m.shape) // _LARGEST_SIDE)
    heights = np.asarray(picture.heights_m[::every, ::every], dtype=np.float64)
    shade = hillshade(heights, picture.cell_size_m * every).astype(np.float64)
    light = np.where(shade > 0, 0.45 + 0.55 * shade / 255.0, 1.0)[..., None]
    colour, strength = _coloured(picture.newly[::every, ::every])
    paper = np.array(rgb(PAPER))
    lit = (paper * (1.0 - strength) + colour * strength) * light
    return np.clip(np.round(lit), 0, 255).astype(np.uint8)


def _coloured(
    newly: npt.NDArray[np.bool_],
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return the colour of each cell (rows, columns, 3) and how much of it is mixed in (rows, columns, 1)."""
    stripes = _striped(newly.shape)
    colour = np.where(stripes[..., None], rgb(NEWLY_SERVED_STRIPE), rgb(NEWLY_SERVED)).astype(np.float64)
    strength = np.where(newly, np.where(stripes, _STRIPE_STRENGTH, _STRENGTH), 0.0)
    return colour, strength[..., None]


def _striped(shape: tuple[int, ...]) -> npt.NDArray[np.bool_]:
    """Return the cells on oblique lines, some fifty over the picture."""
    period = max(4, max(shape) // 50)
    row, column = np.indices(shape)
    lines: npt.NDArray[np.bool_] = (row + column) % period < max(1, round(period / 3.5))
    return lines


def _over_level(colour: str, strength: float) -> str:
    """Return how a colour looks over level ground, as ``#rrggbb``."""
    mixed = (
        _LEVEL_LIGHT * (ground * (1.0 - strength) + own * strength)
        for ground, own in zip(rgb(PAPER), rgb(colour), strict=True)
    )
    return "#" + "".join(f"{round(each):02x}" for each in mixed)


def _mark(mark: PictureMark, unit: float, columns: int) -> str:
    """Return a mark with its label; a station's stands to its left where the right has no room."""
    told = f"<title>{told_html(mark.told)}</title>"
    if mark.kind not in ("hill", "station"):
        return _sign(mark, unit, told)
    x, y = mark.column + 0.5, mark.row + 0.5
    if mark.kind == "hill":
        label = svg_words(x, y + 0.62 * unit, mark.label, unit, INK, anchor="middle")
        return f'<g class="ring">{told}{_sign(mark, unit)}{label}</g>'
    to_left = x + (1.5 + _LETTER_UNITS * len(mark.label)) * unit > columns
    beside = x - 1.5 * unit if to_left else x + 1.5 * unit
    label = svg_words(beside, y + 0.8 * unit, mark.label, unit, INK, anchor="end" if to_left else "")
    return f"<g>{told}{_sign(mark, unit)}{label}</g>"


def _sign(mark: PictureMark, unit: float, told: str = "") -> str:
    """Return the sign of a mark: people newly served are larger dots than those who lack a service."""
    x, y, colour = mark.column + 0.5, mark.row + 0.5, _COLOURS[mark.kind]
    if mark.kind in ("served", "unserved"):
        size = (max(0.95, 0.34 * unit) if mark.kind == "served" else max(0.62, 0.22 * unit)) * mark.size
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:.2f}" fill="{colour}">{told}</circle>'
    if mark.kind == "harmed":
        side = max(1.2, 0.7 * unit) * mark.size
        place = f'x="{x - side / 2.0:.2f}" y="{y - side / 2.0:.2f}" width="{side:.2f}" height="{side:.2f}"'
        line = f'stroke="{PAPER}" stroke-width="{0.1 * unit:.2f}"'
        return f'<rect {place} fill="{colour}" {line}>{told}</rect>'
    if mark.kind == "station":
        path = f"M{x:.1f} {y - 1.3 * unit:.2f}l{1.1 * unit:.2f} {2.2 * unit:.2f}h{-2.2 * unit:.2f}z"
        return f'<path d="{path}" fill="{colour}" stroke="{PAPER}" stroke-width="{0.25 * unit:.2f}"/>'
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{1.35 * unit:.2f}" fill="{PAPER}" stroke="{colour}" '
        f'stroke-width="{0.4 * unit:.2f}"/>'
    )
