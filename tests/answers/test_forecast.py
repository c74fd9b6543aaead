"""Forecasts: counted work held to what is then worked on, the choice of coarse first, memory refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import combe.answers.forecast as forecasting
import combe.answers.forecast_rates as measuring
from combe.answers.cover import cover_report
from combe.answers.forecast import (
    USUAL_RATES,
    CoarseWork,
    Rates,
    SearchCounts,
    cover_work,
    require_memory,
    search_work,
)
from combe.answers.forecast_rates import cover_forecast, site_forecast
from combe.answers.site_report import SiteReport, site_report
from combe.answers.site_wide import CoarseFirst
from combe.errors import MemoryNeedError
from combe.project import Project
from combe.study.project_of import load_project
from support_planted import plant
from support_study import STUDY, write_study

COARSE = CoarseWork(looks=1000, full_pairs=1000, feeds=100)


def counts(**changes: float) -> SearchCounts:
    return replace(SearchCounts(10_000, 2, 1, 8000, 500, 10), **changes)


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> Project:
    return load_project(plant(tmp_path_factory.mktemp("ahead")))


@pytest.fixture(scope="module")
def coarse(planted: Project, tmp_path_factory: pytest.TempPathFactory) -> SiteReport:
    return site_report(planted, tmp_path_factory.mktemp("coarse"), coarse_first=CoarseFirst())


def test_pairs_cost_their_rate_and_so_do_feeds_and_cells() -> None:
    found = search_work(counts(), COARSE, USUAL_RATES, choose=False)
    dearer = search_work(counts(), COARSE, replace(USUAL_RATES, pair_us=1.2), choose=False)
    assert dearer.seconds - found.seconds == pytest.approx(1e-6 * 8000 * 500)
    fed = search_work(counts(), COARSE, replace(USUAL_RATES, feed_us=140.0), choose=False)
    assert fed.seconds - found.seconds == pytest.approx(1e-6 * 100.0 * 10_000)
    cells = cover_work("cover", 10_000, 2, 3, replace(USUAL_RATES, cell_us=103.0))
    assert cells.seconds - cover_work("cover", 10_000, 2, 3, USUAL_RATES).seconds == pytest.approx(3.0)


def test_a_search_of_over_a_minute_goes_coarse_first_and_a_shorter_one_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(forecasting, "SMALL_UNDER_S", 0.0)
    # 8000 hills × 500 places at 14 µs are 56 s, at 16 µs 64 s.
    short, long = (Rates(0.0, 0.0, rate, measured=True) for rate in (14.0, 16.0))
    assert not search_work(counts(), COARSE, short, choose=True).coarse_first
    chosen = search_work(counts(), COARSE, long, choose=True)
    assert chosen.coarse_first
    assert chosen.whole_seconds > 60.0 > chosen.seconds
    assert not search_work(counts(), COARSE, long, choose=False).coarse_first


def test_a_small_search_prices_every_hill_on_any_machine() -> None:
    slow = Rates(0.0, 0.0, 1000.0, measured=True)
    assert not search_work(counts(), COARSE, slow, choose=True).coarse_first
    # Twenty times the hills are no small search by usual rates, 0.2 µs a pair.
    assert search_work(counts(allowed=160_000), COARSE, slow, choose=True).coarse_first


def test_a_search_that_memory_cannot_hold_goes_coarse_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(forecasting, "machine_memory_mib", lambda: 300.0)
    many = counts(allowed=80_000, inhabited=20_000)
    quick = Rates(0.0, 0.0, 0.001, measured=True)
    assert search_work(many, COARSE, quick, choose=True).coarse_first


def test_memory_grows_with_what_is_kept_of_each_pair() -> None:
    one, two = (
        search_work(counts(allowed=n), COARSE, USUAL_RATES, choose=False).memory_mib for n in (1e6, 2e6)
    )
    # A bit for each pair, as read, put together and sorted out.
    assert two - one == pytest.approx(3.0 * 1e6 * 500 / 8.0 / 2**20)


def test_more_memory_than_the_machine_has_is_refused_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(forecasting, "machine_memory_mib", lambda: 100.0)
    with pytest.raises(MemoryNeedError) as told:
        require_memory(search_work(counts(), COARSE, USUAL_RATES, choose=False))
    words = str(told.value)
    assert "8000 hills × 500 places" in words
    assert "allowed: 100" in words
    assert "cell_size_m" in words
    assert "\n" not in words
    with pytest.raises(MemoryNeedError, match="10000 cells"):
        require_memory(cover_work("cover", 10_000, 2, 2, USUAL_RATES))
    monkeypatch.setattr(forecasting, "machine_memory_mib", lambda: None)
    require_memory(cover_work("cover", 10_000, 2, 2, USUAL_RATES))


def test_counted_work_is_at_least_what_is_then_worked_on(planted: Project, coarse: SiteReport) -> None:
    found = site_forecast(planted).forecast
    work = coarse.work
    assert found.most
    assert found.cells == work.area.heights_m.size
    assert found.places is not None
    assert found.places >= work.unserved.cells.size
    assert found.hills is not None
    assert found.hills == int(work.funnel.allowed.sum())
    assert not found.coarse_first


def test_a_sample_tells_how_many_hear_and_lack(
    planted: Project, coarse: SiteReport, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(measuring, "MEASURED_OVER_S", 0.0)
    found = site_forecast(planted).forecast
    assert found.rates.measured
    assert not found.most
    assert found.places == pytest.approx(coarse.work.unserved.cells.size, rel=0.15)
    assert found.rates.pair_us > 0.0
    assert found.rates.cell_us > 0.0


def test_coarse_work_is_counted_as_it_is_done(planted: Project, coarse: SiteReport) -> None:
    sample = measuring._Sample(planted, coarse.work.siting, site_forecast(planted).ground)
    ahead, wide = sample.coarse(sample.counts()), coarse.work.search.wide
    assert wide is not None
    # No more feeds and looks than were told, and not far fewer: neighbourhoods here are few.
    assert wide.looked_at <= ahead.feeds
    assert wide.estimated_pairs <= ahead.looks
    assert wide.looked_at > 0.2 * ahead.feeds


def test_stations_that_disturb_are_swept_twice(tmp_path: Path) -> None:
    alone = load_project(write_study(tmp_path / "a", STUDY))
    shared = load_project(write_study(tmp_path / "b", STUDY.replace("channel = 41", "channel = 27")))
    one, two = cover_forecast(alone), cover_forecast(shared)
    assert one.stations == two.stations == 2
    assert one.cells == two.cells == cover_report(alone).heights_m.size
    assert two.seconds > one.seconds


def test_coarse_first_lists_the_planted_hill_and_says_what_is_exact(
    planted: Project, coarse: SiteReport, tmp_path: Path
) -> None:
    every = site_report(planted, tmp_path)
    first, best = coarse.candidates[0], every.candidates[0]
    assert first.people == best.people
    search = coarse.work.search
    assert search.wide is not None
    assert int(np.count_nonzero(~np.isnan(search.people))) == search.wide.exact == search.priced_hills
    assert f"of the {search.wide.exact} hills priced in full" in first.reasons[0]
    assert coarse.sets.rows == ()
    assert first.feed_margin_db == pytest.approx(
        every.work.search.feed_margin_db[np.searchsorted(every.work.search.hills, search.hills[first.hill])]
    )


def test_what_a_coarse_search_priced_is_found_again(planted: Project, tmp_path: Path) -> None:
    one = site_report(planted, tmp_path, coarse_first=CoarseFirst())
    (kept,) = tmp_path.glob("leading-*.npz")
    with np.load(kept) as found:
        assert found["cells"].size == one.work.search.wide.exact
    again = site_report(planted, tmp_path, coarse_first=CoarseFirst())
    assert [each.people for each in again.candidates] == [each.people for each in one.candidates]


def test_a_study_that_asks_for_bounds_gets_them(planted: Project, monkeypatch: pytest.MonkeyPatch) -> None:
    assert planted.siting is not None
    monkeypatch.setattr(forecasting, "COARSE_OVER_S", -1.0)
    monkeypatch.setattr(forecasting, "SMALL_UNDER_S", 0.0)
    monkeypatch.setattr(measuring._Sample, "coarse", lambda *_: CoarseWork(0, 0, 0))
    bounds = replace(planted, siting=replace(planted.siting, search="best first"))
    assert site_forecast(planted).forecast.coarse_first
    assert not site_forecast(bounds).forecast.coarse_first
