"""Harm of a hill: its nuisance field against what is stood, the aerial's gain, outputs together, turns."""

from dataclasses import replace

import numpy as np
import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.planning.siting.harm import Victims, price_harm
from combe.planning.siting.problem import Problem, score_hills, without_harm
from combe.planning.siting.score import Levels
from combe.planning.siting.template import pattern_options
from combe.prediction.conditions import Conditions
from combe.propagation.p525 import free_space_loss_db
from combe.standards.bt419 import curve_number, directivity_db
from support_siting import (
    SERVICES,
    half_pattern,
    low_cells,
    people_in,
    problem_over,
    rough_area,
    shaped_area,
    template,
    victims_in,
)

HILL, HOME = 60 * 120 + 20, 60 * 120 + 80
"""A hill in the west and a home 6 km east of it."""


def flat():
    return shaped_area(lambda *_: np.full((120, 120), 100.0))


def problem_of(victims: Victims, **changes) -> Problem:
    area = changes.pop("area", None) or flat()
    model = changes.pop("model", "free-space")
    people = people_in(area, np.array([HILL + 5]))
    return problem_over(area, np.array([HILL]), people, model, victims=victims, **changes)


def excess_db(problem: Problem) -> np.ndarray:
    shape = (problem.size, problem.harm.victims.people.size)
    excess, bearing = np.empty(shape), np.zeros(shape, np.int16)
    price_harm(
        problem.harm, problem.hills, (0, problem.size), np.ones(problem.size, np.bool_),
        problem.demand.tilt_db, problem.aerials, Levels(excess, bearing, problem.harm.victims.people),
    )  # fmt: skip
    return excess


def field_dbuv_m(output: int) -> float:
    """Return the field of an output over 6 km of free space, the aerials 20 m and 10 m over the ground."""
    service, slant_km = SERVICES[output], np.hypot(6.0, 0.01)
    loss = free_space_loss_db(slant_km, service.frequency_mhz)
    return float(field_from_loss_dbuv_m(10.0 * np.log10(service.erp_w), loss, service.frequency_mhz))


@pytest.mark.parametrize(
    ("station", "off_axis_deg"),
    [((60.0, 0.0), 0.0), ((60.0, 119.0), 180.0), ((0.0, 80.0), 90.0), ((40.0, 60.0), 45.0)],
)
def test_the_aerial_looks_at_the_wanted_station(station: tuple[float, float], off_axis_deg: float) -> None:
    victims = victims_in(flat(), np.array([HOME]))._replace(station=np.array([station]))
    expected = field_dbuv_m(0) + 23.0 + float(directivity_db(off_axis_deg)) - 55.0
    # The scale of the projection, 1 in 1500 here, is in the distance.
    assert excess_db(problem_of(victims))[0, 0] == pytest.approx(expected, abs=0.02)


def test_the_aerial_is_that_of_the_services_band() -> None:
    # Rec. ITU-R BT.419-3, from memory: no less than 12 dB behind an aerial of Band III.
    victims = victims_in(flat(), np.array([HOME]))
    victims = victims._replace(station=np.array([(60.0, 119.0)]), curve=np.array([curve_number(201.5)]))
    expected = field_dbuv_m(0) + 23.0 - 12.0 - 55.0
    assert excess_db(problem_of(victims))[0, 0] == pytest.approx(expected, abs=0.02)


def test_the_other_polarization_is_held_off_by_16_db() -> None:
    # Rec. ITU-R BT.419-3: one combined value against the other polarization.
    victims = victims_in(flat(), np.array([HOME]))._replace(crossed=np.array([True]))
    assert excess_db(problem_of(victims))[0, 0] == pytest.approx(
        field_dbuv_m(0) + 23.0 - 16.0 - 55.0, abs=0.02
    )


def test_outputs_on_one_service_are_added_as_powers() -> None:
    victims = victims_in(flat(), np.array([HOME]))._replace(station=np.array([(60.0, 0.0)]))
    both = victims._replace(ratio_db=np.array([[(20.0, 20.0), (20.0, 20.0)]]))
    powers = [10.0 ** (0.1 * (field_dbuv_m(k) + 20.0)) for k in (0, 1)]
    assert excess_db(problem_of(both))[0, 0] == pytest.approx(10.0 * np.log10(sum(powers)) - 55.0, abs=0.02)


