"""How the layers and rasters of an export are drawn, and what their columns mean: one palette."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.answers.class_maps import ClassMap
from combe.answers.export import ExportReport
from combe.answers.export_tables import SERVED_CLASSES
from combe.publishing.colours import (
    AREA_COLOURS,
    CLASS_STEPS_DB,
    HILL_COLOURS,
    HILL_OF_NO_WORTH,
    MARK_COLOURS,
    SHORT_OF_MINIMUM,
    SHORT_STEP_DB,
    VERDICT_COLOURS,
    class_colours,
    station_colours,
)
from combe.publishing.geopackage_notes import LayerNotes
from combe.publishing.gis_styles import StyledClass, VectorStyle
from combe.publishing.hills_page import class_edges

COVERAGE_STEPS_DB: Final = (SHORT_STEP_DB, *CLASS_STEPS_DB)
"""Lower edges of the classes of margin, as the map page draws them, and the one that just misses."""

_STEP_COLOURS: Final = (SHORT_OF_MINIMUM, *class_colours())
_MARK_SHAPES: Final = {
    "served before": "circle",
    "newly served": "diamond",
    "unserved": "cross2",
    "no prediction": "square",
}


def class_styles(each: ClassMap) -> tuple[StyledClass, ...]:
    """Return the classes of a raster of codes with their colours."""
    if each.kind == "served":
        return tuple(StyledClass(code, words, AREA_COLOURS[words]) for code, words in each.classes.items())
    stations = len(each.classes) - 2
    told = (AREA_COLOURS["no prediction"], *station_colours(stations), AREA_COLOURS["unserved"])
    return tuple(
        StyledClass(code, words, colour)
        for (code, words), colour in zip(each.classes.items(), told, strict=True)
    )


def step_styles() -> tuple[StyledClass, ...]:
    """Return the classes of a raster of margins, the lowest first; what is far below is not painted."""
    far = StyledClass(0, f"under {COVERAGE_STEPS_DB[0]:g} dB", AREA_COLOURS["unserved"], alpha=0)
    return (far, *(StyledClass(0, each.label, each.colour) for each in _steps()))


def _steps() -> tuple[StyledClass, ...]:
    ends = [f"{low:g} to {high:g} dB" for low, high in zip(COVERAGE_STEPS_DB, CLASS_STEPS_DB, strict=False)]
    ends.append(f"{COVERAGE_STEPS_DB[-1]:g} dB and more")
    return tuple(
        StyledClass(int(low), words, colour)
        for low, words, colour in zip(COVERAGE_STEPS_DB, ends, _STEP_COLOURS, strict=True)
    )


_NAMED: Final = {
    "score": "score",
    "people": "people",
    "people_harmed": "harmed",
    "search_margin_db": "search margin",
    "above_valley_m": "over valley",
    "slope_deg": "slope",
    "access_m": "access",
    "cost": "cost",
}


def hill_word(key: str) -> str:
    """Return how what is known of hills is called in the name of its raster."""
    return _NAMED[key]


def hill_style(
    key: str, values: npt.NDArray[np.floating]
) -> tuple[tuple[float, ...], tuple[StyledClass, ...]] | None:
    """Return edges and classes of a raster of hills: of scores those of the page of a siting.

    None for what has no classes.
    """
    if key == "search_margin_db":
        return COVERAGE_STEPS_DB, step_styles()
    if key != "score":
        return None
    edges = class_edges(values)
    ends = [f"{low:.4g} to {high:.4g} people" for low, high in pairwise(edges)]
    words = (
        "nobody, or no more than are harmed",
        f"over {ends[0]}",
        *ends[1:],
        f"{edges[-1]:.4g} people and more",
    )
    colours = (HILL_OF_NO_WORTH, *HILL_COLOURS)
    classes = (StyledClass(0, word, colour) for word, colour in zip(words, colours, strict=True))
    return tuple(edges.tolist()), tuple(classes)


def _area_classes() -> tuple[StyledClass, ...]:
    """Return the states of areas; what is served now lies over the others, and is switched on when wanted."""
    told = ("served before", "newly served", "lost")
    now = StyledClass("served now", "served now", MARK_COLOURS["served before"], shown=False)
    return (*(StyledClass(state, state, AREA_COLOURS[state]) for state in told), now)


def _marks() -> tuple[StyledClass, ...]:
    marks = [
        StyledClass(verdict, verdict, MARK_COLOURS[verdict], shape, 2.4)
        for verdict, shape in _MARK_SHAPES.items()
    ]
    unknown = SERVED_CLASSES[5]
    return (
        *marks,
        StyledClass("lost", "lost", AREA_COLOURS["lost"], "triangle", 2.4),
        StyledClass(unknown, unknown, AREA_COLOURS[unknown], "circle", 2.4),
    )


_ROLES: Final = (
    StyledClass("parent", "parent", MARK_COLOURS["served before"], "triangle", 5.0),
    StyledClass("relay", "relay", MARK_COLOURS["newly served"], "diamond", 4.0),
)
_FEEDS: Final = tuple(
    StyledClass(verdict, verdict, colour, dashed=verdict != "passes")
    for verdict, colour in VERDICT_COLOURS.items()
)
_AREAS: Final = VectorStyle("polygon", "state", _area_classes())
_COVERAGE: Final = VectorStyle("polygon", "from_db", _steps())
_STYLES: Final[Mapping[str, VectorStyle]] = {
    "coverage": _COVERAGE,
    "coverage_by_service": _COVERAGE,
    "served_areas": _AREAS,
    "served_by_service": _AREAS,
    # An empty value stands for all that no other class has: every district.
    "districts": VectorStyle("polygon", "name", (StyledClass("", "district", SHORT_OF_MINIMUM, alpha=30),)),
    "settlements": VectorStyle("point", "verdict", _marks()),
    "feeds": VectorStyle("line", "verdict", _FEEDS),
    "stations": VectorStyle("point", "role", _ROLES),
}


def style_of(name: str, report: ExportReport) -> VectorStyle:
    """Return how a layer is drawn; stations have the colours that they have in rasters."""
    if name != "served_by_station":
        return _STYLES[name]
    names = [each.name for each in report.project.stations]
    colours = station_colours(len(names))
    return VectorStyle(
        "polygon",
        "station",
        tuple(StyledClass(each, each, colour) for each, colour in zip(names, colours, strict=True)),
    )


_LAYERS: Final = {
    "coverage": "cells of each class of margin over the minimum of all services, with interference",
    "coverage_by_service": "cells of each class of margin of each service, with interference",
    "served_areas": "cells in which all services are served before, now, newly, and no more",
    "served_by_service": "cells in which each service is served before, now, newly, and no more",
    "served_by_station": "cells in which each station serves, with all others on the air",
    "districts": "districts with their people in all services",
    "feeds": "ways from the station that feeds each relay, with the verdict on each service",
    "settlements": "places where people live, with what is said of each for all services",
    "stations": "stations with what they radiate",
}
_COLUMNS: Final = {
    "aerial_height_m": "centre of the transmitting aerial above ground [m]",
    "area_km2": "area of the cells [km2], in the projection of the grid",
    "area_served_km2": "area of the cells that it serves [km2]",
    "bearing_deg": "where 0 degrees of the horizontal pattern looks [degrees from true north]",
    "below_db": "margin below which the class ends [dB]; NULL for the highest",
    "cells": "cells in which it pushes the service below the standard",
    "channel": "channel by the study's raster",
    "distance_km": "length of the way [km]",
    "district": "district by name; empty for all people",
    "erp_w": "effective radiated power towards the pattern's maximum [W]",
    "field_strength_dbuv_m": "median field at the relay [dB(uV/m)]",
    "frequency_mhz": "centre of the channel [MHz]",
    "from_db": "margin over the minimum from which the class begins [dB]",
    "highest_erp_w": "highest effective radiated power of its services [W]",
    "latitude_deg": "WGS 84 [degrees]",
    "longitude_deg": "WGS 84 [degrees]",
    "margin_db": "margin over what is required [dB]; NULL where not known",
    "minimum_field_dbuv_m": "median field that counts as served [dB(uV/m)]",
    "name": "name",
    "number": "number in the study, which rasters of the best station hold",
    "parent": "station that feeds it, or is received",
    "people": "people there; NULL where nobody is counted",
    "people_fall_below": "people who fall below the standard because of the relay",
    "people_served_all_services": "people whom it serves with all of its services",
    "polarization": "of the transmitting aerial",
    "reason": "why the verdict is as it is",
    "relay": "relay that is fed, or disturbs",
    "role": "parent or relay",
    "service": "a service, or All services: each from whichever station gives it best",
    "services": "services with channel and effective radiated power",
    "state": "what the area is: served before, served now, newly served, or lost",
    "station": "station",
    "tilt_deg": "how far the vertical pattern is turned down [degrees]",
    "verdict": "what is said of it",
}


def column_words(name: str) -> str:
    """Return what a column means; people by what is counted of them."""
    if name in _COLUMNS:
        return _COLUMNS[name]
    return f"people {name.removeprefix('people_').replace('_', ' ')}; NULL where not counted"


def layer_words(name: str) -> str:
    """Return what a layer holds."""
    return _LAYERS[name]


def layer_notes(name: str, columns: Sequence[str], report: ExportReport) -> LayerNotes:
    """Return what the GeoPackage says of a layer."""
    told = {each: column_words(each) for each in columns}
    return LayerNotes(_LAYERS[name], told, style_of(name, report))
