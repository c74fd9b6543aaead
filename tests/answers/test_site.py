"""Sitings as a whole: a planted hill, the rules, own relays, sets, second rounds, harm, and both searches."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from combe.answers.site_report import SiteReport, site_report
from combe.errors import RangeError, StudyError
from combe.study.project_of import load_project
from combe.terrain.grid import to_lonlat_deg
from support_planted import HILL, VALLEY, plant, valley_heights
from support_study import STUDY, write_study
from support_terrain import write_tif

SITING = """
[siting]
aerial_height_m = 20.0
cell_size_m = 300.0
sites = 2
{keys}

[[siting.services]]
name = "Mux 1"
channel = 41
erp_w = 20.0
"""


@pytest.fixture(scope="module")
def planted(tmp_path_factory) -> SiteReport:
    folder = tmp_path_factory.mktemp("planted")
    return site_report(load_project(plant(folder)), folder / "siting")


def test_the_planted_hill_comes_first(planted: SiteReport) -> None:
    first = planted.candidates[0]
    row, column = divmod(int(planted.work.search.hills[first.hill]), planted.work.area.grid.columns)
    assert abs(row - HILL[0]) <= 2
    assert abs(column - HILL[1]) <= 2
    assert first.people > 0.0
    assert len(planted.candidates) == 1 or planted.candidates[1].people < first.people


def test_the_reasons_printed_are_the_true_ones(planted: SiteReport) -> None:
    first, work = planted.candidates[0], planted.work
    worth, alone, feed, ground = first.reasons
    best = work.search.people.max()
    assert first.people == best
    assert worth.startswith(f"newly serves {best:.0f} of {work.unserved.total:.0f} people who lack a service")
    assert (work.search.people == best).sum() > 1 or "more people than any other" in worth
    above = float(valley_heights()[HILL] - valley_heights()[40:61, 68:89].min())
    told = float(ground.split()[1])
    assert told == pytest.approx(first.above_valley_m, abs=0.5)
    assert told > 0.6 * above
    assert f"hears Plain Mast over {first.parent_km:.1f} km: Mux 1, the weakest" in feed
    assert first.feed_margin_db == pytest.approx(min(each.margin_db for each in first.feed))
    assert f"{first.feed_margin_db - 10.0:.1f} dB more than asked" in feed
    assert alone == f"{first.alone:.0f} of them are reached by no other hill of the list"


def test_the_whole_coverage_counts_about_the_same(planted: SiteReport) -> None:
    for each in planted.candidates:
        assert each.counted == pytest.approx(each.people, rel=0.1, abs=20.0)


def test_hills_serve_those_who_receive_by_the_first_way(planted: SiteReport, tmp_path: Path) -> None:
    """Portable outdoors more people lack the service, and the whole coverage counts as the search does."""
    ways = '[reception]\nways = ["portable outdoor", "fixed roof"]\n\n[siting]'
    text = VALLEY.replace("[siting]", ways).replace("erp_w = 5.0", "erp_w = 2000.0")
    found = site_report(load_project(plant(tmp_path, text)), tmp_path / "siting")
    assert found.work.unserved.total >= planted.work.unserved.total
    assert found.provenance["ways of receiving"].startswith("portable outdoor, height loss Lh of GE06")
    assert found.candidates[0].people > 0.0
    for each in found.candidates:
        assert each.counted == pytest.approx(each.people, rel=0.1, abs=20.0)


def test_best_first_finds_the_same_list(planted: SiteReport, tmp_path: Path) -> None:
    text = VALLEY.replace("[siting]\n", '[siting]\nsearch = "best first"\n')
    found = site_report(load_project(plant(tmp_path, text)), tmp_path / "siting")
    assert [each.station for each in found.candidates] == [each.station for each in planted.candidates]
    assert [each.people for each in found.candidates] == [each.people for each in planted.candidates]
    assert found.sets.rows == ()
    assert found.work.search.priced_hills < planted.work.search.priced_hills


def study(folder: Path, keys: str = "", *, extra: str = "", **changes: str) -> Path:
    text = STUDY + SITING.format(keys=keys) + extra
    for old, new in changes.items():
        text = text.replace(old, new)
    path = write_study(folder, text)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return path


@cache
def sample_report(folder: Path) -> SiteReport:
    return site_report(load_project(study(folder)), folder / "siting")


@pytest.fixture(scope="module")
def sample(tmp_path_factory) -> SiteReport:
    return sample_report(tmp_path_factory.mktemp("sample"))


def test_the_list_is_apart_and_in_order(sample: SiteReport) -> None:
    listed, search = sample.candidates, sample.work.search
    assert [each.people for each in listed] == sorted((each.people for each in listed), reverse=True)
    columns = sample.work.area.grid.columns
    places = [np.divmod(search.hills[each.hill], columns) for each in listed]
    for n, one in enumerate(places):
        for other in places[:n]:
            assert np.hypot(*np.subtract(one, other)) * 300.0 >= 1000.0


def test_the_own_relay_is_told_of(sample: SiteReport) -> None:
    own = sample.own[0]
    assert own.name == "Combe Relay"
    assert own.better is None or f"{own.better} of {sample.work.search.hills.size} hills" in own.words
    assert own.words


def test_sets_are_exact_and_never_worse_than_greedy(sample: SiteReport) -> None:
    rows = sample.sets.rows
    assert [row.size for row in rows] == [1, 2]
    for row in rows:
        assert row.exact.people >= row.greedy.people - 1e-9
        assert row.exact.gap_fraction == 0.0
    assert rows[0].exact.people == pytest.approx(sample.candidates[0].people)
    for each in sample.sets.sites:
        assert max(each.erp_w) <= 20.0 + 1e-9


def test_no_shared_channel_harms_nobody(sample: SiteReport) -> None:
    assert {each.harmed for each in sample.candidates} == {0.0}
    assert not sample.work.search.may_harm
    assert sample.work.search.harm_words.startswith("exactly 0: no output lies on a channel")


def test_a_shared_channel_is_judged(tmp_path: Path) -> None:
    path = study(tmp_path, "list_length = 2")
    head, tail = path.read_text().split("[siting]")
    path.write_text(
        head + "[siting]" + tail.replace("channel = 41\nerp_w = 20.0", "channel = 31\nerp_w = 500.0")
    )
    found = site_report(load_project(path), tmp_path / "siting")
    assert "whoever serves them afterwards" in found.work.search.harm_words
    assert np.max(found.work.search.harmed) > 0.0


def test_rules_leave_hills_out(tmp_path: Path, sample: SiteReport) -> None:
    ring = [[-84.35, 36.55], [-84.2, 36.55], [-84.2, 36.7], [-84.35, 36.7], [-84.35, 36.55]]
    area = {"type": "Polygon", "coordinates": [ring]}
    keys = 'inside = "allowed.json"\nsteepest_deg = 12.0\nkeep_off_m = 3000.0\naccess = "allowed.json"\n'
    keys += "access_within_m = 100000.0\ncost_per_site = 50.0\ncost_per_access_km = 10.0"
    tmp_path.mkdir(exist_ok=True)
    content = {
        "type": "FeatureCollection",
        "features": [{"type": "Feature", "properties": {}, "geometry": area}],
    }
    (tmp_path / "allowed.json").write_text(json.dumps(content))
    found = site_report(load_project(study(tmp_path, keys)), tmp_path / "siting")
    left = [count for _, count in found.work.funnel.steps]
    assert left == sorted(left, reverse=True)
    assert left[-1] == found.work.search.hills.size < sample.work.search.hills.size
    for each in found.candidates:
        assert -84.36 < each.station.longitude_deg < -84.19
        assert each.slope_deg <= 12.0
        assert each.cost >= 50.0
        assert "people for each unit" in each.reasons[-1]
    assert found.own[0].words.startswith("not searched: ")


@pytest.mark.parametrize(("key", "inside"), [("outside", False), ("border", True)])
def test_masts_keep_out_of_a_polygon_or_inside_the_border(key: str, inside: bool, tmp_path: Path) -> None:
    ring = [[-84.40, 36.55], [-84.27, 36.55], [-84.27, 36.72], [-84.40, 36.72], [-84.40, 36.55]]
    area = {"type": "Polygon", "coordinates": [ring]}
    feature = {"type": "Feature", "properties": {}, "geometry": area}
    tmp_path.mkdir(exist_ok=True)
    (tmp_path / "area.json").write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    found = site_report(load_project(study(tmp_path, f'{key} = "area.json"')), tmp_path / "siting")
    grid = found.work.area.grid
    row, column = np.divmod(found.work.search.hills, grid.columns)
    x = grid.west_m + (column + 0.5) * grid.cell_size_m
    y = grid.north_m - (row + 0.5) * grid.cell_size_m
    lon, lat = to_lonlat_deg(grid, x, y)
    within = (lon > -84.40) & (lon < -84.27) & (lat > 36.55) & (lat < 36.72)
    assert within.size > 50
    assert within.all() if inside else not within.any()


def test_no_more_is_radiated_into_a_sector_than_allowed(tmp_path: Path) -> None:
    limit = "\n[[siting.limits]]\nfrom_deg = 0.0\nto_deg = 359.0\nerp_w = 5.0\n"
    found = site_report(load_project(study(tmp_path, extra=limit)), tmp_path / "siting")
    for each in found.candidates:
        assert [service.erp_w for service in each.station.services] == pytest.approx([5.0])


def test_relays_fed_by_relays_serve_those_who_are_left(tmp_path: Path) -> None:
    keys = "relays_feed_relays = true\nlist_length = 3"
    found = site_report(load_project(study(tmp_path, keys)), tmp_path / "siting")
    names = {each.station.name for each in found.sets.sites}
    for each in found.sets.further:
        assert each.feeds_from in names
        assert each.margin_db >= 10.0
        assert 0.0 < each.people < found.work.unserved.total


def test_a_share_of_the_people(tmp_path: Path) -> None:
    found = site_report(load_project(study(tmp_path, "share_percent = 60.0")), tmp_path / "siting")
    assert found.sets.for_share is not None
    people = found.work.search.problem.people
    anybody = np.unpackbits(np.bitwise_or.reduce(found.work.search.run.scores.served))
    whole = people[anybody[: people.size] > 0].sum()
    assert found.sets.for_share.people >= 0.6 * whole - 1e-6


def test_a_study_without_siting_is_told_what_to_write(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r"siting: is missing; say what the relay radiates"):
        site_report(load_project(write_study(tmp_path)), tmp_path / "siting")


def test_no_hill_left_says_which_rule_left_none(tmp_path: Path) -> None:
    path = study(tmp_path, "above_valley_m = 2900.0")
    with pytest.raises(StudyError, match=r"no cell is left; \d+ cells hear .* of them 0 are 2900 m or more"):
        site_report(load_project(path), tmp_path / "siting")


def test_best_first_runs_on_no_cluster(tmp_path: Path) -> None:
    path = study(tmp_path, 'search = "best first"')
    with pytest.raises(RangeError, match=r'search is "best first"; allowed: "every hill" on a cluster'):
        site_report(load_project(path), tmp_path / "siting", runner=lambda *_: iter(()))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('name = "Mux 1"\nchannel = 41\nerp_w = 20.0\n', 'name = "Mux 7"\nchannel = 41\nerp_w = 20.0\n',
         "siting.services: no parent radiates all of"),
        ("[siting]\n", '[siting]\npatterns = ["none.csv"]\n', "siting.patterns[0]"),
        ("[siting]\n", '[siting]\nborder = "none.gpkg"\n', 'siting.border: "none.gpkg": there is no'),
        ("[siting]\n", "[siting]\naccess_within_m = 5.0\n", "siting.access_within_m: needs roads or lines"),
        ("[siting]\n", "[siting]\nmast = 5.0\n", "siting.mast"),
        ('name = "Mux 1"\nchannel = 41', 'name = "Mux 1"\nchannel = 81',
         "siting.services[0].channel: channel 81 is unknown; allowed: 21 to 69"),
    ],
)  # fmt: skip
def test_faults_of_the_section(tmp_path: Path, old: str, new: str, words: str) -> None:
    start, end = (STUDY + SITING.format(keys="")).split("[siting]\n")
    text = start + ("[siting]\n" + end).replace(old, new, 1)
    with pytest.raises(StudyError) as caught:
        load_project(write_study(tmp_path, text))
    assert words in str(caught.value)


def test_faults_of_the_feed(tmp_path: Path) -> None:
    extra = '\n[siting.feed]\nfrom = ["Parent Hil"]\n'
    with pytest.raises(
        StudyError, match=r'siting\.feed\.from\[0\]: "Parent Hil" is no station .*Parent Hill'
    ):
        load_project(study(tmp_path, extra=extra))


def test_report_can_be_replaced_whole(sample: SiteReport) -> None:
    assert replace(sample, provenance={}).provenance == {}
