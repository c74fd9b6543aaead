"""``combe export``: every file opens in what others use, says what made it, and is the same twice."""

import csv
import gc
import json
import sqlite3
from contextlib import closing
from xml.etree import ElementTree

import geopandas
import numpy as np
import pyogrio
import pytest
import rasterio

from combe.answers.site_report import site_report
from combe.publishing.colours import HILL_COLOURS, HILL_OF_NO_WORTH, HILL_SHARES
from combe.study.project_of import load_project
from support_cli import complaint, run, run_json
from support_full_disk import full_disk
from support_study import SITING, edited, write_study

RELAY = "=Relay <b>&'谷"
TITLE = "=A relay </name><script>alert(1)</script>"
TEXT = edited(
    ('name = "Combe Relay"', f'name = "{RELAY}"'),
    ('title = "Relay for Long Combe"', f'title = "{TITLE}"'),
    ("cell_size_m = 300", "cell_size_m = 600"),
)
INVENTED = "The stations of this study are invented, and so are the people."


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("in"), TEXT)


@pytest.fixture(scope="module")
def out(tmp_path_factory, study):
    folder = tmp_path_factory.mktemp("out")
    result = run("export", study, "--out", folder, "--cache", folder.parent / "cache")
    assert result.exit_code == 0, result.output
    return folder


def test_the_answer_is_short_and_names_the_files(study, out):
    lines = run("export", study, "--out", out, "--cache", out.parent / "cache").stdout.splitlines()
    assert len(lines) <= 12
    assert any("answer.gpkg, answer.kml, 8 rasters, 5 GeoJSON, 4 tables, 18 styles" in line for line in lines)


def test_json_names_every_file(study, out):
    printed = run_json("export", study, "--out", out, "--cache", out.parent / "cache")
    named = {each["file"] for each in printed["files"]}
    named |= {style for each in printed["files"] for style in each["styles"]}
    assert named == {path.name for path in out.iterdir()}
    assert printed["format"] == "combe/export/1"
    assert printed["formats"] == ["geotiff", "geopackage", "geojson", "kml", "csv"]


def test_every_raster_opens_and_its_style_has_its_classes(out):
    rasters = sorted(out.glob("*.tif"))
    assert len(rasters) == 8
    for path in rasters:
        with rasterio.open(path) as raster:
            assert raster.tags()["invented"] == INVENTED
            assert raster.tags()["study"] == TITLE
            assert raster.tags(1)["STATISTICS_VALID_PERCENT"]
            values, words = raster.read(1), raster.tags(1)
        renderer = ElementTree.parse(path.with_suffix(".qml")).find("pipe/rasterrenderer")
        entries = {each.get("value"): each.get("label") for each in renderer.iter("paletteEntry")}
        if path.name.startswith("margin"):
            assert [each.get("value") for each in renderer.iter("item")][-2:] == ["30", "inf"]
            continue
        assert entries == {name[6:]: told for name, told in words.items() if name.startswith("CLASS_")}
        assert set(map(str, np.unique(values))) <= set(entries)


def test_colours_of_rasters_are_those_of_their_styles(out):
    for path in (out / "served_all-services.tif", out / "best-station_mux-1.tif"):
        root = ElementTree.parse(path.with_suffix(".qml"))
        with rasterio.open(path) as raster:
            colours = raster.colormap(1)
        for each in root.iter("paletteEntry"):
            red, green, blue, _ = colours[int(each.get("value"))]
            assert each.get("color") == f"#{red:02x}{green:02x}{blue:02x}"


def test_a_station_has_one_colour_in_rasters_and_layers(out):
    raster = ElementTree.parse(out / "best-station_mux-1.qml")
    colours = {each.get("label"): each.get("color") for each in raster.iter("paletteEntry")}
    layer = ElementTree.parse(out / "answer_served_by_station.qml")
    for category, symbol in zip(layer.iter("category"), layer.iter("symbol"), strict=True):
        (fill,) = [each.get("v") for each in symbol.iter("prop") if each.get("k") == "outline_color"]
        red, green, blue, _ = map(int, fill.split(","))
        assert colours[category.get("value")] == f"#{red:02x}{green:02x}{blue:02x}"


