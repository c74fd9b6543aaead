"""An export's maps and tables: what is served, the best station, and areas as large as their cells."""

import json
from dataclasses import replace

import numpy as np
import pytest
from geopandas import GeoDataFrame
from shapely import Point, box

from combe.answers.class_maps import nobody_code
from combe.answers.cover import cover_report
from combe.answers.export import export_report
from combe.answers.export_tables import (
    SERVED_CLASSES,
    harm_rows,
    in_lonlat,
    people_rows,
    served_codes,
    service_rows,
)
from combe.answers.network import Network
from combe.study.project_of import load_project
from support_delays import write_networked
from support_study import edited, write_study

STEPS_DB = (-10.0, 0.0, 6.0, 20.0)
DISTURBED = ("channel = 41", "channel = 27")
COARSE = ("cell_size_m = 300", "cell_size_m = 600")


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Two services, one of the relay's on a channel of the parent: some places are lost."""
    path = write_study(tmp_path_factory.mktemp("study"), edited(DISTURBED, COARSE))
    return export_report(load_project(path), STEPS_DB)


def named(maps, of):
    (found,) = [each for each in maps if each.of == of]
    return found.read()


def test_classes_tell_before_from_now():
    nan, inf = np.nan, np.inf
    layers = {
        "margin_db": np.array([[nan, 1.0, 0.0, -1.0, -1.0, 2.0, nan]]),
        "margin_before_db": np.array([[nan, 0.0, -inf, 3.0, -2.0, nan, 4.0]]),
    }
    codes = served_codes(Network("Mux 1", layers.__getitem__, None))
    assert [SERVED_CLASSES[code] for code in codes[0]] == [
        "no prediction",
        "served before",
        "newly served",
        "lost",
        "unserved",
        "served, before not known",
        "no prediction",
    ]


def test_classes_have_as_many_cells_as_the_coverage(report):
    for network in (report.cover.all_services, *report.cover.services):
        codes = named(report.served, network.name)
        assert np.count_nonzero(np.isin(codes, (1, 2, 5))) == np.count_nonzero(network.margin_db >= 0.0)
        assert np.count_nonzero(codes == 0) == np.count_nonzero(np.isnan(network.margin_db))
        assert np.count_nonzero(np.isin(codes, (1, 3))) == np.count_nonzero(network.margin_before_db >= 0.0)
    assert (named(report.served, "Mux 1") == 3).any(), "the relay takes places from the parent"


def test_the_best_station_is_the_one_with_the_highest_margin(report):
    for network in report.cover.services:
        codes = named(report.best, network.name)
        margins = np.stack(
            [
                np.nan_to_num(each.judged_margin_db, nan=-np.inf)
                for covered in report.cover.stations
                for each in covered.services
                if each.service == network.name
            ]
        )
        served = network.margin_db >= 0.0
        np.testing.assert_array_equal(codes[served], 1 + margins.argmax(axis=0)[served])
        assert set(np.unique(codes[~served])) <= {0, 255}
        assert {1, 2} <= set(np.unique(codes))
        np.testing.assert_array_equal(codes == 0, np.isnan(network.margin_db))


def test_many_stations_need_wider_codes():
    assert (nobody_code(254), nobody_code(255)) == (255, 65535)


def test_margins_are_those_of_the_coverage(report):
    margin_db = named(report.margins, "All services")
    np.testing.assert_array_equal(margin_db, np.maximum(report.cover.all_services.margin_db, -150.0))
    assert [each.of for each in report.margins] == ["All services", "Mux 1", "Mux 2"]


def test_areas_are_as_large_as_their_cells(report):
    cell_km2 = 0.6**2
    areas = report.tables["served_by_service"]
    for (service, state), code in {("Mux 1", "newly served"): (2,), ("Mux 1", "lost"): (3,)}.items():
        (row,) = areas[(areas["service"] == service) & (areas["state"] == state)].itertuples()
        cells = np.count_nonzero(np.isin(named(report.served, service), code))
        assert row.geometry.area / 1e6 == pytest.approx(cells * cell_km2, rel=1e-9)
        assert row.area_km2 == pytest.approx(cells * cell_km2)
    for row in report.tables["coverage"].itertuples():
        margin_db = report.cover.all_services.margin_db
        below_db = np.inf if np.isnan(row.below_db) else row.below_db
        cells = np.count_nonzero((margin_db >= row.from_db) & (margin_db < below_db))
        assert row.geometry.area / 1e6 == pytest.approx(cells * cell_km2, rel=1e-9)
    stations = report.tables["served_by_station"]
    assert set(stations["station"]) == {"Parent Hill", "Combe Relay"}


def test_in_longitude_and_latitude_areas_stay_within_a_hundredth(report):
    from pyproj import Geod

    areas = report.tables["served_areas"]
    geod = Geod(ellps="WGS84")
    for place, area_km2 in zip(in_lonlat(areas).geometry, areas["area_km2"], strict=True):
        assert abs(geod.geometry_area_perimeter(place)[0]) / 1e6 == pytest.approx(area_km2, rel=0.01)


def test_a_place_that_spans_the_antimeridian_is_cut_there():
    frame = GeoDataFrame({"name": ["a", "b"]}, geometry=[box(0, 0, 200000, 1000), None], crs="EPSG:32601")
    frame = frame.set_geometry([box(100000.0, 5000000.0, 300000.0, 5100000.0), None])
    cut = in_lonlat(frame)
    west, _, east, _ = cut.geometry[0].bounds
    assert (west, east) == (-180.0, 180.0)
    assert cut.geometry[0].area < 4.0, "not the other way round the globe"
    assert len(cut.geometry[0].geoms) == 2
    assert cut.geometry[1] is None
    points = GeoDataFrame({"name": ["a"]}, geometry=[Point(-84.3, 36.7)], crs="EPSG:4326")
    assert in_lonlat(points).geometry[0].coords[0] == (-84.3, 36.7)


