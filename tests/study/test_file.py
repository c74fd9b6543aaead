"""Reading a study file, and the ways in which it cannot be read."""

import dataclasses
from typing import get_args

import pytest

from combe.errors import StudyError
from combe.prediction.conditions import MODELS
from combe.standards.land_cover import LEGENDS
from combe.study.file import beside, load_study
from combe.study.schema import AboutSection, ClutterSection, json_schema
from support_study import STUDY, write_study


def test_a_good_study_is_read_with_its_defaults(tmp_path):
    study = load_study(write_study(tmp_path))
    content = study.content
    assert content.study.model == "p1812"
    assert content.grid.cell_size_m == 300.0
    assert content.air.delta_n is None
    assert content.clutter is None
    assert content.stations[1].feed.time_percent == 99.0
    assert (content.television.channel_model, content.television.location_percent) == (None, None)
    assert content.television.receive_height_m == 10.0
    assert [station.name for station in content.stations] == ["Parent Hill", "Combe Relay"]
    assert content.stations[1].feed.from_ == "Parent Hill"


def test_names_of_files_count_from_the_study(tmp_path, monkeypatch):
    path = write_study(tmp_path / "valley")
    monkeypatch.chdir(tmp_path)
    assert beside(load_study(path), "terrain.tif") == tmp_path / "valley" / "terrain.tif"
    assert load_study("valley/study.toml").content == load_study(path).content


def test_a_study_cannot_be_changed(tmp_path):
    study = load_study(write_study(tmp_path))
    with pytest.raises(dataclasses.FrozenInstanceError):
        study.path = tmp_path
    with pytest.raises(ValueError, match="frozen"):
        study.content.grid.cell_size_m = 30.0


def test_a_syntax_error_names_the_line(tmp_path):
    path = write_study(tmp_path, STUDY.replace("cell_size_m = 300", "cell_size_m = = 300"))
    line = STUDY[: STUDY.index("cell_size_m")].count("\n") + 1
    with pytest.raises(StudyError, match=rf"1 fault: line {line}: Invalid value; correct the TOML there$"):
        load_study(path)


def test_a_decimal_comma_is_told_as_such(tmp_path):
    path = write_study(tmp_path, STUDY.replace("latitude_deg = 36.60", "latitude_deg = 36,60  # north"))
    with pytest.raises(StudyError, match=r"1 fault: line \d+: 36,60 has a decimal comma; write 36\.60$"):
        load_study(path)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path.exists(), "there is no such file; make one with: combe new DIR"),
        (lambda path: path.mkdir(), "is a folder; name the file in it"),
        (lambda path: path.write_bytes(b"\xff\xfe\x00"), "is not UTF-8 text; a study is a TOML file"),
        (
            lambda path: path.write_bytes(b"#" * 4_000_001),
            "is larger than 4 MB; a study file is a short text",
        ),
    ],
    ids=["missing", "folder", "binary", "large"],
)
def test_what_is_no_study_file(tmp_path, make, words):
    path = tmp_path / "study.toml"
    make(path)
    with pytest.raises(StudyError) as caught:
        load_study(path)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_json_schema_holds_every_section_and_refuses_unknown_keys():
    schema = json_schema()
    assert set(schema["properties"]) == {
        "study",
        "terrain",
        "clutter",
        "zones",
        "grid",
        "air",
        "television",
        "reception",
        "interference",
        "map",
        "sfn",
        "network",
        "people",
        "siting",
        "error",
        "coordination",
        "survey",
        "stations",
    }
    assert schema["additionalProperties"] is False
    feed = schema["$defs"]["FeedSection"]["properties"]
    assert "from" in feed
    assert "from_" not in feed
    assert all("description" in field for field in feed.values())


def test_the_legends_of_a_study_are_those_that_there_are():
    words = get_args(get_args(ClutterSection.model_fields["legend"].annotation)[0])
    assert set(words) == set(LEGENDS)
    assert set(get_args(AboutSection.model_fields["model"].annotation)) == set(MODELS)
