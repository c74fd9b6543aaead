"""Draws the page of a siting: the map page with what every hill is worth, filters, and the list beside it.

It is the map page's own body, lattice and marks; ``page/hills_*.js`` bring what hills have beyond coverage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.geodesy import turned
from combe.publishing.colours import HILL_COLOURS, HILL_OF_NO_WORTH, HILL_OPAQUE, HILL_SHARES
from combe.publishing.content import MapPage
from combe.publishing.fields import LOOKS, Mark
from combe.publishing.geotiff import check_shape
from combe.publishing.inline import filled, make_figure, page_part, page_script, self_contained_html
from combe.publishing.map_grid import in_steps, make_lattice, middle_deg, pack_alike
from combe.publishing.map_page import (
    MAP_SCRIPTS,
    body_html,
    left_out_html,
    page_data,
    thinned,
    thinning,
)
from combe.publishing.page_language import in_page_language, retold_data, told_html
from combe.publishing.text import breakable, encode, encode_data, plain
from combe.words import tell

_SCRIPTS: Final = (
    *MAP_SCRIPTS,
    *("hills_filter.js", "hills_paint.js", "hills_list.js", "hills_page.js"),
    "start.js",
)
_STYLES: Final = ("map.css", "hills.css")
_CLASSES: Final = "hill"
"""The key of the grid that says of which class a hill is."""

_MOST_STEPS: Final = 60_000
_POSITIONS: Final = 120
"""A slider has about so many positions (our own choice): each is a pixel or two wide."""

NO_WORTH, UNPRICED = 0, -1
"""Classes of hills of no worth, and of those whose worth is not known; of the others it counts from 1."""


@dataclass(frozen=True)
class HillQuantity:
    """Something that is known of hills, over the grid (rows, columns): NaN where not known, or no hill is.

    ``at_most`` tells on which side of its value a filter keeps hills; ``steps_per_unit`` how finely the page
    knows it, ``decimals`` how finely it is told.
    """

    key: str
    title: str
    unit: str
    values: npt.NDArray[np.floating]
    at_most: bool = False
    steps_per_unit: int = 1
    decimals: int = 0


@dataclass(frozen=True)
class ListedHill:
    """A hill of the list: its place, that of the station that it hears, a row of the list, and what is told.

    ``values`` are those of the quantities by their keys, None where not known; ``serves`` tells of each mark
    of people whether the hill serves it; ``page`` is the file of its own page, or nothing.
    """

    rank: int
    longitude_deg: float
    latitude_deg: float
    hears_deg: tuple[float, float]
    named: str
    cells: tuple[str | Mark, ...]
    told: tuple[str, ...]
    values: Mapping[str, float | None]
    serves: npt.NDArray[np.bool_]
    page: str = ""


@dataclass(frozen=True)
class HillsShown:
    """What the page shows of hills; ``worth`` (rows, columns) is what they are compared by, NaN if unknown.

    ``searched`` (rows, columns) is where hills are. ``unit`` is that of the worth, ``nothing`` says what
    hills of no worth have, ``unpriced`` why the worth of some is not known. ``heads`` are those of the list;
    ``sentences`` stand at the top, ``more`` is the HTML of all figures.
    """

    searched: npt.NDArray[np.bool_]
    worth: npt.NDArray[np.floating]
    quantities: tuple[HillQuantity, ...]
    listed: tuple[ListedHill, ...]
    heads: tuple[str, ...]
    unit: str
    nothing: str
    unpriced: str
    sentences: tuple[str, ...]
    more: str

    def __post_init__(self) -> None:
        for each in (self.worth, *(one.values for one in self.quantities)):
            if each.shape != self.searched.shape:
                raise RangeError(
                    "shape of what is known of hills", each.shape, f"{self.searched.shape}, the hills'"
                )


def render_hills(page: MapPage, hills: HillsShown) -> str:
    """Return the page as one HTML text that asks the network for nothing; ``page`` has ground and marks.

    Raises
    ------
    RangeError
        Hills over another grid.
    """
    check_shape("hills", hills.searched.shape, page.grid)
    document = page_part("sheet.css") + page_part("document.css")
    style = "\n".join((*(page_part(name) for name in _STYLES), f".fragment {{\n{document}\n}}"))
    figure = make_figure(
        plain(in_page_language(page.title)),
        with_map=True,
        style=style,
        body=_body(page, hills),
        script=page_script(*_SCRIPTS),
    )
    return self_contained_html(figure, about=page.about)


def hill_classes(worth: npt.NDArray[np.floating], searched: npt.NDArray[np.bool_]) -> npt.NDArray[np.float64]:
    """Return the class of each hill (rows, columns) by its share of the best one's worth; NaN where none is.

    >>> worth = np.array([[0.0, 1.0, 100.0, np.nan, np.nan]])
    >>> hill_classes(worth, np.array([[True, True, True, True, False]]))
    array([[ 0.,  1.,  6., -1., nan]])
    """
    known = searched & np.isfinite(worth)
    numbers = np.searchsorted(class_edges(worth), np.where(known, worth, 0.0), side="right").astype(float)
    # What is worth nothing has no share in the best, which itself may be worth nothing.
    numbers = np.where(known & (np.nan_to_num(worth) > 0.0), numbers, NO_WORTH)
    return np.where(searched, np.where(known, numbers, UNPRICED), np.nan)


def class_edges(worth: npt.NDArray[np.floating]) -> npt.NDArray[np.float64]:
    """Return the worth from which each class of hills begins, the lowest first."""
    known = worth[np.isfinite(worth)]
    best = max(float(known.max()), 0.0) if known.size else 0.0
    return np.array(HILL_SHARES) * best


def _body(page: MapPage, hills: HillsShown) -> str:
    offered = [each for each in hills.quantities if _bounds(each, hills)]
    headline = "".join(f"<p>{breakable(in_page_language(words))}</p>" for words in hills.sentences)
    return body_html(
        page,
        encode_data(retold_data(_data(page, hills))),
        headline=headline,
        controls=filled(
            "hills_controls.html",
            filters="".join(map(_filter_html, offered)),
            list=_list_html(hills),
            left_out=left_out_html(page.left_out),
        ),
        work=filled("hills_more.html", parts=hills.more),
    )


def _filter_html(each: HillQuantity) -> str:
    return filled(
        "hills_filter.html",
        key=encode(each.key),
        title=told_html(_bound_words(each)),
    )


def _bound_words(each: HillQuantity) -> str:
    if each.at_most:
        return tell("{quantity}, at most", quantity=each.title)
    return tell("{quantity}, at least", quantity=each.title)


def _list_html(hills: HillsShown) -> str:
    """Return the list as a table whose first cells are buttons that choose a hill."""
    head = "".join(f'<th scope="col">{told_html(words)}</th>' for words in hills.heads)
    body = "".join(map(_row_html, hills.listed))
    return f'<table class="counts hill-list"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _row_html(hill: ListedHill) -> str:
    named = told_html(hill.named)
    button = f'<button type="button" aria-pressed="false" aria-label="{named}">{hill.rank}</button>'
    cells = "".join(f"<td>{_cell_html(each)}</td>" for each in hill.cells)
    return f'<tr data-rank="{hill.rank}"><th scope="row">{button}</th>{cells}</tr>'


def _cell_html(cell: str | Mark) -> str:
    if isinstance(cell, str):
        return told_html(cell)
    look = cell.look.replace(" ", "-")
    return f'<span class="mark-verdict {look}">{LOOKS[cell.look]} {told_html(cell.words)}</span>'


def _data(page: MapPage, hills: HillsShown) -> dict[str, Any]:
    """Return what the script reads: the map page's without layers, and all of hills."""
    data, every = page_data(page, with_fields=False), thinning(page.grid)
    classes = thinned(hill_classes(hills.worth, hills.searched), every)
    steps = {_CLASSES: in_steps(classes, 1)}
    quantities = []
    for each in hills.quantities:
        shown, per_unit = thinned(each.values, every), _steps_per_unit(each)
        # Rounding down keeps "at least" true; for "at most" the negative is held, which does the same.
        steps[each.key] = in_steps(-shown if each.at_most else shown, per_unit)
        quantities.append(_quantity_data(each, hills))
    return {
        **data,
        "grids": [*data["grids"], *pack_alike(steps)],
        "layers": quantities,
        "hills": {
            "listed": [_listed_data(each, page) for each in hills.listed],
            "edges": [float(each) for each in class_edges(hills.worth)],
            "best": _most(hills.worth),
            "unit": plain(in_page_language(hills.unit)),
            "nothing": plain(in_page_language(hills.nothing)),
            "unpriced": plain(in_page_language(hills.unpriced)),
            "colours": HILL_COLOURS,
            "no_worth": HILL_OF_NO_WORTH,
            "opaque": HILL_OPAQUE,
            "searched": int(hills.searched.sum()),
        },
    }


