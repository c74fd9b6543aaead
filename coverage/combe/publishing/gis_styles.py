"""Styles for desktop GIS, in the open formats QML and SLD 1.0.0, from the colours of the map page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from combe.publishing.colours import rgb_of
from combe.publishing.text import plain

Place = Literal["point", "line", "polygon"]

SHAPES: Final = ("circle", "triangle", "square", "diamond", "cross2")
"""Shapes of marks as QML names them; each kind of mark has its own, beside its colour."""

_SLD_SHAPES: Final = {
    "circle": "circle", "triangle": "triangle", "square": "square", "diamond": "square", "cross2": "x",
}  # fmt: skip
"""The shapes that SLD knows; a diamond is a square on its corner."""

_OUTLINE: Final = "#fffdf7"
_QML_VERSION: Final = "3.22.0"
_MOST_OPAQUE: Final = 215
"""Areas let the map below shine through."""

_PIXELS_PER_MM: Final = 3.0
_SLD: Final = "http://www.opengis.net/sld"
_OGC: Final = "http://www.opengis.net/ogc"


@dataclass(frozen=True)
class StyledClass:
    """One class of a map: its value, its words, its colour, and of a point or line the shape and size.

    What is not ``shown`` at first stands in the legend, to be switched on.
    """

    value: str | int
    label: str
    colour: str
    shape: str = "circle"
    size: float = 3.0
    dashed: bool = False
    alpha: int = 255
    shown: bool = True


@dataclass(frozen=True)
class VectorStyle:
    """How a layer is drawn: its kind of places, and the classes of one of its columns.

    An empty value stands for all features that no other class has.
    """

    place: Place
    column: str
    classes: tuple[StyledClass, ...]


def class_raster_qml(classes: Sequence[StyledClass]) -> str:
    """Return the style of a raster of codes: a colour and words for each."""
    renderer = _raster_renderer("paletted")
    palette = SubElement(renderer, "colorPalette")
    for each in classes:
        _entry(palette, "paletteEntry", str(each.value), each)
    return _raster_qml(renderer)


def step_raster_qml(edges: Sequence[float], classes: Sequence[StyledClass]) -> str:
    """Return the style of a raster of levels in steps: each class ends below its edge, the last at none.

    Edges are in the unit of the band, after its scale.
    """
    ends = [*(f"{each:g}" for each in edges), "inf"]
    renderer = _raster_renderer("singlebandpseudocolor")
    ramp = SubElement(
        SubElement(renderer, "rastershader"),
        "colorrampshader",
        colorRampType="DISCRETE",
        classificationMode="1",
        clip="0",
        minimumValue=ends[0],
        maximumValue=ends[-2],
    )
    for end, each in zip(ends, classes, strict=True):
        _entry(ramp, "item", end, each)
    return _raster_qml(renderer)


def _raster_renderer(kind: str) -> Element:
    renderer = Element("rasterrenderer", type=kind, band="1", opacity="1", alphaBand="-1")
    SubElement(renderer, "rasterTransparency")
    return renderer


def _entry(parent: Element, tag: str, value: str, each: StyledClass) -> None:
    SubElement(parent, tag, value=value, color=each.colour, alpha=str(each.alpha), label=plain(each.label))


def _raster_qml(renderer: Element) -> str:
    root = Element("qgis", version=_QML_VERSION)
    SubElement(root, "pipe").append(renderer)
    return _written(root)


def vector_qml(style: VectorStyle) -> str:
    """Return the style of a layer of points, lines or polygons by the classes of a column."""
    root = Element("qgis", version=_QML_VERSION)
    renderer = SubElement(root, "renderer-v2", type="categorizedSymbol", attr=style.column)
    categories, symbols = SubElement(renderer, "categories"), SubElement(renderer, "symbols")
    for number, each in enumerate(style.classes):
        kind = "string" if isinstance(each.value, str) else "double"
        known = {"value": plain(each.value), "label": plain(each.label), "type": kind}
        SubElement(categories, "category", known, symbol=str(number), render=str(each.shown).lower())
        symbols.append(_symbol(style.place, str(number), each))
    return _written(root)


def _symbol(place: Place, name: str, each: StyledClass) -> Element:
    """Return a symbol with its one layer."""
    kind, layer, settings = {
        "point": ("marker", "SimpleMarker", _marker_settings(each)),
        "line": ("line", "SimpleLine", _line_settings(each)),
        "polygon": ("fill", "SimpleFill", _fill_settings(each)),
    }[place]
    symbol = Element("symbol", name=name, type=kind, alpha="1", clip_to_extent="1")
    holder = SubElement(symbol, "layer", {"class": layer, "enabled": "1", "locked": "0", "pass": "0"})
    for key, value in settings.items():
        SubElement(holder, "prop", k=key, v=value)
    return symbol


def _marker_settings(each: StyledClass) -> dict[str, str]:
    # A cross has no inside: its colour is that of its lines.
    is_cross = each.shape == "cross2"
    return {
        "color": _parts(each.colour),
        "name": each.shape,
        "size": f"{each.size:g}",
        "size_unit": "MM",
        "outline_color": _parts(each.colour if is_cross else _OUTLINE),
        "outline_width": "0.6" if is_cross else "0.3",
    }


def _line_settings(each: StyledClass) -> dict[str, str]:
    return {
        "line_color": _parts(each.colour),
        "line_width": "0.6",
        "line_style": "dash" if each.dashed else "solid",
    }


def _fill_settings(each: StyledClass) -> dict[str, str]:
    return {
        "color": _parts(each.colour, min(each.alpha, _MOST_OPAQUE)),
        "style": "solid",
        "outline_color": _parts(each.colour),
        "outline_width": "0.1",
    }


def _parts(colour: str, alpha: int = 255) -> str:
    """Return a colour as QML writes it: red, green, blue, opacity."""
    return ",".join(map(str, (*rgb_of(colour), alpha)))


def vector_sld(style: VectorStyle, name: str) -> str:
    """Return the same style as SLD 1.0.0, which other programs read."""
    root = Element("StyledLayerDescriptor", {"version": "1.0.0", "xmlns": _SLD, "xmlns:ogc": _OGC})
    layer = SubElement(root, "NamedLayer")
    SubElement(layer, "Name").text = name
    rules = SubElement(SubElement(layer, "UserStyle"), "FeatureTypeStyle")
    for each in style.classes:
        rule = SubElement(rules, "Rule")
        SubElement(rule, "Name").text = plain(each.label)
        # As in QML an empty value stands for every feature.
        if each.value != "":
            same = SubElement(SubElement(rule, "ogc:Filter"), "ogc:PropertyIsEqualTo")
            SubElement(same, "ogc:PropertyName").text = style.column
            SubElement(same, "ogc:Literal").text = plain(each.value)
        rule.append(_SYMBOLIZERS[style.place](each))
    return _written(root)


def _polygon_symbolizer(each: StyledClass) -> Element:
    shape, opacity = Element("PolygonSymbolizer"), min(each.alpha, _MOST_OPAQUE) / 255
    _parameters(shape, "Fill", {"fill": each.colour, "fill-opacity": f"{opacity:.2f}"})
    _parameters(shape, "Stroke", {"stroke": each.colour})
    return shape


def _line_symbolizer(each: StyledClass) -> Element:
    line, dashes = Element("LineSymbolizer"), {"stroke-dasharray": "6 4"} if each.dashed else {}
    _parameters(line, "Stroke", {"stroke": each.colour, "stroke-width": "2", **dashes})
    return line


def _point_symbolizer(each: StyledClass) -> Element:
    point = Element("PointSymbolizer")
    graphic = SubElement(point, "Graphic")
    mark = SubElement(graphic, "Mark")
    SubElement(mark, "WellKnownName").text = _SLD_SHAPES[each.shape]
    _parameters(mark, "Fill", {"fill": each.colour})
    _parameters(mark, "Stroke", {"stroke": each.colour if each.shape == "cross2" else _OUTLINE})
    SubElement(graphic, "Size").text = f"{each.size * _PIXELS_PER_MM:g}"
    if each.shape == "diamond":
        SubElement(graphic, "Rotation").text = "45"
    return point


_SYMBOLIZERS: Final = {
    "point": _point_symbolizer,
    "line": _line_symbolizer,
    "polygon": _polygon_symbolizer,
}


def _parameters(parent: Element, tag: str, values: dict[str, str]) -> None:
    holder = SubElement(parent, tag)
    for name, value in values.items():
        SubElement(holder, "CssParameter", name=name).text = value


def _written(root: Element) -> str:
    indent(root)
    return f"{tostring(root, encoding='unicode')}\n"
