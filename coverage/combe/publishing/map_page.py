"""Draws the map page: one HTML file with the ground, the coverage, the people and the stations in it."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.geodesy import turned
from combe.publishing.colours import (
    CLASS_STEPS_DB,
    MARK_COLOURS,
    NEWLY_SERVED,
    NEWLY_SERVED_STRIPE,
    SERVED_BEFORE,
    SHORT_OF_MINIMUM,
    SHORT_STEP_DB,
    class_colours,
)
from combe.publishing.content import FeedPath, MapLayer, MapPage, PeopleMark, ShareScale, StationMark
from combe.publishing.figure import make_figure
from combe.publishing.hillshade import hillshade
from combe.publishing.inline import self_contained_html
from combe.publishing.map_panel import body_html
from combe.publishing.mercator import SIDE_LIMIT, MercatorLattice, make_lattice, middle_deg
from combe.publishing.packing import in_steps, pack_alike, pack_floats
from combe.publishing.parts import page_part
from combe.publishing.text import encode_data, plain

FIELD_STEPS_PER_DB: Final = 10
"""The page knows field strengths to 0.1 dB, rounded down."""

_SCRIPTS: Final = ("grids.js", "paint.js", "shares.js", "marks.js", "panel.js", "paper.js", "start.js")
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
        plain(page.title),
        with_map=True,
        style=page_part("map.css"),
        body=body_html(page, encode_data(page_data(page))),
        script="\n".join(page_part(name) for name in _SCRIPTS),
    )
    return self_contained_html(figure, image_hosts=(_TILE_HOST,) if page.street_tiles else ())


def page_data(page: MapPage) -> dict[str, Any]:
    """Return what the page's script reads: grids, lattice, colours and marks, ready for JSON."""
    lattice = make_lattice(page.grid)
    middle = middle_deg(lattice)
    every = math.ceil(max(page.grid.rows, page.grid.columns) / SIDE_LIMIT)
    heights = _thinned(page.heights_m, every)
    rows, columns = heights.shape
    area_km2 = (page.grid.cell_size_m * every / 1000.0) ** 2
    return {
        "cells": {"rows": rows, "columns": columns, "every": every, "area_km2": area_km2},
        "lattice": _lattice_data(lattice),
        "grids": _grid_data(page, heights, every),
        "layers": [_layer_data(layer) for layer in page.layers],
        "before_keys": page.before_keys,
        "after_keys": page.after_keys,
        "colours": _colour_data(page),
        "people": [_people_data(mark, middle) for mark in page.people],
        "stations": [_station_data(station, middle) for station in page.stations],
        "feeds": [_feed_data(feed, middle) for feed in page.feeds],
        "tiles": _TILES if page.street_tiles else None,
    }


def _grid_data(page: MapPage, heights_m: npt.NDArray[np.float64], every: int) -> list[dict[str, Any]]:
    """Return the packed grids: one per layer, the heights [m] and the shading."""
    shade = hillshade(heights_m, page.grid.cell_size_m * every).astype(np.float64)
    grids = {
        layer.key: in_steps(_thinned(layer.field_dbuv_m, every), FIELD_STEPS_PER_DB) for layer in page.layers
    }
    grids["height"] = in_steps(np.round(heights_m), 1)
    grids["shade"] = in_steps(np.where(shade == 0, np.nan, shade), 1)
    return pack_alike(grids)


def _thinned(values: npt.NDArray[np.floating], every: int) -> npt.NDArray[np.float64]:
    """Return each ``every``-th value both ways, from the middle of the first block."""
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
    }


def _layer_data(layer: MapLayer) -> dict[str, Any]:
    """Return a layer without its grid."""
    return {
        "key": layer.key,
        "title": plain(layer.title),
        "station": plain(layer.station),
        "role": layer.role,
        "service": plain(layer.service),
        "threshold_dbuv_m": round(float(layer.threshold_dbuv_m), 3),
        "description": plain(layer.description),
        "shares": _share_data(layer.shares) if layer.shares else None,
        "shows": layer.shows,
    }


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
        "services": plain(station.services),
    }


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
