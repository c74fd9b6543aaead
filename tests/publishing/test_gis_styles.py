"""Styles for a GIS: they parse, and hold the classes that were given, in words, colours and shapes."""

from itertools import pairwise
from xml.etree import ElementTree

import pytest

from combe.publishing.colours import ramp_colour, rgb_of, station_colours
from combe.publishing.gis_styles import (
    StyledClass,
    VectorStyle,
    class_raster_qml,
    step_raster_qml,
    vector_qml,
    vector_sld,
)

HOSTILE = "</qgis><script>alert(1)</script> & \"'\x00"
CLASSES = (StyledClass(1, "served", "#a3cad0"), StyledClass(2, HOSTILE, "#fdcd98", alpha=0))
SLD = {"s": "http://www.opengis.net/sld", "ogc": "http://www.opengis.net/ogc"}
ROLES = (
    StyledClass("parent", "a parent", "#14505c", "triangle", 5.0),
    StyledClass(HOSTILE, "other", "#b4520f", "diamond", shown=False),
    StyledClass("x", "crossed", "#b4520f", "cross2"),
)


def test_a_raster_of_codes():
    root = ElementTree.fromstring(class_raster_qml(CLASSES))
    renderer = root.find("pipe/rasterrenderer")
    assert (renderer.get("type"), renderer.get("band")) == ("paletted", "1")
    assert [entry.attrib for entry in renderer.iter("paletteEntry")] == [
        {"value": "1", "color": "#a3cad0", "alpha": "255", "label": "served"},
        {"value": "2", "color": "#fdcd98", "alpha": "0", "label": HOSTILE.replace("\x00", "\ufffd")},
    ]


def test_a_raster_of_steps_ends_below_each_edge_and_the_last_at_none():
    root = ElementTree.fromstring(step_raster_qml((-10.0, 0.0), (*CLASSES, CLASSES[0])))
    shader = root.find("pipe/rasterrenderer/rastershader/colorrampshader")
    assert (shader.get("colorRampType"), shader.get("minimumValue"), shader.get("maximumValue")) == (
        "DISCRETE",
        "-10",
        "0",
    )
    assert [item.get("value") for item in shader] == ["-10", "0", "inf"]
    with pytest.raises(ValueError, match="shorter"):
        step_raster_qml((-10.0, 0.0), CLASSES)


def test_points_have_shapes_as_well_as_colours():
    root = ElementTree.fromstring(vector_qml(VectorStyle("point", "role", ROLES)))
    renderer = root.find("renderer-v2")
    assert (renderer.get("type"), renderer.get("attr")) == ("categorizedSymbol", "role")
    categories = renderer.findall("categories/category")
    assert [each.get("value") for each in categories] == ["parent", HOSTILE.replace("\x00", "\ufffd"), "x"]
    assert [each.get("render") for each in categories] == ["true", "false", "true"]
    props = [
        {prop.get("k"): prop.get("v") for prop in symbol.iter("prop")}
        for symbol in renderer.findall("symbols/symbol")
    ]
    assert [each["name"] for each in props] == ["triangle", "diamond", "cross2"]
    assert props[0]["color"] == "20,80,92,255"
    assert props[0]["outline_color"] != props[0]["color"]
    assert props[2]["outline_color"] == props[2]["color"], "a cross is nothing but its lines"


def test_lines_that_do_not_pass_are_dashed_and_areas_let_the_map_shine_through():
    classes = (StyledClass("passes", "passes", "#14505c"), StyledClass("fails", "", "#b4520f", dashed=True))
    lines = ElementTree.fromstring(vector_qml(VectorStyle("line", "verdict", classes)))
    told = [prop.get("v") for prop in lines.iter("prop") if prop.get("k") == "line_style"]
    assert told == ["solid", "dash"]
    areas = ElementTree.fromstring(vector_qml(VectorStyle("polygon", "verdict", classes)))
    assert next(each.get("v") for each in areas.iter("prop") if each.get("k") == "color") == "20,80,92,215"


def test_numbers_are_compared_as_numbers():
    style = VectorStyle("polygon", "from_db", (StyledClass(-10, "low", "#14505c"),))
    (category,) = ElementTree.fromstring(vector_qml(style)).iter("category")
    assert (category.get("value"), category.get("type")) == ("-10", "double")


@pytest.mark.parametrize(
    ("place", "tag"),
    [("point", "PointSymbolizer"), ("line", "LineSymbolizer"), ("polygon", "PolygonSymbolizer")],
)
def test_the_same_as_sld(place, tag):
    root = ElementTree.fromstring(vector_sld(VectorStyle(place, "role", ROLES), "stations"))
    assert (root.get("version"), root.find("s:NamedLayer/s:Name", SLD).text) == ("1.0.0", "stations")
    rules = root.findall(".//s:Rule", SLD)
    literals = [rule.find(".//ogc:Literal", SLD).text for rule in rules]
    assert literals == ["parent", HOSTILE.replace("\x00", "\ufffd"), "x"]
    assert all(rule.find(f"s:{tag}", SLD) is not None for rule in rules)
    assert "#14505c" in [each.text for each in rules[0].iter(f"{{{SLD['s']}}}CssParameter")]


def test_sld_knows_other_shapes():
    root = ElementTree.fromstring(vector_sld(VectorStyle("point", "role", ROLES), "stations"))
    names = [each.text for each in root.iter(f"{{{SLD['s']}}}WellKnownName")]
    assert names == ["triangle", "square", "x"]
    assert [each.text for each in root.iter(f"{{{SLD['s']}}}Rotation")] == ["45"], "a diamond"


def test_an_empty_value_is_every_feature():
    style = VectorStyle("polygon", "name", (StyledClass("", "district", "#8d7b74"),))
    assert "Filter" not in vector_sld(style, "districts")
    assert 'value=""' in vector_qml(style)


def test_colours_of_stations_differ_from_their_neighbours():
    colours = station_colours(40)
    assert len(colours) == 40
    assert colours[:2] == station_colours(2), "a further station changes none before it"
    apart = [
        sum(abs(a - b) for a, b in zip(rgb_of(one), rgb_of(other), strict=True))
        for one, other in pairwise(colours)
    ]
    assert min(apart) > 100
    assert ramp_colour("batlow", 0.15) == colours[0]
