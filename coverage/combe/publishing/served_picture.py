"""Draws whom a network serves over the ground: shaded relief, what is served, people left out, stations.

It has to be read on paper without colours too: what is served before is dotted, what is newly served is
striped, and each kind of mark has its own shape. All is one SVG, with its legend inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.publishing.colours import (
    MARK_COLOURS,
    NEWLY_SERVED,
    NEWLY_SERVED_STRIPE,
    SERVED_BEFORE,
    hillshade,
)
from combe.publishing.diagram import INK, PAPER
from combe.publishing.page_language import in_page_language
from combe.publishing.picture_parts import north_arrow, png_link, rgb, rimmed_words, scale_bar
from combe.words import Name, joined, tell

Ground = Literal["unserved", "served before", "newly served", "lost", "no prediction"]
GROUNDS: Final[tuple[Ground, ...]] = ("unserved", "served before", "newly served", "lost", "no prediction")
"""What can be said of a cell, by the number that a picture's ``ground`` holds."""

_MEANINGS: Final[dict[Ground, str]] = {
    "unserved": "not served",
    "served before": "served before",
    "newly served": "newly served",
    "lost": "served before, not now",
    "no prediction": "no prediction",
}
_DOTS: Final = "#4f8d97"
_LOST: Final = "#7a2048"
_UNKNOWN: Final = "#8a877f"

_STRENGTH: Final = 0.62
"""How much of a colour is mixed into the ground; of lines and dots all."""

_SMALLEST_SIDE: Final = 700
_LARGEST_SIDE: Final = 1100
"""Points of the picture's longer side: cells are drawn larger, or thinned, so that patterns stay as fine."""

_PERIOD: Final = 8
"""From stripe to stripe, and from dot to dot [points]: some 1 mm where the picture is 90 mm wide."""

_LINE_UNITS: Final = 4.4
"""From line to line of the legend, in hundredths of the picture."""


@dataclass(frozen=True)
class ServedMark:
    """A station with its name, people without a service, or a place told of, at a row and column [cells].

    ``size`` of people is 1 where most of all live. A place has a short name, and the words of the legend.
    """

    kind: Literal["parent", "relay", "people", "place"]
    row: float
    column: float
    name: str = ""
    size: float = 1.0
    words: str = ""


@dataclass(frozen=True)
class ServedPicture:
    """Heights of the ground and what is served, numbers of GROUNDS, each (rows, columns)."""

    heights_m: npt.NDArray[np.floating]
    ground: npt.NDArray[np.int8]
    cell_size_m: float
    marks: tuple[ServedMark, ...]

    def __post_init__(self) -> None:
        if self.ground.shape != self.heights_m.shape:
            raise RangeError(
                "shape of what is served", self.ground.shape, f"{self.heights_m.shape}, the ground's"
            )


