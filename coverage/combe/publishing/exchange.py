"""Writes tables with places as GeoJSON (RFC 7946) and KML (OGC 2.2), and plain tables as CSV, as texts.

They are written here and not by a driver, for that turns whole numbers into text, or leaves out what made it.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from xml.etree.ElementTree import Element, SubElement, indent, tostring

import numpy as np

from combe.publishing.gis_styles import StyledClass, VectorStyle
from combe.publishing.text import plain
from combe.tables import FORMULA_STARTS

_DEGREES_KEPT: Final = 7
_NUMBERS_KEPT: Final = 6
_KML: Final = "http://www.opengis.net/kml/2.2"
_FILL_OPACITY: Final = "b0"


@dataclass(frozen=True)
class Folder:
    """A layer of a KML file: a table in longitude and latitude, which column has the names, and its style."""

    title: str
    frame: Any
    name_column: str
    style: VectorStyle


def geojson_text(frame: Any, name: str, about: Mapping[str, str]) -> str:
    """Return a table in longitude and latitude as GeoJSON, a feature a line; ``about`` says what made it."""
    head = {"type": "FeatureCollection", "name": name, "about": {k: plain(v) for k, v in about.items()}}
    features = [
        {"type": "Feature", "properties": row, "geometry": _geometry(place)}
        for row, place in zip(_records(frame), frame.geometry, strict=True)
    ]
    lines = ",\n".join(_json(each) for each in features)
    return f'{_json(head)[:-1]}, "features": [\n{lines}\n]}}\n'


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _records(frame: Any) -> list[dict[str, Any]]:
    """Return the rows of a table without their places; what is not known is None."""
    columns = [name for name in frame.columns if name != frame.geometry.name]
    return [
        {name: _value(value) for name, value in zip(columns, row, strict=True)}
        for row in zip(*(frame[name].tolist() for name in columns), strict=True)
    ]


def _value(value: Any) -> Any:
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, float):
        return round(value, _NUMBERS_KEPT) if math.isfinite(value) else None
    return value


def _geometry(place: Any) -> Any:
    """Return a place as GeoJSON has it: to a centimetre, outer rings against the clock."""
    from shapely.geometry import mapping

    return None if place is None else _rounded(mapping(_turned(place)))


def _turned(place: Any) -> Any:
    from shapely.geometry import MultiPolygon
    from shapely.geometry.polygon import orient

    if place.geom_type == "MultiPolygon":
        return MultiPolygon([orient(each) for each in place.geoms])
    return orient(place) if place.geom_type == "Polygon" else place


def _rounded(value: Any) -> Any:
    """Return the numbers in nested coordinates to a centimetre."""
    if isinstance(value, Mapping):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [_rounded(each) for each in value]
    return value if isinstance(value, str) else round(float(value), _DEGREES_KEPT)


def kml_text(title: str, folders: Sequence[Folder], about: Mapping[str, str]) -> str:
    """Return tables as one KML file, a folder each; names are names, and all else is data beside them."""
    root = Element("kml", xmlns=_KML)
    document = SubElement(root, "Document")
    SubElement(document, "name").text = plain(title)
    _data(document, about)
    for number, folder in enumerate(folders):
        for place, each in enumerate(folder.style.classes):
            document.append(_kml_style(f"style-{number}-{place}", each))
    for number, folder in enumerate(folders):
        _add_folder(document, number, folder)
    indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{tostring(root, encoding="unicode")}\n'


def _add_folder(document: Element, number: int, folder: Folder) -> None:
    holder = SubElement(document, "Folder")
    SubElement(holder, "name").text = plain(folder.title)
    styles = {str(each.value): place for place, each in enumerate(folder.style.classes)}
    for row, place in zip(_records(folder.frame), folder.frame.geometry, strict=True):
        # A placemark without a place is shown nowhere: those in no district are for tables.
        if place is None or place.is_empty:
            continue
        mark = SubElement(holder, "Placemark")
        SubElement(mark, "name").text = str(row.get(folder.name_column) or "")
        style = styles.get(str(row.get(folder.style.column)), 0)
        if not folder.style.classes[style].shown:
            SubElement(mark, "visibility").text = "0"
        SubElement(mark, "styleUrl").text = f"#style-{number}-{style}"
        _data(mark, {key: value for key, value in row.items() if value is not None})
        mark.append(_kml_place(_turned(place)))


def _data(parent: Element, values: Mapping[str, Any]) -> None:
    holder = SubElement(parent, "ExtendedData")
    for key, value in values.items():
        SubElement(SubElement(holder, "Data", name=plain(key)), "value").text = plain(value)


def _kml_style(name: str, each: StyledClass) -> Element:
    style, colour = Element("Style", id=name), each.colour.removeprefix("#")
    # Blue comes first here, and opacity before it.
    turned = colour[4:] + colour[2:4] + colour[:2]
    SubElement(SubElement(style, "IconStyle"), "color").text = f"ff{turned}"
    line = SubElement(style, "LineStyle")
    SubElement(line, "color").text = f"ff{turned}"
    SubElement(line, "width").text = "2"
    SubElement(SubElement(style, "PolyStyle"), "color").text = _FILL_OPACITY + turned
    return style


def _kml_place(place: Any) -> Element:
    if hasattr(place, "geoms"):
        several = Element("MultiGeometry")
        several.extend(_kml_place(each) for each in place.geoms)
        return several
    if place.geom_type == "Polygon":
        polygon = Element("Polygon")
        for tag, ring in (
            ("outerBoundaryIs", place.exterior),
            *(("innerBoundaryIs", x) for x in place.interiors),
        ):
            SubElement(polygon, tag).append(_coordinates("LinearRing", ring))
        return polygon
    return _coordinates(place.geom_type, place)


def _coordinates(tag: str, places: Any) -> Element:
    element = Element(tag)
    SubElement(element, "coordinates").text = " ".join(
        f"{x:.{_DEGREES_KEPT}f},{y:.{_DEGREES_KEPT}f}" for x, y in np.asarray(places.coords)[:, :2].tolist()
    )
    return element


def csv_text(rows: Sequence[Mapping[str, Any]], about: Mapping[str, str]) -> str:
    """Return rows as CSV for spreadsheets; the same words of ``about`` stand at the end of each row.

    What is not known is an empty cell, and no text is a formula.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([*(rows[0] if rows else ()), *about])
    for row in rows:
        writer.writerow([*map(csv_cell, row.values()), *map(csv_cell, about.values())])
    return text.getvalue()


def csv_cell(value: Any) -> str:
    """Return a value as a spreadsheet takes it: no text is a formula, and nothing stands for the unknown."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.{_NUMBERS_KEPT}f}".rstrip("0").rstrip(".") if math.isfinite(value) else ""
    words = plain(value)
    return f"'{words}" if isinstance(value, str) and words.startswith(FORMULA_STARTS) else words
