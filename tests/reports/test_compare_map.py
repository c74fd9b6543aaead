"""The map of studies side by side: whose layers it has, which cells they mark, and whose marks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from combe.answers.compare import compare_report
from combe.errors import OutputError
from combe.reports.compare_map import map_content, write_map
from combe.study.project_of import load_project
from support_study import edited, write_study


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("study")
    base = load_project(write_study(folder, edited(("cell_size_m = 300", "cell_size_m = 900"))))
    moved = replace(base.moved("Combe Relay", -84.26, 36.62), source="moved.toml")
    return compare_report([base, moved, base.without("Combe Relay")])


def test_each_study_has_a_layer_and_each_difference_the_cells_served_in_one_alone(report):
    layers = {each.key: each for each in map_content(report).layers}
    assert list(layers) == ["a", "b", "c", "b-only", "a-not-b", "c-only", "a-not-c"]
    margin = report.first.all_services.margin_db
    other = report.against[0].margin_db
    for key, where in (("b-only", (other >= 0) & (margin < 0)), ("a-not-b", (margin >= 0) & (other < 0))):
        assert where.any()
        assert np.array_equal(layers[key].field_dbuv_m >= 0.0, where)
        assert layers[key].shows == "difference"
    shown = layers["b-only"].field_dbuv_m >= 0.0
    assert np.array_equal(layers["b-only"].field_dbuv_m[shown], other[shown])
    assert np.array_equal(layers["a"].field_dbuv_m >= 0.0, margin >= 0.0)
    assert layers["b-only"].title == "Served in B and not in A"
    assert layers["a-not-b"].title == "Served in A and not in B"


def test_a_station_is_marked_once_or_with_the_letters_of_its_studies(report):
    content = map_content(report)
    assert [each.name for each in content.stations] == ["Parent Hill", "Combe Relay (A)", "Combe Relay (B)"]
    assert [(each.parent, each.relay) for each in content.feeds] == [("Parent Hill", "Combe Relay")] * 2
    assert content.subtitle.endswith("; C: " + report.sides[2].project.source)


def test_people_are_marked_by_the_first_two_studies(report):
    content = map_content(report)
    assert {each.state for each in content.people} <= {*content.people_words, "no prediction"}
    total = report.first.all_services.people.total
    assert sum(each.people for each in content.people) == pytest.approx(total, abs=1.0)
    assert content.people_words["lost"] == "served in A, not in B"


def test_the_map_is_written_whole_and_twice_the_same(report, tmp_path):
    page = write_map(report, tmp_path)
    assert page == tmp_path / "compare.html"
    first = page.read_bytes()
    assert write_map(report, tmp_path).read_bytes() == first
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(OutputError):
        write_map(report, tmp_path / "file")
