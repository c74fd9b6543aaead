"""A study says what the tables of other people call things, and reads them as it would read its own."""

import geopandas
import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine
from shapely.geometry import box

from combe.errors import StudyError, TableError
from combe.study.coordination_of import read_points
from combe.study.file import checked_study, load_study, read_study
from combe.study.project_of import load_project
from combe.study.save import write_study as save_study
from combe.study.template import study_text
from combe.tables import Layout
from combe.terrain import read_districts, read_people, read_people_points
from support_edits import ROWS, after_all
from support_study import STUDY, write_study

FOREIGN = (
    "Standort;Art;Länge;Breite;Höhe;Pol;Mux;Kanal;ERP;Mutter;Bemerkung\n"
    "Parent Hill;parent;84°19'48\"W;36°42'N;60;horizontal;Mux 1;27;1,0;;Köln\n"
    "Parent Hill;;;;;;Mux 2;31;1,0;;\n"
)
MAPPED = """
[network]
stations = "foreign.csv"
encoding = "windows-1252"
columns = { name = "Standort", role = "Art", longitude_deg = "Länge", latitude_deg = "Breite", \
aerial_height_m = "Höhe", polarization = "Pol", service = "Mux", channel = "Kanal", erp_kw = "ERP" }
"""
ALONE = STUDY.partition("[[stations]]")[0]


def foreign_study(folder, text=MAPPED):
    path = write_study(folder, ALONE + text)
    (folder / "foreign.csv").write_bytes(FOREIGN.encode("windows-1252"))
    return path


def test_stations_of_a_foreign_table(tmp_path):
    own = load_study(write_study(tmp_path / "own")).content.stations[0]
    assert load_study(foreign_study(tmp_path / "foreign")).content.stations == (own,)


def test_what_a_foreign_table_needs_is_told_in_one_line(tmp_path):
    with pytest.raises(StudyError) as caught:
        load_study(
            foreign_study(tmp_path, '[network]\nstations = "foreign.csv"\nencoding = "windows-1252"\n')
        )
    (fault,) = caught.value.faults
    assert 'write columns = { name = "Standort"' in fault
    assert 'erp_w = "ERP"' in fault


def test_an_edited_foreign_table_is_written_as_our_own(tmp_path):
    reading = read_study(foreign_study(tmp_path))
    after = after_all(reading.table, [{"station": "Parent Hill", "erp_w": {"Mux 2": 10.5}}])
    saved = save_study(checked_study(reading), reading.table, after, "other.toml")
    assert (tmp_path / "foreign.csv").read_bytes() == FOREIGN.encode("windows-1252")
    assert 'stations = "other_stations.csv"' in saved.path.read_text()
    assert "encoding" not in saved.path.read_text()
    station = load_study(saved.path).content.stations[0]
    assert (station.services[0].erp_w, station.services[1].erp_w) == (1000.0, 10.5)
    assert station.longitude_deg == -84.33


def test_a_table_of_semicolons_is_told_by_itself(tmp_path):
    path = write_study(tmp_path, f'{ALONE}[network]\nstations = "stations.csv"\n')
    text = ROWS.replace(".", "\0").replace(",", ";").replace("\0", ",")
    (tmp_path / "stations.csv").write_text(text)
    assert [each.name for each in load_study(path).content.stations] == [
        "Far Hill",
        "Parent Hill",
        "Combe Relay",
    ]
    reading = read_study(path)
    after = after_all(reading.table, [{"station": "Parent Hill", "erp_w": {"Mux 2": 10.5}}])
    saved = save_study(checked_study(reading), reading.table, after, "other.toml")
    assert load_study(saved.path).content.stations[1].services[1].erp_w == 10.5


def test_three_hundred_rows(tmp_path):
    path = foreign_study(tmp_path)
    head, first, _ = FOREIGN.splitlines()
    rows = [
        first.replace("Parent Hill", f"Hill {n}").replace("36°42'N", f"36°{n % 60}'N") for n in range(300)
    ]
    (tmp_path / "foreign.csv").write_bytes("\n".join([head, *rows]).encode("windows-1252"))
    assert len(load_study(path).content.stations) == 300
    bad = [row.replace("84°19'48\"W", "84°19'W E") if n % 100 == 7 else row for n, row in enumerate(rows)]
    (tmp_path / "foreign.csv").write_bytes("\n".join([head, *bad]).encode("windows-1252"))
    with pytest.raises(StudyError) as caught:
        load_study(path)
    assert len(caught.value.faults) == 3
    assert caught.value.faults[0].startswith("foreign.csv row 9: longitude ")


def test_the_keys_are_read_back(tmp_path):
    people = '[people]\npoints = "p.csv"\ncolumns = { people = "POP 2020", name = 4 }\ndecimal = ","\n'
    path = write_study(tmp_path, STUDY.replace('[people]\nraster = "people.tif"\n', people))
    (tmp_path / "p.csv").write_text("longitude_deg;latitude_deg;POP 2020;x\n-84,2;36,6;7;A\n")
    content = load_study(path).content
    path.write_text(study_text(content))
    assert load_study(path).content == content
    assert 'columns = { people = "POP 2020", name = 4 }' in path.read_text()
    for wrong in ('columns = "lon"', "columns = { people = true }", 'decimal = "."\ncrs = 5'):
        path.write_text(STUDY.replace("[people]\n", f"[people]\n{wrong}\n"))
        with pytest.raises(StudyError):
            load_study(path)


