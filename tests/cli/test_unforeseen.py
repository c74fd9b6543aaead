"""What nobody foresaw is one line and exit code 2, never the code of an answer; hostile files too."""

from __future__ import annotations

import json

import pytest

from combe.errors import TableError
from combe.terrain.features import read_features
from combe.terrain.people_points import read_people_points
from support_cli import complaint, remarks, run
from support_study import STUDY


def stumble(*args, **more):
    raise KeyError("a name that is nowhere")


def test_an_unforeseen_error_is_one_line_with_a_way_to_report_it(monkeypatch, tmp_path):
    monkeypatch.setattr("combe.study.new.new_study", stumble)
    words = complaint("new", tmp_path / "valley")
    assert words.startswith(
        "this is a fault of Combe 0.1.0, not of yours: KeyError: 'a name that is nowhere'"
    )
    assert "COMBE_TRACEBACK=1" in words
    assert not (tmp_path / "valley").exists()


def test_a_switch_shows_where_it_arose(monkeypatch, tmp_path):
    monkeypatch.setattr("combe.study.new.new_study", stumble)
    monkeypatch.setenv("COMBE_TRACEBACK", "1")
    result = run("new", tmp_path / "valley")
    assert result.exit_code == 2
    assert "in stumble" in result.stderr
    assert remarks(result)[-1].startswith("combe: this is a fault of Combe")


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "9" * 5000,
        STUDY.replace("cell_size_m = 300", "cell_size_m = 0x" + "f" * 400),
        STUDY.replace("channel = 27", "channel = " + "8" * 400),
        "a = " + "[" * 3000 + "]" * 3000,
    ],
    ids=["digits", "hexadecimal", "channel", "brackets"],
)
def test_giants_in_a_study_are_faults_of_it(tmp_path, text):
    path = tmp_path / "study.toml"
    path.write_text(text)
    assert complaint("check", path).startswith(f"study {path} has ")


def test_a_name_longer_than_any_file_has_is_no_file(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(STUDY.replace("people.tif", "people" + "x" * 150 + ".tif" * 20))
    assert "there is no such file; names count from" in complaint("check", path)


def features(folder, geometry, people=1):
    path = folder / "people.geojson"
    feature = {"type": "Feature", "geometry": geometry, "properties": {"people": people, "name": "A"}}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    return path


def test_people_beyond_every_number_are_refused(tmp_path):
    path = features(tmp_path, {"type": "Point", "coordinates": [9.0, 47.0]}, people=10**400)
    with pytest.raises(TableError, match="write a number, 0 or more"):
        read_people_points(path)


def test_a_point_without_a_place_is_left_out_and_counted(tmp_path):
    path = features(tmp_path, {"type": "Point", "coordinates": []})
    with pytest.raises(TableError, match="it holds no feature with a geometry"):
        read_features(path)


def test_a_corner_without_a_place_is_refused(tmp_path):
    corners = [[0.0, 0.0], [1.0, 0.0], [float("inf"), 1.0], [0.0, 0.0]]
    path = features(tmp_path, {"type": "Polygon", "coordinates": [corners]})
    with pytest.raises(TableError, match="is no GeoJSON that can be read"):
        read_features(path)


def test_a_cell_longer_than_any_table_has_is_refused(tmp_path):
    path = tmp_path / "people.csv"
    path.write_text("longitude_deg,latitude_deg,people,name\n9.0,47.0,3," + "x" * 140_000 + "\n")
    with pytest.raises(TableError, match="field larger than field limit"):
        read_people_points(path)
