"""``combe compare``: the numbers of ``combe cover``, twelve lines, and names that are shown as written."""

from __future__ import annotations

import json

import pytest

from combe.cli.reporting import form_of
from support_cli import complaint, run, run_json
from support_reports import PageReader
from support_study import edited, write_study

COARSE = ("cell_size_m = 300", "cell_size_m = 900")
NAME = '<b>Combe</b> & \\"Relay\\" {{ 7 * 7 }}'
SHOWN = '<b>Combe</b> & "Relay" {{ 7 * 7 }}'


@pytest.fixture(scope="module")
def studies(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studies")
    first = write_study(folder, edited(COARSE))
    second = folder / "stronger.toml"
    second.write_text(edited(COARSE, ("erp_w = 20.0", "erp_w = 2000.0")), encoding="utf-8")
    return first, second


def test_the_numbers_are_those_of_cover(studies):
    found = run_json("compare", *studies, "--no-cache")
    covers = [run_json("cover", each, "--out", each.parent / "out", "--no-cache") for each in studies]
    assert found["format"] == "combe/compare/1"
    assert [each["letter"] for each in found["studies"]] == ["A", "B"]
    keys = {"served", "newly_served", "lost", "unserved"}
    assert keys <= {each["count"] for each in found["counts"]}
    rows = [(each, [cover["all_services"] for cover in covers]) for each in found["counts"]]
    for each in found["by_service"]:
        rows.append(
            (each, [one for cover in covers for one in cover["services"] if one["name"] == each["services"]])
        )
    for each, networks in rows:
        if each["count"] in keys:
            for value, network in zip(each["values"], networks, strict=True):
                assert value["value"] == pytest.approx(network[f"people_{each['count']}"], abs=1e-3)
                assert value["range"] == network["ranges"][each["count"]]
    feeds = [run_json("feed", each, "--out", each.parent / "out", code=1) for each in studies]
    least = [min(one["margin_db"] for one in each["relays"][0]["services"]) for each in feeds]
    (relay,) = found["feeds"]
    assert [each["margin_db"] for each in relay["values"]] == pytest.approx(least, abs=1e-5)


def test_the_answer_takes_twelve_lines_and_says_what_differs_in_full(studies):
    brief = run("compare", *studies, "--no-cache").stdout.splitlines()
    assert len(brief) <= 12
    assert brief[0] == f"Relay for Long Combe: B ({studies[1]}) held against A ({studies[0]})"
    assert any(line.startswith("All services: A serves ") for line in brief)
    full = run("compare", *studies, "--no-cache", "--full").stdout
    assert "Mux 1 20 W → 2.0 kW" in full
    assert "Count by count" in full
    assert max(map(len, full.splitlines()[1:])) <= 100
    three = run("compare", *studies, studies[0], "--no-cache").stdout.splitlines()
    assert len(three) <= 12
    assert sum("All services: A serves" in line for line in three) == 2


def test_the_map_is_written_where_it_is_asked_for(studies, tmp_path):
    found = run_json("compare", *studies, "--no-cache", "--out", tmp_path / "both")
    assert found["map"] == str(tmp_path / "both" / "compare.html")
    page = (tmp_path / "both" / "compare.html").read_text("utf-8")
    assert "All services: A serves" in page
    assert run_json("compare", *studies, "--no-cache")["map"] is None
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "cannot write" in complaint("compare", *studies, "--no-cache", "--out", tmp_path / "file")


def test_hostile_names_are_shown_as_written(studies, tmp_path):
    named = studies[0].with_name("named.toml")
    named.write_text(edited(COARSE, ("Combe Relay", NAME), ("Relay for Long Combe", NAME)), encoding="utf-8")
    page = tmp_path / "page.html"
    found = run_json("compare", studies[0], named, "--no-cache", "--html", page)
    assert [(each["station"], each["how"]) for each in found["against"][0]["stations"]] == [
        ("Combe Relay", "taken away"), (SHOWN, "added"),
    ]  # fmt: skip
    html = page.read_text("utf-8")
    assert "<b>Combe" not in html
    read = PageReader(html)
    assert any(SHOWN in cell for row in read.rows for cell in row)
    assert read.scripts == 0


def test_studies_that_do_not_fit_are_one_line(studies, tmp_path):
    other = studies[0].with_name("other.toml")
    other.write_text(edited(COARSE, ('code_rate = "2/3"', 'code_rate = "3/4"')), encoding="utf-8")
    words = complaint("compare", studies[0], other, "--no-cache")
    assert words.startswith(f"television of {other} is DVB-T2, 256-QAM 3/4")
    assert "only studies over the same ground" in words
    assert "Missing argument 'B'" in complaint("compare", studies[0])


def test_two_runs_are_the_same(studies):
    words = "compare", *studies, "--json", "--no-cache"
    assert run(*words).stdout == run(*words).stdout
    assert json.loads(run(*words).stdout)["against"][0]["letter"] == "B"
    assert form_of("compare").name == "combe/compare/1"
