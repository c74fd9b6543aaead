"""Answers as tables with places: the columns of the JSON, places that fit, and the same table as in files."""

import json
from dataclasses import replace

import geopandas
import numpy as np
import pytest
from geopandas.testing import assert_geodataframe_equal
from shapely.geometry import box

import combe
from combe.answers.explain import Candidate, Explanation, ServiceExplained
from combe.answers.feed import FeedGap, feed_report
from combe.answers.frames import candidate_frame
from combe.errors import RangeError
from combe.reports.site_files import write_site_files
from support_study import SITING, STUDY, edited, write_study


@pytest.fixture(scope="module")
def covered(tmp_path_factory):
    folder = tmp_path_factory.mktemp("frames")
    squares = [box(-84.41, 36.40, -84.25, 36.60), box(-84.25, 36.40, -84.08, 36.60)]
    drawn = geopandas.GeoDataFrame({"name": ["West", "East"]}, geometry=squares, crs="EPSG:4326")
    drawn.to_file(folder / "districts.gpkg")
    text = edited(('raster = "people.tif"', 'raster = "people.tif"\ndistricts = "districts.gpkg"'))
    return combe.cover(combe.load(write_study(folder, text)))


@pytest.fixture(scope="module")
def sited(tmp_path_factory):
    return combe.site(combe.load(write_study(tmp_path_factory.mktemp("sited"), STUDY + SITING)))


def said(answer):
    return json.loads(combe.report(answer).json())


def test_districts_have_the_people_of_the_report_and_their_own_polygons(covered):
    frame = covered.to_geodataframe()
    told = said(covered)["all_services"]["districts"]
    ends = [f"people_{name}_{end}" for name in ("served", "newly_served") for end in ("low", "high")]
    plain = [key for key in told[0] if key != "ranges"]
    assert [*frame.columns] == [*plain, *ends, "geometry"]
    for name in ("served", "newly_served"):
        for end in ("low", "high"):
            expected = [row["ranges"][name][end] for row in told]
            assert frame[f"people_{name}_{end}"].tolist() == pytest.approx(expected, abs=6e-4)
    for key in plain:
        assert frame[key].tolist() == [pytest.approx(row[key], abs=6e-4) if key != "name" else row[key]
                                       for row in told]  # fmt: skip
    assert covered.districts is not None
    assert frame.crs == covered.districts.crs
    drawn = len(covered.districts.polygons)
    assert frame["name"][:drawn].tolist() == list(covered.districts.names)
    assert frame.geometry[:drawn].tolist() == list(covered.districts.polygons)
    assert (frame["name"][drawn:].tolist(), frame.geometry[drawn:].tolist()) == (["elsewhere"], [None])
    assert frame.people_total.sum() == pytest.approx(covered.all_services.people.total)


def test_stations_stand_where_they_stand_with_the_people_whom_they_serve(covered):
    frame = covered.to_geodataframe("stations")
    assert frame["name"].tolist() == ["Parent Hill", "Combe Relay"]
    assert frame["services"][1] == "ch 41 20 W, ch 45 20 W"
    assert [(each.x, each.y) for each in frame.geometry] == [(-84.33, 36.70), (-84.20, 36.60)]
    assert frame.people_served_all_services.tolist() == [each.people.served for each in covered.stations]


def test_without_districts_the_rows_are_stations_and_people_are_not_known_without_people(covered):
    nobody = replace(
        covered, districts=None, stations=tuple(replace(each, people=None) for each in covered.stations)
    )
    frame = nobody.to_geodataframe()
    assert frame["role"].tolist() == ["parent", "relay"]
    assert frame.people_served_all_services.isna().all()
    with pytest.raises(RangeError, match=r"'districts'; allowed: 'stations' or 'served'; the study has none"):
        nobody.to_geodataframe("districts")
    with pytest.raises(RangeError, match="rows of the table is 'cells'; allowed: 'districts', 'stations'"):
        nobody.to_geodataframe("cells")


def test_served_areas_are_those_of_the_masks(covered):
    frame = covered.to_geodataframe("served")
    assert frame.crs == covered.grid.crs
    networks, stations = frame[frame.station.isna()], frame[frame.station.notna()]
    assert networks.service.tolist() == ["All services", "Mux 1", "Mux 2"]
    assert [*zip(stations.station, stations.service, strict=True)] == [
        (each.station, each.service) for station in covered.stations for each in station.services
    ]
    served = [each.margin_db >= 0.0 for each in (covered.all_services, *covered.services)]
    served += [each.served for station in covered.stations for each in station.services]
    cell_km2 = (covered.grid.cell_size_m / 1000.0) ** 2
    assert frame.area_km2.tolist() == pytest.approx([mask.sum() * cell_km2 for mask in served])
    assert (frame.area / 1e6).tolist() == pytest.approx(frame.area_km2.tolist())
    assert frame.people_served[0] == covered.all_services.people.served


