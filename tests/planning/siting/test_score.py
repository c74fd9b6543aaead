"""Worth of hills: the kernel against the exact path, its bound, and options of patterns."""

import numpy as np
import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.geodesy import bearing_deg
from combe.planning.siting.problem import Terms, digest, make_problem, score_hills, served_matrix
from combe.planning.siting.template import SectorLimit, directivity_db, pattern_options
from combe.prediction.conditions import Conditions
from combe.prediction.path import predict_path
from combe.stations.pattern import Pattern
from combe.terrain.grid import to_lonlat_deg
from combe.terrain.sampling import geodesic_profile
from support_prediction import sample_area
from support_siting import (
    MINIMA,
    SERVICES,
    half_pattern,
    headroom,
    low_cells,
    people_in,
    problem_over,
    rough_area,
    sample_problem,
    template,
)


def place_deg(cell: int) -> tuple[float, float]:
    grid = sample_area(90.0).grid
    row, column = divmod(int(cell), grid.columns)
    x, y = grid.west_m + (column + 0.5) * 90.0, grid.north_m - (row + 0.5) * 90.0
    lon, lat = to_lonlat_deg(grid, x, y)
    return float(lon), float(lat)


@pytest.mark.parametrize(("model", "most_db"), [("p1812", 0.25), ("p526", 0.25), ("free-space", 0.01)])
def test_headroom_is_that_of_the_exact_path(model: str, most_db: float) -> None:
    # The geodesic and the straight line of the grid are some metres apart, no more.
    area, problem = sample_area(90.0), sample_problem(model)
    found = headroom(problem, 1000, 1004, bounded=False)
    for i in range(4):
        for j in range(0, 60, 12):
            hill = int(problem.hills.row[1000 + i]) * area.grid.columns + int(problem.hills.column[1000 + i])
            target = int(problem.targets.row[j]) * area.grid.columns + int(problem.targets.column[j])
            profile = geodesic_profile(area.terrain, *place_deg(hill), *place_deg(target))
            spare = []
            for service, minimum in zip(SERVICES, MINIMA, strict=True):
                path = predict_path(
                    profile, tx_height_m=20.0, rx_height_m=10.0, frequency_mhz=service.frequency_mhz,
                    polarization="vertical", conditions=Conditions(model),
                )  # fmt: skip
                erp_dbw = 10.0 * np.log10(service.erp_w)
                field = field_from_loss_dbuv_m(erp_dbw, path.basic_loss_db, service.frequency_mhz)
                spare.append(field - minimum)
            assert found[i, j] == pytest.approx(min(spare), abs=most_db)


@pytest.mark.parametrize("model", ["p1812", "p526", "free-space"])
def test_bound_never_hides_a_target_that_is_served(model: str) -> None:
    problem = sample_problem(model)
    with_bound, without = headroom(problem, 0, 600), headroom(problem, 0, 600, bounded=False)
    assert ((with_bound >= 0.0) == (without >= 0.0)).all()
    served = without >= 0.0
    assert served.any()
    assert np.allclose(with_bound[served], without[served], rtol=0.0, atol=1e-8)
    if model != "free-space":
        assert not served.all()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_bound_holds_on_invented_hills_and_for_weak_relays(seed: int) -> None:
    area = rough_area(seed)
    hills = np.arange(0, area.heights_m.size, 37)
    problem = problem_over(area, hills, people_in(area, low_cells(area, 50, seed)))
    weak = problem_over(
        area,
        hills,
        people_in(area, low_cells(area, 50, seed)),
        template=template(
            options=pattern_options([("omni", None)], SERVICES, limits=[SectorLimit(0, 360, 0.01)])
        ),
    )
    for each in (problem, weak):
        with_bound, without = headroom(each, 0, hills.size), headroom(each, 0, hills.size, bounded=False)
        served = without + each.demand.lift_db >= 0.0
        assert np.array_equal(with_bound > -np.inf, served)


def test_bound_spares_most_of_the_work() -> None:
    problem = sample_problem()
    scores = score_hills(problem, 0, 600)
    reached = served_matrix(scores, 60).sum()
    assert reached <= scores.priced < 3 * reached + 600