def test_polygons_are_as_large_as_the_raster_says(out):
    areas = geopandas.read_file(out / "answer.gpkg", layer="served_areas").set_index("state")
    with rasterio.open(out / "served_all-services.tif") as raster:
        codes, cell_m2 = raster.read(1), abs(raster.transform.a * raster.transform.e)
        assert areas.crs == raster.crs
    for state, code in (("newly served", (2,)), ("served now", (1, 2, 5)), ("served before", (1, 3))):
        cells_m2 = np.count_nonzero(np.isin(codes, code)) * cell_m2
        assert areas.geometry[state].area == pytest.approx(cells_m2, rel=0.01)


def test_the_geopackage_is_styled_and_told(out):
    layers = {name for name, _ in pyogrio.list_layers(out / "answer.gpkg")}
    styled = {
        *("coverage", "coverage_by_service", "served_areas", "served_by_service", "served_by_station"),
        *("feeds", "settlements", "stations"),
    }
    assert layers == {*styled, "layer_styles", "about"}
    with closing(sqlite3.connect(out / "answer.gpkg")) as base:
        styles = base.execute("SELECT f_table_name, styleQML, styleSLD FROM layer_styles").fetchall()
        columns = set(base.execute("SELECT table_name, column_name FROM gpkg_data_columns"))
        about = dict(base.execute("SELECT name, words FROM about"))
    assert {name for name, _, _ in styles} == styled
    for name, qml, sld in styles:
        frame = geopandas.read_file(out / "answer.gpkg", layer=name)
        renderer = ElementTree.fromstring(qml).find("renderer-v2")
        values = {each.get("value") for each in renderer.iter("category")}
        held = {f"{each:g}" if isinstance(each, float) else each for each in frame[renderer.get("attr")]}
        assert held <= values, "each row is drawn"
        assert renderer.get("attr") in sld
        assert {(name, column) for column in frame.columns if column != "geometry"} <= columns
    assert (about["study"], about["invented"]) == (TITLE, INVENTED)


def test_geojson_has_hostile_names_as_written(out):
    stations = geopandas.read_file(out / "answer_stations.geojson")
    assert stations["name"].tolist() == ["Parent Hill", RELAY]
    assert geopandas.read_file(out / "answer_feeds.geojson")["relay"].tolist() == [RELAY, RELAY]
    for path in out.glob("*.geojson"):
        assert len(geopandas.read_file(path))
        assert json.loads(path.read_text(encoding="utf-8"))["about"]["invented"] == INVENTED
        ElementTree.parse(path.with_suffix(".qml"))
        ElementTree.parse(path.with_suffix(".sld"))


def test_kml_has_hostile_names_as_written(out):
    names = [name for name, _ in pyogrio.list_layers(out / "answer.kml")]
    assert names == ["served areas", "served by station", "feeds", "settlements", "stations"]
    stations = pyogrio.read_dataframe(out / "answer.kml", layer="stations")
    assert stations["Name"].tolist() == ["Parent Hill", RELAY]
    root = ElementTree.parse(out / "answer.kml").getroot()
    assert root[0][0].text == TITLE
    styles = {f"#{each.get('id')}" for each in root.iter("{http://www.opengis.net/kml/2.2}Style")}
    asked = {each.text for each in root.iter("{http://www.opengis.net/kml/2.2}styleUrl")}
    assert asked <= styles


