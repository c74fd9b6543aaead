"""Files before they are used: what they are told to be, what is doubtful, and what a study should say."""

import json

import geopandas
import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine
from shapely.geometry import box

from combe.answers.ground_inspect import inspect_report
from combe.errors import RasterError, TableError
from combe.publishing.as_json import as_json
from combe.publishing.as_text import as_text
from combe.reports.ground_inspect import document

HERE = Affine(30.0, 0.0, 500_000.0, 0.0, -30.0, 5_200_000.0)
RNG = np.random.default_rng(7)
HILLS = (400.0 + 50.0 * RNG.random((20, 30))).astype(np.float32)


def write(path, numbers, transform=HERE, crs="EPSG:32632", **more):
    rows, columns = numbers.shape
    given = {"driver": "GTiff", "height": rows, "width": columns, "count": 1, "dtype": numbers.dtype}
    unit = more.pop("unit", None)
    with rasterio.open(path, "w", crs=crs, transform=transform, **given, **more) as file:
        file.write(numbers, 1)
        if unit:
            file.units = (unit,)
    return path


def said(*files):
    made = document(inspect_report(files))
    told = json.loads(as_json(made))
    text = as_text(made)
    assert len(text.splitlines()) <= 12 + 2
    assert as_text(made, full=True)
    return told


def doubts_of(*files):
    return " ".join(said(*files)["files"][0]["doubts"]).replace("\u202f", " ")


def test_plain_heights(tmp_path):
    (found,) = said(write(tmp_path / "hills_dtm.tif", HILLS, unit="m"))["files"]
    assert found["likely"] == "elevation"
    assert (found["rows"], found["cells_a_row"], found["cell_east_west_m"]) == (20, 30, 30.0)
    assert (found["unit"], found["vertical_datum"], found["data_type"]) == ("m", None, "float32")
    assert found["surface"] == "bare terrain (DTM in its name)"
    assert found["west_deg"] == pytest.approx(9.0, abs=1e-6)
    assert found["entry"][:2] == ["[terrain]", 'tiles = ["hills_dtm.tif"]']
    assert "vertical_datum is to be written" in " ".join(found["doubts"])


def test_what_no_file_tells_is_not_told(tmp_path):
    found = said(write(tmp_path / "a.tif", HILLS, crs=None))["files"][0]
    assert found["surface"] == "not told by the file"
    assert found["crs"] is None
    assert found["west_deg"] is None
    assert found["total_by_km2"] is None
    assert "It states no reference system" in " ".join(found["doubts"])


@pytest.mark.parametrize(
    ("name", "datum", "surface"),
    [
        ("Copernicus_DSM_COG_10_N46_00_E007_00_DEM.tif", "EGM2008", "surface, with trees and roofs"),
        ("ALPSMLC30_N046E007_DSM.tif", "EGM96", "surface, with trees and roofs"),
        ("USGS_13_n46w122.tif", "NAVD88", "bare terrain"),
    ],
)
def test_files_known_by_name(tmp_path, name, datum, surface):
    found = said(write(tmp_path / name, HILLS))["files"][0]
    assert found["vertical_datum"] == datum
    assert found["surface"].startswith(surface)


@pytest.mark.parametrize("code", [-9999.0, -32768.0, 9999.0])
def test_numbers_that_look_like_no_data(tmp_path, code):
    numbers = HILLS.copy()
    numbers[:2] = code
    words = doubts_of(write(tmp_path / "dem.tif", numbers))
    assert f"10.00 % of its cells are {code:g}, which looks like no data but is not declared" in words
    found = said(write(tmp_path / "dem.tif", numbers, nodata=code))["files"][0]
    assert "looks like no data" not in " ".join(found["doubts"])
    assert found["void_percent"] == pytest.approx(10.0)
    assert found["lowest"] >= 400.0


def test_a_number_among_others_of_its_size_is_none_of_no_data(tmp_path):
    depths = np.linspace(-1200.0, -800.0, 600, dtype=np.float32).reshape(20, 30)
    depths[3, 3] = -999.0
    words = doubts_of(write(tmp_path / "dem.tif", depths))
    assert "looks like no data" not in words
    assert "down to −1 200 m: the sea bed?" in words


def test_sea_at_zero(tmp_path):
    numbers = HILLS.copy()
    numbers[:5] = 0.0
    assert "25.00 % of its heights are exactly 0" in doubts_of(write(tmp_path / "dem.tif", numbers))


def test_codes_of_canopy(tmp_path):
    trees = RNG.integers(0, 40, (20, 30)).astype(np.uint8)
    trees[:2] = 101
    trees[4] = 103
    found = said(write(tmp_path / "t.tif", trees))["files"][0]
    assert found["likely"] == "canopy height"
    assert "It has 101, 103: known maps of canopy have codes there" in " ".join(found["doubts"])
    assert "canopy = true" in found["entry"]


def test_classes_and_zones(tmp_path):
    cover = RNG.choice(np.array([10, 30, 40, 50, 80], dtype=np.uint8), (20, 30))
    found = said(write(tmp_path / "x.tif", cover))["files"][0]
    assert found["likely"] == "land cover"
    assert 'legend = "worldcover"' in found["entry"]
    zones = RNG.choice(np.array([1, 3, 4], dtype=np.uint8), (20, 30))
    assert said(write(tmp_path / "y.tif", zones))["files"][0]["entry"] == ["[zones]", 'raster = "y.tif"']


