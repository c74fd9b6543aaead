"""Feeds at every cell: against the feed of one relay, interferers, and the cells kept."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from combe.answers.feed import feed_report
from combe.errors import RangeError
from combe.planning.siting.feed_map import FeedQuestion, feed_maps, keep_fed
from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions
from combe.reception.budget import FeedChain
from combe.stations.pattern import Pattern
from combe.study.project_of import load_project
from combe.terrain.grid import make_grid, to_grid_m, to_lonlat_deg
from combe.terrain.ground import ground_under
from support_p2001 import HUMID, TEMPERATE
from support_prediction import EAST, RIDGE, sample_area, station
from support_study import STUDY, write_study

CHAIN = FeedChain(12.0, 14.0, 2.0, 3.5, 6.0, 7.77, 20.0, 10.0)
SECTOR = Pattern(
    tuple(30.0 * n for n in range(12)),
    (-20.0, -15.0, -10.0, -6.0, -2.0, 0.0, -2.0, -6.0, -10.0, -15.0, -20.0, -20.0),
    "horizontal",
    "a sector to the south-east",
)


PARENT = (-84.33, 36.70)
AROUND_THE_RELAY = (-84.215, 36.59, -84.185, 36.61)
"""An area of 2.7 by 2.2 km, some 14 km from the parent."""


def area_beyond(where: tuple[float, float, float, float] | None) -> Area:
    """Return the whole of the sample, or a part of it with the ground as far as the parent."""
    whole = sample_area(300.0)
    if where is None:
        return whole
    grid = make_grid(whole.terrain, cell_size_m=300.0, area_deg=where)
    return survey_area(whole.terrain, grid, ground=ground_under(whole.terrain, grid, [PARENT]))


def cell_at(area: Area, longitude_deg: float, latitude_deg: float) -> tuple[int, tuple[float, float]]:
    """Return the flat index of the cell of a place, and the place of its centre."""
    grid = area.grid
    x, y = to_grid_m(grid, longitude_deg, latitude_deg)
    row, column = int((grid.north_m - y) // 300.0), int((x - grid.west_m) // 300.0)
    centre = to_lonlat_deg(grid, grid.west_m + (column + 0.5) * 300.0, grid.north_m - (row + 0.5) * 300.0)
    return row * grid.columns + column, (float(centre[0]), float(centre[1]))


@pytest.mark.parametrize("where", [None, AROUND_THE_RELAY], ids=["on the grid", "beyond the grid"])
@pytest.mark.parametrize("model", ["p1812", "p526"])
def test_feed_is_that_of_a_relay_on_the_cell(tmp_path: Path, model: str, where: Any) -> None:
    area = area_beyond(where)
    cell, (lon, lat) = cell_at(area, -84.20, 36.60)
    text = STUDY.replace("longitude_deg = -84.20", f"longitude_deg = {lon}")
    text = text.replace("latitude_deg = 36.60", f"latitude_deg = {lat}").replace(
        "[terrain]", f'model = "{model}"\n\n[terrain]', 1
    )
    report = feed_report(load_project(write_study(tmp_path, text)))
    relay = report.relays[0]
    conditions = replace(relay.path.services[0].prediction.conditions)
    side = relay.side
    chain = replace(CHAIN, bandwidth_mhz=side.bandwidth_mhz, required_cn_db=side.required_cn_db)
    question = FeedQuestion(chain, TEMPERATE, 99.0)
    found = feed_maps(
        area, [relay.parent], ["Parent Hill"], ["Mux 1", "Mux 2"], [cell], conditions, question
    )[0]
    assert found.distance_km[0] == pytest.approx(relay.path.profile.distance_km[-1], rel=1e-4)
    for k, service in enumerate(relay.services):
        assert found.input_dbm[k, 0] == pytest.approx(service.budget.receiver_input_dbm, abs=0.3)
        assert found.margin_db[k, 0] == pytest.approx(service.budget.margin_db, abs=0.4)


@pytest.mark.parametrize(("model", "told"), [("p1812", False), ("p526", True)])
def test_no_feed_is_told_nearer_than_an_exact_path_begins(model: str, told: bool) -> None:
    """P.1812 begins at 250 m; such a hill would be listed, and its own feed refused."""
    area = sample_area(90.0)
    grid = area.grid
    x, y = to_grid_m(grid, *PARENT)
    row, column = int((grid.north_m - y) // 90.0), int((x - grid.west_m) // 90.0)
    cells = row * grid.columns + column + np.array([1, 2, 4, 5])
    asked = (["Test"], ["service 0"], cells, Conditions(model), FeedQuestion(CHAIN, TEMPERATE, 99.0))
    found = feed_maps(area, [station(PARENT)], *asked)[0]
    assert (found.distance_km < 0.25).tolist() == [True, True, False, False]
    assert np.isfinite(found.margin_db[0]).tolist() == [told, told, True, True]
    assert keep_fed([found], -1000.0).cells.size == (4 if told else 2)


def test_a_parent_beyond_the_grid_is_heard_as_on_it() -> None:
    """The same ground samples lie under both ways to each cell, but for where the grids' tables begin."""
    parent = station(PARENT, horizontal_pattern=SECTOR)
    beyond, whole = area_beyond(AROUND_THE_RELAY), area_beyond(None)
    rows, columns = beyond.grid.rows, beyond.grid.columns
    down = round((whole.grid.north_m - beyond.grid.north_m) / 300.0)
    right = round((beyond.grid.west_m - whole.grid.west_m) / 300.0)
    inner = (down + np.arange(rows))[:, None] * whole.grid.columns + right + np.arange(columns)[None, :]
    asked = (["Test"], ["service 0"])
    rest = Conditions("p1812"), FeedQuestion(CHAIN, TEMPERATE, 99.0)
    here = feed_maps(beyond, [parent], *asked, np.arange(rows * columns), *rest)[0]
    there = feed_maps(whole, [parent], *asked, inner.ravel(), *rest)[0]
    assert np.allclose(here.distance_km, there.distance_km, rtol=1e-6)
    assert np.isfinite(here.margin_db).all()
    assert np.abs(here.margin_db - there.margin_db).max() < 0.5


