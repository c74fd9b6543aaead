"""The study's own relay on a hill is judged as combe feed judges it, and what would carry it is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from combe.answers.feed import feed_report
from combe.answers.feed_advice import with_advice
from combe.answers.site_own_feed import own_feed, own_relay
from combe.answers.site_report import SiteReport, site_report
from combe.errors import TerrainGapError
from combe.reports.site import document
from combe.reports.site_hill import document as hill_document
from combe.reports.site_own_feed import own_line
from combe.study.project_of import load_project
from support_feed_study import DIGITAL
from support_study import SITING, STUDY, edited, write_study

POOR = ("noise_figure_db = 6.0", "noise_figure_db = 28.0")


def sited(folder: Path, *changes: tuple[str, str], siting: str = SITING) -> SiteReport:
    text = edited(*changes, text=STUDY) + siting
    return site_report(load_project(write_study(folder, text)), folder / "blocks")


@pytest.fixture(scope="module")
def poor(tmp_path_factory) -> SiteReport:
    """Return a siting of a study whose own relay hears less than the siting's aerial does."""
    return sited(tmp_path_factory.mktemp("poor"), POOR)


def test_it_is_the_feed_of_the_study_with_its_relay_moved_there(poor: SiteReport) -> None:
    project = poor.work.project
    relay = project.station("Combe Relay")
    verdicts = set()
    for hill in poor.candidates:
        station = hill.station
        moved = replace(relay, longitude_deg=station.longitude_deg, latitude_deg=station.latitude_deg)
        (there,) = with_advice(
            feed_report(project.with_station(moved, feed=project.feeds["Combe Relay"]))
        ).relays
        own = poor.own_feeds[hill.hill]
        assert own.verdict == there.verdict
        assert own.margin_db == min(each.budget.margin_db for each in there.services)
        assert own.feed.advice == there.advice
        verdicts.add(own.verdict)
    assert "fails" in verdicts
    assert all(hill.whole_feed.verdict == "passes" for hill in poor.candidates)


def test_a_hill_on_which_it_fails_says_so_and_what_would_carry_it(poor: SiteReport) -> None:
    number = next(n for n, hill in enumerate(poor.candidates) if poor.own_feeds[hill.hill].verdict == "fails")
    own = poor.own_feeds[poor.candidates[number].hill]
    assert own.words.startswith("fails: ")
    assert own_line(own).startswith("with Combe Relay's own aerial and chain its feed fails: ")
    parts = {part.title: part for part in hill_document(poor, number).parts}
    verdict = parts["Verdict on the feed with Combe Relay's own aerial and chain"]
    assert verdict.verdict.look == "fails"
    assert "With the siting's aerial of 14 dBi at 12 m" in verdict.note
    assert verdict.note.endswith("it passes.")
    assert parts["What would carry it, tried and judged as the feed is"].lines
    if number == 0:
        assert document(poor).headline[1].endswith("Combe Relay's own feed fails there.")


def test_no_relay_is_moved_where_none_radiates_all_or_where_all_stay(poor: SiteReport) -> None:
    work, station = poor.work, poor.candidates[0].station
    assert own_relay(work)[0].name == "Combe Relay"
    more = replace(work.siting, before="all stations")
    assert own_feed(replace(work, siting=more), station) is None
    other = replace(work.siting.services[0], name="Mux 7")
    assert own_relay(replace(work, siting=replace(work.siting, services=(other,)))) is None
    alone = replace(poor, work=replace(work, siting=more))
    assert alone.own_feeds == {}
    heads = [field.head for part in document(alone).parts[:1] for field in part.fields]
    assert "own relay" not in heads
    assert "own relay" in [field.head for part in document(poor).parts[:1] for field in part.fields]


def test_a_feed_over_ground_that_is_not_known_is_not_judged(poor: SiteReport, monkeypatch) -> None:
    def gap(*_: object) -> None:
        raise TerrainGapError("terrain.tif", "the way")

    monkeypatch.setattr("combe.answers.site_own_feed.relay_site", gap)
    own = own_feed(poor.work, poor.candidates[0].station)
    why = "no terrain height at the way (tile terrain.tif)"
    assert (own.verdict, own.words, own.causes) == ("not judged", f"not judged: {why}", ())
    told = f"with Combe Relay's own aerial and chain its feed is not judged: {why}"
    assert own_line(own) == told
    parts = hill_document(replace(poor), 0).parts
    (table,) = (part for part in parts if part.title.startswith("Verdict on the feed with Combe"))
    assert table.verdict.look == "not judged"
    assert why in table.note


def test_at_its_own_place_it_is_the_relay_as_it_is_built(tmp_path: Path) -> None:
    """Its chain and its outputs go with it."""
    project = load_project(write_study(tmp_path, DIGITAL))
    relay = project.station("Upper Combe")
    siting = SimpleNamespace(before="parents", services=relay.services)
    work = SimpleNamespace(siting=siting, project=project, on_air=(project.station("Long Moor"),))
    own = own_feed(work, replace(relay, name="Hill 1", parent="Long Moor"))
    (there,) = feed_report(project).relays
    assert own.relay == "Upper Combe"
    assert own.feed.output == there.output
    assert own.feed.output is not None
    assert own.feed.site.own_outputs == there.site.own_outputs
    assert [each.budget for each in own.feed.services] == [each.budget for each in there.services]
