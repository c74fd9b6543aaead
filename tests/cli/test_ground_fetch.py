"""``combe ground fetch``: a study that was only begun gets its ground, and keeps all that its owner wrote."""

import json
import tomllib

import numpy as np
import pytest
from affine import Affine

from combe.study.ground_entries import box_of_study
from combe.study.project_of import load_project
from support_cli import complaint, run, run_json
from support_ground import small_fetch
from support_mirror import glo_name, write_cog, write_ghs, write_hgt, write_water
from support_study import write_study

BEGUN = """\
# Mine.
[study]
title = "My valley"      # its name

[grid]
area_deg = [-84.35, 36.50, -84.25, 36.60]   # the place

[[stations]]
name = "Far Parent"      # on the plain
longitude_deg = -84.10
latitude_deg = 36.55
"""


@pytest.fixture
def begun(tmp_path):
    (tmp_path / "study.toml").write_text(BEGUN, "utf-8")
    return tmp_path / "study.toml"


def fetch(study, folder, *more):
    words = small_fetch(folder)
    return run_json("ground", "fetch", study, *words[3:], *more)


def test_a_study_that_was_only_begun_gets_its_ground_and_keeps_every_word(begun, tmp_path):
    printed = fetch(begun, tmp_path)
    text = begun.read_text("utf-8")
    for line in BEGUN.splitlines():
        assert line in text
    terrain = tomllib.loads(text)["terrain"]
    assert terrain["tiles"] == ["ground/terrain.tif"]
    assert (terrain["vertical_datum"], terrain["surface_model"]) == ("EGM96", True)
    assert "SRTM" in terrain["credit"] and "2000" in terrain["credit"]
    assert text.index("[terrain]") < text.index("[[stations]]"), "it stands where one looks for it"
    assert "people" not in tomllib.loads(text)
    west, south, east, north = printed["box_deg"]
    assert west < -84.35 and south < 36.50 and east >= -84.10 and north > 36.60, "the parent is in the box"
    told = json.loads((tmp_path / "ground/terrain.tif.source.json").read_text("utf-8"))
    assert told["sha256"] == printed["rasters"][0]["sha256"]
    assert {"licence", "credit", "year", "bytes"} <= set(told)
    assert told["parts"][0]["address"].endswith("N36W085.hgt")


def test_new_sections_stand_where_unused_keys_stay_in_their_tables(tmp_path):
    place = "[grid]\narea_deg = [-84.35, 36.5, -84.25, 36.6]\n\n"
    text = f"{place}[air]\n#delta_n = 45.0\n\n# Stations: examples\n#[[stations]]\n"
    (tmp_path / "study.toml").write_text(text, "utf-8")
    fetch(tmp_path / "study.toml", tmp_path)
    written = (tmp_path / "study.toml").read_text("utf-8")
    assert written.startswith(text[: text.index("# Stations")])
    assert written.endswith("\n\n# Stations: examples\n#[[stations]]\n")
    in_use = written.replace("#delta_n", "delta_n").replace("#[[stations", "[[stations")
    assert tomllib.loads(in_use)["air"] == {"delta_n": 45.0}


def test_again_it_writes_the_same(begun, tmp_path):
    fetch(begun, tmp_path)
    first = begun.read_bytes()
    fetch(begun, tmp_path)
    assert begun.read_bytes() == first


def test_a_whole_study_has_other_ground_afterwards_and_is_sound(tmp_path):
    words = small_fetch(tmp_path)
    assert run(*words).exit_code == 0
    project = load_project(words[2])
    assert [tile.name for tile in project.terrain.tiles] == ["terrain.tif"]
    assert project.terrain.surface_model
    assert '[people]\nraster = "people.tif"' in words[2].read_text("utf-8"), "people were not asked for"


def test_cover_is_not_entered_over_trees_that_are_in_the_heights(begun, tmp_path):
    cells = np.full((360, 360), 10, dtype=np.uint8)
    place = Affine(3 / 360, 0, -87, 0, -3 / 360, 39)
    name = "ESA_WorldCover_10m_2021_v200_N36W087_Map.tif"
    write_cog(tmp_path / "mirror" / name, cells, place, nodata=0)
    printed = fetch(begun, tmp_path, "--cover", "worldcover")
    assert any("trees would count twice" in each for each in printed["remarks"])
    assert (tmp_path / "ground/cover.tif").is_file()
    assert "clutter" not in tomllib.loads(begun.read_text("utf-8"))
    begun.write_text(
        f"{begun.read_text('utf-8')}\n[clutter]\nallow_on_surface_model = true # mine\n", "utf-8"
    )
    fetch(begun, tmp_path, "--cover", "worldcover")
    clutter = tomllib.loads(begun.read_text("utf-8"))["clutter"]
    assert clutter == {"allow_on_surface_model": True, "raster": "ground/cover.tif", "legend": "worldcover"}
    assert "# mine" in begun.read_text("utf-8")