def test_a_station_beyond_the_ground_that_was_read_is_refused() -> None:
    whole = sample_area(300.0)
    small = survey_area(whole.terrain, make_grid(whole.terrain, cell_size_m=300.0, area_deg=AROUND_THE_RELAY))
    asked = (["Test"], ["service 0"], [0], Conditions("p526"), FeedQuestion(CHAIN, TEMPERATE))
    with pytest.raises(RangeError, match=r"place of station Test is -84\.33000, 36\.70000"):
        feed_maps(small, [station(PARENT)], *asked)


@pytest.mark.parametrize("model", ["free-space", "p526", "p1812"])
def test_a_feed_fades_by_the_climate_whatever_the_model(model: str) -> None:
    area, parent = sample_area(300.0), station(EAST)
    asked = (area, [parent], ["Test"], ["service 0"], [4000, 5000], Conditions(model))
    median, usual, rare, humid, spared = (
        feed_maps(*asked, question)[0].margin_db
        for question in (
            FeedQuestion(CHAIN, TEMPERATE, 50.0),
            FeedQuestion(CHAIN, TEMPERATE, 99.0),
            FeedQuestion(CHAIN, TEMPERATE, 99.99),
            FeedQuestion(CHAIN, HUMID, 99.99),
            FeedQuestion(CHAIN, TEMPERATE, 99.0, fade_allowance_db=8.0),
        )
    )
    assert (median > usual + 1.0).all()
    assert (usual > rare + 1.0).all()
    assert (rare > humid + 0.5).all()
    assert np.allclose(usual - spared, 8.0), "an allowance comes on top of the fade"


def test_co_channel_station_takes_of_the_margin() -> None:
    area = sample_area(300.0)
    parent, other = station(EAST), station(RIDGE, name="Other")
    far_off = station(RIDGE, name="Other", frequencies_mhz=(530.0,))
    cells = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    asked = (["Test"], ["service 0"], cells, Conditions("p1812"), FeedQuestion(CHAIN, TEMPERATE, 99.0))
    alone = feed_maps(area, [parent], *asked)[0]
    with_other = feed_maps(area, [parent, other], *asked)[0]
    elsewhere = feed_maps(area, [parent, far_off], *asked)[0]
    assert alone.interferers == elsewhere.interferers == ()
    assert with_other.interferers == ("Other on 474 MHz",)
    assert np.array_equal(alone.margin_db, elsewhere.margin_db, equal_nan=True)
    assert (with_other.margin_db < alone.margin_db - 3.0).any()
    assert not (with_other.margin_db > alone.margin_db + 1e-9).any()


def test_cells_are_kept_for_the_better_parent() -> None:
    area = sample_area(300.0)
    parents = [station(EAST, name="East"), station(RIDGE, name="Ridge", frequencies_mhz=(530.0,))]
    cells = np.arange(area.heights_m.size)
    maps = feed_maps(
        area,
        parents,
        ["East", "Ridge"],
        ["service 0"],
        cells,
        Conditions("p526"),
        FeedQuestion(CHAIN, TEMPERATE),
    )
    kept = keep_fed(maps, 10.0)
    assert 0 < kept.cells.size < cells.size
    assert set(kept.parent.tolist()) == {0, 1}
    assert (kept.margin_db >= 10.0).all()
    for cell, parent, margin in zip(kept.cells[:50], kept.parent[:50], kept.margin_db[:50], strict=True):
        assert margin == maps[parent].worst_margin_db[cell]
        assert not maps[1 - parent].worst_margin_db[cell] > margin


def test_noise_of_the_aerial_counts_behind_feeder_and_splitter() -> None:
    """P.372, residential at 200 MHz 8.76 dB, 6.52 over T0: behind 5.5 dB and 6 dB of noise figure 1.65 dB."""
    area, parent = sample_area(300.0), station(EAST, frequencies_mhz=(200.0,))
    quiet, noisy = (
        feed_maps(
            area, [parent], ["Test"], ["service 0"], [900, 2000], Conditions("p526"),
            FeedQuestion(CHAIN, TEMPERATE, noise_environment=each),
        )[0]
        for each in ("none", "residential")
    )  # fmt: skip
    np.testing.assert_allclose(quiet.margin_db - noisy.margin_db, 1.65, atol=0.01)


def test_parent_without_the_service_is_named() -> None:
    area = sample_area(300.0)
    with pytest.raises(RangeError, match=r"service of the relay, from Test is 'Mux 9'; allowed: service 0"):
        feed_maps(
            area,
            [station(EAST)],
            ["Test"],
            ["Mux 9"],
            [5],
            Conditions("p526"),
            FeedQuestion(CHAIN, TEMPERATE),
        )