def test_the_greater_of_the_two_times_counts() -> None:
    area, conditions = rough_area(4), Conditions("p1812", time_percent=1.0)
    home = np.array([HOME])

    def excess(ratios: tuple[float, float], interfering: Conditions) -> float:
        victims = victims_in(area, home, stands_dbuv_m=-60.0)
        victims.ratio_db[:, 0] = ratios
        return float(excess_db(problem_of(victims, area=area, model="p1812", interfering=interfering))[0, 0])

    usual = excess((-np.inf, 20.0), conditions)
    rare = excess((20.0, -np.inf), conditions)
    assert rare > usual
    assert usual == pytest.approx(excess((20.0, 20.0), Conditions("p1812")), abs=1e-5)
    assert excess((20.0, 20.0), conditions) == rare
    assert excess((20.0, 60.0), conditions) == pytest.approx(usual + 40.0)


def test_a_person_counts_once_for_two_services() -> None:
    area, one = flat(), victims_in(flat(), np.array([HOME]), stands_dbuv_m=-50.0, people=7.0)
    two = Victims(
        one.cells, one.people, np.array([0, 2]), np.repeat(one.stands_dbuv_m, 2),
        np.repeat(one.ratio_db, 2, axis=0), np.repeat(one.crossed, 2), np.repeat(one.station, 2, axis=0),
        np.repeat(one.curve, 2),
    )  # fmt: skip
    scores = score_hills(problem_of(two, area=area), 0, 1)
    assert (scores.people[0], scores.harmed[0], scores.score[0]) == (10.0, 7.0, 3.0)


def test_the_option_of_the_best_score_is_taken() -> None:
    # The target, 500 m east, is served even from behind; the home, 6 km east, is then spared.
    options = pattern_options([("half", half_pattern())], SERVICES, azimuth_step_deg=90.0)
    victims = victims_in(flat(), np.array([HOME]), stands_dbuv_m=50.0, people=30.0)
    turned = score_hills(problem_of(victims, template=template(options=options)), 0, 1)
    assert (turned.people[0], turned.harmed[0]) == (10.0, 0.0)
    assert options[turned.option[0]].azimuth_deg == 270.0
    alone = score_hills(without_harm(problem_of(victims, template=template(options=options))), 0, 1)
    assert options[alone.option[0]].azimuth_deg == 0.0
    omni = score_hills(problem_of(victims), 0, 1)
    assert (omni.people[0], omni.harmed[0], omni.score[0]) == (10.0, 30.0, -20.0)


def test_ground_that_is_not_known_harms_nobody_for_all_that_is_known() -> None:
    heights = np.full((120, 120), 100.0)
    heights[:, 50] = np.nan
    area = shaped_area(lambda *_: heights)
    victims = victims_in(area, np.array([HOME]), stands_dbuv_m=-50.0)
    assert excess_db(problem_of(victims, area=area))[0, 0] == -np.inf


def test_blocks_cut_otherwise_give_the_same_harm() -> None:
    area = rough_area(1)
    hills = np.arange(0, 14_400, 37)
    problem = problem_over(
        area,
        hills,
        people_in(area, np.arange(50, 14_400, 301)),
        victims=victims_in(area, np.arange(9, 14_400, 701)),
    )
    whole = score_hills(problem, 0, problem.size)
    parts = [score_hills(problem, n, min(n + 31, problem.size)) for n in range(0, problem.size, 31)]
    assert np.array_equal(whole.harmed, np.concatenate([part.harmed for part in parts]))
    assert whole.harmed.max() > 0.0


@pytest.mark.parametrize("time_percent", [1.0, 10.0, 50.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_bound_hides_nobody_who_is_harmed(seed: int, time_percent: float) -> None:
    area = rough_area(seed)
    hills, at_risk = np.arange(5, 14_400, 97), low_cells(area, 80, seed)
    for stands in (20.0, 45.0):
        problem = problem_over(
            area,
            hills,
            people_in(area, at_risk[:5]),
            victims=victims_in(area, at_risk, stands_dbuv_m=stands),
            interfering=Conditions("p1812", time_percent=time_percent),
        )
        open_ended = replace(
            problem, harm=problem.harm._replace(slopes=np.full_like(problem.harm.slopes, np.inf))
        )
        found, all_pairs = excess_db(problem), excess_db(open_ended)
        assert np.isfinite(all_pairs).all()
        harmed = all_pairs > 0.0
        assert 0 < harmed.sum() < harmed.size
        assert np.array_equal(found > 0.0, harmed)
        assert np.array_equal(found[harmed], all_pairs[harmed])
        assert np.isfinite(found).sum() < 3 * harmed.sum() + 1500