def test_sea_and_beds_of_the_sea_are_entered(begun, tmp_path):
    write_water(tmp_path / "mirror", -85, 36)
    write_hgt(tmp_path / "mirror" / "N36W085.hgt.gz", -85, 36, packed=True)
    fetch(begun, tmp_path, "--sea", "copernicus-water-30", "--elevation", "srtm-blend")
    written = tomllib.loads(begun.read_text("utf-8"))
    assert written["zones"] == {"sea": ["ground/water.tif"], "sea_codes": [1]}
    assert written["terrain"]["sea_floor"] is True
    fetch(begun, tmp_path)
    assert "sea_floor" not in tomllib.loads(begun.read_text("utf-8"))["terrain"], (
        "a claim does not outlive its subject"
    )


def test_a_box_is_fetched_into_a_folder_without_a_study(tmp_path):
    words = small_fetch(tmp_path)
    run_json("ground", "fetch", "--bbox=-84.3,36.5,-84.2,36.6", "--out", tmp_path / "box", *words[3:])
    assert (tmp_path / "box/terrain.tif").is_file()


def test_a_study_across_180_has_one_box(tmp_path):
    (tmp_path / "study.toml").write_text("[grid]\narea_deg = [179.5, -17.5, 180.5, -17.0]\n", "utf-8")
    west, _, east, _ = box_of_study(tmp_path / "study.toml")
    assert 179.3 < west < 179.5 and 180.5 < east < 180.7


def test_stations_alone_tell_the_place(tmp_path):
    (tmp_path / "study.toml").write_text("[[stations]]\nlongitude_deg = 7.5\nlatitude_deg = 46.5\n", "utf-8")
    west, south, east, north = box_of_study(tmp_path / "study.toml", 30.0)
    assert (north - south) * 111 == pytest.approx(60, rel=0.01)
    assert west < 7.2 < 7.8 < east


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ((), "name a study file, or a box"),
        (("--bbox", "1,2,3"), "name a study file, or a box"),
        (("--bbox", "1,2,3", "--out", "x"), "--bbox is '1,2,3'; write four numbers"),
        (("nowhere.toml",), "study nowhere.toml has 1 fault: there is no such file"),
        (
            ("STUDY", "--elevation", "copernicus-3"),
            'source of elevation is "copernicus-3"; allowed: copernicus-30',
        ),
        (("STUDY", "--elevation", "ghs-pop"), 'source of elevation is "ghs-pop"'),
        (("STUDY", "--elevation", "none", "--people", "none"), "nothing is wanted"),
        (("STUDY", "--from", "nowhere"), "--from nowhere: there is no such folder"),
        (("STUDY", "--offline"), f"cannot fetch {glo_name(-85, 36)}.tif: it is not in the cache"),
    ],
)
def test_a_wrong_command_is_one_line(begun, tmp_path, words, line):
    before = begun.read_bytes()
    words = [begun if each == "STUDY" else each for each in words]
    assert complaint("ground", "fetch", *words, "--cache", tmp_path / "empty").startswith(line)
    assert begun.read_bytes() == before


def test_a_study_without_a_place_says_so(tmp_path):
    (tmp_path / "study.toml").write_text('[study]\ntitle = "x"\n', "utf-8")
    assert "it says nowhere where it lies" in complaint("ground", "fetch", tmp_path / "study.toml")


def test_people_of_a_study_that_says_invented_are_told_apart(tmp_path):
    study = write_study(tmp_path / "fetched")
    words = small_fetch(tmp_path)
    write_ghs(tmp_path / "mirror", 5, 11, lambda _: np.ones((10_000, 10_000), dtype=np.float32))
    chosen = [each for each in words[3:] if each not in ("--people", "none")]
    printed = run_json("ground", "fetch", study, *chosen)
    assert any("invented" in each for each in printed["remarks"])
    assert 'raster = "ground/people.tif"' in study.read_text("utf-8")