def test_stations_say_what_they_radiate(report):
    stations = report.tables["stations"]
    assert stations["number"].tolist() == [1, 2]
    assert stations["services"].tolist()[1] == "Mux 1 ch 27 20 W; Mux 2 ch 45 20 W"
    assert stations["highest_erp_w"].tolist() == [1000.0, 20.0]


def test_people_are_where_the_raster_has_them(report):
    settlements = report.tables["settlements"]
    assert settlements["people"].sum() == pytest.approx(report.cover.all_services.people.total, rel=0.02)
    assert set(settlements["verdict"]) <= {"served before", "newly served", "unserved", "no prediction"}


def test_plain_rows(report):
    rows = service_rows(report.cover)
    assert [(each["station"], each["channel"], each["erp_w"]) for each in rows][2:] == [
        ("Combe Relay", 27, 20.0),
        ("Combe Relay", 45, 20.0),
    ]
    people = people_rows(report.cover)
    assert [(each["service"], each["district"]) for each in people] == [
        ("All services", None),
        ("Mux 1", None),
        ("Mux 2", None),
    ]
    assert people[0]["people_served"] == report.cover.all_services.people.served
    assert people[0]["people_served_low"] <= people[0]["people_served_high"]
    assert [each["relay"] for each in harm_rows(report.cover)] == ["Combe Relay"] * len(report.cover.harm)


def test_without_people_nobody_is_counted_and_nothing_is_zero(report):
    project = replace(report.project, people=None, grid=replace(report.project.grid, cell_size_m=900.0))
    bare = export_report(project, STEPS_DB)
    assert "settlements" not in bare.tables
    assert bare.tables["served_areas"]["people"].isna().all()
    assert bare.tables["stations"]["people_served_all_services"].isna().all()
    assert people_rows(bare.cover) == []


def test_points_have_their_names_and_what_is_said_of_their_cells(tmp_path):
    places = [(-84.33, 36.69, "Parent's Foot"), (-84.2, 36.601, "Combe"), (-90.0, 36.7, "Off the grid")]
    places += [(-84.39 + 0.02 * k, 36.47 + 0.02 * k, f"Farm {k}") for k in range(12)]
    rows = "".join(f"{lon},{lat},10,{name}\n" for lon, lat, name in places)
    (tmp_path / "p.csv").write_text(f"longitude_deg,latitude_deg,people,name\n{rows}")
    path = write_study(tmp_path, edited(COARSE, ('raster = "people.tif"', 'points = "p.csv"')))
    report = export_report(load_project(path), STEPS_DB)
    found, grid = report.tables["settlements"], report.cover.grid
    assert found["name"].tolist() == [name for _, _, name in places]
    assert found["verdict"][2] == "no prediction"
    assert np.isnan(found["margin_db"][2])
    codes, on_grid = named(report.served, "All services"), found.drop(2).to_crs(grid.crs)
    for place, verdict in zip(on_grid.geometry, on_grid["verdict"], strict=True):
        row, column = (
            (grid.north_m - place.y) // grid.cell_size_m,
            (place.x - grid.west_m) // grid.cell_size_m,
        )
        assert SERVED_CLASSES[codes[int(row), int(column)]] == verdict
    assert {"served before", "unserved"} <= set(found["verdict"])


def test_districts_are_polygons_with_their_people(tmp_path):
    square = [[-84.4, 36.5], [-84.2, 36.5], [-84.2, 36.7], [-84.4, 36.7], [-84.4, 36.5]]
    place = {"type": "Polygon", "coordinates": [square]}
    feature = {"type": "Feature", "properties": {"name": "West"}, "geometry": place}
    (tmp_path / "d.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    raster = 'raster = "people.tif"'
    path = write_study(tmp_path, edited(COARSE, (raster, f'{raster}\ndistricts = "d.geojson"')))
    report = export_report(load_project(path), STEPS_DB)
    frame = report.tables["districts"]
    counted = dict(report.cover.all_services.districts)
    assert frame["people_served"][0] == counted["West"].served
    rows = {each["district"]: each for each in people_rows(report.cover) if each["service"] == "All services"}
    assert rows["West"]["people_unserved"] == counted["West"].unserved
    assert rows["West"]["people_served_low"] <= rows["West"]["people_served_high"]


def test_a_study_of_one_service_has_no_map_twice(tmp_path):
    one = edited(
        COARSE,
        ('\n[[stations.services]]\nname = "Mux 2"\nchannel = 31\nerp_w = 1000.0\n', ""),
        ('\n[[stations.services]]\nname = "Mux 2"\nchannel = 45\nerp_w = 20.0\n', ""),
    )
    found = export_report(load_project(write_study(tmp_path, one)), STEPS_DB)
    assert [each.of for each in found.served] == ["All services"]
    assert "served_by_service" not in found.tables
    assert cover_report(found.project).services[0].name == "Mux 1"


def test_of_one_network_the_strongest_member_is_the_best(tmp_path):
    """Its members share what they give together, so that their margins are alike."""
    found = export_report(load_project(write_networked(tmp_path)), STEPS_DB)
    (best,) = found.best
    codes, (one, other) = best.read(), found.cover.stations
    served = found.cover.services[0].margin_db >= 0.0
    assert set(np.unique(codes[served])) == {1, 2}
    alike = one.services[0].judged_margin_db == other.services[0].judged_margin_db
    both = served & alike & one.services[0].served & other.services[0].served
    stronger = one.services[0].margin_db > other.services[0].margin_db
    assert both.any()
    np.testing.assert_array_equal(codes[both] == 1, stronger[both])
