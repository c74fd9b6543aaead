"""A relay that stands where the station that feeds it stands is a fault of the study."""

import pytest

from combe.answers.feed import feed_report
from combe.errors import StudyError
from combe.library import check_file
from combe.study.file import load_study
from combe.study.project_of import load_project
from support_cli import complaint, run_json
from support_study import SETTLED, edited, write_study

AT_PARENT = (
    ("longitude_deg = -84.20", "longitude_deg = -84.33"),
    ("latitude_deg = 36.60", "latitude_deg = 36.70"),
)
FAULT = (
    'stations[1]: "Combe Relay" is at the very place of "Parent Hill", which feeds it; a path of model '
    '"p1812" is 250 m or longer: correct longitude_deg and latitude_deg of one of them'
)
NEAR = (AT_PARENT[0], ("latitude_deg = 36.60", "latitude_deg = 36.7018"))
MODEL = ("invented = true", 'invented = true\nmodel = "p526"')
TWIN = """
[[stations]]
name = "Second Parent"
role = "parent"
longitude_deg = -84.33
latitude_deg = 36.70
aerial_height_m = 40.0
polarization = "horizontal"
services = [{ name = "Mux 3", channel = 35, erp_w = 100.0 }]
"""


def test_it_is_told_with_the_other_faults(tmp_path):
    path = write_study(tmp_path, edited(*AT_PARENT, ("channel = 27", "channel = 99")))
    with pytest.raises(StudyError) as caught:
        check_file(path)
    assert FAULT in caught.value.faults
    assert len(caught.value.faults) == 2


@pytest.mark.parametrize("command", ["check", "feed", "cover", "site", "channels"])
def test_every_command_tells_it_and_writes_nothing(tmp_path, command):
    study = write_study(tmp_path, edited(*AT_PARENT))
    before = sorted(tmp_path.rglob("*"))
    assert FAULT in complaint(command, study)
    assert sorted(tmp_path.rglob("*")) == before


def test_check_prints_it_as_json(tmp_path):
    printed = run_json("check", write_study(tmp_path, edited(*AT_PARENT)), code=2)
    assert (printed["valid"], printed["faults"]) == (False, [FAULT])


def test_the_least_path_is_that_of_the_model(tmp_path):
    """0.0018 degrees of latitude are 200 m: under the 0.25 km of P.1812-8 §1, enough for the others."""
    with pytest.raises(
        StudyError, match=r'"Combe Relay" is 199\.\d m from "Parent Hill", which feeds it; .*250 m'
    ):
        load_study(write_study(tmp_path, edited(*NEAR)))
    timed = ("required_margin_db = 10.0", "required_margin_db = 10.0\ntime_percent = 50.0")
    report = feed_report(load_project(write_study(tmp_path, edited(*NEAR, MODEL, timed))))
    assert report.relays[0].path.profile.distance_km[-1] == pytest.approx(0.2, abs=0.001)
    with pytest.raises(StudyError, match=r"a path of model \"p526\" is 1 m or longer"):
        load_study(write_study(tmp_path, edited(*AT_PARENT, MODEL)))


def test_two_stations_on_one_mast_are_none(tmp_path):
    assert check_file(write_study(tmp_path, SETTLED + TWIN)).notes == ()


def test_a_relay_that_feeds_itself_is_told_once(tmp_path):
    with pytest.raises(StudyError, match=r"1 fault: stations\[1\]\.feed\.from: .* is fed by itself"):
        load_study(write_study(tmp_path, edited(('from = "Parent Hill"', 'from = "Combe Relay"'))))
