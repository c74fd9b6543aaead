"""Branch and bound: the same list as exhaustive search, and a bound that no hill exceeds."""

from functools import cache

import numpy as np
import pytest

from combe.planning.siting.block_bound import block_people, least_heights, lowest_in
from combe.planning.siting.coarse_to_fine import best_hills, ranked
from combe.planning.siting.problem import Problem, score_hills
from combe.planning.siting.template import pattern_options
from combe.prediction.conditions import Conditions
from support_prediction import sample_area
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


def ridges() -> np.ndarray:
    return lambda row, column: 400.0 + 150.0 * np.sin(column / 7.0) + 40.0 * np.sin(row / 11.0)


def cones() -> np.ndarray:
    def height(row, column):
        out = np.full(row.shape, 200.0)
        for r, c, h in ((20, 30, 300), (60, 90, 420), (95, 40, 250), (70, 60, 350)):
            out = np.maximum(out, 200.0 + h - 12.0 * np.hypot(row - r, column - c))
        return out

    return height


@cache
def hills_of(name: str):
    if name == "sample":
        area = sample_area(90.0)
        known = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
        return area, known[::9]
    area = {"rough": lambda: rough_area(1), "ridges": lambda: shaped_area(ridges()),
            "cones": lambda: shaped_area(cones())}[name]()  # fmt: skip
    return area, np.arange(area.heights_m.size)


@cache
def exhaustive(name: str) -> tuple[Problem, np.ndarray]:
    """Return an invented question and the people of every hill, worked out once for all tests."""
    problem = invented(name)
    return problem, score_hills(problem, 0, problem.size).people


def invented(name: str, model: str = "p1812", every: int = 1, **changes) -> Problem:
    area, hills = hills_of(name)
    people = people_in(area, low_cells(area, 120))
    people.people[:] = np.random.default_rng(3).integers(1, 40, 120)
    return problem_over(area, hills[::every], people, model, **changes)


@pytest.mark.parametrize("apart_cells", [0.0, 8.0])
@pytest.mark.parametrize("name", ["sample", "rough", "ridges", "cones"])
def test_the_best_ten_are_those_of_exhaustive_search(name: str, apart_cells: float) -> None:
    problem, people = exhaustive(name)
    listed = ranked(problem.hills, people, 10, apart_cells)
    found = best_hills(problem, 10, apart_cells=apart_cells, threads=2)
    assert found.hills.tolist() == listed.tolist()
    assert found.people.tolist() == people[listed].tolist()
    assert found.priced_hills < problem.size


@pytest.mark.parametrize("name", ["sample", "rough", "ridges", "cones"])
def test_the_best_ten_with_harm_are_those_of_exhaustive_search(name: str) -> None:
    # Harm is priced for hills at the head of the search alone, and yet the list is the exhaustive one.
    area, _ = hills_of(name)
    at_risk = low_cells(area, 60, seed=5)
    interfering = Conditions("p1812", time_percent=1.0)
    problem = invented(name, every=3, victims=victims_in(area, at_risk), interfering=interfering)
    scores = score_hills(problem, 0, problem.size)
    listed = ranked(problem.hills, scores.score, 10, 4.0)
    found = best_hills(problem, 10, apart_cells=4.0, threads=2)
    assert found.hills.tolist() == listed.tolist()
    assert found.people.tolist() == scores.people[listed].tolist()
    assert found.harmed.tolist() == scores.harmed[listed].tolist()
    assert found.option.tolist() == scores.option[listed].tolist()
    assert listed.tolist() != ranked(problem.hills, scores.people, 10, 4.0).tolist()
    assert 10 <= found.harm_priced <= found.priced_hills < problem.size


def test_where_nobody_is_at_risk_harm_costs_nothing() -> None:
    problem = invented("rough")
    assert set(score_hills(problem, 0, problem.size).harmed) == {0.0}
    assert best_hills(problem, 10).harm_priced == 0


@pytest.mark.parametrize("model", ["p526", "free-space"])
def test_other_models(model: str) -> None:
    area = rough_area(2, size=50)
    problem = problem_over(area, np.arange(2500), people_in(area, low_cells(area, 40)), model)
    people = score_hills(problem, 0, problem.size).people
    assert best_hills(problem, 10).hills.tolist() == ranked(problem.hills, people, 10).tolist()


def test_patterns_and_costs() -> None:
    options = pattern_options([("half", half_pattern())], SERVICES, azimuth_step_deg=45.0, keep_power=True)
    problem = invented("rough", template=template(options=options))
    cost = np.random.default_rng(1).integers(1, 9, problem.size).astype(float)
    scores = score_hills(problem, 0, problem.size)
    listed = ranked(problem.hills, scores.people / cost, 10, 4.0)
    found = best_hills(problem, 10, apart_cells=4.0, cost=cost)
    assert found.hills.tolist() == listed.tolist()
    assert found.option.tolist() == scores.option[listed].tolist()


def test_few_hills_are_priced_on_real_ground() -> None:
    problem, _ = exhaustive("sample")
    assert best_hills(problem, 10).priced_hills < problem.size // 4


@pytest.mark.parametrize("name", ["sample", "rough", "ridges", "cones"])
def test_no_hill_exceeds_the_bound_of_its_block(name: str) -> None:
    problem, people = exhaustive(name)
    table = least_heights(problem.setting.surface.raster)
    rng = np.random.default_rng(7)
    tight = 0
    for _ in range(150):
        first = int(rng.integers(0, problem.size - 20))
        last = first + int(rng.integers(1, 20))
        bound = block_people(problem, table, first, last)
        assert bound >= people[first:last].max()
        tight += bound < problem.people.sum()
    assert tight > 20


def test_windows_of_the_table_are_minima() -> None:
    raster = np.random.default_rng(2).normal(size=(40, 50))
    raster[7, 9] = np.nan
    table = least_heights(raster, 4)
    known = np.where(np.isnan(raster), -np.inf, raster)
    rng = np.random.default_rng(3)
    for _ in range(300):
        top, left = int(rng.integers(0, 40)), int(rng.integers(0, 50))
        bottom, right = int(rng.integers(top, 40)), int(rng.integers(left, 50))
        assert lowest_in(table, top, bottom, left, right) == known[top : bottom + 1, left : right + 1].min()
    assert lowest_in(table, -1, 3, 0, 3) == -np.inf


def test_nobody_within_reach_gives_an_empty_list() -> None:
    problem = invented("rough", reach_km=0.005)
    assert best_hills(problem, 10).hills.size == 0


def test_of_equals_the_first_is_listed_first() -> None:
    area = shaped_area(lambda *_: np.full((120, 120), 100.0))
    problem = problem_over(area, np.arange(0, 14_400, 10), people_in(area, np.array([7000])), "free-space")
    assert ranked(problem.hills, np.ones(1440), 3).tolist() == [0, 1, 2]
    assert best_hills(problem, 3).hills.tolist() == [0, 1, 2]
