"""Each figure of a siting stands under one name, wherever it is shown, and figures that differ have two."""

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from combe.answers.site_feed import WholeFeed
from combe.answers.site_report import site_report
from combe.publishing import as_json as renderer
from combe.publishing.document import Facts, Table
from combe.reports.site import document
from combe.reports.site_files import SiteFiles
from combe.reports.site_hill import document as hill_document
from combe.reports.site_words import own_words
from combe.study.project_of import load_project
from support_study import SITING, STUDY, write_study
from support_terrain import write_tif

DISTINCT = {
    "draws": np.arange(800.0, 1000.5),
    "rank": 7,
    "ground_m": 501.0,
    "above_valley_m": 202.0,
    "slope_deg": 13.0,
    "access_m": 404.0,
    "parent": "Some Mast",
    "parent_km": 17.0,
    "feed_margin_db": 23.0,
    "people": 1001.0,
    "harmed": 31.0,
    "counted": 1103.0,
    "alone": 57.0,
    "option": "half turn",
    "azimuth_deg": 135.0,
    "cost": 11.0,
    "reasons": ("one", "two"),
}
"""A value of its own for each field of a hill, so that no two can be taken for one another."""


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("figures")
    path = write_study(folder, STUDY + SITING)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return site_report(load_project(path), folder / "blocks")


def as_json(report):
    pages = tuple(Path(f"hill-{n}.html") for n, _ in enumerate(report.candidates, start=1))
    files = SiteFiles(Path("site.html"), pages, (), Path("site.gpkg"))
    return json.loads(renderer.as_json(document(report, files)))


def tables_of(made):
    return [part for part in made.parts if isinstance(part, Table)]


def heads_of(report):
    return [field.head for table in tables_of(document(report))[:2] for field in table.fields]


def facts_of(report):
    (facts,) = (part for part in hill_document(report, 0).parts if isinstance(part, Facts))
    return [field.head for field in facts.fields]


def notes_of(report):
    return "; ".join(table.note for table in tables_of(document(report)))


def with_costs(report, has_costs):
    work = report.work
    return replace(report, work=replace(work, search=replace(work.search, has_costs=has_costs)))


def test_every_value_of_a_hill_stands_under_its_key(report):
    one = replace(report.candidates[1], **DISTINCT)
    made = as_json(with_costs(replace(report, candidates=(one,)), has_costs=True))["list"][0]
    expected = {
        "rank": 7,
        "ground_m": 501.0,
        "above_valley_m": 202.0,
        "slope_deg": 13.0,
        "access_m": 404.0,
        "parent": "Some Mast",
        "parent_km": 17.0,
        "search_margin_db": 23.0,
        "people": 1001.0,
        "people_harmed": 31.0,
        "people_counted": 1103.0,
        "people_alone": 57.0,
        "score": 970.0,
        "pattern": "half turn",
        "azimuth_deg": 135.0,
        "cost": 11.0,
        "reasons": ["one", "two"],
        "longitude_deg": round(one.station.longitude_deg, 7),
        "latitude_deg": round(one.station.latitude_deg, 7),
        "feed_verdict": one.whole_feed.verdict,
        "feed_causes": list(one.whole_feed.causes),
        "feed_not_judged": list(one.whole_feed.not_judged),
        "share_percent": pytest.approx(100.0 * one.share),
        "judged_margin_db": round(min(each.budget.margin_db for each in one.whole_feed.services), 6),
        "exposure_m": one.exposure.distance_m,
        "people_range": {"low": 820.0, "expected": 900.0, "high": 980.0},
        "first_leads_fraction": None,
        "told_apart": None,
    }
    assert {name: made[name] for name in expected} == expected
    assert set(made) - set(expected) == {"feed", "services", "page", "own_feed"}
    levels = [(each.input_dbm, each.carrier_to_noise_db, each.margin_db) for each in one.feed]
    rows = [
        (each.service, *(round(level, 6) for level in some))
        for each, some in zip(one.feed, levels, strict=True)
    ]
    assert [tuple(each.values()) for each in made["feed"]] == rows
    assert list(made["feed"][0])[-1] == "search_margin_db"


