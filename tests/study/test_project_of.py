"""From the study file to the engine's objects."""

import pytest

from combe.answers.provenance import provenance
from combe.answers.receiving import required_cn_db
from combe.errors import RangeError, RasterError, TerrainGapError
from combe.project import ground_height_m, minimum_field_dbuv_m, project_grid, project_people
from combe.study.project_of import load_project
from combe.terrain.grid import grid_bounds_deg
from support_study import edited, void_under, write_study


def scene_of(folder, *changes):
    return load_project(write_study(folder, edited(*changes)))


def test_stations_carry_frequencies_of_the_raster(tmp_path):
    project = scene_of(tmp_path)
    # 8 MHz raster of Bands IV and V: 306 + 8 n MHz (GE06).
    assert [service.frequency_mhz for service in project.stations[0].services] == [522.0, 554.0]
    assert project.stations[1].parent == "Parent Hill"
    assert project.stations[0].parent is None


def test_the_radius_comes_from_the_model_or_the_file(tmp_path):
    # ITU-R P.1812-8 eq. (6): ΔN 45 is 6371 x 157 / (157 - 45) km; P.526-16 takes 8500 km.
    usual = load_project(write_study(tmp_path)).conditions
    assert usual.effective_radius_km == pytest.approx(8930.777, abs=1e-3)
    plain = load_project(write_study(tmp_path, edited(("[terrain]", 'model = "p526"\n\n[terrain]'))))
    assert plain.conditions.effective_radius_km == 8500.0
    given = edited(("[people]", "[air]\neffective_radius_km = 7000.0\n\n[people]"))
    assert load_project(write_study(tmp_path, given)).conditions.effective_radius_km == 7000.0
    gradient = edited(("[people]", "[air]\ndelta_n = 39.0\nn0 = 310.0\ntime_percent = 10.0\n\n[people]"))
    # ITU-R P.1812-8 eq. (6): 6371 x 157 / (157 - 39).
    found = load_project(write_study(tmp_path, gradient)).conditions
    assert found.effective_radius_km == pytest.approx(8476.669, abs=1e-3)
    assert (found.n0, found.time_percent) == (310.0, 50.0)


def test_the_feed_takes_the_required_ratio_of_the_mode_unless_given(tmp_path):
    project = scene_of(tmp_path)
    ((relay, feed),) = project.fed
    assert relay.name == "Combe Relay"
    # ITU-R BT.2033-2 Table 2: 256-QAM 2/3, Ricean, 20.0 dB.
    assert required_cn_db(project, feed, relay, relay.services[0]) == 20.0
    other = scene_of(
        tmp_path, ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 23.0")
    )
    assert required_cn_db(other, other.fed[0][1], relay, other.fed[0][0].services[0]) == 23.0


def test_the_minimum_field_is_the_planning_standards(tmp_path):
    # ITU-R BT.2033-2 chain at 650 MHz, 256-QAM 2/3 Ricean, 95 % of locations: 54.2 dB(uV/m).
    assert minimum_field_dbuv_m(scene_of(tmp_path), 650.0) == pytest.approx(54.2, abs=0.1)
    wider = scene_of(tmp_path, ("[television]", "[television]\nlocation_percent = 70.0"))
    assert minimum_field_dbuv_m(wider, 650.0) == pytest.approx(48.0, abs=0.1)


def test_stations_are_found_by_name_whatever_the_case(tmp_path):
    project = scene_of(tmp_path)
    assert project.station("parent hill") is project.stations[0]
    with pytest.raises(
        RangeError, match=r'"Parent Hil"; allowed: Parent Hill, Combe Relay; did you mean "Parent Hill"'
    ):
        project.station("Parent Hil")


def test_a_station_beyond_the_terrain_is_named(tmp_path):
    project = scene_of(tmp_path, ("longitude_deg = -84.33", "longitude_deg = -80.0"))
    with pytest.raises(TerrainGapError, match='station "Parent Hill"'):
        ground_height_m(project, project.stations[0])


def test_a_station_on_a_void_is_named_with_the_tile(tmp_path):
    path = write_study(tmp_path)
    void_under(path, -84.33, 36.70)
    project = load_project(path)
    with pytest.raises(TerrainGapError, match=r'station "Parent Hill".*terrain\.tif'):
        ground_height_m(project, project.stations[0])


def test_a_raster_without_a_crs_is_refused(tmp_path):
    path = write_study(tmp_path)
    from support_study import strip_crs

    strip_crs(path.parent / "terrain.tif")
    with pytest.raises(RasterError, match=r"terrain\.tif: it has no CRS"):
        load_project(path)


def test_an_area_beyond_the_terrain_is_refused(tmp_path):
    project = scene_of(
        tmp_path, ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [10.0, 50.0, 10.1, 50.1]")
    )
    with pytest.raises(TerrainGapError, match="the study area"):
        project_grid(project)


def test_the_grid_may_state_its_system(tmp_path):
    project = scene_of(tmp_path, ("cell_size_m = 300", 'cell_size_m = 300\ncrs = "EPSG:32617"'))
    assert project_grid(project).crs.to_epsg() == 32617


def test_people_are_read_around_the_grid_and_marked(tmp_path):
    project = scene_of(tmp_path)
    grid = project_grid(project)
    people = project_people(project, grid).people
    assert people.invented is True
    assert people.counts.sum() == 28 * 32 * 10
    west, south, east, north = grid_bounds_deg(grid)
    assert west < -84.41 < -84.08 < east
    assert south < 36.45 < 36.73 < north
    none = scene_of(tmp_path, ('[people]\nraster = "people.tif"\n', ""))
    assert project_people(none, grid) is None


def test_provenance_says_what_made_a_result(tmp_path):
    project = scene_of(tmp_path)
    made = provenance(project, project_grid(project))
    assert "P.1812-8" in made["model"]
    assert made["effective Earth radius"] == "8931 km"
    assert made["zones"] == "inland everywhere; no sea and no coast"
    assert made["clutter"] == "none added to the terrain"
    assert made["terrain"] == "terrain.tif; taken as bare ground; heights above EGM96"
    assert made["terrain credit"] == "SRTM (NASA/USGS)"
    assert "cells of 300 m, WGS 84 / UTM zone 16N" in made["grid"]
    assert "256-QAM 2/3" in made["television"]
    assert made["invented"] == "The stations of this study are invented, and so are the people."
    real = scene_of(tmp_path, ("invented = true", "invented = false"))
    assert "invented" not in provenance(real)
