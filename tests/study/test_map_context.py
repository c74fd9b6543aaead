"""The section on the map: its layers become the project's, faults name file and field, copies take files."""

from __future__ import annotations

from pathlib import Path

import pytest

from combe.answers.check import check_report
from combe.answers.ground_check import open_parts
from combe.errors import StudyError
from combe.project import parts_of
from combe.study.file import load_study, read_study
from combe.study.file_names import with_names
from combe.study.named_files import named_files
from combe.study.new import demo_study_path, new_study
from combe.study.project_of import load_project
from combe.study.sound_parts import parts_of_reading


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """Return a copy of the demo, which has three layers of context."""
    return new_study(tmp_path / "valley")


def changed(study: Path, old: str, new: str) -> Path:
    text = study.read_text(encoding="utf-8")
    assert old in text
    study.write_text(text.replace(old, new), encoding="utf-8")
    return study


def test_the_demo_has_invented_places_water_and_roads() -> None:
    context = load_project(demo_study_path()).context
    assert [(each.kind, each.layer.name, each.label) for each in context] == [
        ("place", "places.geojson", "name"),
        ("water", "river.geojson", "name"),
        ("road", "roads.geojson", "name"),
    ]
    assert all("invented" in each.credit for each in context)


def test_a_copy_takes_the_files_of_the_map_along(study: Path) -> None:
    for name in ("places.geojson", "river.geojson", "roads.geojson"):
        assert (study.parent / name).is_file()
        assert name in [each.name for each in named_files(load_study(study))]
    assert load_study(study).content.map == load_study(demo_study_path()).content.map


def test_a_study_without_a_map_has_the_section_as_comments(tmp_path: Path) -> None:
    bare = tmp_path / "bare.toml"
    text = demo_study_path().read_text(encoding="utf-8").split("# What the map shows")[0]
    bare.write_text(text.replace("../ridges", str(demo_study_path().parents[1] / "ridges")), encoding="utf-8")
    for name in ("people.tif", "relay_pattern.csv", "border.geojson"):
        (tmp_path / name).write_bytes((demo_study_path().parent / name).read_bytes())
    assert load_project(bare).context == ()
    made = new_study(tmp_path / "copy", bare).read_text(encoding="utf-8")
    assert "# [[map.context]]\n# path = " in made


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            'path = "roads.geojson"',
            'path = "lanes.geojson"',
            'map.context[2].path: "lanes.geojson": there is no',
        ),
        ('kind = "road"', 'kind = "rail"', "map.context[2].kind: "),
        ('kind = "road"', "", "map.context[2].kind: "),
        ('kind = "road"', 'kind = "road"\nlabels = "name"', "map.context[2].labels"),
    ],
)
def test_faults_of_the_section_are_told_at_their_place(study: Path, old: str, new: str, told: str) -> None:
    with pytest.raises(StudyError) as raised:
        load_project(changed(study, old, new))
    assert told in str(raised.value)


def test_check_tells_a_field_that_is_not_there_and_those_that_are(study: Path) -> None:
    text = study.read_text(encoding="utf-8").replace('label = "name"', 'label = "NAME"', 1)
    study.write_text(text, encoding="utf-8")
    (fault,) = open_parts(parts_of(load_project(study))).faults
    assert fault.startswith("map.context[0]: table ")
    assert fault.endswith("places.geojson: no field 'NAME'; it has name, people")


def test_a_study_with_other_faults_has_its_map_looked_at_too(study: Path) -> None:
    text = study.read_text(encoding="utf-8").replace('label = "name"', 'label = "NAME"', 1)
    study.write_text(text.replace("erp_w = 100.0", "erp_w = -1.0", 1), encoding="utf-8")
    found = open_parts(parts_of_reading(read_study(study)))
    assert any("no field 'NAME'" in fault for fault in found.faults)


def test_check_notes_a_layer_that_lies_elsewhere(study: Path) -> None:
    (study.parent / "roads.geojson").write_text(
        '{"type": "Feature", "properties": {"name": "x"},'
        ' "geometry": {"type": "Point", "coordinates": [8, 47]}}'
    )
    notes = check_report(load_project(study)).notes
    assert "map: roads.geojson has nothing on the study area" in notes
    assert not any(note.startswith("map: ") for note in check_report(load_project(demo_study_path())).notes)


def test_the_files_of_the_map_are_called_otherwise_from_another_folder() -> None:
    table = {"map": {"context": [{"path": "a.gpkg", "kind": "road"}]}}
    assert with_names(table, lambda name: f"../{name}")["map"]["context"][0]["path"] == "../a.gpkg"
