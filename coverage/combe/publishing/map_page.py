"""Draws the map page: one HTML file with the ground, the coverage, the people and the stations in it.

First the page and the data of its script, then its words: panel, readout and footer, each text encoded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.geodesy import turned
from combe.publishing.cautions import SHORT_CAUTION
from combe.publishing.colours import (
    CLASS_STEPS_DB,
    GROUND_DARK,
    GROUND_LIGHT,
    GROUND_POWER,
    MARK_COLOURS,
    NEWLY_SERVED,
    NEWLY_SERVED_STRIPE,
    SERVED_BEFORE,
    SHORT_OF_MINIMUM,
    SHORT_STEP_DB,
    class_colours,
    hillshade,
    rgb_of,
)
from combe.publishing.content import (
    PEOPLE_STATES,
    FeedPath,
    MapClass,
    MapLayer,
    MapPage,
    PeopleMark,
    PlaceMark,
    ShareScale,
    StationMark,
)
from combe.publishing.inline import (
    filled,
    foot_html,
    make_figure,
    page_part,
    page_script,
    self_contained_html,
    tell_html,
)
from combe.publishing.map_districts import district_data, districts_html, switch_html
from combe.publishing.map_grid import (
    CELLS_LIMIT,
    MercatorLattice,
    StepGrid,
    in_steps,
    make_lattice,
    middle_deg,
    pack_alike,
    pack_floats,
)
from combe.publishing.map_lines import context_data, contour_data
from combe.publishing.map_people import headline_part_html, people_html
from combe.publishing.page_about import back_html
from combe.publishing.page_language import in_page_language, retold_data, told_html
from combe.publishing.recount import HIGHEST_DB, LOWEST_DB, STEP_DB, recount_data
from combe.publishing.station_card import card_data
from combe.publishing.text import breakable, encode, encode_data, number, plain
from combe.words import tell

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

FIELD_STEPS_PER_DB: Final = 10
"""The page knows field strengths to 0.1 dB, rounded down."""

_SHADE_STEP: Final = 4

MAP_SCRIPTS: Final = (
    *("grids.js", "paint.js", "shares.js", "marks.js", "panel.js", "readout.js"),
    *("context.js", "labels.js", "cards.js", "search.js", "crosshair.js", "paper.js"),
)
"""What every page with this map runs, in this order, before scripts of its own and ``start.js``."""

_OWN_SCRIPTS: Final = (
    *("classes.js", "recount.js", "districts.js", "swipe.js", "sides.js", "before_after.js"),
    *("address.js", "ground_profile.js"),
)
"""What the map of a coverage runs besides."""

_TILE_HOST: Final = "https://tile.openstreetmap.org"
_TILES: Final = {
    "url": _TILE_HOST + "/{z}/{x}/{y}.png",
    "credit": "Street tiles © OpenStreetMap contributors",
}


def render_map(page: MapPage) -> str:
    """Return the page as one HTML text that asks the network for nothing.

    With ``page.street_tiles`` a switch for street tiles is added (off at first), and their host is the only
    one that the page may fetch from.

    Raises
    ------
    PageError
        The page would hold a link that cannot be put inside it.
    """
    figure = make_figure(
        plain(in_page_language(page.title)),
        with_map=True,
        style="".join(page_part(name) for name in ("map.css", "swipe.css", "ground_profile.css")),
        body=body_html(page, encode_data(retold_data(page_data(page))), **_sides_html(page)),
        script=page_script(*MAP_SCRIPTS, *_OWN_SCRIPTS, "start.js"),
    )
    hosts = (_TILE_HOST,) if page.street_tiles else ()
    return self_contained_html(figure, image_hosts=hosts, about=page.about)


def _sides_html(page: MapPage) -> dict[str, str]:
    """Return what a page needs to part its map between two networks, where it has so many."""
    if sum(layer.shows == "margin" for layer in page.layers) < 2:
        return {}
    return {"sides": filled("map_sides.html"), "work": filled("swipe_frame.html")}


def page_data(page: MapPage, *, with_fields: bool = True) -> dict[str, Any]:
    """Return what the page's script reads: grids, lattice, colours and marks, ready for JSON.

    Without fields the grids are the ground alone: a page that asks for its layers need not hold them.
    """
    lattice = make_lattice(page.grid)
    middle = middle_deg(lattice)
    every = thinning(page.grid)
    heights = thinned(page.heights_m, every)
    rows, columns = heights.shape
    area_km2 = (page.grid.cell_size_m * every / 1000.0) ** 2
    return {
        "cells": {"rows": rows, "columns": columns, "every": every, "area_km2": area_km2},
        "lattice": _lattice_data(lattice),
        "grids": _grid_data(page.layers if with_fields else (), page.grid, heights, every),
        "layers": [layer_data(layer) for layer in page.layers],
        "before_keys": page.before_keys,
        "after_keys": page.after_keys,
        "colours": _colour_data(page),
        "people": [_people_data(mark, middle) for mark in page.people],
        "people_words": {state: _shown(words) for state, words in page.people_words.items()},
        "stations": [_station_data(station, middle) for station in page.stations],
        "feeds": [_feed_data(feed, middle) for feed in page.feeds],
        "places": [_place_data(place, middle) for place in page.places],
        "system": {
            "name": plain(page.grid.crs_name),
            "west_m": page.grid.west_m,
            "north_m": page.grid.north_m,
            "cell_size_m": page.grid.cell_size_m,
        },
        "context": context_data(page.context, page.grid, lattice),
        "contours": contour_data(page.contours, page.grid, lattice),
        "districts": [district_data(each, middle) for each in page.districts],
        "tiles": {**_TILES, "credit": _shown(_TILES["credit"])} if page.street_tiles else None,
        "recount": {**recount_data(page.recount), "states": PEOPLE_STATES} if page.recount else None,
        "sight": page.sight._asdict() if page.sight else None,
    }


def _shown(text: str) -> str:
    """Return one of our own texts in the language of the page."""
    return plain(in_page_language(text))


def thinning(grid: StudyGrid) -> int:
    """Return of how many cells a side the page holds one."""
    return math.ceil(max(grid.rows, grid.columns) / CELLS_LIMIT)


def thinned_words(grid: StudyGrid) -> str:
    """Return that the page does not show every cell, where it does not."""
    every = thinning(grid)
    words = "This page shows one of {every} cells each way; people are counted on all."
    return tell(words, every=every) if every > 1 else ""


def _grid_data(
    layers: Sequence[MapLayer], grid: StudyGrid, heights_m: npt.NDArray[np.float64], every: int
) -> list[dict[str, Any]]:
    """Return the packed grids: one per layer, the heights [m] and the shading."""
    shade = hillshade(heights_m, grid.cell_size_m * every).astype(np.float64)
    grids = {layer.key: layer_codes(layer, every) for layer in layers}
    grids["height"] = in_steps(np.round(heights_m), 1)
    # 0 is where the height is not known. Fewer shades than eyes can tell apart take half the room.
    few = np.floor(shade / _SHADE_STEP) * _SHADE_STEP + _SHADE_STEP / 2
    grids["shade"] = in_steps(np.where(shade == 0, np.nan, few), 1)
    return pack_alike(grids)


def layer_codes(layer: MapLayer, every: int) -> StepGrid:
    """Return a layer as the page holds it: each ``every``-th cell both ways, in steps."""
    # Classes are whole numbers.
    return in_steps(thinned(layer.field_dbuv_m, every), 1 if layer.classes else FIELD_STEPS_PER_DB)


def thinned(values: npt.NDArray[np.floating], every: int) -> npt.NDArray[np.float64]:
    """Return each ``every``-th value both ways, from the middle of the first block."""
    # One value of each block and not the mean, which would put a field on the map that is predicted nowhere.
    return np.asarray(values[every // 2 :: every, every // 2 :: every], dtype=np.float64)


def _lattice_data(lattice: MercatorLattice) -> dict[str, Any]:
    """Return the lattice for the page."""
    mesh_rows, mesh_columns = lattice.mesh_row.shape
    return {
        "west_m": lattice.west_m,
        "north_m": lattice.north_m,
        "pixel_m": lattice.pixel_m,
        "rows": lattice.rows,
        "columns": lattice.columns,
        "mesh_step": lattice.mesh_step,
        "mesh_rows": mesh_rows,
        "mesh_columns": mesh_columns,
        "mesh_row": pack_floats(lattice.mesh_row),
        "mesh_column": pack_floats(lattice.mesh_column),
    }


def _colour_data(page: MapPage) -> dict[str, Any]:
    """Return the colours for the page."""
    most = max((len(layer.shares.classes) for layer in page.layers if layer.shares), default=0)
    return {
        "classes": class_colours(page.ramp),
        "shares": class_colours(page.ramp, most),
        "steps_db": CLASS_STEPS_DB,
        "short_db": SHORT_STEP_DB,
        "short": SHORT_OF_MINIMUM,
        "before": SERVED_BEFORE,
        "newly": NEWLY_SERVED,
        "stripe": NEWLY_SERVED_STRIPE,
        "marks": MARK_COLOURS,
        "ground": {"dark": rgb_of(GROUND_DARK), "light": rgb_of(GROUND_LIGHT), "power": GROUND_POWER},
    }


def layer_data(layer: MapLayer) -> dict[str, Any]:
    """Return a layer without its grid."""
    # What several stations radiate has a name of ours, else it is that of the station.
    ours = layer.shows != "field" or layer.shares is not None
    return {
        "key": layer.key,
        "title": _shown(layer.title),
        "station": _shown(layer.station) if ours else plain(layer.station),
        "role": layer.role,
        "service": plain(layer.service),
        "threshold_dbuv_m": round(float(layer.threshold_dbuv_m), 3),
        "description": _shown(layer.description),
        "shares": _share_data(layer.shares) if layer.shares else None,
        "shows": layer.shows,
        "classes": [_class_data(each) for each in layer.classes],
        "frequency_mhz": layer.frequency_mhz,
    }


def _class_data(one: MapClass) -> dict[str, Any]:
    """Return a class of ground for the page, its people as they are shown."""
    people = None if one.people is None else round(one.people)
    look = {"colour": one.colour, "pattern": one.pattern}
    return {"code": one.code, "words": _shown(one.words), **look, "people": people}


def _share_data(scale: ShareScale) -> dict[str, Any]:
    """Return how a layer's field becomes a share of places."""
    return {
        "need_dbuv_m": round(scale.at_a_place_dbuv_m, 3),
        "deviation_db": round(scale.deviation_db, 3),
        "percent": scale.planning_percent,
        "classes": [
            {"percent": percent, "field_dbuv_m": round(field, 3)} for percent, field in scale.classes
        ],
    }


