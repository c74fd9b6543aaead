"""The feed of a listed hill is judged as the relay's in a study, and an adjacent channel fails it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from combe.answers.feed import feed_report
from combe.answers.site_feed import whole_feed
from combe.answers.site_report import SiteReport, site_report
from combe.answers.site_setup import parents_of
from combe.errors import RangeError
from combe.study.project_of import load_project
from support_study import STUDY, write_study
from support_terrain import write_tif

SITING = """
[siting]
aerial_height_m = 20.0
cell_size_m = 300.0
sites = 1
list_length = 3

[[siting.services]]
name = "Mux 1"
channel = 41
erp_w = 20.0

[siting.feed]
from = ["Parent Hill"]
"""

HILL = """
[[stations]]
name = "{name}"
role = "relay"
longitude_deg = {longitude_deg!r}
latitude_deg = {latitude_deg!r}
aerial_height_m = 20.0
polarization = "vertical"

[[stations.services]]
name = "Mux 1"
channel = 41
erp_w = 20.0

[stations.feed]
from = "Parent Hill"
aerial_height_m = 12.0
aerial_gain_dbi = 14.0
feeder_loss_db = 2.0
noise_figure_db = 6.0
required_margin_db = 10.0
"""

NEIGHBOUR = """
[[stations]]
name = "Loud Mast"
role = "parent"
longitude_deg = -84.28
latitude_deg = 36.63
aerial_height_m = 100.0
polarization = "horizontal"

