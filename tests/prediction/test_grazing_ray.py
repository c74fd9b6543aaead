"""An edge on the line between the aerials, to the last bit: no summary drops the Bullington term.

Whether such a path is in line of sight is a matter of rounding, and is asked twice: for the horizons, and
where the loss is priced. Whatever each says, the edge costs what it costs 1 mm higher (P.526-16 §4.5.1 and
P.1812-8 §4.3.1, which are the same equations).
"""

import math

import numpy as np
import pytest

from combe.compiling import kernel
from combe.prediction.near_cover import new_near_cover
from combe.prediction.quick_summary import summarise_bare
from combe.prediction.ray_summary import SmoothHeights, follow, new_trail
from combe.prediction.ray_summary_p1812 import CellPath, Seen, Skylines, Wanted, horizons_seen, median_path
from combe.prediction.skyline import Bend, Reach, Terminals, empty_state, new_skyline, see
from combe.prediction.zone_trail import start_zones
from combe.propagation.p526.bullington import bullington_kernel
from combe.propagation.p1812 import summarise_exact
from combe.propagation.summary import PathSummary

STEP_KM, CURVATURE, WAVELENGTH_M = 0.1, 500.0 / 8500.0, 0.5


@kernel
def loss_db(edge: int, top_m: float, samples: int, d: float, tx_m: float, rx_m: float) -> float:
    """Return the Bullington loss of a ray over deep ground with one edge, as the sweep prices it."""
    bent, raised = new_skyline(samples), new_skyline(1)
    seen, trail = empty_state(), new_trail(tx_m - 10.0)
    for j in range(1, samples + 1):
        x = j * STEP_KM
        height_m = top_m if j == edge else -500.0
        trail = follow(trail, x, height_m)
        seen = see(bent, seen, j, x, height_m, tx_m, CURVATURE)
    ends = Terminals(d, tx_m - 10.0, rx_m - 10.0, tx_m, rx_m)
    smooth = SmoothHeights(0.0, 0.0, 0.0, 0.0)
    reach = Reach(samples, STEP_KM)
    path: PathSummary = median_path(
        Skylines(bent, bent, raised, raised),
        Seen(trail, seen, seen, seen, seen, start_zones(4), 0.0),
        Wanted(True, False, False, False),
        CellPath(reach, ends, smooth, new_near_cover(STEP_KM, False)),
        horizons_seen(bent, seen, reach, ends, CURVATURE),
        Bend(CURVATURE, -math.inf),
    )
    return bullington_kernel(
        path.distance_km,
        path.tx_height_m,
        path.rx_height_m,
        path.tx_slope,
        path.rx_slope,
        path.fresnel,
        WAVELENGTH_M,
    )


def test_a_tie_on_a_ray_costs_what_its_neighbours_do():
    generator = np.random.default_rng(7)
    for _ in range(1000):
        samples = int(generator.integers(20, 300))
        d, edge = (samples + 0.7) * STEP_KM, int(generator.integers(5, samples - 5))
        tx_m, rx_m = (float(value) for value in generator.uniform(20.0, 400.0, 2))
        x = edge * STEP_KM
        tie_m = tx_m + ((rx_m - tx_m) / d - CURVATURE * (d - x)) * x
        over_db = loss_db(edge, tie_m + 1e-3, samples, d, tx_m, rx_m)
        assert over_db > 12.0
        for steps in range(-3, 4):
            top_m = tie_m + steps * np.spacing(tie_m)
            assert loss_db(edge, float(top_m), samples, d, tx_m, rx_m) == pytest.approx(over_db, abs=0.02)


def priced_db(path: PathSummary) -> float:
    return bullington_kernel(
        path.distance_km,
        path.tx_height_m,
        path.rx_height_m,
        path.tx_slope,
        path.rx_slope,
        path.fresnel,
        WAVELENGTH_M,
    )


def exact_db(distance, ground) -> float:
    zone, none = np.full(distance.size, 4), np.zeros(distance.size)
    return priced_db(summarise_exact(distance, ground, none, zone, 10.0, 10.0, 8500.0, 500.0, 500.0).median)


def quick_db(distance, ground) -> float:
    inverse = np.append(np.inf, 1.0 / np.arange(1, distance.size + 1))
    return priced_db(summarise_bare(distance, ground, inverse, 10.0, 10.0, 8500.0).median)


@pytest.mark.parametrize("price", [exact_db, quick_db])
def test_a_tie_costs_what_its_neighbours_do_in_the_exact_and_the_quick_summary(price):
    generator = np.random.default_rng(8)
    for _ in range(300):
        steps = int(generator.integers(8, 100))
        edge, ends = int(generator.integers(2, steps - 1)), generator.integers(0, 200, 2)
        distance, ground = np.arange(steps + 1) * STEP_KM, np.full(steps + 1, -500.0)
        ground[0], ground[-1] = ends
        x, d = distance[edge], distance[-1]
        tie_m = ends[0] + 10.0 + ((ends[1] - ends[0]) / d - CURVATURE * (d - x)) * x
        ground[edge] = tie_m + 1e-3
        over_db = price(distance, ground)
        assert over_db > 12.0
        for ulps in range(-3, 4):
            ground[edge] = tie_m + ulps * np.spacing(tie_m)
            assert price(distance, ground) == pytest.approx(over_db, abs=0.02)
