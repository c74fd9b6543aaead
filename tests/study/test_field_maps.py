"""Fields of interferers: predicted once more for little time, and only where they may disturb anybody."""

import numpy as np
import pytest

from combe.prediction.coverage import predict_coverage
from combe.study.emissions import interfering_conditions
from combe.study.field_maps import predict_stations
from combe.study.file import load_study
from combe.study.resolve import resolve, resolve_grid
from combe.study.run_cover import cover_report
from combe.study.study_area import study_area
from support_study import edited, write_study

SHARED = edited(("channel = 41", "channel = 31"), ("cell_size_m = 300", "cell_size_m = 600"))
"""The relay's Mux 1 on the channel of the parent's Mux 2."""


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    return resolve(load_study(write_study(tmp_path_factory.mktemp("shared"), SHARED)))


@pytest.fixture(scope="module")
def predicted(scene):
    told = []
    area = study_area(scene, resolve_grid(scene))
    maps = predict_stations(scene, area, None, lambda *step: told.append(step))
    return area, maps, told


def test_interferers_are_predicted_for_one_percent_of_time(scene, predicted):
    area, maps, _ = predicted
    later = interfering_conditions(scene)
    assert later.time_percent == 1.0
    again = predict_coverage(area, scene.stations[1], conditions=later)
    for field, expected in zip(maps[1].at_time_dbuv_m, again, strict=True):
        np.testing.assert_array_equal(field, expected.field_dbuv_m)
    median, at_time = maps[1].maps[0].field_dbuv_m, maps[1].at_time_dbuv_m[0]
    known = ~np.isnan(median)
    # ITU-R P.1812 fields for 1 % of time are over those for half of it.
    assert (at_time[known] >= median[known] - 0.01).all()
    assert (at_time[known] - median[known]).max() > 1.0


def test_progress_counts_the_sweeps_of_interferers_too(predicted):
    _, _, told = predicted
    assert told[-1] == (400, 400, "Combe Relay as interferer, 1 % of time")
    assert [done for done, _, _ in told] == sorted(done for done, _, _ in told)


def test_fields_from_the_cache_judge_alike(scene, tmp_path):
    first = cover_report(scene.study, cache_folder=tmp_path / "cache")
    second = cover_report(scene.study, cache_folder=tmp_path / "cache")
    plain = cover_report(scene.study)
    assert not first.stations[0].from_cache
    assert second.stations[0].from_cache
    for report in (second, plain):
        assert report.harm == first.harm
        np.testing.assert_array_equal(report.all_services.margin_db, first.all_services.margin_db)
    assert "for 1 % of time" in first.provenance["interference"]
    assert any(each.station == "Parent Hill" and each.service == "Mux 2" for each in first.harm)


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
        return interfering_conditions(resolve(load_study(write_study(folder, text)))).time_percent

    assert time_percent(tmp_path / "usual") == percent
    asked = ("[people]", "[interference]\ntime_percent = 5.0\n\n[people]")
    assert time_percent(tmp_path / "asked", asked) == 5.0
