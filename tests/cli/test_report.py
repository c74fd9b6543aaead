"""``combe report``: where its page goes, the PDF, other places on demand, and the same numbers as cover."""

from __future__ import annotations

import importlib

import pytest

from combe.publishing import as_pdf
from support_cli import complaint, run, run_json
from support_study import SITING, STUDY, edited, write_study


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    small = (("cell_size_m = 300", "cell_size_m = 900"), ("cell_size_m = 300.0", "cell_size_m = 1000.0"))
    return write_study(tmp_path_factory.mktemp("report"), edited(*small, text=STUDY + SITING))


def test_the_page_goes_beside_the_study_and_other_places_are_not_searched(study):
    printed = run_json("report", study, "--no-cache")
    assert printed["page"] == str(study.parent / "results" / "brief.html")
    assert (study.parent / "results" / "brief.html").is_file()
    assert printed["alternatives"] is None
    assert printed["pdf"] is None
    assert not (study.parent / "results" / "siting").exists()
    covered = run_json("cover", study, "--no-cache", "--out", study.parent / "covered")
    assert printed["all_services"] == covered["all_services"]
    assert printed["harm"] == covered["harm"]


def test_other_places_come_when_asked_and_the_page_where_it_is_wanted(study, tmp_path):
    printed = run_json("report", study, "--no-cache", "--alternatives", "--html", tmp_path / "a.html")
    sited = run_json("site", study, "--no-cache", "--out", tmp_path)
    assert printed["page"] == str(tmp_path / "a.html")
    hills = {each["rank"]: each for each in sited["list"]}
    for each in printed["alternatives"]["others"]:
        assert each["people"] == hills[each["rank"]]["people"]
    assert printed["alternatives"]["others"]


def test_a_pdf_is_written_and_named(study, tmp_path):
    result = run("report", study, "--no-cache", "--html", tmp_path / "a.html", "--pdf", tmp_path / "a.pdf")
    assert result.exit_code == 0, result.output
    assert "a.pdf" in result.stdout
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")


def test_a_library_that_is_missing_is_told_before_any_work(study, tmp_path, monkeypatch):
    def gone(name):
        raise ImportError(name)

    monkeypatch.setattr(as_pdf, "import_module", gone)
    told = complaint("report", tmp_path / "nowhere.toml", "--pdf", tmp_path / "a.pdf")
    assert "a PDF needs WeasyPrint, which is not installed" in told
    monkeypatch.setattr(as_pdf, "import_module", importlib.import_module)
    assert "nowhere.toml" in complaint("report", tmp_path / "nowhere.toml", "--pdf", tmp_path / "a.pdf")
