"""What the ranges of the people cost beside the coverage that they are ranges of, and what kriging costs.

Run from the checkout, with the test extra: ``python tests/benchmarks/how_sure.py``. Coverage of the demo is
taken with its fields and tiles kept, which is its quickest, and predicted anew.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent)]

from measuring import line, medians_s

import combe
from combe.planning import MarginError, count_ranges, homes_of, krige_errors, take_census
from combe.planning.survey import SurveyError, SurveyPoint

ROUNDS = 5
MEASURED = (30, 300)


def ranges_beside_coverage() -> None:
    """Print the time of all ranges of the demo beside its coverage, found kept and predicted anew."""
    valley = combe.demo()
    found = combe.cover(valley)
    census = take_census(found.people, found.grid)
    assert census is not None
    maps = [(each.margin_db, each.margin_before_db) for each in (found.all_services, *found.services)]
    error = MarginError(4.0, 7.5)

    def ranges() -> None:
        homes = homes_of(census)
        for each in maps:
            count_ranges(homes, *each, error)

    with tempfile.TemporaryDirectory() as folder:
        jobs = {
            "ranges": ranges,
            "kept": lambda: combe.cover(valley, cache_folder=Path(folder)),
            "anew": lambda: combe.cover(valley),
        }
        times = medians_s(jobs, ROUNDS)
    line("ranges of all services and three, s", f"{times['ranges']:.2f}")
    line("of a coverage predicted anew", f"{100.0 * times['ranges'] / times['anew']:.0f} %")
    line("of a coverage found kept", f"{100.0 * times['ranges'] / times['kept']:.0f} %")


def kriging() -> None:
    """Print the time of a fit, and of a correction over a million cells."""
    random = np.random.default_rng(1)
    cells = np.meshgrid(np.arange(1000.0) * 30.0, np.arange(1000.0) * 30.0)
    for count in MEASURED:
        x, y = random.uniform(0.0, 30_000.0, (2, count))
        errors, places = [], {}
        for number in range(count):
            off_db = 5.0 * np.sin(x[number] / 3000.0) + random.normal(2.0, 3.0)
            point = SurveyPoint(number, number / 1e3, 0.0, "Relay", "Mux", 60.0 + off_db, 10.0)
            errors.append(SurveyError(point, 60.0, 1.0, 0.0, True))
            places[point.place] = (float(x[number]), float(y[number]))
        found = krige_errors("Relay", errors, places, 4.0, "invented points")
        jobs = {
            "fit": lambda: krige_errors("Relay", errors, places, 4.0, "invented points"),  # noqa: B023
            "map": lambda: found.correction_db(*cells),  # noqa: B023
            "unsure": lambda: found.deviation_db(*(each[::10] for each in cells)),  # noqa: B023
        }
        times = medians_s(jobs, 1)
        line(f"fit to {count} places, s", f"{times['fit']:.1f}")
        line(f"correction of a million cells from {count} places, s", f"{times['map']:.1f}")
        line("how unsure it is in the tenth of them that is lived in, s", f"{times['unsure']:.1f}")


if __name__ == "__main__":
    ranges_beside_coverage()
    kriging()
