"""Measures how long a cell takes to judge: few and many stations, and each way to sum interference.

Run from the checkout, with the test extra installed: ``python tests/benchmarks/judging.py``.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
from measuring import line, medians_s

from combe.reception.emission import Emission
from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.one_frequency import OneFrequency
from combe.reception.protection_ratios import Channel
from combe.reception.standing import make_roles, stand_cells
from combe.reception.summation import Summation, sum_fields

CELLS = 200
SIDE_M = 100e3
NETWORKS = {
    "10 stations on 9 channels": (10, 9, 1),
    "100 stations of 3 services on 30 channels": (100, 30, 3),
    "40 stations, all on one channel": (40, 1, 1),
}


def network(stations: int, channels: int, services: int) -> tuple[list[Emission], Fields]:
    """Return invented stations at random places, with fields that fall off and scatter."""
    chance = np.random.default_rng(1)
    places = chance.random((stations, 2)) * SIDE_M
    emissions = [
        Emission(
            station=f"Station {i}",
            service=f"Service {s}",
            channel=Channel("DVB", 474.0 + 8.0 * int(chance.integers(channels)), 8.0),
            polarization="vertical" if i % 3 == 0 else "horizontal",
            x_m=float(places[i, 0]),
            y_m=float(places[i, 1]),
            minimum_dbuv_m=45.0,
            required_cn_db=20.0,
            sigma_db=5.5,
        )
        for i in range(stations)
        for s in range(services)
    ]
    x = (np.arange(CELLS) + 0.5) * SIDE_M / CELLS
    east, north = (np.array([getattr(each, axis) for each in emissions]) for axis in ("x_m", "y_m"))
    far_km = np.hypot(x - east[:, None, None], x[:, None] - north[:, None, None]) / 1000.0
    field = 86.9 - 20.0 * np.log10(np.maximum(far_km, 0.1)) - 0.5 * far_km
    median = (field + 6.0 * chance.standard_normal(far_km.shape)).astype(np.float32)
    return emissions, Fields(x, x, median, median + np.float32(3.0))


def one_network(emissions: list[Emission], guard_us: float) -> list[Emission]:
    """Return the same stations as one network on one frequency, all at the same time."""
    symbol = OneFrequency("network", 0.0, 896.0, guard_us, max(guard_us, 261.3))
    return [replace(each, one_frequency=symbol) for each in emissions]


def joined() -> None:
    """Print what a network on one frequency costs beside stations that disturb one another."""
    for name, shape in {"2 stations": (2, 1, 1), "10 stations": (10, 1, 1)}.items():
        emissions, fields = network(*shape)
        jobs = {}
        for what, chosen in {
            "disturbing one another": emissions,
            "one network, all within its guard interval": one_network(emissions, 448.0),
            "one network, many beyond it": one_network(emissions, 56.0),
        }.items():
            judges = make_judges(chosen, Rules(95.0))
            roles = make_roles(judges, [False] * len(chosen), [45.0 + 1.64 * 5.5] * len(chosen))
            jobs[what] = partial(stand_cells, judges, roles, fields)
        for what, seconds in medians_s(jobs, 5).items():
            line(f"on one channel, {name}, {what}", f"{1e6 * seconds / CELLS**2:.2f} us/cell")


def main() -> None:
    """Print microseconds a cell and service, one thread."""
    joined()
    for name, shape in NETWORKS.items():
        emissions, fields = network(*shape)
        jobs = {}
        for method in ("schwartz-yeh", "k-lnm", "power sum", "multiplication"):
            judges = make_judges(emissions, Rules(70.0, method))
            roles = make_roles(judges, [False] * len(emissions), [45.0 + 0.52 * 5.5] * len(emissions))
            jobs[method] = lambda judges=judges, roles=roles, fields=fields: stand_cells(
                judges, roles, fields
            )
        for method, seconds in medians_s(jobs, rounds=3).items():
            line(f"{name}, {method}", f"{seconds / shape[2] / CELLS**2 * 1e6:.2f} us/cell")
    levels = 60.0 - 25.0 * np.random.default_rng(2).random((20, 50_000))
    jobs = {
        method: (lambda method=method: sum_fields(levels, 5.5, Summation(method)))
        for method in ("schwartz-yeh", "k-lnm", "power sum")
    }
    for method, seconds in medians_s(jobs, rounds=3).items():
        line(f"sum of 20 fields, {method}", f"{seconds / levels.size * 1e9:.0f} ns/field")


if __name__ == "__main__":
    main()