def _most(values: npt.NDArray[np.floating]) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else 0.0


def _steps_per_unit(each: HillQuantity) -> float:
    """Return how finely the page knows a quantity: coarser by tens where its span is too wide for 16 bits."""
    known = each.values[np.isfinite(each.values)]
    span, steps = (float(np.ptp(known)) if known.size else 0.0), float(each.steps_per_unit)
    while span * steps > _MOST_STEPS:
        steps /= 10.0
    return steps


def _bounds(each: HillQuantity, hills: HillsShown) -> tuple[float, float, float] | None:
    """Return the ends and the step of a filter, None where it could leave out nothing."""
    known = each.values[hills.searched & np.isfinite(each.values)]
    if not known.size or float(known.min()) == float(known.max()):
        return None
    low, high = float(known.min()), float(known.max())
    step = _round_step(max((high - low) / _POSITIONS, 1.0 / _steps_per_unit(each)))
    return step * math.floor(low / step), step * math.ceil(high / step), step


def _round_step(least: float) -> float:
    """Return 1, 2 or 5 times a power of ten, no less than asked.

    >>> [_round_step(least) for least in (0.1, 0.3, 6.0, 18.0)]
    [0.1, 0.5, 10.0, 20.0]
    """
    power = 10.0 ** math.floor(math.log10(least) + 1e-9)
    return float(f"{next(each for each in (1, 2, 5, 10) if each * power >= least * (1 - 1e-9)) * power:.12g}")


