"""A coverage in both seasons: woods without leaves let more through, and the command tells whom it serves."""

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.cover import cover_report
from combe.answers.season_change import season_change
from combe.errors import RangeError
from combe.study.project_of import load_project
from support_cli import complaint, run, run_json
from support_study import edited, write_study
from support_terrain import write_tif

SECTION = (
    '[clutter]\nraster = "cover.tif"\nlegend = "nlcd"\nseason = "{season}"\n'
    "[[clutter.leafless]]\nclass_number = 41\nheight_factor = 0.4\n"
)


def wooded(folder, season="in leaf"):
    """Write a study all of whose ground is wooded, but around the aerials, which stand in clearings."""
    changes = (
        ("cell_size_m = 300", "cell_size_m = 900"),
        ("[people]", f"{SECTION.format(season=season)}\n[people]"),
    )
    path = write_study(folder, edited(*changes))
    codes = np.full((400, 450), 41, dtype=np.uint8)
    codes[::2, ::3] = 71
    write_tif(folder / "cover.tif", codes, -84.5, 36.85, 0.001, nodata=0)
    return path


@pytest.fixture(scope="module")
def changed(tmp_path_factory):
    cover = cover_report(load_project(wooded(tmp_path_factory.mktemp("wooded"))))
    return cover, season_change(cover)


def test_fields_rise_where_leaves_fall_and_more_are_served(changed):
    cover, change = changed
    assert change.season == "leafless"
    assert [each.station for each in change.stations] == ["Parent Hill", "Combe Relay"]
    for station in change.stations:
        assert station.median_db > 0.5
        assert station.lowest_db <= station.median_db <= station.highest_db
    assert change.people.served > cover.all_services.people.served
    assert change.people.total == cover.all_services.people.total


def test_the_other_season_is_that_of_a_study_that_says_so(changed, tmp_path):
    cover, change = changed
    leafless = cover_report(load_project(wooded(tmp_path, "leafless")))
    assert leafless.all_services.people == change.people
    back = season_change(leafless)
    assert back.season == "in leaf"
    assert back.people == cover.all_services.people
    for one, other in zip(change.stations, back.stations, strict=True):
        assert one.median_db == pytest.approx(-other.median_db, abs=1e-6)


def test_fields_of_two_seasons_are_kept_apart(tmp_path):
    path, cache = wooded(tmp_path), tmp_path / "cache"
    words = ("cover", path, "--out", tmp_path / "out", "--cache", cache, "--other-season")
    first = run_json(*words)
    assert run_json(*words)["other_season"] == first["other_season"]
    assert first["other_season"]["people_served"] > first["all_services"]["people_served"]


def test_the_command_tells_it_only_where_it_is_asked(tmp_path):
    path = wooded(tmp_path)
    told = run("cover", path, "--out", tmp_path / "out", "--no-cache", "--other-season", "--full").stdout
    assert "Leafless, " in told
    assert "Fields leafless, over those of the study's season" in told
    assert "no Recommendation gives one" in " ".join(told.split())
    plain = run_json("cover", path, "--out", tmp_path / "out", "--no-cache")
    assert plain["other_season"] is None
    assert not any("eafless" in line for line in plain["headline"])


def test_without_cover_or_factors_there_is_no_other_season(tmp_path):
    bare = write_study(tmp_path / "bare")
    assert "season is asked; allowed: with ground cover alone" in complaint(
        "cover", bare, "--out", tmp_path, "--no-cache", "--other-season"
    )
    project = load_project(wooded(tmp_path / "wooded"))
    without = replace(project, cover=replace(project.cover, leafless_factor={}))
    with pytest.raises(RangeError, match="give one: no Recommendation says"):
        without.in_other_season()
