"""A station off the air: each command says so, and one that is asked of it has one line for that."""

import html

import pytest

from combe.publishing.page_about import INDEX_NAME
from support_cli import complaint, run, run_json
from support_study import SETTLED, edited, write_study
from support_visits import row, write_table

FREE = edited(("invented = true", 'invented = true\nmodel = "free-space"'), text=SETTLED)
OFF = edited(('role = "relay"', 'role = "relay"\non_air = false'), text=FREE)
SECOND = """
[[stations]]
name = "Second Hill"
role = "parent"
longitude_deg = -84.30
latitude_deg = 36.60
aerial_height_m = 40.0
polarization = "horizontal"

[[stations.services]]
name = "Mux 1"
channel = 33
erp_w = 100.0
"""
WORDS = "Combe Relay; left out of all that is worked out"
AIR = "it is off the air in this study: on_air = false stands at it, or at a station that feeds it"


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("off"), OFF + SECOND)


@pytest.mark.parametrize(
    "words",
    [
        ("check", "STUDY"),
        ("path", "STUDY", "--from", "Parent Hill", "--to", "Second Hill"),
        ("cover", "STUDY", "--no-cache"),
        ("explain", "STUDY", "--at", "-84.25,36.65"),
        ("visit", "STUDY", "--sheet"),
    ],
    ids=lambda words: words[0],
)
def test_every_report_says_who_is_off_the_air(study, tmp_path, words):
    out = ("--out", tmp_path) if words[0] in ("cover", "visit") else ()
    found = run_json(*(study if each == "STUDY" else each for each in words), *out)
    assert found["provenance"]["off the air"] == WORDS
    pages = [page for page in tmp_path.glob("*.html") if page.name != INDEX_NAME]
    assert len(pages) == (1 if out else 0)
    for page in pages:
        assert f"off the air: {WORDS}" in html.unescape(page.read_text(encoding="utf-8"))


def test_check_names_it_as_a_note_and_as_a_key(study):
    assert run_json("check", study)["off_air"] == ["Combe Relay"]
    assert f"note: off the air: {WORDS}" in run("check", study).stdout
    assert run_json("check", write_study(study.parent / "on", FREE))["off_air"] == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("path", "STUDY", "--from", "Parent Hill", "--to", "Combe Relay"), AIR),
        (("aerial", "STUDY", "--station", "combe relay"), AIR),
        (("feed", "STUDY"), "; off the air in this study: Combe Relay"),
        (("channels", "STUDY"), "; off the air in this study: Combe Relay"),
        (("retire", "STUDY"), "; off the air in this study: Combe Relay"),
        (("delays", "STUDY"), "; off the air in this study: Combe Relay"),
        (("coordinate", "STUDY"), "; off the air in this study: Combe Relay"),
    ],
    ids=lambda each: each[0] if isinstance(each, tuple) else "",
)
def test_who_is_asked_of_it_says_in_one_line_that_it_is_off_the_air(study, words, told):
    assert complaint(*(study if each == "STUDY" else each for each in words)).endswith(told)


def test_its_readings_are_refused(study):
    path = write_table(study.parent / "readings.csv", row())
    said = complaint("visit", study, path)
    assert "row 2: station 'Combe Relay' is off the air in this study; put it on the air" in said


def test_a_survey_of_it_alone_has_nothing_to_tell(tmp_path):
    study = write_study(tmp_path, OFF + '\n[survey]\npoints = "points.csv"\n')
    rows = "longitude_deg,latitude_deg,station,service,field_dbuv_m\n-84.21,36.61,Combe Relay,Mux 1,61.5\n"
    (tmp_path / "points.csv").write_text(rows, encoding="utf-8")
    said = complaint("visit", study, "--survey")
    assert said.endswith(
        "points.csv has no point of a station on the air; off the air in this study: Combe Relay"
    )
