"""Notes on what hardly any place has: given where it is unlikely, and not where it is usual."""

import numpy as np
import pytest
import rasterio

from combe.answers.plausibility import station_notes
from combe.library import check_file
from combe.study.project_of import load_project
from combe.terrain import people_raster
from combe.terrain.sampling import sample_heights
from support_study import SITING, edited, write_study
from support_terrain import write_tif


def notes(folder, *changes):
    return check_file(write_study(folder, edited(*changes))).notes


def told(found, words):
    return [note for note in found if words in note]


SMALL = "area_deg = [-84.25, 36.58, -84.2, 36.62]"
UNLIKELY = (
    "higher than",
    "in feet",
    "in kilowatts",
    "detail is not real",
    "outside the grid",
    "per km²",
    "heights?",
)


def test_a_usual_study_has_no_such_note(tmp_path):
    assert [words for words in UNLIKELY if told(notes(tmp_path), words)] == []


def test_a_mast_higher_than_masts_are(tmp_path):
    found = notes(tmp_path, ("aerial_height_m = 60.0", "aerial_height_m = 390.0"))
    assert told(found, "the aerial of Parent Hill stands 390 m above ground")


def test_what_is_turned_without_a_pattern_turns_nothing(tmp_path):
    found = notes(
        tmp_path, ("aerial_height_m = 60.0", "aerial_height_m = 60.0\nbearing_deg = 20\ntilt_deg = 2")
    )
    assert told(found, "turns nothing") == [
        "bearing_deg 20 of Parent Hill turns nothing, for horizontal_pattern is omni; name a pattern, or take"
        " bearing_deg out",
        "tilt_deg 2 of Parent Hill turns nothing, for vertical_pattern is omni; name a pattern, or take"
        " tilt_deg out",
    ]
    full = notes(tmp_path / "full", ("aerial_height_m = 60.0", "aerial_height_m = 60.0\nbearing_deg = 360"))
    assert not told(full, "turns nothing")


def test_every_other_aerial_higher_than_masts_are(tmp_path):
    siting = edited(
        ("cell_size_m = 300.0", "cell_size_m = 300.0\naerial_height_m = 352.0"),
        ("[[siting.services]]", "[siting.feed]\naerial_height_m = 353.0\n\n[[siting.services]]"),
        text=SITING,
    )
    receiving = edited(("aerial_height_m = 12.0", "aerial_height_m = 351.0"))
    found = told(check_file(write_study(tmp_path, receiving + siting)).notes, "higher than")
    assert [note.partition(" m above")[0] for note in found] == [
        "the receiving aerial of Combe Relay stands 351",
        "the aerial of the relay to be built stands 352",
        "the receiving aerial of the relay to be built stands 353",
    ]


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


@pytest.mark.parametrize(("cell_deg", "share", "expected"), [(0.01, 1.0, 1), (0.01, 0.4, 0), (0.02, 1.0, 1)])
def test_people_who_are_heights_in_cells_too_large_to_be_dense(tmp_path, cell_deg, share, expected):
    """Cells of a kilometre and more that hold the ground's height hold a few hundred to the km²."""
    study = write_study(tmp_path)
    rows, columns = (round(each / cell_deg) for each in (0.28, 0.32))
    lon = -84.405 + (np.arange(columns) + 0.5) * cell_deg
    lat = 36.73 - (np.arange(rows) + 0.5) * cell_deg
    heights_m = sample_heights(load_project(study).terrain, *map(np.ravel, np.meshgrid(lon, lat)))
    taken = np.random.default_rng(2).random(heights_m.size) < share
    counts = np.where(taken, 1.03 * heights_m, 10.0).reshape(rows, columns)
    write_tif(tmp_path / "people.tif", counts.astype(np.float32), -84.405, 36.73, cell_deg)
    found = check_file(study).notes
    assert len(told(found, "are these heights?")) == expected
    assert told(found, "per km²") == []


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

    stations = load_project(write_study(tmp_path)).stations
    assert [note for note in station_notes(stations, [300.0, 900.0]) if "feet" in note] == []
    (note,) = [note for note in station_notes(stations, [300.0, 5100.0]) if "feet" in note]
    assert note.startswith("the ground under Combe Relay is 5100 m high")


def test_people_of_a_raster_off_the_grid_are_told(tmp_path):
    """The grid has about 15 by 14 cells of 10 people in a raster of 8960."""
    found = notes(
        tmp_path, ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [-84.25, 36.58, -84.1, 36.72]")
    )
    (note,) = told(found, "outside the grid")
    number = int("".join(filter(str.isdigit, note)))
    assert note.startswith("about ")
    assert note.endswith(" people lie outside the grid and are not counted")
    assert 6650 <= number <= 6870
    assert number % 10 == 0


def test_people_far_from_the_grid_are_told_too(tmp_path):
    study = write_study(tmp_path)
    counts = np.zeros((28, 600), dtype=np.float32)
    counts[10, 10], counts[11, 500] = 40.0, 70.0
    write_tif(tmp_path / "people.tif", counts, -84.405, 36.73, 0.01)
    found = check_file(study)
    assert found.people_total == 40.0
    assert "about 70 people lie outside the grid and are not counted" in found.notes


def test_people_of_a_raster_too_large_to_be_added_up_are_told_without_a_number(tmp_path, monkeypatch):
    monkeypatch.setattr(people_raster, "MOST_ADDED_UP", 10)
    words = "people.tif goes beyond the grid; who lives there is not counted"
    assert told(notes(tmp_path / "all"), "beyond the grid") == []
    part = ("cell_size_m = 300", f"cell_size_m = 300\n{SMALL}")
    assert told(notes(tmp_path / "part", part), "beyond the grid") == [words]


def test_heights_as_large_as_only_feet_are(tmp_path):
    study = write_study(tmp_path)
    high = np.full((344, 403), 900.0, dtype=np.float32)
    high[100:140, 200:260] = 6100.0
    write_tif(tmp_path / "terrain.tif", high, -84.41375, 36.73292, 1.0 / 1200.0)
    (note,) = told(check_file(study).notes, "in feet")
    assert note == "the ground of the grid reaches 6100 m; are the heights in feet?"
