"""``combe new --at``: the study of one's own place."""

import shutil

import pytest

import combe
from combe.terrain import SRTM_SAMPLE, sample_folder
from support_cli import complaint, run, run_json

HERE = "-84.25,36.6"


def test_a_study_of_ones_own_is_written_and_told(tmp_path):
    folder = tmp_path / "valley"
    told = run_json("new", folder, "--at", HERE, "--country", "US-east", "--radius", "8")
    assert told["files"] == [str(folder / "study.toml")]
    values = {each["key"]: each for each in told["values"]}
    system = ("television", "system", "ATSC", True, "from memory, check")
    keys = ("section", "key", "value", "known", "standing")
    assert values["system"] == dict(zip(keys, system, strict=True))
    assert values["cell_size_m"]["value"] == "30.0"
    shown = run("new", tmp_path / "other", "--at", HERE).stdout
    assert "Neither --country nor --system was told: DVB-T2 stands until you write another." in shown
    assert f"Next: combe ground fetch {tmp_path / 'other' / 'study.toml'}" in shown
    assert "cannot write" in complaint("new", folder, "--at", HERE)


def test_ground_comes_first_and_a_station_next(tmp_path):
    path = combe.new_study(tmp_path, at=(-84.25, 36.6), radius_km=5.0, country="US-east")
    assert "combe ground fetch" in complaint("check", path)
    shutil.copyfile(sample_folder() / SRTM_SAMPLE, tmp_path / "ground.tif")
    with path.open("a", encoding="utf-8") as study:
        study.write('[terrain]\ntiles = ["ground.tif"]\n')
    checked = run_json("check", path)
    assert checked["valid"]
    assert checked["stations"] == []
    assert checked["notes"][0].startswith("there is no station yet")
    for command in ("cover", "feed", "desk"):
        assert "stations: there is none yet" in complaint(command, path)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--country", "AT"), "--country is for a place of your own; name it with --at LON,LAT"),
        (("--at", HERE, "--sample"), "ask for one of them"),
        (("--at", "46.9N,11E"), "is no LON,LAT in degrees"),
    ],
)
def test_what_does_not_go_together_is_told(tmp_path, words, said):
    assert said in complaint("new", tmp_path / "valley", *words)
    assert not (tmp_path / "valley").exists()


def test_the_sample_may_be_asked_for_by_name(tmp_path):
    shown = run("new", tmp_path / "sample", "--sample").stdout
    assert "A study of your own place is begun with: combe new DIR --at LON,LAT" in shown
    assert combe.load(tmp_path / "sample" / "study.toml").title == combe.demo().title
