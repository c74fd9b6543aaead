"""Invented stations and cells for the tests of judging, and how they are judged."""

from __future__ import annotations

import numpy as np

from combe.reception.emission import Emission
from combe.reception.judge_cells import Fields, judge_cells, make_judges
from combe.reception.protection import Channel

CHANNEL_37 = Channel("DVB", 602.0, 8.0)
NEXT_CHANNEL = Channel("DVB", 610.0, 8.0)
FAR_CHANNEL = Channel("DVB", 690.0, 8.0)


def emission(name, x_m=0.0, y_m=0.0, **changes):
    """Return an invented station whose mode needs 20 dB and a field of 45 dB(µV/m)."""
    values = {
        "station": name,
        "service": "A",
        "channel": CHANNEL_37,
        "polarization": "horizontal",
        "x_m": x_m,
        "y_m": y_m,
        "minimum_dbuv_m": 45.0,
        "required_cn_db": 20.0,
        "sigma_db": 5.5,
    }
    return Emission(**{**values, **changes})


def one_cell(*fields, at_time=None, place=(0.0, 0.0)):
    layers = np.array(fields, dtype=np.float32).reshape(-1, 1, 1)
    later = layers if at_time is None else np.array(at_time, dtype=np.float32).reshape(-1, 1, 1)
    return Fields(np.array([place[0]]), np.array([place[1]]), layers, later)


def judged(emissions, fields, rules=None, service="A", on_air=None):
    return judge_cells(make_judges(emissions, rules), fields, service, on_air)


WEST, EAST = emission("West", -10e3), emission("East", 10e3, service="B")
NO_NEGLECT = {"neglect_db": 0.0}


def random_network(chance, count=9):
    channels = [CHANNEL_37, NEXT_CHANNEL, FAR_CHANNEL]
    emissions = [
        emission(
            f"Station {i}",
            float(chance.uniform(-30e3, 30e3)),
            float(chance.uniform(-30e3, 30e3)),
            service="AB"[i % 2],
            channel=channels[int(chance.integers(3))],
            polarization=["horizontal", "vertical"][int(chance.integers(2))],
            sigma_db=float(chance.uniform(3.0, 8.0)),
            minimum_dbuv_m=float(chance.uniform(40.0, 50.0)),
        )
        for i in range(count)
    ]
    x, y = np.linspace(-30e3, 30e3, 13), np.linspace(30e3, -30e3, 11)
    median = chance.uniform(20.0, 90.0, (count, y.size, x.size)).astype(np.float32)
    median[chance.random(median.shape) < 0.1] = np.nan
    return emissions, Fields(x, y, median, median + chance.uniform(0.0, 8.0, median.shape).astype(np.float32))