def test_a_hill_is_told_apart_where_the_first_leads_by_more_than_the_error(report):
    """Draws of 20, 60 and 100 people less than the first has, which itself scatters by 100 about 900."""
    spread, (best, one) = np.arange(800.0, 1001.0), report.candidates[:2]
    # What it takes from others, and what it costs, count as well.
    hills = [replace(best, draws=spread + 30.0, harmed=30.0, cost=1.0)]
    hills += [
        replace(one, rank=k + 2, draws=0.5 * (spread - down), harmed=0.0, cost=0.5)
        for k, down in enumerate((20.0, 60.0, 180.0))
    ]
    made = replace(report, candidates=tuple(hills))
    listed = as_json(made)["list"]
    chances = [each["first_leads_fraction"] for each in listed]
    assert chances[0] is None
    # Of two even draws over a width w the one that is moved by d is the greater with 1 - (1 - d/w)²/2.
    expected = [1.0 - 0.5 * (1.0 - down / 201.0) ** 2 for down in (20.0, 60.0, 180.0)]
    assert chances[1:] == pytest.approx(expected, abs=0.003)
    assert [each["told_apart"] for each in listed] == [None, False, False, True]
    own = "Combe Relay's own feed fails there."
    told = "By the prediction's error hills 2 and 3 cannot be told apart from it."
    assert document(made).headline[1] == f"{told} {own}"
    assert "first leads: chance that hill 1 is worth more" in notes_of(made)
    alone = replace(report, candidates=tuple(hills[::3]))
    assert document(alone).headline[1] == (
        f"It leads all others of the list by more than the prediction's error. {own}"
    )


def test_sets_and_own_relays_have_their_values(report):
    rows = tuple(
        replace(row, greedy=replace(row.exact, people=900.0 - row.size, harmed=3.0), exact=each)
        for row in report.sets.rows
        for each in [replace(row.exact, harmed=17.0, bound=1300.0, gap_fraction=0.25)]
    )
    report = replace(report, sets=replace(report.sets, rows=rows))
    made = as_json(report)
    for row, found in zip(report.sets.rows, made["sets"], strict=True):
        best = row.exact
        assert found == {
            "sites": row.size,
            "people": round(best.people, 3),
            "people_harmed": best.harmed,
            "score": round(best.people - best.harmed, 3),
            "score_greedy": row.greedy.people - row.greedy.harmed,
            "bound": best.bound,
            "gap_fraction": best.gap_fraction,
        }
    own = [(each["name"], each["people"], each["better_hills"]) for each in made["own_relays"]]
    assert own == [(each.name, each.people, each.better) for each in report.own]


def test_no_cost_is_told_where_none_was_given(report):
    bare = as_json(report)
    assert [each["cost"] for each in bare["list"]] == [None] * len(report.candidates)
    assert "cost" not in heads_of(report)
    assert "cost" in heads_of(with_costs(report, has_costs=True))
    assert "Cost" not in facts_of(report)
    share = report.sets.rows[0].exact
    priced = replace(report, sets=replace(report.sets, for_share=share))
    assert as_json(priced)["for_share"]["cost"] is None
    assert as_json(with_costs(priced, has_costs=True))["for_share"]["cost"] == share.cost


def test_the_margin_of_the_search_is_called_so_wherever_it_stands(report):
    """The page of a hill shows it beside the margin of the feed as judged, which may differ by a tenth."""
    assert "search margin" in heads_of(report)
    assert "margin" not in heads_of(report)
    assert "search margin: of the feed, by the search" in notes_of(report)
    assert {"Weakest search margin", "Margin of the feed as judged"} <= set(facts_of(report))
    tables = tables_of(hill_document(report, 0))
    (searched,) = (each for each in tables if "search margin" in [field.head for field in each.fields])
    assert searched.title.endswith(", as searched")
    (reason,) = (words for words in report.candidates[0].reasons if words.startswith("hears"))
    assert " by the search, " in reason


def test_the_judged_margin_is_that_of_the_scantiest_service():
    services = [SimpleNamespace(budget=SimpleNamespace(margin_db=each)) for each in (4.0, 3.0, 5.0)]
    assert WholeFeed("passes", tuple(services)).margin_db == 3.0


def test_people_of_the_search_are_told_from_those_counted(report):
    words = notes_of(report)
    assert "people: newly served in all services, by the search" in words
    assert "counted: people by the whole coverage of the station" in words
    own = replace(report.own[0], people=1648.0)
    assert "would serve 1 648 by the search, as the relay tried here;" in own_words(own).replace(
        "\u202f", " "
    )
