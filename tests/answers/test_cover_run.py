"""The network of a study: interferers for little time, tiles of any height, and what is taken up."""

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.cover_run import field_map_of, judged_alone, predicted_where, run_network, served_where
from combe.answers.emissions import interfering_conditions
from combe.prediction.coverage import predict_coverage
from combe.project import project_area, project_grid
from combe.study.project_of import load_project
from support_study import edited, write_study

SHARED = edited(("channel = 41", "channel = 31"), ("cell_size_m = 300", "cell_size_m = 600"))
"""The relay's Mux 1 on the channel of the parent's Mux 2."""


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return load_project(write_study(tmp_path_factory.mktemp("shared"), SHARED))


@pytest.fixture(scope="module")
def predicted(project, tmp_path_factory):
    told = []
    area = project_area(project, project_grid(project))
    cache = tmp_path_factory.mktemp("cache")
    return area, run_network(project, area, {}, cache, lambda *step: told.append(step)), told


def test_interferers_are_predicted_for_one_percent_of_time(project, predicted):
    area, run, _ = predicted
    later = interfering_conditions(project)
    assert later.time_percent == 1.0
    assert run.task.conditions == (project.conditions, later)
    again = predict_coverage(area, project.stations[1], conditions=later)[0].field_dbuv_m
    median = field_map_of(run, 2).field_dbuv_m
    known = ~np.isnan(median)
    # ITU-R P.1812 fields for 1 % of time are over those for half of it.
    assert (again[known] >= median[known] - 0.01).all()
    assert (again[known] - median[known]).max() > 1.0


def test_progress_counts_the_sweeps_of_interferers_and_the_tiles(predicted):
    _, run, told = predicted
    assert (run.result.sweeps, run.result.tiles) == (4, 1)
    assert told[-1] == (500, 500, "judging the cells")
    assert "coverage of Combe Relay, 1 % of time" in {what for _, _, what in told}
    assert [done for done, _, _ in told] == sorted(done for done, _, _ in told)


def test_what_is_judged_alone_is_what_was_judged_by_tile(predicted):
    _, run, _ = predicted
    for emission in range(4):
        margin_db, share = judged_alone(run, emission)
        np.testing.assert_array_equal(margin_db >= 0.0, served_where(run, emission))
        np.testing.assert_array_equal(~np.isnan(margin_db), predicted_where(run, emission))
        np.testing.assert_array_equal(np.isnan(share), np.isnan(margin_db))


@pytest.mark.parametrize("tile_bytes", [1, 20_000])
def test_the_height_of_tiles_does_not_change_a_report(project, tile_bytes):
    whole = cover_report(project)
    found = cover_report(project, tile_bytes=tile_bytes)
    assert found.taken_up.tiles > 3
    assert found.harm == whole.harm
    assert found.all_services.people == whole.all_services.people
    for name in ("margin_db", "margin_before_db", "noise_margin_db", "serving", "unknown"):
        for one, other in zip(
            (found.all_services, *found.services), (whole.all_services, *whole.services), strict=True
        ):
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
    for one, other in zip(found.stations, whole.stations, strict=True):
        assert one.people == other.people
        np.testing.assert_array_equal(one.services[0].judged_margin_db, other.services[0].judged_margin_db)


def test_fields_from_the_cache_judge_alike(project, tmp_path):
    first = cover_report(project, cache_folder=tmp_path / "cache")
    meanwhile = cover_report(project, cache_folder=tmp_path / "cache")
    plain = cover_report(project)
    assert not first.stations[0].from_cache
    assert meanwhile.stations[0].from_cache
    for report in (meanwhile, plain):
        assert report.harm == first.harm
        np.testing.assert_array_equal(report.all_services.margin_db, first.all_services.margin_db)
    assert "for 1 % of time" in first.provenance["interference"]
    assert any(each.station == "Parent Hill" and each.service == "Mux 2" for each in first.harm)


def test_a_finished_run_is_taken_up_whole(project, tmp_path):
    first = cover_report(project, cache_folder=tmp_path / "cache")
    margin_db, harm = first.all_services.margin_db, first.harm
    assert (first.taken_up.sweeps_from_before, first.taken_up.tiles_from_before) == (0, 0)
    del first
    again = cover_report(project, cache_folder=tmp_path / "cache")
    assert (again.taken_up.sweeps_from_before, again.taken_up.tiles_from_before) == (4, 1)
    assert again.harm == harm
    np.testing.assert_array_equal(again.all_services.margin_db, margin_db)


@pytest.mark.parametrize(
    ("system", "percent"),
    # Tropospheric interference, 1 %: ITU-R BT.655 and GE06, from memory; F(50,10): 47 CFR 74.706(c), read.
    [("DVB-T2", 1.0), ("DVB-T", 1.0), ("PAL B/G", 1.0), ("ATSC", 10.0), ("NTSC M", 10.0)],
)
def test_the_time_of_interferers_is_that_of_the_system_unless_the_study_says_it(tmp_path, system, percent):
    mode = 'modulation = "256-QAM"\ncode_rate = "2/3"'
    ratio = ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 40.0")

    def time_percent(folder, *changes):
        text = edited((mode, f'system = "{system}"'), ratio, *changes)
        return interfering_conditions(load_project(write_study(folder, text))).time_percent

    assert time_percent(tmp_path / "usual") == percent
    asked = ("[people]", "[interference]\ntime_percent = 5.0\n\n[people]")
    assert time_percent(tmp_path / "asked", asked) == 5.0
