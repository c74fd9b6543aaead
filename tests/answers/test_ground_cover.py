"""Ground cover in a study: opened, added along paths, checked, and named in what was made of it."""

import numpy as np
import pytest
import rasterio

from combe.answers.check import check_report
from combe.answers.cover import cover_report
from combe.answers.path import path_report, predict_between
from combe.errors import RasterError, StudyError
from combe.library import check_file
from combe.prediction.path import predict_path
from combe.project import project_grid
from combe.study.project_of import load_project
from combe.terrain.grid import to_grid_m
from support_study import AIR, edited, write_study

CLASSES = '[clutter]\nraster = "cover.tif"\nlegend = "worldcover"\n'
CANOPY = '[clutter]\nraster = "cover.tif"\ncanopy = true\n'


BETWEEN, EAST, PARENT = slice(170, 190), slice(300, 400), slice(0, 150)
"""Columns without data: between the stations, east of both, and around the parent."""


def write_cover(folder, value, *, gap=None, dtype="uint8"):
    """Write cover of one value over the sample, some columns without data if asked."""
    cells = np.full((400, 400), value, dtype=dtype)
    if gap is not None:
        cells[:, gap] = 0
    where = rasterio.transform.from_origin(-84.45, 36.80, 0.001, 0.001)
    shape = {"width": 400, "height": 400, "count": 1, "dtype": dtype, "crs": "EPSG:4326", "nodata": 0}
    with rasterio.open(folder / "cover.tif", "w", driver="GTiff", transform=where, **shape) as dataset:
        dataset.write(cells, 1)


def study_with(folder, section, *changes):
    return load_project(write_study(folder, edited(("[people]", f"{section}\n[people]"), *changes)))


def loss_db(study):
    return path_report(study, "Parent Hill", "Combe Relay").services[0].prediction.basic_loss_db


def test_a_wood_along_the_path_costs(tmp_path):
    write_cover(tmp_path, 10)
    wooded = study_with(tmp_path, CLASSES)
    bare = load_project(write_study(tmp_path))
    assert loss_db(wooded) > loss_db(bare) + 1.0
    over_wood, over_ground = (
        path_report(each, "Parent Hill", "Combe Relay").services[0].clearance for each in (wooded, bare)
    )
    assert over_ground.median.clearance_m - over_wood.median.clearance_m == pytest.approx(15.0, abs=1.0)
    report = path_report(wooded, "Parent Hill", "Combe Relay")
    assert set(report.clutter_height_m.tolist()) == {15.0}
    assert "classes of ESA WorldCover, a rough guide, nearest cell" in report.provenance["clutter"]


def test_open_ground_costs_nothing(tmp_path):
    """Over cover the ground itself is sampled every 9 m; over those samples open ground is bare ground."""
    write_cover(tmp_path, 30)
    report = path_report(study_with(tmp_path, CLASSES), "Parent Hill", "Combe Relay")
    over_cover = report.services[0].prediction
    assert set(report.clutter_height_m.tolist()) == {0.0}
    assert report.profile.distance_km[1] <= 0.009
    bare = predict_path(
        report.profile,
        tx_height_m=report.tx_height_m,
        rx_height_m=report.rx_height_m,
        frequency_mhz=report.services[0].service.frequency_mhz,
        polarization=report.from_station.polarization,
        conditions=over_cover.conditions,
    )
    assert over_cover.basic_loss_db == bare.basic_loss_db


def test_canopy_heights(tmp_path):
    write_cover(tmp_path, 15.0, dtype="float32")
    by_height = study_with(tmp_path, CANOPY)
    assert (
        "heights of the raster, interpolated"
        in path_report(by_height, "Parent Hill", "Combe Relay").provenance["clutter"]
    )
    canopy_db = loss_db(by_height)
    write_cover(tmp_path, 10)
    assert canopy_db == pytest.approx(loss_db(study_with(tmp_path, CLASSES)), abs=1e-9)


def test_a_table_of_ones_own_goes_before_the_legend(tmp_path):
    write_cover(tmp_path, 10)
    (tmp_path / "h.csv").write_text("class,height_m\n10,22.5\n11,3\n", encoding="utf-8")
    cover = study_with(tmp_path, f'{CLASSES}heights = "h.csv"\n').cover
    assert (cover.class_height_m[10], cover.class_height_m[11], cover.class_height_m[50]) == (22.5, 3.0, 10.0)
    assert "heights of h.csv, then shipped heights" in cover.words
    alone = study_with(tmp_path, '[clutter]\nraster = "cover.tif"\nheights = "h.csv"\n').cover
    assert set(alone.class_height_m) == {10, 11}


