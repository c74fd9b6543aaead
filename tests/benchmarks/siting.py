"""What scoring a hill costs, against targets and how far they are, and with harm; the whole sample's rate.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/siting.py``.
"""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line, medians_s

from combe.planning.siting.coarse_to_fine import best_hills, ranked
from combe.planning.siting.constraints import height_above_valley_m
from combe.planning.siting.jobs import blocks_of
from combe.planning.siting.problem import Problem, score_hills, without_harm
from combe.prediction.conditions import Conditions
from support_prediction import sample_area
from support_siting import low_cells, people_in, problem_over, victims_in

CORES = os.cpu_count() or 1
HILLS = 2000


def hills_over_valleys() -> np.ndarray:
    """Return the cells of the sample at 90 m that are 30 m or more over the lowest ground within 1 km."""
    area = sample_area(90.0)
    above = height_above_valley_m(area.heights_m, 90.0, 1000.0)
    return np.flatnonzero(np.nan_to_num(above.ravel(), nan=-1.0) >= 30.0)


def run(problem: Problem) -> np.ndarray:
    """Score all hills on all cores."""
    with ThreadPoolExecutor(CORES) as pool:
        found = pool.map(lambda block: score_hills(problem, *block).score, blocks_of(problem.size))
        return np.concatenate(list(found))


def by_targets(hills: np.ndarray) -> None:
    """Print the cost of a hill for more and more targets."""
    area, some = sample_area(90.0), hills[:: hills.size // HILLS]
    counts = (100, 300, 1000, 3000)
    problems = {n: problem_over(area, some, people_in(area, low_cells(area, n))) for n in counts}
    times = medians_s({str(n): (lambda n=n: run(problems[n])) for n in counts})
    for n in counts:
        cost_ms = 1000.0 * times[str(n)] * CORES / some.size
        pair_us = 1000.0 * cost_ms / n
        line(f"a hill against {n} targets, one core", f"{cost_ms:.3f} ms", f"{pair_us:.2f} µs a pair")


def by_reach(hills: np.ndarray) -> None:
    """Print the cost of a pair for people in rings around the middle of the sample."""
    area = sample_area(90.0)
    middle = np.array([area.grid.rows / 2.0, area.grid.columns / 2.0])
    cells = low_cells(area, 6000)
    targets = np.column_stack(np.divmod(cells, area.grid.columns))
    away_km = 0.09 * np.hypot(*(targets - middle).T)
    places = np.column_stack(np.divmod(hills, area.grid.columns))
    near = hills[0.09 * np.hypot(*(places - middle).T) < 1.5]
    problems = {}
    for low, high in ((0.0, 3.0), (3.0, 6.0), (6.0, 10.0), (10.0, 15.0)):
        ring = cells[(away_km >= low) & (away_km < high)][:300]
        problems[f"{low:g} to {high:g} km"] = problem_over(area, near, people_in(area, ring))
    times = medians_s({name: (lambda p=p: run(p)) for name, p in problems.items()})
    for name, problem in problems.items():
        pairs = problem.size * problem.people.size
        line(f"a pair at {name}, one core", f"{1e6 * times[name] * CORES / pairs:.2f} µs")


def whole_sample(hills: np.ndarray) -> None:
    """Print the rate over every hill of the sample, and what best-first search spares."""
    area = sample_area(90.0)
    problem = problem_over(area, hills, people_in(area, low_cells(area, 2000)))
    run(problem_over(area, hills[:300], people_in(area, low_cells(area, 50))))
    started = time.perf_counter()
    worth = run(problem)
    seconds = time.perf_counter() - started
    line(
        f"every hill: {hills.size} against 2000 targets, {CORES} cores", f"{seconds:.1f} s", "aim: under 60 s"
    )
    line("its rate", f"{hills.size / seconds:.0f} hills/s", f"{2000e-6 * hills.size / seconds:.2f} M pairs/s")
    started = time.perf_counter()
    found = best_hills(problem, 10, apart_cells=11.0)
    seconds = time.perf_counter() - started
    line(f"best first, ten hills: {found.priced_hills} hills priced", f"{seconds:.1f} s",
         f"{found.bounded_blocks} blocks bounded")  # fmt: skip
    same = found.hills.tolist() == ranked(problem.hills, worth, 10, 11.0).tolist()
    line("its ten are those of every hill priced", "yes" if same else "NO")


def with_harm(hills: np.ndarray) -> None:
    """Print what harm adds where an output shares a channel with a station that serves 1000 places."""
    area, some = sample_area(90.0), hills[:: hills.size // 20_000]
    people, at_risk = people_in(area, low_cells(area, 2000)), low_cells(area, 1000, seed=5)
    rare = Conditions("p1812", time_percent=1.0)
    problem = problem_over(area, some, people, victims=victims_in(area, at_risk), interfering=rare)
    small = problem_over(area, some[:200], people, victims=victims_in(area, at_risk), interfering=rare)
    best_hills(small, 3)
    seconds = {}
    for name, asked in (("without", without_harm(problem)), ("with", problem)):
        started = time.perf_counter()
        run(asked)
        seconds[name] = time.perf_counter() - started
        line(f"{some.size} hills, 2000 targets, {name} harm at 1000 places", f"{seconds[name]:.1f} s")
    pairs = 1e-6 * some.size * 1000
    line(
        "a pair of hill and place at risk, one core",
        f"{(seconds['with'] - seconds['without']) * CORES / pairs:.2f} µs",
    )
    started = time.perf_counter()
    found = best_hills(problem, 10, apart_cells=11.0)
    took_s = time.perf_counter() - started
    line(f"best first, ten hills: {found.priced_hills} hills priced", f"{took_s:.1f} s",
         f"harm for {found.harm_priced} of them")  # fmt: skip


if __name__ == "__main__":
    every = hills_over_valleys()
    print("Siting by P.1812 over the sample at 90 m")
    by_targets(every)
    by_reach(every)
    whole_sample(every)
    with_harm(every)
