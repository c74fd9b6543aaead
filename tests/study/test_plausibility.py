"""Notes on what hardly any place has: given where it is unlikely, and not where it is usual."""

import numpy as np
import pytest
import rasterio

from combe.study.file import load_study
from combe.study.plausibility import station_notes
from combe.study.resolve import resolve
from combe.study.run_check import check_file
from support_study import edited, write_study


def notes(folder, *changes):
    return check_file(write_study(folder, edited(*changes))).notes


def told(found, words):
    return [note for note in found if words in note]


SMALL = "area_deg = [-84.25, 36.58, -84.2, 36.62]"
UNLIKELY = ("higher than", "in feet", "in kilowatts", "detail is not real", "outside the grid", "per km²")


def test_a_usual_study_has_no_such_note(tmp_path):
    assert [words for words in UNLIKELY if told(notes(tmp_path), words)] == []


def test_a_mast_higher_than_masts_are(tmp_path):
    found = notes(tmp_path, ("aerial_height_m = 60.0", "aerial_height_m = 390.0"))
    assert told(found, "the aerial of Parent Hill stands 390 m above ground")


def test_a_relay_stronger_than_its_parent(tmp_path):
    found = notes(tmp_path, ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 2.0"))
    (note,) = told(found, "in kilowatts")
    assert note.startswith("Combe Relay radiates Mux 1 with 20 W ERP, its parent Parent Hill with 2 W;")


def test_a_grid_finer_than_its_terrain(tmp_path):
    found = notes(
        tmp_path, ("cell_size_m = 300", "cell_size_m = 20\narea_deg = [-84.25, 36.58, -84.2, 36.62]")
    )
    assert told(found, "the grid has cells of 20 m and the terrain of 74 m")


@pytest.mark.parametrize(
    ("everywhere", "words"),
    [(True, "does the raster hold heights"), (False, "people per km², more than any city")],
)
def test_people_denser_than_any_city(tmp_path, everywhere, words):
    study = write_study(tmp_path)
    with rasterio.open(tmp_path / "people.tif", "r+") as raster:
        counts = raster.read(1)
        if everywhere:
            counts[:] = 3e5
        else:
            counts[np.unravel_index(np.argmax(counts), counts.shape)] = 1e6
        raster.write(counts, 1)
    assert told(check_file(study).notes, words)


def test_people_off_the_grid_are_told(tmp_path):
    rows = [
        "longitude_deg,latitude_deg,people,name",
        "-84.2,36.6,120,In",
        "-80.0,36.6,77,Off",
        "-81.0,36.6,3,Out",
    ]
    write_study(tmp_path)
    (tmp_path / "people.csv").write_text("\n".join(rows) + "\n")
    found = notes(tmp_path, ('raster = "people.tif"', 'points = "people.csv"'))
    (note,) = told(found, "outside the grid")
    assert note == "80 people at 2 places lie outside the grid and are not counted"


def test_ground_that_is_high_in_feet_alone(tmp_path):

    stations = resolve(load_study(write_study(tmp_path))).stations
    assert [note for note in station_notes(stations, [300.0, 900.0]) if "feet" in note] == []
    (note,) = [note for note in station_notes(stations, [300.0, 5100.0]) if "feet" in note]
    assert note.startswith("the ground under Combe Relay is 5100 m high")