def _quantity_data(each: HillQuantity, hills: HillsShown) -> dict[str, Any]:
    bounds = _bounds(each, hills)
    low, high, step = (float(f"{one:.12g}") for one in bounds or (0.0, 0.0, 1.0))
    unknown = int((hills.searched & ~np.isfinite(each.values)).sum())
    return {
        "key": each.key,
        "title": plain(in_page_language(each.title)),
        "unit": plain(in_page_language(each.unit)),
        "decimals": each.decimals,
        "at_most": each.at_most,
        "offered": bounds is not None,
        "low": low,
        "high": high,
        "step": step,
        "unknown": unknown,
    }


def _listed_data(hill: ListedHill, page: MapPage) -> dict[str, Any]:
    middle = middle_deg(make_lattice(page.grid))
    places = ((hill.longitude_deg, hill.latitude_deg), hill.hears_deg)
    (lon, lat), (lon_heard, lat_heard) = ((float(turned(x, middle)), y) for x, y in places)
    return {
        "rank": hill.rank,
        "lon": lon,
        "lat": lat,
        "hears": [[lat_heard, lon_heard], [lat, lon]],
        "named": plain(in_page_language(hill.named)),
        "told": [plain(in_page_language(words)) for words in hill.told],
        "values": dict(hill.values),
        "serves": "".join("1" if each else "0" for each in hill.serves),
        "page": hill.page,
    }