def _people_data(mark: PeopleMark, middle: float) -> dict[str, Any]:
    """Return people of a place for the page, on the side of the map's middle [degrees]."""
    return {
        "lon": round(float(turned(mark.longitude_deg, middle)), 6),
        "lat": round(mark.latitude_deg, 6),
        "people": round(float(mark.people), 1),
        "state": mark.state,
        "name": plain(mark.name),
    }


def _station_data(station: StationMark, middle: float) -> dict[str, Any]:
    """Return a station for the page, on the side of the map's middle [degrees]."""
    return {
        "lon": float(turned(station.longitude_deg, middle)),
        "lat": station.latitude_deg,
        "name": plain(station.name),
        "role": station.role,
        "aerial_height_m": float(station.aerial_height_m),
        "services": _shown(station.services),
        "card": card_data(station.card),
    }


def _place_data(place: PlaceMark, middle: float) -> list[Any]:
    """Return a settlement for the page, on the side of the map's middle [degrees]."""
    along = round(float(turned(place.longitude_deg, middle)), 6)
    return [along, round(place.latitude_deg, 6), round(float(place.people), 1), plain(place.name)]


def _feed_data(feed: FeedPath, middle: float) -> dict[str, Any]:
    """Return a feed path for the page, on the side of the map's middle [degrees]."""
    along = turned(feed.longitude_deg, middle).tolist()
    places = [[lat, lon] for lon, lat in zip(along, feed.latitude_deg, strict=True)]
    return {
        "parent": plain(feed.parent),
        "relay": plain(feed.relay),
        "places": places,
        "verdict": feed.verdict,
    }