def test_an_unknown_class_and_a_gap_on_the_way(tmp_path):
    write_cover(tmp_path, 77)
    with pytest.raises(
        StudyError, match=r"clutter: class of ground cover in cover\.tif is 77; allowed: 10, 20"
    ):
        loss_db(study_with(tmp_path, CLASSES))
    write_cover(tmp_path, 10, gap=BETWEEN)
    with pytest.raises(RasterError, match=r"cover\.tif: it holds no ground cover at longitude -84\.2[78]"):
        loss_db(study_with(tmp_path, CLASSES))


def test_the_check_opens_the_cover(tmp_path):
    write_cover(tmp_path, 10)
    assert check_report(study_with(tmp_path, AIR + CLASSES)).notes == ()
    write_cover(tmp_path, 10, gap=EAST)
    (note,) = check_report(study_with(tmp_path, AIR + CLASSES)).notes
    assert "% of the terrain in and around the grid has no ground cover: no prediction there" in note
    write_cover(tmp_path, 77)
    with pytest.raises(StudyError, match=r"1 fault: clutter: class of ground cover in cover\.tif is 77"):
        check_report(study_with(tmp_path, CLASSES))
    path = study_with(tmp_path, CLASSES).key
    (tmp_path / "cover.tif").write_text("no raster", encoding="utf-8")
    with pytest.raises(StudyError, match=r"1 fault: clutter: raster .*cover\.tif: its format is unknown"):
        check_file(path)


def test_maps_for_little_time_are_remarked_on(tmp_path):
    text = edited(("[people]", f"{AIR}time_percent = 1.0\n\n[people]"))
    (note,) = check_report(load_project(write_study(tmp_path, text))).notes
    assert note == "time of service: the median of time; air.time_percent 1 is for combe path alone"


def test_a_surface_model_takes_cover_only_when_told(tmp_path):
    write_cover(tmp_path, 10)
    surface = ('vertical_datum = "EGM96"', 'vertical_datum = "EGM96"\nsurface_model = true')
    with pytest.raises(StudyError, match="cover would count twice"):
        study_with(tmp_path, CLASSES, surface)
    told = study_with(tmp_path, f"{CLASSES}allow_on_surface_model = true\n", surface)
    assert told.cover.class_height_m[10] == 15.0


def test_cover_on_the_map(tmp_path):
    bare = cover_report(load_project(write_study(tmp_path)))
    write_cover(tmp_path, 10, gap=EAST)
    wooded = cover_report(study_with(tmp_path, CLASSES))
    before = bare.stations[1].services[0].field_map.field_dbuv_m
    after = wooded.stations[1].services[0].field_map.field_dbuv_m
    both = ~np.isnan(before) & ~np.isnan(after)
    assert (after[both] <= before[both] + 0.5).mean() > 0.99
    assert (before[both] - after[both]).mean() > 1.0
    assert np.isnan(after[~np.isnan(before)]).mean() > 0.1, "no prediction where the cover is not known"


def test_a_station_where_the_cover_is_not_known(tmp_path):
    write_cover(tmp_path, 10, gap=PARENT)
    study = study_with(tmp_path, CLASSES)
    words = r"cover\.tif: it holds no ground cover at longitude -84\.330000, latitude 36\.700000"
    told = rf'1 fault: stations\[0\]: station "Parent Hill": raster .*{words}'
    for ask in (cover_report, check_report):
        with pytest.raises(StudyError, match=told):
            ask(study)


def test_map_and_path_agree_with_cover(tmp_path):
    write_cover(tmp_path, 10)
    study = study_with(tmp_path, CLASSES, ("cell_size_m = 300", "cell_size_m = 30"))
    project = study
    grid, (parent, relay) = project_grid(project), project.stations
    column, row = cell_of(grid, relay.longitude_deg, relay.latitude_deg)
    field = cover_report(study).stations[0].services[0].field_map.field_dbuv_m[row, column]
    path = predict_between(project, parent, relay, 10.0).services[0]
    assert field == pytest.approx(path.field_strength_dbuv_m, abs=0.5)


def cell_of(grid, lon_deg, lat_deg):
    x_m, y_m = to_grid_m(grid, lon_deg, lat_deg)
    return int((x_m - grid.west_m) / grid.cell_size_m), int((grid.north_m - y_m) / grid.cell_size_m)