def test_hills_have_the_columns_of_the_json_and_the_geopackage_has_the_same_table(sited, tmp_path):
    frame, told = sited.to_geodataframe(), said(sited)["list"]
    plain = {key for key, value in told[0].items() if not isinstance(value, list | dict)}
    # Whether two are told apart follows from the chance beside it.
    not_asked = {"access_m", "cost", "page", "told_apart"}
    assert {*frame.columns} == plain - not_asked | {"geometry", "people_low", "people_high"}
    assert frame.people_low.tolist() == pytest.approx([row["people_range"]["low"] for row in told], abs=6e-4)
    for key in plain - not_asked:
        expected = [np.nan if row[key] is None else row[key] for row in told]
        same = frame[key].tolist() == expected
        assert same or frame[key].tolist() == pytest.approx(expected, abs=6e-4, nan_ok=True), key
    assert [(each.x, each.y) for each in frame.geometry] == [
        *zip(frame.longitude_deg, frame.latitude_deg, strict=True)
    ]
    written = geopandas.read_file(write_site_files(sited, tmp_path).vector, layer="hills")
    assert_geodataframe_equal(written, frame, check_dtype=False, check_less_precise=False)


def test_hills_have_a_cost_and_a_way_to_access_where_the_study_asks_for_them(sited):
    search = replace(sited.work.search, has_costs=True)
    ground = replace(sited.work.ground, access_m=np.zeros(1))
    asked = replace(sited, work=replace(sited.work, search=search, ground=ground))
    assert {"cost", "access_m"} <= {*asked.to_geodataframe().columns}


def test_no_hill_is_a_table_without_rows(sited):
    frame = replace(sited, candidates=()).to_geodataframe()
    assert (len(frame), frame.crs.to_string()) == (0, "EPSG:4326")
    assert "people_alone" in frame.columns


def test_feeds_are_lines_with_verdict_and_margin_and_gaps_are_not_judged(tmp_path):
    found = feed_report(combe.load(write_study(tmp_path)))
    frame = found.to_geodataframe()
    (relay,) = found.relays
    assert frame.service.tolist() == ["Mux 1", "Mux 2"]
    assert frame.verdict.tolist() == [each.verdict for each in relay.services]
    assert frame.margin_db.tolist() == [each.budget.margin_db for each in relay.services]
    assert {*frame.parent, *frame.relay} == {"Parent Hill", "Combe Relay"}
    for line in frame.geometry:
        assert (line.coords[0], line.coords[-1]) == ((-84.33, 36.70), (-84.20, 36.60))
    gap = FeedGap("Combe Relay", "Parent Hill", "a void on the way")
    (row,) = replace(found, relays=(), gaps=(gap,)).to_geodataframe().itertuples()
    assert (row.verdict, row.reason) == ("not judged", "a void on the way")
    assert [*row.geometry.coords] == [(-84.33, 36.70), (-84.20, 36.60)]
    mixed = replace(found, gaps=(gap,)).to_geodataframe()
    assert mixed.margin_db.isna().tolist() == [False, False, True]


def test_a_profile_is_its_points_with_cover_and_zone_where_they_are(tmp_path):
    report = combe.path(combe.load(write_study(tmp_path)), "Parent Hill", "Combe Relay")
    frame = report.to_geodataframe()
    assert frame.ground_m.tolist() == report.profile.height_m.tolist()
    assert frame.geometry.x.tolist() == report.profile.lon_deg.tolist()
    many = np.arange(len(frame))
    more = replace(report, clutter_height_m=1.0 * many, zone=many.astype(np.uint8)).to_geodataframe()
    assert [*more.columns] == ["distance_km", "ground_m", "cover_m", "zone", "geometry"]
    assert more.cover_m.tolist() == more.zone.tolist() == many.tolist()


def test_an_explained_place_has_a_line_from_each_candidate(tmp_path):
    found = combe.explain(combe.load(write_study(tmp_path)), -84.25, 36.62)
    frame = found.to_geodataframe()
    each = [(service.name, one) for service in found.services for one in service.candidates]
    assert len(frame) == 4
    assert [*zip(frame.service, frame.station, strict=True)] == [(n, one.station.name) for n, one in each]
    assert frame.margin_db.tolist() == [one.margin_db for _, one in each]
    for line, (_, one) in zip(frame.geometry, each, strict=True):
        start = (one.station.longitude_deg, one.station.latitude_deg)
        assert [*line.coords] == [pytest.approx(start, abs=1e-9), (-84.25, 36.62)]


def test_a_line_across_the_antimeridian_is_short(covered):
    station = replace(covered.stations[0].station, longitude_deg=179.99, latitude_deg=10.0)
    candidate = Candidate(station, station.services[0], "DVB-T2", 2.0, 90.0, 60.0, 50.0, 50.0, 10.0, 10.0, ())
    service = ServiceExplained("Mux 1", (candidate,), 1.0, 1.0, 1.0, ())
    place = Explanation(covered.project, -179.99, 10.0, 0.0, (service,), {})
    assert candidate_frame(place).geometry[0].length == pytest.approx(0.02)