[[stations.services]]
name = "Mux 9"
channel = 28
erp_w = 500000.0
"""


ALLOWANCE = "fade_allowance_db = 8.0\n"

BEYOND = "cell_size_m = 300\narea_deg = [-84.29, 36.50, -84.10, 36.66]"
"""An area from whose nearest corner Parent Hill is some 6 km away."""


def sited(folder: Path, more: str = "", area: str = "cell_size_m = 300", feed: str = "") -> SiteReport:
    text = STUDY.split('[[stations]]\nname = "Combe Relay"')[0].replace("cell_size_m = 300", area)
    path = write_study(folder, text + more + SITING + feed)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return site_report(load_project(path), folder / "siting")


def in_a_study(report: SiteReport, rank: int, folder: Path, more: str = ""):
    """Return the feed of a hill that stands in the study as a relay."""
    station = report.candidates[rank].station
    place = {"longitude_deg": station.longitude_deg, "latitude_deg": station.latitude_deg}
    text = STUDY.split('[[stations]]\nname = "Combe Relay"')[0] + more
    return feed_report(
        load_project(write_study(folder, text + HILL.format(name=station.name, **place)))
    ).relays[0]


@pytest.mark.parametrize("more", ["", NEIGHBOUR], ids=["alone", "beside another"])
def test_it_is_the_feed_of_the_relay_in_a_study(more: str, tmp_path: Path) -> None:
    found = sited(tmp_path / "siting", more)
    for rank in range(2):
        whole, relay = found.candidates[rank].whole_feed, in_a_study(found, rank, tmp_path / f"{rank}", more)
        assert whole.verdict == relay.verdict
        assert [each.budget for each in whole.services] == [each.budget for each in relay.services]
        assert [each.judged for each in whole.services] == [each.judged for each in relay.services]


@pytest.mark.parametrize("share", [99.0, 99.9])
def test_a_hill_taken_into_the_study_has_the_margin_of_the_list(share: float, tmp_path: Path) -> None:
    """The hill of the list and combe feed are one engine, for whatever share of the year is asked."""
    found = sited(tmp_path / "siting")
    work, station = found.work, found.candidates[0].station
    asked = replace(work.siting, feed=replace(work.siting.feed, time_percent=share))
    hill = whole_feed(replace(work, siting=asked), station)
    place = {"longitude_deg": station.longitude_deg, "latitude_deg": station.latitude_deg}
    text = STUDY.split('[[stations]]\nname = "Combe Relay"')[0] + HILL.format(name=station.name, **place)
    text += f"time_percent = {share}\n"
    relay = feed_report(load_project(write_study(tmp_path / "relay", text))).relays[0]
    margins_db = [service.budget.margin_db for service in relay.services]
    assert hill.margin_db == pytest.approx(min(margins_db), abs=0.01)
    assert {each.budget.time_percent for each in hill.services} == {share}
    assert hill.services[0].budget.fade_db == relay.services[0].budget.fade_db > 1.0
    assert hill.services[0].year == relay.services[0].year


@pytest.mark.parametrize("area", ["cell_size_m = 300", BEYOND], ids=["on the grid", "beyond the grid"])
def test_the_search_and_the_judge_agree_where_nothing_interferes(tmp_path: Path, area: str) -> None:
    """Fades alike, and margins too in line of sight; where hills block, the medians differ a little.

    The search samples a straight way at the step of its grid, the judge the geodesic one, and the edges of a
    blocked way tell which: some tenths of a decibel here.
    """
    report = sited(tmp_path, area=area)
    (feeds,) = report.work.feeds
    assert len(report.candidates) == 3
    for each in report.candidates:
        assert each.whole_feed.words == "passes"
        margin_db = min(service.budget.margin_db for service in each.whole_feed.services)
        service = each.whole_feed.services[0]
        (at,) = np.flatnonzero(np.abs(feeds.worst_margin_db - each.feed_margin_db) < 1e-9)
        faded_dbm = feeds.carrier_to_noise_db[0, at] + service.budget.noise_dbm
        fade_db = feeds.input_dbm[0, at] - faded_dbm
        assert fade_db == pytest.approx(service.budget.fade_db, abs=0.02)
        sight = service.prediction.line_of_sight
        assert margin_db == pytest.approx(each.feed_margin_db, abs=0.01 if sight else 0.4)
    assert any(each.whole_feed.services[0].prediction.line_of_sight for each in report.candidates)


def test_an_allowance_is_counted_by_the_search_and_by_the_judge(tmp_path: Path) -> None:
    """On top of the fade, whatever the model."""
    plain, spared = (sited(tmp_path / name, feed=feed) for name, feed in (("a", ""), ("b", ALLOWANCE)))
    work = replace(plain.work, siting=spared.work.siting)
    station = plain.candidates[0].station
    found = whole_feed(work, station)
    assert plain.candidates[0].whole_feed.margin_db - found.margin_db == pytest.approx(8.0)
    assert spared.work.feeds[0].margin_db == pytest.approx(plain.work.feeds[0].margin_db - 8.0, nan_ok=True)
    assert "and an allowance of 8 dB" in spared.provenance["feed"]
    assert "allowance" not in plain.provenance["feed"]


def test_a_strong_neighbour_on_the_next_channel_fails_it(tmp_path: Path) -> None:
    found = sited(tmp_path, NEIGHBOUR)
    words = [each.whole_feed.words for each in found.candidates]
    assert any("adjacent channel" in each for each in words), words
    assert all(each.feed_margin_db >= 10.0 for each in found.candidates)


def test_of_the_parents_that_are_named_those_off_the_air_are_not_received(tmp_path: Path) -> None:
    parent = STUDY[STUDY.index("[[stations]]") : STUDY.rindex("[[stations]]")]
    second = parent.replace("Parent Hill", "Second Hill").replace(
        'role = "parent"', 'role = "parent"\non_air = false'
    )
    text = STUDY.replace("[[stations]]", f"{second}[[stations]]", 1)
    asked = '\n[siting]\n[[siting.services]]\nname = "Mux 1"\nchannel = 41\nerp_w = 20.0\n[siting.feed]\n'
    path = write_study(tmp_path, f'{text}{asked}from = ["Second Hill", "Parent Hill"]\n')
    found = load_project(path)
    assert found.siting is not None
    assert parents_of(found, found.siting, found.stations) == ["Parent Hill"]
    path.write_text(path.read_text(encoding="utf-8").replace(', "Parent Hill"]', "]"), encoding="utf-8")
    alone = load_project(path)
    assert alone.siting is not None
    with pytest.raises(RangeError, match="it is off the air in this study"):
        parents_of(alone, alone.siting, alone.stations)
