"""People by district, each counted in its own frame of cells: as over all cells, for any number of them."""

import geopandas
import numpy as np
import pytest
from shapely.geometry import box

from combe.project import project_grid, project_people
from combe.study.project_of import load_project
from support_study import edited, write_study

WEST, NORTH, STEP_DEG = -84.405, 36.73, 0.03


def write_districts(path, count_a_side=9):
    """Write squares that abut, one of them twice as wide, and one off all people."""
    squares = [
        box(
            WEST + STEP_DEG * i,
            NORTH - STEP_DEG * (j + 1),
            WEST + STEP_DEG * (i + 1 + (i == 3)),
            NORTH - STEP_DEG * j,
        )
        for j in range(count_a_side)
        for i in range(count_a_side)
        if i != 4
    ]
    squares.append(box(-84.9, 36.0, -84.8, 36.1))
    names = [f"D{number}" for number in range(len(squares))]
    geopandas.GeoDataFrame({"name": names}, geometry=squares, crs="EPSG:4326").to_file(path)
    return names


@pytest.fixture(params=["raster", "points"])
def source(request, tmp_path):
    changes = [('raster = "people.tif"', 'raster = "people.tif"\ndistricts = "districts.gpkg"')]
    if request.param == "points":
        chance = np.random.default_rng(3)
        lon, lat = WEST + 0.3 * chance.random(400), NORTH - 0.3 * chance.random(400)
        rows = [f"{x:.5f},{y:.5f},{n}" for x, y, n in zip(lon, lat, range(1, 401), strict=True)]
        (tmp_path / "people.csv").write_text("longitude_deg,latitude_deg,people\n" + "\n".join(rows) + "\n")
        changes = [('raster = "people.tif"', 'points = "people.csv"\ndistricts = "districts.gpkg"')]
    write_districts(tmp_path / "districts.gpkg")
    study = load_project(write_study(tmp_path, edited(*changes)))
    return project_people(study, project_grid(study))


def test_frames_hold_all_people_of_a_district_and_nobody_elses(source):
    whole = np.zeros_like(source.people.counts)
    for index in range(len(source.districts.names)):
        rows, columns, counts = source.districts.people_of(index)
        assert counts.shape == whole[rows, columns].shape
        assert counts.size < whole.size / 4
        whole[rows, columns] += counts
    assert np.all(whole <= source.people.counts + 1e-9)
    covered = whole > 0.0
    np.testing.assert_allclose(whole[covered], source.people.counts[covered])
    assert covered.sum() > 30
    last = source.districts.people_of(len(source.districts.names) - 1)
    assert last.counts.sum() == 0.0