_CREDITS: Final = (
    "Map software: Leaflet (BSD 2-Clause). Colours of field strength: batlow by Fabio Crameri "
    "(doi:10.5281/zenodo.1243862), or viridis or cividis of matplotlib. Drawn by Combe.",
)
_DRAWN_BY: Final = "drawn by Combe"
_TILE_CREDIT: Final = "Street tiles come from tile.openstreetmap.org, and only when switched on."

_MOST_UNFOLDED: Final = 12
"""Stations that are listed openly."""


def body_html(page: MapPage, data: str, **others: str) -> str:
    """Return the body of the page around the map; ``data`` is the JSON for the script.

    ``others`` are HTML for places of the body, instead of what the map page has there.
    """
    tiles = (_TILE_CREDIT,) if page.street_tiles else ()
    ours = {
        "back": back_html(page.index),
        "title": told_html(page.title),
        "subtitle": told_html(page.subtitle),
        "note": invented_html(page.invented_note),
        "feeds": "".join(
            f'<p class="told">{breakable(in_page_language(words))}</p>' for words in page.feed_notes
        ),
        "left_out": left_out_html(page.left_out),
        "headline": headline_part_html(page.people_rows[:1], page.sure, page.harm),
        "table": people_html(page.people_rows) + districts_html(page.districts, page.districts_left_out),
        "stations": stations_html(page.stations),
        "streets": (switch_html() if any(each.rings for each in page.districts) else "")
        + (filled("map_streets.html") if page.street_tiles else ""),
        "foot": foot_html((*page.provenance, *_CREDITS, *tiles), folded=True),
        "work": "",
        "credit": breakable(
            f"{in_page_language(SHORT_CAUTION)} "
            + "; ".join(map(in_page_language, (*page.credits, _DRAWN_BY)))
        ),
        "data": data,
    }
    places = {**ours, **others}
    places.setdefault("sides", "")
    slider = {"low": f"{LOWEST_DB:g}", "high": f"{HIGHEST_DB:g}", "step": f"{STEP_DB:g}"}
    shown = {name: places[name] for name in ("left_out", "sides")}
    places.setdefault("controls", filled("map_controls.html", **shown, **slider))
    return filled("map_body.html", **places)


def left_out_html(words: str) -> str:
    """Return which layers a page does not have; nothing where it has all."""
    return f"<p><small>{told_html(words)}</small></p>" if words else ""


def invented_html(note: str) -> str:
    """Return the note that data are invented; nothing for an empty note."""
    return f'<p class="invented">{told_html(note)}</p>' if note else ""


def stations_html(stations: tuple[StationMark, ...]) -> str:
    """Return the list of stations with role, height and services, folded if long; nothing without any."""
    if not stations:
        return ""
    listed = f'<ul class="stations">{"".join(map(_station_html, stations))}</ul>'
    if len(stations) > _MOST_UNFOLDED:
        summary = tell_html("{count} stations", count=str(len(stations)))
        listed = f"<details><summary>{summary}</summary>{listed}</details>"
    return f"<section><h2>{tell_html('Stations')}</h2>{listed}</section>"


def _station_html(station: StationMark) -> str:
    told = tell_html(
        "{name}, {role}, aerial {height} m",
        name=f"<b>{encode(station.name)}</b>",
        role=told_html(station.role),
        height=number(station.aerial_height_m),
    )
    services = f"<br>{told_html(station.services)}" if station.services else ""
    return f"<li>{told}{services}</li>"
