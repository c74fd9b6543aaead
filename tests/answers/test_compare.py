"""Studies side by side: counts as coverage has them, which is better, what differs, what does not fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import combe
from combe.answers.compare import CompareReport, compare_report
from combe.answers.compare_counts import APART, EQUAL, NOT_JUDGED
from combe.answers.compare_sides import onto
from combe.answers.compare_stations import station_differences
from combe.answers.cover import cover_report
from combe.errors import RangeError
from combe.project import GridWish, Project
from combe.study.project_of import load_project
from support_brief import whole_brief
from support_study import edited, write_study

COARSE = ("cell_size_m = 300", "cell_size_m = 900")


@pytest.fixture(scope="module")
def base(tmp_path_factory) -> Project:
    return load_project(write_study(tmp_path_factory.mktemp("base"), edited(COARSE)))


def with_power(project: Project, factor: float) -> Project:
    """Return the project with other powers of its relay."""
    relay = project.station("Combe Relay")
    services = tuple(replace(each, erp_w=each.erp_w * factor) for each in relay.services)
    changed = replace(relay, services=services)
    stations = tuple(changed if each is relay else each for each in project.stations)
    return replace(project, stations=stations, source="stronger.toml")


@pytest.fixture(scope="module")
def stronger(base) -> CompareReport:
    return compare_report([base, with_power(base, 100.0)])


def count(report: CompareReport, key: str):
    return next(each for each in report.counts if each.key == key)


def test_the_counts_are_those_of_the_coverage_of_each(base, stronger):
    covers = [cover_report(each, feeds=True) for each in (base, with_power(base, 100.0))]
    for key in ("served", "newly_served", "lost", "unserved"):
        found = count(stronger, key)
        assert found.values == tuple(getattr(each.all_services.people, key) for each in covers)
        assert found.ranges == tuple(getattr(each.all_services.ranges, key) for each in covers)
    for each in stronger.by_service:
        networks = [next(one for one in cover.services if one.name == each.of) for cover in covers]
        assert each.values == tuple(getattr(one.people, each.key) for one in networks)
    assert {each.of for each in stronger.by_service} == {"Mux 1", "Mux 2"}
    margins = [min(one.budget.margin_db for one in each.feeds.relays[0].services) for each in covers]
    assert count(stronger, "least_feed_margin_db").values == tuple(margins)
    assert count(stronger, "harm").values == tuple(
        sum(one.fall_below for one in each.harm) for each in covers
    )
    assert count(stronger, "erp_w").values == pytest.approx((40.0, 4000.0))


def test_more_power_from_one_mast_is_surely_better_for_people_and_worse_in_power(stronger):
    served = count(stronger, "served").held[0]
    assert served.difference == pytest.approx(np.diff(count(stronger, "served").values)[0])
    assert served.range.low > 0.0
    assert (served.better, served.chance_of_more) == ("B", 1.0)
    assert count(stronger, "unserved").held[0].better == "B"
    assert count(stronger, "erp_w").held[0].better == "A"
    assert count(stronger, "least_feed_margin_db").held[0].better == EQUAL
    (against,) = stronger.against
    assert against.only_second == pytest.approx(served.difference)
    assert against.only_first == 0.0


def test_a_study_held_against_itself_differs_in_nothing(base):
    report = compare_report([base, base])
    known = [each for each in report.counts if each.key != "running_cost"]
    assert {each.held[0].better for each in (*known, *report.by_service)} == {EQUAL}
    assert count(report, "running_cost").held[0].better == NOT_JUDGED
    (against,) = report.against
    assert (against.only_first, against.only_second, against.stations) == (0.0, 0.0, ())
    assert against.places == against.remarks == ()
    assert not against.cells.first.any()
    assert not against.cells.second.any()


def test_what_lies_within_the_error_cannot_be_told_apart(base):
    """The relay half a kilometre further: another mast, whose prediction is off in its own way."""
    relay = base.station("Combe Relay")
    moved = base.moved(relay.name, relay.longitude_deg + 0.005, relay.latitude_deg)
    report = compare_report([base, moved])
    served = count(report, "served").held[0]
    assert served.range.low < 0.0 < served.range.high
    back = count(compare_report([moved, base]), "served").held[0]
    assert back.difference == -served.difference != 0.0
    assert (served.better, back.better) == (APART, APART)
    feed = report.feeds[0].held[0]
    assert feed.difference != 0.0
    assert feed.better == APART


def test_a_mast_beside_the_other_is_off_in_its_own_way(base):
    """A metre further the counts are nearly the same, and yet it is another error that is drawn."""
    relay = base.station("Combe Relay")
    (beside, same) = (
        count(
            compare_report([base, base.moved(relay.name, relay.longitude_deg + off, relay.latitude_deg)]),
            "served",
        )
        for off in (0.00001, 0.0)
    )
    assert abs(beside.held[0].difference) < 5.0
    assert beside.held[0].range.high - beside.held[0].range.low > 20.0
    assert same.held[0].range.high == same.held[0].range.low == 0.0


def test_three_studies_are_each_held_against_the_first(base, stronger):
    report = compare_report([base, with_power(base, 100.0), with_power(base, 0.01)])
    assert report.letters == ("A", "B", "C")
    served = count(report, "served")
    assert [each.better for each in served.held] == ["B", "A"]
    assert served.held[0] == count(stronger, "served").held[0]
    assert [each.letter for each in report.against] == ["B", "C"]


def test_where_people_are_served_in_one_study_alone_adds_up(stronger):
    (against,) = stronger.against
    # Cells of the people with less than one person in them belong to no settlement.
    assert sum(each.only_second for each in against.places) == pytest.approx(against.only_second, rel=0.02)
    assert [each.only_second for each in against.places] == sorted(
        (each.only_second for each in against.places), reverse=True
    )
    assert sum(each.people for each in against.people) == pytest.approx(
        stronger.first.all_services.people.total, abs=1.0
    )
    assert {"in both", "in the second alone"} <= {each.state for each in against.people}


def test_people_with_names_are_told_by_name(tmp_path):
    rows = ["longitude_deg,latitude_deg,people,name"]
    rows += [f"{-84.20 + step / 200.0:.3f},36.60,10,{'Near' if step < 9 else 'Far'}" for step in range(18)]
    (tmp_path / "people.csv").write_text("\n".join(rows), encoding="utf-8")
    points = ('raster = "people.tif"', 'points = "people.csv"')
    base = load_project(write_study(tmp_path, edited(COARSE, points)))
    (against,) = compare_report([with_power(base, 0.001), with_power(base, 100.0)]).against
    assert {each.name for each in against.places} <= {"Near", "Far"}
    assert sum(each.only_second for each in against.places) == pytest.approx(against.only_second)


def test_districts_are_told_as_coverage_tells_them(tmp_path):
    brief = whole_brief(tmp_path)
    report = compare_report([brief.project, with_power(brief.project, 0.001)])
    names = [name for name, _ in brief.cover.all_services.districts]
    assert list(dict.fromkeys(each.district for each in report.by_district)) == names
    served = [each for each in report.by_district if each.key == "served"]
    known = dict(brief.cover.all_services.districts)
    assert [each.values[0] for each in served] == [known[each.district].served for each in served]
    whole = count(report, "served").held[0]
    assert sum(each.held[0].difference for each in served) == pytest.approx(whole.difference, abs=0.01)
    expected = sum(each.held[0].range.expected for each in served)
    assert expected == pytest.approx(whole.range.expected, rel=0.05, abs=2.0)


def test_what_differs_of_stations_is_told_in_words(base):
    relay = base.station("Combe Relay")
    service = replace(relay.services[0], channel=42, frequency_mhz=642.0, erp_w=2000.0)
    other = replace(relay, longitude_deg=-84.21, aerial_height_m=25.0, services=(service,), tilt_deg=1.0)
    changed = base.with_station(other, feed=base.feeds[relay.name])
    (found,) = station_differences(base, changed)
    assert (found.station, found.how) == ("Combe Relay", "moved")
    assert found.words == (
        "moved 895 m, to -84.2100°, 36.6000°", "aerial 20 m → 25 m", "tilt 0° → 1°",
        "Mux 1 channel 41 → 42", "Mux 1 20 W → 2.0 kW", "Mux 2 taken away",
    )  # fmt: skip
    alone = base.without("Combe Relay")
    assert [(each.station, each.how) for each in station_differences(base, alone)] == [
        ("Combe Relay", "taken away")
    ]
    (added,) = station_differences(alone, base)
    assert added.how == "added"
    assert added.words[0].startswith("relay at -84.2000°, 36.6000°, aerial 20 m; Mux 1 on channel 41, 20 W")
    dearer = replace(base, running_costs={"Combe Relay": 900.0})
    assert station_differences(base, dearer)[0].words == ("running cost – → 900",)


def test_costs_are_held_where_both_studies_state_them(base):
    one, two = (replace(base, running_costs={"Combe Relay": cost}) for cost in (900.0, 700.0))
    cost = count(compare_report([one, two]), "running_cost")
    assert (cost.values, cost.held[0].better, cost.held[0].difference) == ((900.0, 700.0), "B", -200.0)
    assert count(compare_report([one, base]), "running_cost").held[0].better == NOT_JUDGED


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"location_percent": 70.0}, r"location_percent of study b is 70; allowed: 95, as .*study.toml has"),
        ({"receive_height_m": 6.0}, "receive_height_m of study b is 6; allowed: 10"),
        ({"people": None}, "people of study b is none; allowed:"),
        (
            {"grid": GridWish(900.0, area_deg=(-84.4, 36.5, -84.1, 36.7))},
            "area of the grid of study b is -84.4, 36.5, -84.1, 36.7; allowed: all of the terrain",
        ),
    ],
)
def test_studies_that_do_not_fit_are_refused_in_one_line(base, changes, told):
    with pytest.raises(RangeError, match=told) as caught:
        compare_report([base, replace(base, source="study b", **changes)])
    assert "\n" not in str(caught.value)


def test_other_ground_is_refused(base, tmp_path):
    import rasterio

    path = write_study(tmp_path, edited(COARSE))
    with rasterio.open(tmp_path / "terrain.tif", "r+") as dataset:
        heights = dataset.read(1)
        heights[100:140] += 5
        dataset.write(heights, 1)
    with pytest.raises(RangeError, match=r"terrain of .* is another in \d+ of \d+ cells; allowed: the same"):
        compare_report([base, load_project(path)])


def test_copies_of_the_same_ground_and_people_fit(base, tmp_path):
    assert (
        compare_report([base, load_project(write_study(tmp_path, edited(COARSE)))]).against[0].remarks == ()
    )


def test_other_cells_are_held_against_the_nearest_and_said(base):
    finer = replace(base, grid=replace(base.grid, cell_size_m=600.0), source="finer.toml")
    report = compare_report([base, finer])
    (against,) = report.against
    assert against.margin_db.shape == report.first.all_services.margin_db.shape
    assert any(words.startswith("its grid is ") for words in against.remarks)
    assert count(report, "served").values[1] == cover_report(finer).all_services.people.served
    assert count(report, "served").held[0].better == APART


def test_cells_are_read_where_they_lie(base):
    fine = cover_report(replace(base, grid=replace(base.grid, cell_size_m=300.0)))
    coarse = cover_report(base)
    read = onto(coarse.grid, fine.grid)
    columns = np.indices((fine.grid.rows, fine.grid.columns), dtype=float)[1]
    x_m = fine.grid.west_m + (columns + 0.5) * 300.0
    found = read.read(x_m, np.nan)
    asked = coarse.grid.west_m + (np.arange(coarse.grid.columns) + 0.5) * 900.0
    assert np.nanmax(np.abs(found - asked)) <= 150.0 + 1e-6
    assert np.isfinite(found).mean() > 0.9


def test_another_model_shares_no_error_and_says_so(base):
    report = compare_report([base, base.by_model("free-space")])
    assert "no error is shared" in " ".join(report.against[0].remarks)
    same = compare_report([base, base])
    assert same.against[0].remarks == ()


def test_studies_without_people_have_nothing_to_count(base):
    nobody = replace(base, people=None)
    report = compare_report([nobody, with_power(nobody, 2.0)])
    assert {each.held[0].better for each in report.by_service} == {NOT_JUDGED}
    assert report.against[0].only_second is None
    assert count(report, "erp_w").held[0].better == "A"
    assert "No people are counted" in combe.report(report).text()


def test_two_or_three_studies_are_asked(base):
    for several in ([base], [base] * 4):
        with pytest.raises(RangeError, match="number of studies is"):
            compare_report(several)


def test_the_verb_of_the_library_is_the_same(base, stronger):
    found = combe.compare(base, with_power(base, 100.0))
    assert found.counts == stronger.counts
    assert combe.report(found).document.kind == "compare"
