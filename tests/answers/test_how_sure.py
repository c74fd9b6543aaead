"""How sure the people of a study are: their error by model, study and survey, and ranges that hold."""

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.prediction_error import error_of
from combe.errors import RangeError, StudyError
from combe.planning.people_count import Standing, count_standing, take_census
from combe.planning.people_range import MarginError, count_ranges, homes_of
from combe.study.project_of import load_project
from support_study import STUDY, edited, write_study
from support_survey import measured_off_by, study_with


def with_error(folder, section, text=STUDY):
    return load_project(write_study(folder, edited(("[[stations]]", f"{section}\n[[stations]]"), text=text)))


def test_the_error_is_that_of_the_model_unless_stated(tmp_path):
    known = error_of(load_project(write_study(tmp_path / "a")))
    assert (known.common_db, known.place_db) == (4.0, 7.5)
    assert "P.1812" in known.source
    assert known.source.endswith("(from memory, unverified)")
    stated = error_of(with_error(tmp_path / "b", "[error]\ncommon_db = 2.5\n"))
    assert (stated.common_db, stated.place_db) == (2.5, 7.5)
    assert stated.source.startswith("as stated in the study; comparisons")
    both = error_of(with_error(tmp_path / "c", "[error]\ncommon_db = 2.5\nplace_db = 0\n"))
    assert (both.common_db, both.place_db, both.source) == (2.5, 0.0, "as stated in the study")
    free = error_of(load_project(write_study(tmp_path / "d")).by_model("free-space"))
    assert free.common_db > known.common_db
    assert free.place_db > known.place_db


@pytest.mark.parametrize(
    ("section", "told"),
    [
        ("[error]\ncommon_db = -1\n", r"error\.common_db: -1"),
        ("[error]\nplace_db = 31\n", r"error\.place_db: 31"),
        (
            "[error]\nfrom_survey = true\n",
            r"error\.from_survey: the study has no survey; write a \[survey\] table",
        ),
        (
            "[error]\nfrom_survey = true\ncommon_db = 1\nplace_db = 2\n",
            r"error\.from_survey: stands beside common_db and place_db; take them out, or this",
        ),
    ],
)
def test_an_error_that_cannot_be_is_told(tmp_path, section, told):
    with pytest.raises(StudyError, match=told):
        with_error(tmp_path, section)


def test_the_error_of_a_survey(tmp_path):
    """Two stations, off by 4 and by −2 dB on the mean, and places about that by 3 dB up and down."""
    off_by = [3.0, -3.0] * 4
    rows = measured_off_by(tmp_path, [4.0 + each for each in off_by])
    rows += measured_off_by(tmp_path, [each - 2.0 for each in off_by], "Parent Hill")
    found = error_of(study_with(tmp_path / "two", rows, error="from_survey = true"))
    assert found.common_db == pytest.approx(np.std([4.0, -2.0], ddof=1), abs=1e-4)
    assert found.place_db == pytest.approx(np.sqrt(16 * 9.0 / 14.0), abs=1e-4)
    assert found.source == (
        "spread of 2 stations' mean errors, residual error of 16 survey places of points.csv"
    )
    one = error_of(study_with(tmp_path / "one", rows[:8], error="from_survey = true"))
    assert one.common_db == 4.0
    assert "common error as known of the model" in one.source
    with pytest.raises(RangeError, match=r"survey places of a station in points\.csv is 4; allowed: 5 or"):
        error_of(study_with(tmp_path / "few", rows[:4], error="from_survey = true"))


def test_the_best_figure_is_the_count_and_ranges_stand_beside_it(tmp_path):
    plain = cover_report(with_error(tmp_path / "a", "[error]\ncommon_db = 0\nplace_db = 0\n"))
    usual = cover_report(load_project(write_study(tmp_path / "b")))
    for exact, other in zip((plain.all_services, *plain.services), (usual.all_services, *usual.services),
                            strict=True):  # fmt: skip
        assert exact.people == other.people
        for ends in (exact.ranges.served.low, exact.ranges.served.expected, exact.ranges.served.high):
            assert ends == pytest.approx(exact.people.served, rel=1e-6, abs=1e-3)
        assert exact.ranges.newly_served.high == pytest.approx(exact.people.newly_served, abs=1e-3)
        assert exact.ranges.unserved.low == pytest.approx(exact.people.unserved, abs=1e-2)
        assert other.ranges.served.low < other.ranges.served.expected < other.ranges.served.high
    assert usual.provenance["error of the prediction"].startswith(
        "common to all wanted fields 4.0 dB, of each place 7.5 dB (standard deviations); comparisons"
    )


def test_without_people_there_is_no_range(tmp_path):
    report = cover_report(
        load_project(write_study(tmp_path, edited(('[people]\nraster = "people.tif"', ""))))
    )
    assert report.all_services.ranges is None
    assert "error of the prediction" not in report.provenance


def test_the_range_holds_eight_of_ten_fields_measured_everywhere(tmp_path):
    """The model's own fields with known errors, measured everywhere: 400 such surveys."""
    report = cover_report(load_project(write_study(tmp_path)))
    census, network = take_census(report.people, report.grid), report.all_services
    after, before = network.margin_db, network.margin_before_db
    (found,) = count_ranges(homes_of(census), after, before, MarginError(4.0, 7.5))
    random, held = np.random.default_rng(20), []
    for _ in range(400):
        error = (random.normal(0.0, 4.0) + random.normal(0.0, 7.5, after.shape)).astype(np.float32)
        people = count_standing(census, Standing(after + error, before + error))
        held.append(
            [
                each.low <= count <= each.high
                for each, count in (
                    (found.served, people.served),
                    (found.unserved, people.unserved),
                    (found.served_before, people.served_before),
                    (found.newly_served, people.newly_served),
                )
            ]
        )
    # Of 400 draws the share has a deviation of 2 %.
    np.testing.assert_allclose(np.mean(held, axis=0), 0.8, atol=0.06)
