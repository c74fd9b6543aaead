"""``combe site``: what it prints and writes, as table and as JSON, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import geopandas
import numpy as np
import pytest

from support_cli import complaint, run, run_json
from support_study import SITING, STUDY, write_study
from support_terrain import write_tif


def study(folder: Path, siting: str = SITING) -> Path:
    path = write_study(folder, STUDY + siting)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return path


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    return run_json("site", study(folder), "--compare", "1", "3", "--no-cache"), folder


def test_json_holds_the_list_in_order(printed) -> None:
    found, _ = printed
    people = [each["people"] for each in found["list"]]
    assert people == sorted(people, reverse=True)
    assert [each["rank"] for each in found["list"]] == [1, 2, 3, 4]
    assert found["hills"] > 100
    assert found["hills_per_second"] > 0.0
    first = found["list"][0]
    assert first["people_counted"] == pytest.approx(first["people"], rel=0.1, abs=30.0)
    assert first["exposure_m"] > 0.0
    assert first["feed"][0]["service"] == "Mux 1"
    assert found["sets"][1]["score"] >= found["sets"][1]["score_greedy"] - 1e-6
    assert found["own_relays"][0]["name"] == "Combe Relay"
    assert found["failures"] == []


def test_pages_and_vectors_are_written(printed) -> None:
    found, folder = printed
    for name in ("site.html", "hill-01.html", "hill-04.html", "compare-01-03.html", "site.gpkg"):
        assert (folder / "results" / name).is_file(), name
    assert not (folder / "results" / "hill-05.html").exists()
    hills = geopandas.read_file(folder / "results" / "site.gpkg", layer="hills")
    assert hills["rank"].tolist() == [1, 2, 3, 4]
    assert hills.geometry.iloc[0].x == pytest.approx(found["list"][0]["longitude_deg"])
    assert "cost" not in hills.columns, "no costs were given"
    page = (folder / "results" / "site.html").read_text(encoding="utf-8")
    assert '<a href="hill-01.html">1</a>' in page
    assert "combe.chooseHill" in page
    assert page.count('<tr data-rank="') == 4
    own = (folder / "results" / "hill-01.html").read_text(encoding="utf-8")
    assert own.count('<svg class="hills"') == 1
    assert "ground newly served in all services" in own
    assert (folder / "results" / "compare-01-03.html").read_text("utf-8").count('<svg class="hills"') == 2
    assert "Together they serve" in (folder / "results" / "compare-01-03.html").read_text(encoding="utf-8")


def test_pages_hold_no_times_of_computing(printed) -> None:
    """Two runs write the same pages, the second of which finds the search done."""
    _, folder = printed
    pages = {path.name: path.read_bytes() for path in (folder / "results").glob("*.html")}
    assert len(pages) > 5
    assert run("site", folder / "study.toml", "--compare", "1", "3", "--no-cache").exit_code == 0
    assert {path.name: path.read_bytes() for path in (folder / "results").glob("*.html")} == pages
    assert not any(b"earlier run" in page or b"a second;" in page for page in pages.values())


def test_the_table_tells_rate_reasons_and_the_own_relay(printed) -> None:
    _, folder = printed
    result = run("site", folder / "study.toml", "--no-cache", "--full")
    assert result.exit_code == 0, result.output
    printed_words = " ".join(result.stdout.split())
    for words in (
        "hear a parent with 10 dB for 99 % of time",
        "30 m or more over the lowest ground",
        "blocks were there",
        "Hill 1 comes first because it",
        "newly serves",
        "The best sites together",
        "eight times in ten: by the error of the prediction",
        "−84.",
        "the study's own Combe Relay",
        "harm: ",
    ):
        assert words in printed_words, words
    assert "-84." not in result.stdout
    assert "\u202f" not in result.stdout


def test_rate_is_printed_for_a_fresh_run(tmp_path: Path) -> None:
    result = run("site", study(tmp_path), "--no-cache", "--full")
    assert "million pairs of hill and place, a second" in result.stdout


def test_a_hill_that_is_not_listed_cannot_be_compared(printed) -> None:
    _, folder = printed
    words = complaint("site", folder / "study.toml", "--compare", "1", "9", "--no-cache")
    assert words == "hill to compare is 9; allowed: 1 to 4, the list"


def test_a_cluster_that_does_not_answer(printed, monkeypatch) -> None:
    pytest.importorskip("distributed", reason='needs Dask: pip install "combe[cluster]"')
    from combe.planning.siting import cluster

    monkeypatch.setattr(cluster, "_CONNECT_S", 0.5)
    _, folder = printed
    words = complaint(
        "site",
        folder / "study.toml",
        "--out",
        folder / "other",
        "--cluster",
        "tcp://127.0.0.1:9",
        "--no-cache",
    )
    assert words.startswith("cluster is tcp://127.0.0.1:9; allowed: the address of a Dask scheduler")


def test_a_study_without_siting(tmp_path: Path) -> None:
    assert "siting: is missing" in complaint("site", write_study(tmp_path), "--no-cache")


def test_a_parent_beyond_the_grid_is_heard_and_not_drawn_among_whom_a_hill_serves(tmp_path: Path) -> None:
    path = study(tmp_path)
    area = "cell_size_m = 300\narea_deg = [-84.29, 36.50, -84.10, 36.66]"
    path.write_text(
        path.read_text(encoding="utf-8").replace("cell_size_m = 300\n", f"{area}\n", 1), encoding="utf-8"
    )
    found = run_json("site", path, "--no-cache")
    assert found["list"][0]["parent"] == "Parent Hill"
    assert found["list"][0]["search_margin_db"] >= 10.0
    picture = (tmp_path / "results" / "hill-01.html").read_text(encoding="utf-8").partition("<svg")[2]
    picture = picture.partition("</svg>")[0]
    assert "Combe Relay, relay" in picture
    assert "Parent Hill, parent" not in picture
