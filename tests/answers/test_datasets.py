"""Answers over the grid as ``xarray.Dataset``: values, places, units, and a missing library."""

import sys
from dataclasses import replace

import numpy as np
import pyproj
import pytest

import combe
from combe.errors import MissingLibraryError, RangeError
from combe.terrain.grid import cell_centres_m
from support_study import SITING, STUDY, edited, write_study


@pytest.fixture(scope="module")
def covered(tmp_path_factory):
    one = '\n[[stations.services]]\nname = "Mux 2"\nchannel = 45\nerp_w = 20.0\n'
    return combe.cover(combe.load(write_study(tmp_path_factory.mktemp("maps"), edited((one, "")))))


@pytest.fixture(scope="module")
def maps(covered):
    return covered.to_xarray()


def test_fields_are_told_apart_by_station_and_service(covered, maps):
    assert maps.field_dbuv_m.dims == ("station", "service", "y", "x")
    assert maps.station.values.tolist() == ["Parent Hill", "Combe Relay"]
    for station in covered.stations:
        for service in station.services:
            one = maps.sel(station=service.station, service=service.service)
            np.testing.assert_array_equal(one.field_dbuv_m, service.field_map.field_dbuv_m)
            np.testing.assert_array_equal(one.served == 1.0, service.served)
            np.testing.assert_array_equal(np.isnan(one.served), np.isnan(one.field_dbuv_m))
    silent = maps.sel(station="Combe Relay", service="Mux 2")
    assert bool(np.isnan(silent.field_dbuv_m).all() & np.isnan(silent.served).all())


def test_networks_have_all_services_and_each(covered, maps):
    assert maps.network.values.tolist() == ["All services", "Mux 1", "Mux 2"]
    for network in (covered.all_services, *covered.services):
        one = maps.sel(network=network.name)
        for name, kept in (
            ("margin_db", "margin_db"),
            ("margin_before_db", "margin_before_db"),
            ("noise_margin_db", "noise_margin_db"),
            ("serving", "serving"),
            ("interferers_unknown", "unknown"),
        ):
            np.testing.assert_array_equal(one[name], getattr(network, kept), err_msg=name)
    assert {"noise_margin_db", "interferers_unknown"}.isdisjoint(
        replace(covered, interference=None).to_xarray()
    )


def test_places_are_those_of_the_grid_with_its_crs(covered, maps):
    x_m, y_m = cell_centres_m(covered.grid)
    np.testing.assert_array_equal(maps.x, x_m)
    np.testing.assert_array_equal(maps.y, y_m)
    assert maps.y[0] > maps.y[-1], "row 0 is north"
    assert pyproj.CRS.from_wkt(maps.attrs["crs_wkt"]) == covered.grid.crs
    assert maps.spatial_ref.attrs["crs_wkt"] == maps.attrs["crs_wkt"]
    corner = [float(each) for each in maps.spatial_ref.attrs["GeoTransform"].split()]
    side_m = covered.grid.cell_size_m
    assert corner == [covered.grid.west_m, side_m, 0.0, covered.grid.north_m, 0.0, -side_m]
    np.testing.assert_array_equal(maps.ground_m, covered.heights_m)


def test_people_are_those_inside_the_grid(covered, maps):
    assert float(maps.people.sum()) == pytest.approx(covered.all_services.people.total, abs=0.5)
    assert "people" not in replace(covered, people=None).to_xarray()


def test_units_title_and_what_made_it_are_told(covered, maps):
    units = {name: each.units for name, each in maps.items()}
    assert units == {
        "ground_m": "m",
        "field_dbuv_m": "dB(uV/m)",
        "served": "1",
        "margin_db": "dB",
        "margin_before_db": "dB",
        "noise_margin_db": "dB",
        "serving": "1",
        "interferers_unknown": "1",
        "people": "1",
    }
    assert all(each.attrs["grid_mapping"] == "spatial_ref" for each in maps.values())
    assert maps.attrs["title"] == covered.project.title
    assert maps.attrs["model"] == covered.provenance["model"]
    assert maps.attrs["effective_Earth_radius"] == covered.provenance["effective Earth radius"]


def test_some_stations_can_be_asked_for(covered):
    maps = covered.to_xarray(["combe relay"])
    assert maps.station.values.tolist() == ["Combe Relay"]
    assert maps.service.values.tolist() == ["Mux 1"]
    assert maps.network.values.tolist() == ["All services", "Mux 1", "Mux 2"]
    assert covered.to_xarray([]).sizes["station"] == 0
    with pytest.raises(RangeError, match="Nowhere"):
        covered.to_xarray(["Nowhere"])


def test_a_siting_tells_what_each_cell_is_worth(tmp_path):
    sited = combe.site(combe.load(write_study(tmp_path, STUDY + SITING)))
    maps = sited.to_xarray()
    np.testing.assert_array_equal(maps.value, sited.read_value())
    for key, values in sited.read_hills().items():
        np.testing.assert_array_equal(maps[key], values)
    assert {"score", "search_margin_db", "above_valley_m", "slope_deg"} <= set(maps)
    assert maps.slope_deg.attrs["units"] == "degrees"
    first = sited.candidates[0]
    assert float(maps.value.max()) == pytest.approx(first.score)
    row, column = divmod(int(sited.work.search.hills[first.hill]), sited.grid.columns)
    assert float(maps.value[row, column]) == pytest.approx(first.score)
    assert float(maps.ground_m[row, column]) == first.ground_m
    assert float(maps.people_unserved.sum()) == pytest.approx(sited.work.unserved.total)
    assert "less people harmed" in maps.value.long_name
    costly = replace(sited, work=replace(sited.work, search=replace(sited.work.search, has_costs=True)))
    assert costly.to_xarray().value.long_name.startswith("score per cost")


def test_without_xarray_one_line_says_what_to_do(covered, monkeypatch):
    monkeypatch.setitem(sys.modules, "xarray", None)
    with pytest.raises(MissingLibraryError) as caught:
        covered.to_xarray()
    assert str(caught.value) == (
        "to_xarray() needs xarray, which is not installed; install it with: python -m pip install xarray"
    )