def test_counts_or_a_density_is_asked(tmp_path):
    people = np.full((20, 30), 2.5, dtype=np.float32)
    found = said(
        write(tmp_path / "pop.tif", people, crs="EPSG:3035", transform=Affine(100, 0, 4.3e6, 0, -100, 3.2e6))
    )
    (found,) = found["files"]
    assert found["total"] == pytest.approx(1500.0)
    assert found["total_by_km2"] == pytest.approx(15.0, rel=1e-4)
    assert "As people per cell they add up to 1\u202f500, as people per km² to 15;" in " ".join(
        found["doubts"]
    )


def test_cells_that_are_turned_or_not_square(tmp_path):
    assert "it is rotated" in doubts_of(write(tmp_path / "d.tif", HILLS, HERE @ Affine.rotation(20.0)))
    assert "stored south up" in doubts_of(write(tmp_path / "d.tif", HILLS, Affine(30, 0, 5e5, 0, 30, 5.2e6)))
    assert "not square: 30 x 20 m" in doubts_of(
        write(tmp_path / "d.tif", HILLS, Affine(30, 0, 5e5, 0, -20, 5.2e6))
    )


def pair(folder, east_m, south_m=0.0, lift_m=0.0, numbers=HILLS):
    one = write(folder / "west_dem.tif", numbers)
    there = Affine(30.0, 0.0, 500_000.0 + east_m, 0.0, -30.0, 5_200_000.0 - south_m)
    return one, write(folder / "east_dem.tif", numbers + np.float32(lift_m), there)


LEVEL = np.full((20, 30), 400.0, dtype=np.float32)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((900.0,), None),
        ((870.0,), None),
        ((915.0,), "a gap of 0.5 cells lies between them"),
        ((885.0,), "their cells do not fit, -0.5 cells off to the east"),
        ((900.0, 10.0), "0.33 to the south"),
        ((900.0, 0.0, 3.0), "heights jump by 3 along the edge"),
        ((870.0, 0.0, 3.0), "heights jump by 3 along the edge"),
        ((5000.0,), None),
        ((0.0, 600.0, -2.0), "heights jump by -2 along the edge"),
        ((0.0, 630.0), "a gap of 1 cells lies"),
    ],
)
def test_seams(tmp_path, place, words):
    report = inspect_report(pair(tmp_path, *place, numbers=LEVEL))
    assert len(report.seams) == (place != (5000.0,))
    text = as_text(document(report), full=True)
    text = " ".join(text.split())
    told = any(sign in text for sign in ("a gap of", "do not fit", "heights jump"))
    assert told == (words is not None)
    assert words is None or words in text.replace("−", "-")


def test_tables(tmp_path):
    table = "Ort;Länge;Breite;EW\nA;9°30'E;47°12'N;120\nB;9°45'E;47°15'N;80\n"
    (tmp_path / "orte.csv").write_bytes(table.encode("utf-8-sig"))
    (found,) = said(tmp_path / "orte.csv")["files"]
    assert (found["likely"], found["rows"], found["east_deg"]) == ("people at points", 2, 9.75)
    assert found["entry"] == [
        "[people]",
        'points = "orte.csv"',
        'columns = { longitude_deg = "Länge", latitude_deg = "Breite", people = "EW" }',
    ]
    assert found["columns"][0] == {"name": "Ort", "example": "A", "may_be": None}
    (tmp_path / "orte.csv").write_bytes(table.encode("windows-1252"))
    assert "It cannot be read as it is: it is not UTF-8 text" in doubts_of(tmp_path / "orte.csv")
    (tmp_path / "m.csv").write_text("site,mux,e_field,X,Y\nA,M,50.5,500000,5200000\n")
    found = said(tmp_path / "m.csv")["files"][0]
    assert found["likely"] == "survey points"
    assert found["doubts"] == [
        'Its places are eastings and northings, of a system to be named, crs = "EPSG:…".'
    ]
    assert found["entry"][-1] == 'crs = "EPSG:…"'
    (tmp_path / "n.csv").write_text("a,b\n1,2\n")
    assert "No place was found in its columns" in doubts_of(tmp_path / "n.csv")


def test_layers(tmp_path):
    frame = geopandas.GeoDataFrame({"NAME": ["A"], "POP": [7]}, geometry=[box(9, 47, 9.5, 47.5)], crs=4326)
    frame.to_file(tmp_path / "d.gpkg", driver="GPKG")
    (found,) = said(tmp_path / "d.gpkg")["files"]
    assert found["entry"] == [
        "[people]",
        'districts = "d.gpkg"',
        'district_columns = { name = "NAME", people = "POP" }',
    ]
    assert (found["west_deg"], found["north_deg"]) == (9.0, 47.5)


def test_files_that_cannot_be_read(tmp_path):
    (tmp_path / "no.tif").write_text("no")
    with pytest.raises(RasterError):
        inspect_report([tmp_path / "no.tif"])
    with pytest.raises(TableError):
        inspect_report([tmp_path / "none.csv"])
    found = said(tmp_path / "no.tif", write(tmp_path / "dem.tif", HILLS))
    assert len(found["files"]) == 1
    assert "its format is unknown" in found["refused"][0]
