"""A study's shares of the year: one number or a list, at the feed and at the siting's feed."""

import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from combe.study.project_of import load_project
from combe.study.template import study_text
from support_study import SITING, STUDY, edited, write_study

TIME = "required_margin_db = 10.0"
SEVERAL = (TIME, f"{TIME}\ntime_percent = [99.9, 99, 99.999]")


def test_a_list_is_judged_at_the_greatest(tmp_path):
    feed = load_project(write_study(tmp_path, edited(SEVERAL))).feeds["Combe Relay"]
    assert (feed.time_percent, feed.time_percents) == (99.999, (99.0, 99.9, 99.999))


def test_so_is_that_of_the_siting(tmp_path):
    text = f"{STUDY}{SITING}\n[siting.feed]\ntime_percent = [50, 99.9]\n"
    if "[siting.feed]" in SITING:
        text = (STUDY + SITING).replace("[siting.feed]", "[siting.feed]\ntime_percent = [50, 99.9]")
    siting = load_project(write_study(tmp_path, text)).siting
    assert (siting.feed.time_percent, siting.feed.time_percents) == (99.9, (50.0, 99.9))


def test_it_survives_a_new_study(tmp_path):
    study = write_study(tmp_path, edited(SEVERAL))
    content = load_study(study).content
    again = tmp_path / "again.toml"
    again.write_text(study_text(content), encoding="utf-8")
    assert load_study(again).content == content


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("49.0", "49.0 is out of range; write a number of at least 50"),
        ("99.9999", "99.9999 is out of range; write a number of at most 99.999"),
        ("[99.0, 100.0]", "[99.0, 100.0] is out of range; write a number of at most 99.999"),
        ('"99"', '"99" is not a number; write time_percent = 99.0'),
        ("[true]", "[true] is not a number; write time_percent = 99.0"),
        ("nan", "is not a finite number; write time_percent = 99.0"),
        ("[]", "holds too few entries; write at least 1"),
        (f"[{', '.join(['99.0'] * 11)}]", "holds too many entries; write at most 10"),
    ],
)
def test_what_is_refused(tmp_path, given, words):
    study = write_study(tmp_path, edited((TIME, f"{TIME}\ntime_percent = {given}")))
    with pytest.raises(StudyError) as error:
        load_study(study)
    (line,) = [each for each in str(error.value).splitlines() if "time_percent" in each]
    assert "stations[1].feed.time_percent: " in line
    assert words in line
    assert "share of an average year" in line
