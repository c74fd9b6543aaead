"""``combe aerial``: by options and by a study, its files, and what it refuses."""

import pytest

from combe.publishing.cautions import CAUTIONS
from combe.stations.pattern import read_pattern
from combe.study.file import load_study
from combe.study.new import new_study
from combe.study.project_of import load_project
from combe.study.template import study_text
from support_cli import complaint, run, run_json
from support_study import edited, write_study

ARRAY = '\n[stations.array]\nkind = "panels"\ncount = 4\nspacing_wavelengths = 0.75\nboresight_deg = 315.0\n'
YAGIS = ("--kind", "yagis", "--gain", 11, "--horizontal-width", 50, "--vertical-width", 60)


@pytest.fixture
def study(tmp_path):
    return write_study(
        tmp_path, edited(("required_margin_db = 10.0\n", f"required_margin_db = 10.0\n{ARRAY}"))
    )


def test_the_patterns_are_files_that_a_station_takes(tmp_path):
    printed = run_json(
        "aerial", *YAGIS, "--count", 2, "--spacing", 1.2, "--out", tmp_path, "--name", "Two Bays"
    )
    horizontal = read_pattern(tmp_path / "two-bays_horizontal.csv", "horizontal")
    vertical = read_pattern(tmp_path / "two-bays_vertical.csv", "vertical")
    assert max(horizontal.relative_db) == max(vertical.relative_db) == 0.0
    assert printed["horizontal_pattern"] == str(tmp_path / "two-bays_horizontal.csv")
    assert printed["gain_dbi"] - printed["gain_dbd"] == pytest.approx(2.15, abs=0.005)
    assert printed["horizontal_beamwidth_deg"] == pytest.approx(50.0, abs=0.5)
    assert printed["vertical_beamwidth_deg"] < 30.0
    assert printed["null_above"]["angle_deg"] == pytest.approx(24.6, abs=0.2)
    assert any("mutual coupling" in words for words in printed["omits"])
    assert printed["cautions"] == list(CAUTIONS)


def test_it_tells_gain_widths_nulls_and_what_is_left_out(tmp_path):
    result = run(
        "aerial", "--kind", "trough", "--count", 4, "--polarization", "vertical", "--out", tmp_path, "--full"
    )
    assert result.exit_code == 0, result.output
    for words in (
        "dBi, ",
        "dBd",
        "horizontal beamwidth",
        "first null below",
        "a full null",
        "Left out by the model",
        "Cautions",
    ):
        assert words in result.stdout


def test_it_warns_of_grating_lobes_and_does_not_take_one_for_the_beam(tmp_path):
    line = ("--kind", "dipoles", "--count", 4, "--tilt", 1, "--out", tmp_path)
    words = " ".join(run("aerial", *line).stdout.split())
    assert "beam bearing 0.0°, elevation −1.00°" in words
    assert (
        "Warning: grating lobes within 3 dB of the beam, elevation 79.3° (+0.0 dB), −90.0° (−0.1 dB): the "
        "elements are 1 wavelengths apart; none stands as strong as the beam if they are under 0.98"
    ) in words
    printed = run_json("aerial", *line)
    assert printed["grating_lobes"][0]["angle_deg"] == pytest.approx(79.28, abs=0.01)
    assert "Warning" not in run("aerial", *line, "--spacing", 0.75).stdout


def test_panels_around_a_mast(tmp_path):
    ring = ("--kind", "panels", "--count", 2, "--spacing", 0.75, "--bearings", "0,120,240", "--radius", 0.4)
    printed = run_json("aerial", *ring, "--out", tmp_path)
    assert printed["horizontal_ripple_db"] < 6.0
    assert printed["name"].startswith("ring of 3 x ")


def test_the_study_says_what_the_aerial_is(study):
    printed = run_json("aerial", study)
    assert printed["beam_bearing_deg"] == pytest.approx(315.0, abs=0.1)
    assert printed["horizontal_pattern"] == str(study.parent / "results" / "combe-relay_horizontal.csv")
    told = run("aerial", study, "--station", "combe relay").stdout
    assert 'horizontal_pattern = "results/combe-relay_horizontal.csv"' in told
    lines = "\n".join(line.strip() for line in told.splitlines() if "_pattern = " in line)
    at = 'name = "Combe Relay"'
    study.write_text(study.read_text("utf-8").replace(at, f"{at}\n{lines}"), encoding="utf-8")
    station = load_project(study).stations[1]
    assert station.horizontal_pattern is not None
    assert station.vertical_pattern is not None


def test_the_design_survives_a_new_study(study, tmp_path):
    made = load_study(new_study(tmp_path / "new", study)).content
    assert made.stations[1].array == load_study(study).content.stations[1].array
    assert "[stations.array]" in study_text(made)


def test_what_it_refuses(study, tmp_path):
    assert complaint("aerial") == "say what the aerial is made of with --kind, or name a study"
    assert complaint("aerial", "--kind", "dipoles", "--station", "X").startswith(
        "--station goes with a study"
    )
    assert complaint("aerial", study, "--count", 3) == (
        "the study says what the aerial is; leave out count, or the study"
    )
    assert complaint("aerial", study, "--station", "Combe Rely").endswith('did you mean "Combe Relay"?')
    assert complaint("aerial", study, "--station", "Parent Hill") == (
        'array of the station is missing at "Parent Hill"; allowed: a [stations.array] table'
    )
    plain = write_study(tmp_path / "plain")
    assert complaint("aerial", plain) == (
        "array is missing at every station; allowed: a [stations.array] table; "
        "write one, or leave out the study and say --kind"
    )
    assert complaint("aerial", "--kind", "yagis", "--gain", 12) == (
        "--kind yagis also needs --horizontal-width, --vertical-width: those of one yagi"
    )
    assert "is no list of numbers; write for example 0,120,240" in complaint(
        "aerial", "--kind", "panels", "--bearings", "north"
    )
    assert complaint("aerial", *YAGIS, "--opening", 90).startswith("opening_deg of yagis is 90.0")
    file = tmp_path / "file"
    file.write_text("", encoding="utf-8")
    assert "is a file and no folder" in complaint("aerial", "--kind", "dipoles", "--out", file)
