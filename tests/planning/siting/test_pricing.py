"""Pricing over ground cover and zones: the whole of P.1812 over the same samples, and the bound."""

from dataclasses import replace

import numpy as np
import pytest

from combe.decibels import field_from_loss_dbuv_m
from combe.planning.siting.problem import Terms, make_problem, score_hills
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.straight import Places, apart_km
from combe.prediction.straight_pricing import coasts_km
from combe.propagation import p1812
from combe.propagation.p1812.zones import COASTAL, INLAND, SEA, coast_distances_km
from combe.terrain.sampling import bilinear
from support_siting import (
    MINIMA,
    SERVICES,
    headroom,
    low_cells,
    people_in,
    problem_over,
    rough_area,
    template,
)

SIZE = 120


def covered(*, cover: bool, zones: bool) -> Area:
    """Return invented hills with woods, and with a sea to the west behind a strip of coast."""
    area = rough_area(3)
    woods = np.where(np.random.default_rng(1).random((SIZE, SIZE)) < 0.3, 15.0, 0.0).astype(np.float32)
    codes = np.full((SIZE, SIZE), INLAND, dtype=np.uint8)
    codes[:, :30], codes[:, 30:45] = SEA, COASTAL
    return replace(area, **({"cover": woods} if cover else {}), **({"zones": codes} if zones else {}))


def cover_on_the_way(area: Area, start, end, share: np.ndarray, total_m: float):
    """Return the samples [share of the way] that siting takes over cover, and the cover [m] at each.

    Every 9 m as far as a step and a half from both ends; between, the highest of each sample's own stretch.
    """
    if area.cover.size == 0:
        return share, np.zeros(share.size)

    def at(places):
        row, column = (a + np.asarray(places) * (b - a) for a, b in zip(start, end, strict=True))
        parts = area.cover.shape[0] // SIZE
        return area.cover[tuple(np.floor((each + 0.5) * parts).astype(int) for each in (row, column))]

    step = share[1] * total_m
    near = np.unique(np.round(np.append(np.arange(9.0, 1.5 * step + 1e-6, 9.0), step) / total_m, 12))
    within = (np.arange(np.ceil(step / 9.0)) + 0.5) / np.ceil(step / 9.0) - 0.5
    middle = share[2:-2]
    highest = [at(place + within * share[1]).max() for place in middle]
    places = np.concatenate(([0.0], near, middle, 1.0 - near[::-1], [1.0]))
    return places, np.concatenate(([0.0], at(near), highest, at(1.0 - near[::-1]), [0.0])).astype(float)


def test_places_are_as_far_apart_as_the_scale_of_both_says():
    def place(row, column, scale):
        one = (np.array([float(each)]) for each in (row, column, row, column, 300.0, scale, 0.0, 50.0))
        return Places(*one)

    first, other = place(10, 4, 1.0), place(13, 8, 1.2)
    assert apart_km(first, 0, other, 0, 2.0) == pytest.approx(5 * 2.0 * 1.1)
    assert apart_km(other, 0, first, 0, 2.0) == pytest.approx(5 * 2.0 * 1.1)