@pytest.mark.parametrize("time_percent", [1.0, 3.0, 10.0, 30.0, 49.0])
@pytest.mark.parametrize("ground", ["sample", "rough"])
def test_the_bound_holds_for_other_percentages_of_time(ground: str, time_percent: float) -> None:
    area = sample_area(90.0) if ground == "sample" else rough_area(5)
    known = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    problem = make_problem(
        area, known[:: known.size // 200], people_in(area, low_cells(area, 40)), template(), MINIMA,
        Terms(Conditions("p1812", time_percent=time_percent)),
    )  # fmt: skip
    with_bound, without = headroom(problem, 0, 200), headroom(problem, 0, 200, bounded=False)
    served = without >= 0.0
    assert 0 < served.sum() < served.size
    assert np.array_equal(with_bound >= 0.0, served)
    assert np.allclose(with_bound[served], without[served], rtol=0.0, atol=1e-8)
    assert score_hills(problem, 0, 200).priced < 0.5 * served.size


def test_scores_do_not_depend_on_blocks() -> None:
    problem = sample_problem()
    whole = score_hills(problem, 0, 300)
    parts = [score_hills(problem, a, b) for a, b in ((0, 7), (7, 200), (200, 300))]
    assert np.array_equal(whole.people, np.concatenate([part.people for part in parts]))
    assert np.array_equal(whole.served, np.concatenate([part.served for part in parts]))


def test_people_are_those_of_the_targets_served() -> None:
    problem = sample_problem()
    scores = score_hills(problem, 900, 1000)
    assert np.allclose(served_matrix(scores, 60) @ problem.people, scores.people)
    assert scores.people.max() > 0.0


def test_people_who_lack_one_service_need_only_that_one() -> None:
    area = sample_area(90.0)
    cells, hills = low_cells(area, 60), np.arange(30_000, 60_000, 97)
    all_lacking = people_in(area, cells)
    one = people_in(area, cells)
    one.lacks[:, 1] = False  # Mux 2 has half the power
    of_all = score_hills(problem_over(area, hills, all_lacking), 0, hills.size).people
    of_one = score_hills(problem_over(area, hills, one), 0, hills.size).people
    assert (of_one >= of_all).all()
    assert of_one.sum() > of_all.sum()


def test_a_pattern_is_turned_to_where_people_are() -> None:
    area = sample_area(90.0)
    hill = 150 * area.grid.columns + 150
    east = np.array([150 * area.grid.columns + 150 + n for n in range(5, 15)])
    options = pattern_options([("half", half_pattern())], SERVICES, azimuth_step_deg=90.0)
    problem = problem_over(
        area, [hill], people_in(area, east), "free-space", template=template(options=options)
    )
    scores = score_hills(problem, 0, 1)
    chosen = options[int(scores.option[0])]
    assert scores.people[0] == pytest.approx(100.0)
    lon, lat = place_deg(hill)
    towards = bearing_deg(lon, lat, *place_deg(int(east[-1])))
    assert abs((chosen.azimuth_deg - towards + 180.0) % 360.0 - 180.0) <= 100.0
    away = pattern_options([("half", half_pattern())], SERVICES, azimuth_step_deg=45.0)[6:7]
    narrow = problem_over(area, [hill], people_in(area, east), "free-space", template=template(options=away))
    assert away[0].azimuth_deg == 270.0
    assert score_hills(narrow, 0, 1).people[0] < 50.0


def test_options_keep_sector_limits_and_directivity() -> None:
    plain = pattern_options([("half", half_pattern())], SERVICES, azimuth_step_deg=90.0)
    limited = pattern_options(
        [("half", half_pattern())], SERVICES, azimuth_step_deg=90.0, limits=[SectorLimit(350.0, 10.0, 2.0)]
    )
    # The stronger service has 20 W; 2 W northwards are 10 dB less, where the pattern points there.
    assert limited[0].erp_change_db == pytest.approx(-10.0)
    assert limited[2].erp_change_db == pytest.approx(0.0)
    assert plain[0].gain_db.max() == pytest.approx(0.0)
    lifted = pattern_options([("half", half_pattern())], SERVICES, keep_power=True)
    assert lifted[0].erp_change_db == pytest.approx(directivity_db(half_pattern()))
    assert directivity_db(half_pattern()) == pytest.approx(2.8, abs=0.3)  # a little over half a turn
    assert directivity_db(None) == 0.0


def test_vertical_pattern_counts() -> None:
    area = sample_area(90.0)
    elevations = (-90.0, -60.0, -30.0, 0.0, 30.0, 60.0, 90.0)
    gains = (-60.0, -60.0, -60.0, -60.0, -30.0, 0.0, 0.0)
    down = Pattern(elevations, gains, "vertical", "invented: looks up")
    cells = low_cells(area, 30)
    flat = problem_over(area, np.arange(50_600, 50_650), people_in(area, cells), "free-space")
    tilted = problem_over(
        area, np.arange(50_600, 50_650), people_in(area, cells), "free-space",
        template=template(vertical_pattern=down),
    )  # fmt: skip
    assert score_hills(flat, 0, 50).people.min() == 300.0
    assert score_hills(tilted, 0, 50).people.max() < 300.0


def test_digest_follows_the_question() -> None:
    problem = sample_problem()
    assert digest(problem) == digest(sample_problem.__wrapped__())
    assert digest(problem) != digest(sample_problem("p526"))


def test_a_void_on_the_way_serves_nobody() -> None:
    area = rough_area(4)
    heights = area.ground.heights.copy()
    heights[60, :] = np.nan
    from dataclasses import replace

    cut = replace(area, ground=area.ground._replace(heights=heights))
    south = people_in(area, np.arange(100 * 120, 100 * 120 + 40))
    north = np.arange(10 * 120, 10 * 120 + 40)
    assert score_hills(problem_over(cut, north, south, "free-space"), 0, 40).people.max() == 0.0
    assert score_hills(problem_over(area, north, south, "free-space"), 0, 40).people.max() > 0.0