def test_tables_have_no_formula(out):
    paths = sorted(out.glob("*.csv"))
    assert [path.stem[7:] for path in paths] == ["feeds", "people", "services", "stations"]
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert all(each["study"] == f"'{TITLE}" and each["invented"] == INVENTED for each in rows)
        assert not [cell for each in rows for cell in each.values() if cell.startswith(("=", "@"))]
    with (out / "answer_stations.csv").open(encoding="utf-8", newline="") as file:
        assert [each["name"] for each in csv.DictReader(file)] == ["Parent Hill", f"'{RELAY}"]


def test_two_runs_leave_the_same_bytes(study, out, tmp_path):
    assert run("export", study, "--out", tmp_path, "--no-cache").exit_code == 0
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        path.name: path.read_bytes() for path in out.iterdir()
    }


def test_some_formats_alone(study, out, tmp_path):
    words = ("--format", "kml", "--format", "csv", "--cache", out.parent / "cache")
    printed = run_json("export", study, "--out", tmp_path, *words)
    assert printed["formats"] == ["kml", "csv"]
    assert {path.suffix for path in tmp_path.iterdir()} == {".kml", ".csv"}
    assert "is not one of" in complaint("export", study, "--format", "shape")


def test_a_folder_that_cannot_be_written_is_one_line(study, tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    assert "is a file and no folder" in complaint("export", study, "--out", tmp_path / "taken")


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("geotiff", "served_all-services.tif"),
        ("geopackage", "answer.gpkg"),
        ("geojson", "answer_served_areas.geojson"),
        ("kml", "answer.kml"),
        ("csv", "answer_stations.csv"),
    ],
)
def test_a_full_disk_is_one_line_and_leaves_what_was_there(study, out, tmp_path, name, first):
    (tmp_path / first).write_bytes(b"old")
    words = ("export", study, "--out", tmp_path, "--format", name, "--cache", out.parent / "cache")
    # A report that is still held holds its judged maps, and these would be written anew.
    gc.collect()
    with full_disk(200):
        line = complaint(*words)
    assert line.startswith(f"cannot write {tmp_path / first}: ")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {first: b"old"}


def test_hills_are_rasters_where_they_are_asked_for(tmp_path):
    """Every scored cell is that of the siting, in the classes and colours of its page."""
    path = write_study(tmp_path, f"{TEXT}{SITING}")
    printed = run_json("export", path, "--format", "geotiff", "--hills", "--no-cache")
    files = {each["file"]: each for each in printed["files"]}
    names = ("score", "people", "search-margin", "over-valley", "slope")
    assert [name for name in files if name.startswith("hills_")] == [f"hills_{name}.tif" for name in names]
    report = site_report(load_project(path), tmp_path / "results" / "siting")
    hills = report.read_hills()
    for name, key in zip(names, hills, strict=True):
        with rasterio.open(tmp_path / "results" / f"hills_{name}.tif") as raster:
            values = raster.read(1)
            assert raster.tags()["search"] == report.provenance["search"]
            assert raster.tags()["invented"] == INVENTED
            assert raster.transform.a == report.grid.cell_size_m
        np.testing.assert_array_equal(values, hills[key].astype(np.float32))
    assert np.isfinite(hills["score"]).sum() == report.work.search.hills.size
    renderer = ElementTree.parse(tmp_path / "results" / "hills_score.qml").find("pipe/rasterrenderer")
    items = [(each.get("value"), each.get("color")) for each in renderer.iter("item")]
    best = np.nanmax(hills["score"])
    assert [colour for _, colour in items] == [HILL_OF_NO_WORTH, *HILL_COLOURS]
    assert [float(value) for value, _ in items[:-1]] == pytest.approx(
        [x * best for x in HILL_SHARES], rel=1e-5
    )
    assert items[-1][0] == "inf"


def test_hills_without_a_siting_or_without_rasters_are_refused(study, tmp_path):
    words = complaint("export", study, "--out", tmp_path, "--hills", "--no-cache")
    assert "siting: is missing" in words
    words = complaint("export", study, "--out", tmp_path, "--hills", "--format", "csv")
    assert words == "format with --hills is csv; allowed: geotiff among them; hills are rasters"