def whole_path_spare_db(area: Area, hill: int, target: int) -> float:
    """Return the headroom by ``p1812.predict_path`` over the samples that siting takes."""
    (r0, c0), (r1, c1) = divmod(hill, SIZE), divmod(target, SIZE)
    problem = problem_over(area, np.array([hill]), people_in(area, np.array([target])))
    total = float(apart_km(problem.hills, 0, problem.targets, 0, area.grid.cell_size_m / 1000.0))
    steps = max(int(np.ceil(total / (area.step_m / 1000.0))), 4)
    share = np.arange(steps + 1) / steps
    share, cover = cover_on_the_way(area, (r0, c0), (r1, c1), share, 1000.0 * total)
    row, column = r0 + share * (r1 - r0), c0 + share * (c1 - c0)
    ground = np.array([bilinear(area.ground.heights, a, b) for a, b in zip(row, column, strict=True)])
    at = np.floor(row + 0.5).astype(int), np.floor(column + 0.5).astype(int)
    zone = area.zones[at].astype(int) if area.zones.size else np.full(row.size, INLAND)
    distance = share * total
    coast = coast_distances_km(distance, zone)
    spare = []
    for service, minimum in zip(SERVICES, MINIMA, strict=True):
        loss = p1812.predict_path(
            distance, ground, cover, zone, frequency_mhz=service.frequency_mhz, time_percent=50.0,
            tx_height_m=20.0, rx_height_m=10.0, latitude_deg=problem.setting.air.latitude_deg,
            delta_n=Conditions("p1812").delta_n, n0=325.0, polarization="vertical",
            tx_coast_distance_km=coast.tx_km, rx_coast_distance_km=coast.rx_km,
        ).basic_transmission_loss_db  # fmt: skip
        erp_dbw = 10.0 * np.log10(service.erp_w)
        spare.append(field_from_loss_dbuv_m(erp_dbw, loss, service.frequency_mhz) - minimum)
    return float(min(spare))


@pytest.mark.parametrize(("cover", "zones"), [(False, False), (True, False), (False, True), (True, True)])
def test_headroom_is_that_of_the_whole_recommendation(cover: bool, zones: bool) -> None:
    area = covered(cover=cover, zones=zones)
    hills, targets = np.array([20 * SIZE + 10, 60 * SIZE + 70]), np.array([90 * SIZE + 20, 30 * SIZE + 100])
    found = headroom(problem_over(area, hills, people_in(area, targets)), 0, 2, bounded=False)
    for i, hill in enumerate(hills):
        for j, target in enumerate(targets):
            wanted = whole_path_spare_db(area, int(hill), int(target))
            assert found[i, j] == pytest.approx(wanted, abs=1e-3)


@pytest.mark.parametrize("time_percent", [50.0, 1.0])
@pytest.mark.parametrize(("cover", "zones"), [(True, False), (False, True), (True, True)])
def test_the_bound_holds_over_cover_and_sea(cover: bool, zones: bool, time_percent: float) -> None:
    area = covered(cover=cover, zones=zones)
    hills = np.arange(0, SIZE * SIZE, 37)
    conditions = Conditions("p1812", time_percent=time_percent)
    people = people_in(area, low_cells(area, 50))
    problem = make_problem(area, hills, people, template(), MINIMA, Terms(conditions))
    assert np.isinf(problem.demand.slopes_allowed).all() == (zones and time_percent < 50.0)
    with_bound, without = headroom(problem, 0, hills.size), headroom(problem, 0, hills.size, bounded=False)
    assert ((with_bound >= 0.0) == (without >= 0.0)).all()
    assert (without >= 0.0).any()


def test_unknown_zones_and_cover_serve_nobody() -> None:
    area = covered(cover=True, zones=True)
    hills, people = np.arange(0, 60), people_in(area, np.arange(100 * SIZE, 100 * SIZE + 40))
    assert score_hills(problem_over(area, hills, people), 0, 60).people.max() > 0.0
    no_zone, no_cover = area.zones.copy(), area.cover.copy()
    no_zone[50, :], no_cover[50, :] = 0, np.nan
    for unknown in (replace(area, zones=no_zone), replace(area, cover=no_cover)):
        assert score_hills(problem_over(unknown, hills, people), 0, 60).people.max() == 0.0


@pytest.mark.parametrize("seed", range(20))
def test_coasts_are_those_of_the_recommendation(seed: int) -> None:
    rng = np.random.default_rng(seed)
    zone = rng.choice([SEA, COASTAL, INLAND], size=int(rng.integers(3, 30)), p=[0.2, 0.3, 0.5]).astype(
        np.int64
    )
    distance = np.cumsum(np.concatenate(([0.0], rng.uniform(0.1, 1.0, zone.size - 1))))
    assert coasts_km(distance, zone) == pytest.approx(tuple(coast_distances_km(distance, zone)))
