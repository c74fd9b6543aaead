"""``combe evidence``: the table, its JSON, the page, and the exit code when a figure is missed."""

import json
from dataclasses import replace

import pytest

import combe.evidence.run as run_module
from combe.evidence import STANDINGS, EvidenceRow, all_cases
from combe.evidence.bt419 import cases as bt419_cases
from combe.publishing.cautions import CAUTIONS
from support_cli import complaint, run, run_json


@pytest.fixture(autouse=True)
def without_reference_data(monkeypatch):
    monkeypatch.delenv("COMBE_REFERENCE_DATA", raising=False)


@pytest.fixture(scope="module")
def worked_out():
    """Return the rows of all figures that need no reference data, worked out once for this file."""
    return run_module.run_evidence()


def test_table_by_recommendation_and_source(worked_out, monkeypatch):
    monkeypatch.setattr(run_module, "run_evidence", lambda *_: worked_out)
    result = run("evidence", "--full")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    for text in (
        "ITU-R BT.419-3: 10 figures, 10 met; 5 look-ups typed twice from memory, 5 alike",
        " BT.419-3, curve of Bands IV and V, read in a public copy; read",
    ):
        assert text in lines
    assert any("Table 2, required C/N: 72 figures, 72 met" in line for line in lines)
    for standing in STANDINGS:
        assert any(line.split("  ")[1] == standing for line in lines if line.startswith("  "))
    brief = run("evidence").stdout.splitlines()
    assert len(brief) == 12
    assert [line for line in brief[:8] if line not in lines] == []
    assert "The P.1812 validation set is left out: name its folder in COMBE_REFERENCE_DATA." in lines
    assert "Cautions" in lines[-20:]


def test_long_tables_are_whole_on_demand():
    short, whole = (run("evidence", "--recommendation", "BT.2033", more) for more in ("--full", "--all"))
    assert "all exact, such as: QPSK 1/2, required C/N, gaussian" in short.stdout
    assert "256-QAM 5/6" not in short.stdout
    assert whole.stdout.count("256-QAM 5/6") == 3


def test_json():
    printed = run_json("evidence")
    twice = [case for case in all_cases() if case.standing == "typed twice from memory"]
    assert printed["figures"] == printed["met"] == len(all_cases()) - len(twice)
    assert printed["typed_twice"] == {"figures": len(twice), "met": len(twice)}
    assert len(printed["rows"]) == len(all_cases())
    assert printed["by_standing"].keys() == set(STANDINGS)
    assert printed["rows"][0].keys() == {
        "recommendation",
        "source",
        "case",
        "quantity",
        "expected",
        "computed",
        "difference",
        "unit",
        "tolerance",
        "standing",
        "series",
        "met",
        "problem",
    }
    assert (printed["reference_data"], printed["page"]) == (None, None)
    assert printed["cautions"] == list(CAUTIONS)


def test_only_what_is_asked_for_is_worked_out(monkeypatch):
    worked = []

    def watched(case):
        worked.append(case.recommendation)
        return EvidenceRow(case, case.expected)

    monkeypatch.setattr(run_module, "run_case", watched)
    printed = run_json("evidence", "--recommendation", "bt.419")
    assert worked == ["ITU-R BT.419-3"] * len(printed["rows"]) != []


def test_one_recommendation_as_a_page(tmp_path):
    page = tmp_path / "new" / "evidence.html"
    result = run("evidence", "--recommendation", "p.526", "--html", page)
    assert result.exit_code == 0
    assert f"written: {page}" in result.stdout
    text = page.read_text(encoding="utf-8")
    assert "ITU-R P.526-16" in text
    assert "BT.419" not in text
    assert "The P.1812 validation set is left out" in text


def test_a_missed_figure_leaves_with_1(monkeypatch):
    class Wrong:
        @staticmethod
        def cases():
            return [replace(case, expected=case.expected + 1.0) for case in bt419_cases()]

    monkeypatch.setattr(run_module, "_TABLES", (Wrong,))
    result = run("evidence", "--full")
    assert result.exit_code == 1
    assert "ITU-R BT.419-3: 10 figures, 0 met; 5 look-ups typed twice from memory, 0 alike" in result.stdout
    assert result.stdout.count("MISSED") == 2 * 15, "in their own list, and where they belong"
    printed = json.loads(run("evidence", "--json").stdout)
    assert (printed["figures"], printed["met"], printed["typed_twice"]) == (10, 0, {"figures": 5, "met": 0})


def test_bad_input(tmp_path):
    assert complaint("evidence", "--recommendation", "P.9999").startswith(
        "recommendation is 'P.9999'; allowed: ITU-R P.525-5, "
    )
    assert complaint("evidence", "--reference-data", tmp_path).startswith(
        f"--reference-data is {tmp_path}; allowed: a folder that holds p1812, delta_bullington or p2001; "
    )
    (tmp_path / "file").write_text("", encoding="utf-8")
    words = "evidence", "--recommendation", "BT.419", "--html"
    assert "cannot write" in complaint(*words, tmp_path / "file" / "page.html")
