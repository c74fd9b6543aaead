"""Invented stations and cells for the tests of judging, and how they are judged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from combe.reception.emission import Emission
from combe.reception.judges import Fields, judge_emission, make_judges
from combe.reception.protection_ratios import Channel

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


@dataclass(frozen=True)
class Map:
    """One service over a tile: its best emission and the next that serves too (−1: none), and how they do."""

    server: np.ndarray
    second: np.ndarray
    serving: np.ndarray
    margin_db: np.ndarray
    second_margin_db: np.ndarray
    noise_margin_db: np.ndarray
    usable_dbuv_m: np.ndarray
    share: np.ndarray
    noise_share: np.ndarray
    unknown: np.ndarray

    @property
    def served(self):
        return np.greater_equal(self.margin_db, 0.0)

    @property
    def predicted(self):
        return ~np.isnan(self.margin_db)


def judged(emissions, fields, rules=None, service="A", on_air=None):
    return judged_map(make_judges(emissions, rules), fields, service, on_air)


def judged_map(judges, fields, service="A", on_air=None):
    """Judge every emission of a service in full, and pick the best two of each cell."""
    own = np.array([i for i, each in enumerate(judges.emissions) if each.service == service])
    every = [judge_emission(judges, fields, i, on_air) for i in own]
    margin, share, noise_share, unknown = (np.stack(each) for each in zip(*every, strict=True))
    ranked = np.where(np.isnan(margin), -np.inf, margin)
    order = np.argsort(-ranked, axis=0, kind="stable")

    def at(place, values):
        return np.take_along_axis(values, order[place][None], axis=0)[0]

    best, known = at(0, margin), np.isfinite(at(0, ranked))
    next_best = at(1, margin) if len(own) > 1 else np.full(best.shape, np.nan)
    second = np.greater_equal(next_best, 0.0)
    factor = judges.scene.emissions["factor"][own]
    needs = [
        judges.emissions[i].minimum_dbuv_m + each * judges.emissions[i].sigma_db
        for i, each in zip(own, factor, strict=True)
    ]
    noise = np.where(np.isnan(margin), np.nan, fields.median_dbuv_m[own] - np.array(needs)[:, None, None])
    return Map(
        server=np.where(known, own[order[0]], -1),
        second=np.where(second, own[order[min(1, len(own) - 1)]], -1),
        serving=(ranked >= 0.0).sum(axis=0),
        margin_db=best,
        second_margin_db=np.where(second, next_best, np.nan),
        noise_margin_db=np.fmax.reduce(noise).astype(np.float32),
        usable_dbuv_m=at(0, fields.median_dbuv_m[own]) - best,
        share=at(0, share),
        noise_share=at(0, noise_share),
        unknown=np.where(known, at(0, unknown), 0),
    )


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
