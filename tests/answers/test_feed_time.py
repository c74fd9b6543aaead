"""The feed for nearly all of the time: median, fade by construction, and the margin judged after it."""

import pytest

from combe.answers.feed import feed_report
from combe.answers.path import path_report
from combe.cli.feed_content import budget_rows
from combe.prediction.time import MIRRORED
from combe.study.project_of import load_project
from support_study import edited, write_study

TIME = "required_margin_db = 10.0"


def budget_of(folder, *changes):
    report = feed_report(load_project(write_study(folder, edited(*changes))))
    return report, report.relays[0].services[0]


def test_the_margin_is_judged_after_the_mirrored_fade(tmp_path):
    report, service = budget_of(tmp_path)
    budget, steps = service.budget, service.prediction.p1812_steps
    assert budget.time_percent == 99.0
    assert budget.fade_db > 0.0
    assert budget.field_strength_at_time_dbuv_m == pytest.approx(
        budget.field_strength_dbuv_m - budget.fade_db
    )
    assert budget.margin_db == pytest.approx(budget.carrier_to_noise_db - budget.fade_db - 20.0)
    assert budget.time_method == report.provenance["time of the margin"] == MIRRORED
    assert budget.reason.startswith("for 99 % of time, ")
    assert service.prediction.conditions.time_percent == 50.0
    # The construction: 2 (Lb0p + Ldp)(50 %) − (Lb0p + Ldp)(1 %).
    air = ("[people]", "[air]\ntime_percent = 1.0\n\n[people]")
    (first, _) = path_report(
        load_project(write_study(tmp_path, edited(air))), "Parent Hill", "Combe Relay"
    ).services
    mirror_db = 2.0 * steps.basic_diffraction_db - first.prediction.p1812_steps.basic_diffraction_db
    assert budget.fade_db == pytest.approx(mirror_db - steps.basic_transmission_loss_db, abs=1e-9)


def test_the_three_parts_of_the_loss_make_the_median(tmp_path):
    _, service = budget_of(tmp_path)
    budget = service.budget
    parts = budget.free_space_loss_db + budget.diffraction_loss_db + budget.other_mechanisms_db
    assert parts == pytest.approx(service.prediction.p1812_steps.basic_transmission_loss_db, abs=1e-9)


def test_time_of_paths_and_maps_does_not_touch_the_feed(tmp_path):
    _, plain = budget_of(tmp_path)
    report, other = budget_of(tmp_path, ("[people]", "[air]\ntime_percent = 10.0\n\n[people]"))
    assert other.budget == plain.budget
    assert report.provenance["percentages"].startswith("exceeded for 50 % of time")


def test_less_time_asks_less(tmp_path):
    _, most = budget_of(tmp_path)
    _, less = budget_of(tmp_path, (TIME, f"{TIME}\ntime_percent = 90.0"))
    _, half = budget_of(tmp_path, (TIME, f"{TIME}\ntime_percent = 50.0"))
    assert most.budget.fade_db > less.budget.fade_db > half.budget.fade_db == 0.0
    assert not half.budget.reason.startswith("for ")


def test_models_without_time_give_their_median_and_say_so(tmp_path):
    report, service = budget_of(tmp_path, ("[terrain]", 'model = "p526"\n\n[terrain]'))
    assert (service.budget.time_percent, service.budget.fade_db) == (50.0, 0.0)
    assert report.provenance["time of the margin"] == (
        "the model has no statistics of time, so its median stands for the 99 % of time asked"
    )


def test_the_page_names_the_construction(tmp_path):
    _, service = budget_of(tmp_path)
    labels = {row.label: row.value for row in budget_rows(service.budget)}
    assert labels["Fade from the median to that time, by construction"] == service.budget.fade_db
    assert labels["Time for which the margin has to stand"] == 99.0
    assert labels["Margin at that time"] == service.budget.margin_db
