"""Times things in turn, A B A B, and prints medians and ratios: machines are noisy, ratios are not."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Mapping


def medians_s(jobs: Mapping[str, Callable[[], object]], rounds: int = 5) -> dict[str, float]:
    """Return the median time [s] of each job over some rounds, the jobs taken in turn after a warm-up."""
    for job in jobs.values():
        job()
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(rounds):
        for name, job in jobs.items():
            started = time.perf_counter()
            job()
            times[name].append(time.perf_counter() - started)
    return {name: statistics.median(values) for name, values in times.items()}


def line(what: str, figure: str, aim: str = "") -> None:
    """Print one figure."""
    print(f"  {what:<66} {figure:>14}  {aim}")
