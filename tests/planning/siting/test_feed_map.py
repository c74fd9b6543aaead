"""Feeds at every cell: against the feed of one relay, interferers, and the cells kept."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from combe.errors import RangeError
from combe.planning.siting.feed_map import FeedQuestion, feed_maps, keep_fed
from combe.reception.chain import FeedChain
from combe.study.file import load_study
from combe.study.run_feed import feed_report
from combe.terrain.grid import to_grid_m, to_lonlat_deg
from support_prediction import EAST, RIDGE, sample_area, station
from support_study import STUDY, write_study

CHAIN = FeedChain(12.0, 14.0, 2.0, 3.5, 6.0, 7.77, 20.0, 10.0)


def cell_at(longitude_deg: float, latitude_deg: float) -> tuple[int, tuple[float, float]]:
    """Return the flat index of the cell of a place, and the place of its centre."""
    grid = sample_area(300.0).grid
    x, y = to_grid_m(grid, longitude_deg, latitude_deg)
    row, column = int((grid.north_m - y) // 300.0), int((x - grid.west_m) // 300.0)
    centre = to_lonlat_deg(grid, grid.west_m + (column + 0.5) * 300.0, grid.north_m - (row + 0.5) * 300.0)
    return row * grid.columns + column, (float(centre[0]), float(centre[1]))


@pytest.mark.parametrize("model", ["p1812", "p526"])
def test_feed_is_that_of_a_relay_on_the_cell(tmp_path: Path, model: str) -> None:
    cell, (lon, lat) = cell_at(-84.20, 36.60)
    text = STUDY.replace("longitude_deg = -84.20", f"longitude_deg = {lon}")
    text = text.replace("latitude_deg = 36.60", f"latitude_deg = {lat}").replace(
        "[terrain]", f'model = "{model}"\n\n[terrain]', 1
    )
    report = feed_report(load_study(write_study(tmp_path, text)))
    relay, area = report.relays[0], sample_area(300.0)
    conditions = replace(relay.path.services[0].prediction.conditions)
    side = relay.side
    chain = replace(CHAIN, bandwidth_mhz=side.bandwidth_mhz, required_cn_db=side.required_cn_db)
    question = FeedQuestion(chain, 99.0)
    found = feed_maps(
        area, [relay.parent], ["Parent Hill"], ["Mux 1", "Mux 2"], [cell], conditions, question
    )[0]
    for k, service in enumerate(relay.services):
        assert found.input_dbm[k, 0] == pytest.approx(service.budget.receiver_input_dbm, abs=0.3)
        assert found.margin_db[k, 0] == pytest.approx(service.budget.margin_db, abs=0.4)


def test_allowance_stands_in_for_time_where_the_model_has_none() -> None:
    from combe.prediction.conditions import Conditions

    area, parent = sample_area(300.0), station(EAST)
    asked = (area, [parent], ["Test"], ["service 0"], [4000, 5000])
    plain = feed_maps(*asked, Conditions("p526"), FeedQuestion(CHAIN, 99.0))[0]
    spared = feed_maps(*asked, Conditions("p526"), FeedQuestion(CHAIN, 99.0, fade_allowance_db=8.0))[0]
    assert np.allclose(plain.margin_db - spared.margin_db, 8.0)
    timed = feed_maps(*asked, Conditions("p1812"), FeedQuestion(CHAIN, 99.0, fade_allowance_db=8.0))[0]
    median = feed_maps(*asked, Conditions("p1812"), FeedQuestion(CHAIN, 50.0))[0]
    assert (timed.margin_db <= median.margin_db + 1e-9).all()
    assert (timed.margin_db > median.margin_db - 7.9).any()


def test_co_channel_station_takes_of_the_margin() -> None:
    from combe.prediction.conditions import Conditions

    area = sample_area(300.0)
    parent, other = station(EAST), station(RIDGE, name="Other")
    far_off = station(RIDGE, name="Other", frequencies_mhz=(530.0,))
    cells = np.flatnonzero(np.isfinite(area.heights_m.ravel()))
    asked = (["Test"], ["service 0"], cells, Conditions("p1812"), FeedQuestion(CHAIN, 99.0))
    alone = feed_maps(area, [parent], *asked)[0]
    with_other = feed_maps(area, [parent, other], *asked)[0]
    elsewhere = feed_maps(area, [parent, far_off], *asked)[0]
    assert alone.interferers == elsewhere.interferers == ()
    assert with_other.interferers == ("Other on 474 MHz",)
    assert np.array_equal(alone.margin_db, elsewhere.margin_db, equal_nan=True)
    assert (with_other.margin_db < alone.margin_db - 3.0).any()
    assert (with_other.margin_db <= alone.margin_db + 1e-9).all()


def test_cells_are_kept_for_the_better_parent() -> None:
    from combe.prediction.conditions import Conditions

    area = sample_area(300.0)
    parents = [station(EAST, name="East"), station(RIDGE, name="Ridge", frequencies_mhz=(530.0,))]
    cells = np.arange(area.heights_m.size)
    maps = feed_maps(
        area, parents, ["East", "Ridge"], ["service 0"], cells, Conditions("p526"), FeedQuestion(CHAIN)
    )
    kept = keep_fed(maps, 10.0)
    assert 0 < kept.cells.size < cells.size
    assert set(kept.parent.tolist()) == {0, 1}
    assert (kept.margin_db >= 10.0).all()
    for cell, parent, margin in zip(kept.cells[:50], kept.parent[:50], kept.margin_db[:50], strict=True):
        assert margin == maps[parent].worst_margin_db[cell]
        assert not maps[1 - parent].worst_margin_db[cell] > margin


def test_parent_without_the_service_is_named() -> None:
    from combe.prediction.conditions import Conditions

    area = sample_area(300.0)
    with pytest.raises(RangeError, match=r"service of the relay, from Test is 'Mux 9'; allowed: service 0"):
        feed_maps(area, [station(EAST)], ["Test"], ["Mux 9"], [5], Conditions("p526"), FeedQuestion(CHAIN))
