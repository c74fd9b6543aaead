"""Nobody is counted on fields that are exceeded for a small share of the time, and every command says so."""

import json

import pytest

from combe.answers.cover import cover_report
from combe.project import service_conditions, shown_conditions
from combe.study.project_of import load_project
from support_cli import run
from support_study import edited, write_study

AIR = ("[people]", "[air]\ntime_percent = 1.0\n\n[people]")
COARSE = ("cell_size_m = 300", "cell_size_m = 900")
WORDS = "the median of time; air.time_percent 1 is for combe path alone"


@pytest.fixture(scope="module")
def rare(tmp_path_factory):
    return write_study(tmp_path_factory.mktemp("rare"), edited(AIR, COARSE))


def test_coverage_is_that_of_the_median(rare, tmp_path):
    usual = cover_report(load_project(write_study(tmp_path, edited(COARSE))))
    found = cover_report(load_project(rare))
    assert found.all_services.people == usual.all_services.people
    assert found.provenance["percentages"] == usual.provenance["percentages"]
    assert found.provenance["time of service"] == WORDS
    assert "time of service" not in usual.provenance


@pytest.mark.parametrize("words", [("cover",), ("channels",), ("explain", "--at", "-84.3,36.6")])
def test_all_that_judge_service_tell_it(rare, tmp_path, words):
    out = ("--out", tmp_path) if words[0] == "cover" else ()
    told, made = (run(words[0], rare, *words[1:], *out, *more) for more in (("--full",), ("--json",)))
    assert f"time of service: {WORDS}" in " ".join(told.output.split())
    assert json.loads(made.stdout)["provenance"]["time of service"] == WORDS
    if out:
        assert WORDS in (tmp_path / "map.html").read_text(encoding="utf-8")


def test_a_path_shows_the_field_of_any_share(rare, tmp_path):
    usual = write_study(tmp_path, edited(COARSE))
    ways = [
        json.loads(run("path", each, "--from", "Parent Hill", "--to", "Combe Relay", "--json").stdout)
        for each in (rare, usual)
    ]
    assert ways[0]["provenance"]["percentages"].startswith("exceeded for 1 % of time")
    assert ways[1]["provenance"]["percentages"].startswith("exceeded for 50 % of time")
    more_db = [
        one["field_strength_dbuv_m"] - other["field_strength_dbuv_m"]
        for one, other in zip(ways[0]["services"], ways[1]["services"], strict=True)
    ]
    assert min(more_db) > 0.3


def test_only_shown_paths_have_the_share_asked(rare):
    project = load_project(rare)
    found = (project.conditions, service_conditions(project), shown_conditions(project))
    assert [each.time_percent for each in found] == [50.0, 50.0, 1.0]
