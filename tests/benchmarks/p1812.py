"""The whole of P.1812 in the sweep beside delta-Bullington alone, and one exact path beside a library's.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/p1812.py``.
"""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from measuring import line, medians_s

from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.propagation.p526 import delta_bullington
from combe.propagation.p1812 import predict_path
from support_prediction import EAST, RIDGE, sample_area, station

POINTS = 1000
REPEATS = 50


def profile() -> tuple[np.ndarray, np.ndarray]:
    """Return a made-up profile of 1000 points over 60 km."""
    distance = np.linspace(0.0, 60.0, POINTS)
    height = np.cumsum(np.random.default_rng(5).normal(0.0, 6.0, POINTS))
    return distance, height - height.min()


def ours() -> Callable[[], object]:
    """Return a call of P.1812 over the profile, many times."""
    distance, height = profile()
    cover, zone = np.zeros(POINTS), np.full(POINTS, 4)

    def run() -> None:
        for _ in range(REPEATS):
            predict_path(
                distance,
                height,
                cover,
                zone,
                frequency_mhz=600.0,
                time_percent=10.0,
                tx_height_m=50.0,
                rx_height_m=10.0,
                latitude_deg=45.0,
                delta_n=45.0,
                n0=325.0,
            )

    return run


def diffraction_alone() -> None:
    """Run delta-Bullington over the profile, many times."""
    distance, height = profile()
    for _ in range(REPEATS):
        delta_bullington(distance, height, tx_height_m=50.0, rx_height_m=10.0, frequency_mhz=600.0)


def library() -> Callable[[], object]:
    """Return a call of pycraf's loss_complete (P.452) over the profile, many times."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from astropy import units
        from pycraf import conversions, pathprof
    distance, height = profile()

    def run() -> None:
        for _ in range(REPEATS):
            path = pathprof.PathProp(
                0.6 * units.GHz,
                290 * units.K,
                1013 * units.hPa,
                0 * units.deg,
                45 * units.deg,
                0.76 * units.deg,
                45 * units.deg,
                50 * units.m,
                10 * units.m,
                1 * units.m,
                10 * units.percent,
                delta_N=45.0 / units.km,
                N0=325.0 * units.dimensionless_unscaled,
                hprof_dists=distance * units.km,
                hprof_heights=height * units.m,
                hprof_bearing=0 * units.deg,
                hprof_backbearing=0 * units.deg,
            )
            pathprof.loss_complete(path, 0 * conversions.dBi, 0 * conversions.dBi)

    return run


def main() -> None:
    """Print all figures."""
    print(f"P.1812, {os.cpu_count()} cores, warm; medians of runs taken in turn")
    models = {"delta-Bullington alone": Conditions()} | {
        f"P.1812 at {percent:g} % of time": Conditions(model="p1812", time_percent=percent)
        for percent in (50.0, 10.0, 1.0)
    }
    for cell_m, place in ((30.0, RIDGE), (30.0, EAST), (90.0, RIDGE)):
        area, transmitter = sample_area(cell_m), station(place)
        cells = np.isfinite(area.heights_m).sum()
        times = medians_s(
            {
                name: lambda c=conditions, a=area, t=transmitter: predict_coverage(a, t, conditions=c)
                for name, conditions in models.items()
            }
        )
        where = "ridge" if place == RIDGE else "plain"
        base = times["delta-Bullington alone"]
        for name, time_s in times.items():
            figure = f"{1e6 * time_s / cells:.3f}"
            line(f"{name}, {cell_m:.0f} m cells, mast on the {where}: microseconds a cell", figure)
            if time_s != base:
                line("  over delta-Bullington alone", f"{time_s / base:.2f} x", "aim 3 x")
    times = medians_s({"P.1812": ours(), "P.526": diffraction_alone, "pycraf": library()})
    per_path = {name: 1e6 * time_s / REPEATS for name, time_s in times.items()}
    line(
        f"one exact path of {POINTS} points, P.1812 with all intermediates: microseconds",
        f"{per_path['P.1812']:.0f}",
    )
    line("  delta-Bullington alone", f"{per_path['P.526']:.0f}")
    line("  pycraf loss_complete (P.452), profile given", f"{per_path['pycraf']:.0f}")


if __name__ == "__main__":
    main()