def test_layers_and_columns_of_geopackages(tmp_path):
    frame = geopandas.GeoDataFrame(
        {"POP": [7.0], "GEN": ["A"], "K": ["1,5"]}, geometry=geopandas.points_from_xy([9.5], [47.2]), crs=4326
    )
    for layer in ("one", "two"):
        frame.to_file(tmp_path / "p.gpkg", layer=layer, driver="GPKG")
    layout = Layout({"people": "POP", "name": "GEN"}, layer="two")
    found = read_people_points(tmp_path / "p.gpkg", layout=layout)
    assert (found.people.tolist(), found.names) == ([7.0], ("A",))
    with pytest.raises(TableError, match=r'if "POP" is meant, write columns = . people = "POP" .'):
        read_people_points(tmp_path / "p.gpkg", layer="one")
    told = Layout({"people": "K"}, layer="two", decimal=",")
    assert read_people_points(tmp_path / "p.gpkg", layout=told).people.tolist() == [1.5]


def test_an_unknown_number_of_people_is_no_zero(tmp_path):
    frame = geopandas.GeoDataFrame(
        {"people": [7.0, np.nan]}, geometry=geopandas.points_from_xy([9.5, 9.6], [47.2, 47.2]), crs=4326
    )
    frame.to_file(tmp_path / "p.gpkg", driver="GPKG")
    with pytest.raises(TableError, match=r"feature 2: people is None; write a number"):
        read_people_points(tmp_path / "p.gpkg")


def test_people_per_square_kilometre_of_a_raster(tmp_path):
    profile = {"driver": "GTiff", "width": 2, "height": 3, "count": 1, "dtype": "float32"}
    for crs, shape in (
        ("EPSG:3035", Affine(500.0, 0.0, 4_321_000.0, 0.0, -500.0, 3_210_000.0)),
        ("EPSG:4326", Affine(0.01, 0.0, 9.0, 0.0, -0.01, 47.0)),
        ("EPSG:3857", Affine(500.0, 0.0, 1_000_000.0, 0.0, -500.0, 5_900_000.0)),
    ):
        with rasterio.open(tmp_path / "d.tif", "w", crs=crs, transform=shape, **profile) as file:
            file.write(np.full((1, 3, 2), 8.0, dtype=np.float32))
        counts = read_people(tmp_path / "d.tif", density=True).counts
        assert read_people(tmp_path / "d.tif").counts.sum() == 48.0
        if crs == "EPSG:3035":
            assert counts.sum() == pytest.approx(8.0 * 6 * 0.25, rel=1e-6)
        elif crs == "EPSG:4326":
            # 0.01 degree at 46.995 N is 0.7609 km by 1.1117 km (radii of curvature of the ellipsoid).
            assert counts[0, 0] == pytest.approx(8.0 * 0.7609 * 1.1117, rel=1e-3)
            assert counts[0, 0] < counts[2, 0]
        else:
            # Mercator draws lengths 1/cos(latitude) too long; a cell is less than half of its drawing.
            assert counts[0, 0] == pytest.approx(8.0 * 0.25 * 0.468, rel=0.01)


def test_people_per_square_kilometre_of_districts(tmp_path):
    shape = box(4_321_000, 3_200_000, 4_323_000, 3_201_000)
    frame = geopandas.GeoDataFrame({"NAME": ["A"], "D": [50.0]}, geometry=[shape], crs=3035)
    frame.to_file(tmp_path / "d.gpkg", driver="GPKG")
    layout = Layout({"name": "NAME", "people": "D"}, key="district_columns")
    spread = read_districts(tmp_path / "d.gpkg", layout=layout, density=True)
    assert spread.people == pytest.approx([100.0])
    assert read_districts(tmp_path / "d.gpkg", layout=layout).people == pytest.approx([50.0])
    with pytest.raises(TableError, match=r'if "NAME" is meant, write district_columns = . name = "NAME" .'):
        read_districts(tmp_path / "d.gpkg")


def test_density_of_points_is_a_fault(tmp_path):
    people = '[people]\npoints = "p.csv"\ndensity_per_km2 = true\n'
    path = write_study(tmp_path, STUDY.replace('[people]\nraster = "people.tif"\n', people))
    (tmp_path / "p.csv").write_text("longitude_deg,latitude_deg,people\n-84.2,36.6,7\n")
    with pytest.raises(StudyError, match=r"people.density_per_km2: stands beside points"):
        load_study(path)


def test_points_of_a_wrong_system_are_told(tmp_path):
    people = (
        '[people]\npoints = "p.csv"\ncrs = "EPSG:32618"\ncolumns = { easting_m = "X", northing_m = "Y" }\n'
    )
    path = write_study(tmp_path, STUDY.replace('[people]\nraster = "people.tif"\n', people))
    (tmp_path / "p.csv").write_text("X,Y,people\n750000,4055000,7\n")
    project = load_project(path)
    assert project.people is not None
    from combe.answers.check import check_report

    with pytest.raises(StudyError, match=r"none of its places is on the study grid.* or is crs another"):
        check_report(project)


def test_coordination_points_of_a_foreign_table(tmp_path):
    (tmp_path / "c.tsv").write_text("Nom\tX\tY\nA\t500000,0\t5200000,0\n")
    layout = Layout({"easting_m": "X", "northing_m": "Y", "name": "Nom"}, crs="EPSG:32632")
    (feature,) = read_points(tmp_path / "c.tsv", layout).features
    assert (feature.geometry.x, dict(feature.properties)) == (pytest.approx(9.0), {"name": "A"})