def served_svg(picture: ServedPicture) -> str:
    """Return the picture as SVG."""
    rows, columns = picture.heights_m.shape
    unit = max(rows, columns) / 100.0
    legend = _legend(picture, unit)
    height = rows + (1.0 + _LINE_UNITS * -(-len(legend) // 2)) * unit
    ground = f'<image href="{png_link(_image(picture))}" width="{columns}" height="{rows}"/>'
    # Letters of 2.7 units are 7 points where the picture takes half a sheet.
    large = 1.6 * unit
    marks = "".join(_mark(each, unit, columns) for each in picture.marks if each.kind != "place")
    marks += _places([each for each in picture.marks if each.kind == "place"], unit)
    bar = scale_bar((rows, columns), picture.cell_size_m, large)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {columns} {height:.1f}" '
        f'font-family="Source Sans 3, Noto Sans, DejaVu Sans, sans-serif">'
        f'<rect width="{columns}" height="{height:.1f}" fill="{PAPER}"/>{ground}{marks}{bar}'
        f"{north_arrow(columns, large)}{_laid_out(legend, rows, columns, unit)}</svg>"
    )


def _image(picture: ServedPicture) -> npt.NDArray[np.uint8]:
    """Return the ground as shaded and coloured points (rows, columns, 3)."""
    longer = max(picture.heights_m.shape)
    every, larger = -(-longer // _LARGEST_SIDE), max(1, -(-_SMALLEST_SIDE // longer))
    heights = np.asarray(picture.heights_m[::every, ::every], dtype=np.float64)
    shade = hillshade(heights, picture.cell_size_m * every).astype(np.float64)
    light = np.where(shade > 0, 0.45 + 0.55 * shade / 255.0, 1.0)
    light, ground = (
        np.repeat(np.repeat(each, larger, axis=0), larger, axis=1)
        for each in (light, picture.ground[::every, ::every])
    )
    colour, strength = _patterned(ground)
    lit = (np.array(rgb(PAPER)) * (1.0 - strength) + colour * strength) * light[..., None]
    return np.clip(np.round(lit), 0, 255).astype(np.uint8)


def _patterned(
    ground: npt.NDArray[np.int8],
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Return colours (rows, columns, 3), and how much of each is mixed in (rows, columns, 1)."""
    row, column = np.indices(ground.shape)
    rising, falling = (row + column) % _PERIOD, (row - column) % _PERIOD
    over, across = row % _PERIOD, (column + _PERIOD // 2 * (row // _PERIOD % 2)) % _PERIOD
    # Each kind of ground: its colour, that of its pattern, and where the pattern is.
    looks = {
        1: (SERVED_BEFORE, _DOTS, (over < 2) & (across < 2)),
        2: (NEWLY_SERVED, NEWLY_SERVED_STRIPE, rising < 3),
        3: (PAPER, _LOST, (rising < 2) | (falling < 2)),
        4: (PAPER, _UNKNOWN, over < 1),
    }
    colour = np.broadcast_to(np.array(rgb(PAPER)), (*ground.shape, 3)).copy()
    strength = np.zeros(ground.shape)
    for number, (plain, lines, where) in looks.items():
        here = ground == number
        colour[here], strength[here] = rgb(plain), _STRENGTH
        colour[here & where], strength[here & where] = rgb(lines), 1.0
    return colour, strength[..., None]


def _mark(mark: ServedMark, unit: float, columns: int) -> str:
    x, y = mark.column + 0.5, mark.row + 0.5
    if mark.kind == "people":
        return _cross(x, y, (0.45 + 0.55 * mark.size) * unit)
    letters = 2.9 * unit * 0.55 * len(mark.name)
    left = x + 2.2 * unit + letters > columns
    beside = x - 2.2 * unit if left else x + 2.2 * unit
    return _mast(mark.kind, x, y, unit) + _words(
        beside, y + 1.0 * unit, mark.name, unit, "end" if left else ""
    )


def _cross(x: float, y: float, r: float) -> str:
    """Return a cross, the sign of people without a service."""
    path = (
        f"M{x - r:.1f} {y - r:.1f}l{2 * r:.1f} {2 * r:.1f}M{x + r:.1f} {y - r:.1f}l{-2 * r:.1f} {2 * r:.1f}"
    )
    under, over = f'stroke="{PAPER}" stroke-width="{1.1 * r:.2f}"', f'stroke-width="{0.5 * r:.2f}"'
    return f'<path d="{path}" {under}/><path d="{path}" stroke="{MARK_COLOURS["unserved"]}" {over}/>'


def _places(marks: list[ServedMark], unit: float) -> str:
    """Return each place as a dot, and beside it, where no other is, a ring with its name."""
    drawn, taken = [], [(each.column, each.row) for each in marks]
    for mark in marks:
        x, y = mark.column + 0.5, mark.row + 0.5
        ways = [
            (x + 3.2 * unit * math.sin(turn), y - 3.2 * unit * math.cos(turn))
            for turn in np.radians(np.arange(0, 360, 45))
        ]
        # The first of the ways around that is farthest from all that is drawn.
        at = max(ways, key=lambda way: round(min(math.dist(way, other) for other in taken) / unit))
        taken.append(at)
        way = f"M{x:.1f} {y:.1f}L{at[0]:.1f} {at[1]:.1f}"
        line = f'<path d="{way}" stroke="{INK}" stroke-width="{0.3 * unit:.2f}"/>'
        dot = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.5 * unit:.2f}" fill="{INK}"/>'
        drawn.append(line + dot + _ring(*at, mark.name, unit))
    return "".join(drawn)


def _ring(x: float, y: float, name: str, unit: float) -> str:
    """Return a ring with a short name in it, the sign of a place that is told of."""
    wide = (0.7 + 0.55 * len(name)) * unit
    place = f'x="{x - wide:.2f}" y="{y - 1.25 * unit:.2f}" width="{2 * wide:.2f}" height="{2.5 * unit:.2f}"'
    look = f'rx="{1.25 * unit:.2f}" fill="{PAPER}" stroke="{INK}" stroke-width="{0.3 * unit:.2f}"'
    ring = f"<rect {place} {look}/>"
    return ring + _words(x, y + 0.75 * unit, name, unit * 0.8, "middle")


def _mast(kind: str, x: float, y: float, unit: float) -> str:
    """Return the sign of a station: a full triangle for a parent, an open one for a relay."""
    path = f"M{x:.1f} {y - 1.7 * unit:.2f}l{1.5 * unit:.2f} {3.0 * unit:.2f}h{-3.0 * unit:.2f}z"
    inside = INK if kind == "parent" else PAPER
    rim = f'<path d="{path}" fill="{PAPER}" stroke="{PAPER}" stroke-width="{1.1 * unit:.2f}"/>'
    return f'{rim}<path d="{path}" fill="{inside}" stroke="{INK}" stroke-width="{0.5 * unit:.2f}"/>'


def _words(x: float, y: float, words: str, unit: float, anchor: str = "") -> str:
    return rimmed_words(x, y, words, 1.7 * unit, INK, anchor=anchor)


def _legend(picture: ServedPicture, unit: float) -> list[tuple[str, str]]:
    """Return the sign and the meaning of all that the picture has, drawn about the origin."""
    found = []
    for number, kind in enumerate(GROUNDS):
        if kind in _MEANINGS and bool((picture.ground == number).any()):
            found.append((_swatch(number, unit), in_page_language(_MEANINGS[kind])))
    there = {each.kind for each in picture.marks}
    if "people" in there:
        found.append((_cross(0.0, 0.0, unit), in_page_language("people unserved")))
    told = {each.words: each.name for each in reversed(picture.marks) if each.kind == "place"}
    places = reversed(told.items())
    found += [(_ring(0.0, 0.0, name, unit), in_page_language(words)) for words, name in places]
    roles = [each for each in ("parent", "relay") if each in there]
    found += [(_mast(each, 0.0, 0.0, unit), in_page_language(each)) for each in roles]
    return found


def _swatch(number: int, unit: float) -> str:
    colour, strength = _patterned(np.full((24, 36), number, dtype=np.int8))
    shown = np.array(rgb(PAPER)) * (1.0 - strength) + colour * strength
    link = png_link(np.clip(np.round(0.82 * shown), 0, 255).astype(np.uint8))
    wide, high = 3.6 * unit, 2.4 * unit
    place = f'x="{-wide / 2:.2f}" y="{-high / 2:.2f}" width="{wide:.2f}" height="{high:.2f}"'
    return f'<image href="{link}" {place}/>'


def _laid_out(legend: list[tuple[str, str]], rows: int, columns: int, unit: float) -> str:
    """Return the legend in two columns below the ground."""
    items = []
    for number, (sign, words) in enumerate(legend):
        x = 3.0 * unit + (number % 2) * columns / 2.0
        y = rows + (3.2 + _LINE_UNITS * (number // 2)) * unit
        items.append(
            f'<g transform="translate({x:.1f} {y:.1f})">{sign}{_words(3.0 * unit, unit, words, unit)}</g>'
        )
    return "".join(items)


def described(picture: ServedPicture) -> str:
    """Return what the picture shows, for those who cannot see it."""
    known = int((picture.ground != GROUNDS.index("no prediction")).sum()) or 1
    shares = [
        tell(
            "{percent:.0f} % of the ground {state}",
            percent=100.0 * float((picture.ground == number).sum()) / known,
            state=_MEANINGS[kind],
        )
        for number, kind in enumerate(GROUNDS)
        if kind in _MEANINGS
        and kind not in ("no prediction", "unserved")
        and bool((picture.ground == number).any())
    ]
    stations = [
        tell("{name}, {kind}", name=Name(each.name), kind=each.kind)
        for each in picture.marks
        if each.kind != "people"
    ]
    rows, columns = picture.heights_m.shape
    return tell(
        "Map of {wide:.0f} by {high:.0f} km, north up, all services: {shares}. Stations: {stations}.",
        wide=columns * picture.cell_size_m / 1000.0,
        high=rows * picture.cell_size_m / 1000.0,
        shares=joined("; ", shares),
        stations=joined("; ", stations),
    )
