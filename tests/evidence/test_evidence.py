"""Every published figure of the evidence tables, and the run that works them out."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from combe.errors import ProfileError, RangeError
from combe.evidence import STANDINGS, EvidenceCase, EvidenceRow, all_cases, reference_folder, run_evidence
from combe.evidence.case import TYPED_TWICE, Once
from combe.evidence.channels import RASTERS
from combe.evidence.p1812_set import read_profile, set_ups
from combe.evidence.run import checked_rows, count_by_standing, run_case
from combe.evidence.shown import tally_words
from combe.standards.rasters import CHANNEL_RASTERS
from support_p1812 import PUBLIC_SOURCE
from support_p1812 import reference_folder as folder_of_tests

FOLDER = folder_of_tests() if folder_of_tests().is_dir() else None
CASES = all_cases(FOLDER)
ABSENT = f"no validation set: {PUBLIC_SOURCE} has it; name its folder in COMBE_REFERENCE_DATA"
WITHOUT_FILES = {case.name for case in all_cases()}


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_figure(case: EvidenceCase, record_property: Callable[[str, object], None]) -> None:
    """Each case names its source; see the tables in combe.evidence."""
    record_property("reference data", case.name not in WITHOUT_FILES)
    row = run_case(case)
    assert row.within, f"{row.computed!r} is not {case.expected!r} ± {case.tolerance:g}; {row.problem}"


def test_no_figure_stands_twice() -> None:
    twice = Counter((case.recommendation, case.source, case.case, case.quantity) for case in CASES)
    assert [key for key, count in twice.items() if count > 1] == []


def test_every_standing_is_there() -> None:
    assert {case.standing for case in CASES} == set(STANDINGS)


def test_a_habit_of_the_trade_is_marked_as_such() -> None:
    """A habit of the trade has no source; a source has no habit."""
    for case in CASES:
        assert (case.source == "common practice") == (case.standing == "common practice, no source")


def test_look_ups_that_were_typed_twice_check_nothing() -> None:
    """Protection ratios and C/N from memory are numbers of a table; a worked one is a check."""
    groups = Counter(case.recommendation for case in CASES if not case.checked)
    assert groups["Protection ratios"] > 100
    assert groups["DVB-T planning"] == 42
    worked = [case for case in CASES if case.standing == "from memory"]
    assert {"RPC 1, 500 MHz", "half-wave dipole", "public, 474 MHz"} <= {case.case for case in worked}
    assert all(case.checked for case in worked)
    assert not any("ratio" in case.quantity or "required C/N" in case.quantity for case in worked)


def test_what_is_checked_is_counted_without_look_ups() -> None:
    rows = [
        EvidenceRow(sample(), 10.0),
        EvidenceRow(sample(), 11.0),
        EvidenceRow(sample(standing=TYPED_TWICE), 10.0),
    ]
    assert len(checked_rows(rows)) == 2
    assert tally_words(rows) == "2 figures, 1 met; 1 look-up typed twice from memory, 1 alike"
    assert tally_words(rows[2:]) == "1 look-up typed twice from memory, 1 alike"
    assert tally_words(rows[:1]) == "1 figure, 1 met"


def test_channel_rasters_have_the_standing_of_their_table() -> None:
    """Save the one channel that was read by itself."""
    shown = [
        case for case in CASES if case.recommendation == RASTERS or case.quantity == "centre of the signal"
    ]
    assert len(shown) > 10
    for case in shown:
        raster, _, channel = case.case.partition(", channel ")
        read = (raster, channel) == ("6 MHz UHF", "39")
        assert case.standing == ("read" if read else CHANNEL_RASTERS[raster].confidence), case.name


def test_cases_that_need_no_file_are_many() -> None:
    groups = Counter(case.recommendation for case in all_cases())
    assert groups["ITU-R P.526-16"] > 60
    assert groups["ITU-R P.1812-8"] > 40
    assert groups["ITU-R BT.2033-2"] > 100


def test_recommendations_stand_together() -> None:
    names = [case.recommendation for case in CASES]
    changes = sum(left != right for left, right in pairwise(names))
    assert changes == len(set(names)) - 1


@pytest.mark.skipif(not FOLDER or not set_ups(FOLDER), reason=ABSENT)
def test_every_set_up_of_the_folder_is_listed_whole() -> None:
    assert FOLDER is not None
    logged = Counter(case.series for case in CASES if case.series.startswith("set-up "))
    assert set(logged) == {f"set-up {each.name}" for each in set_ups(FOLDER)}
    assert min(logged.values()) >= 46, "27 of geometry and weights, 20 of losses, less an overwritten one"


def sample(**change: object) -> EvidenceCase:
    case = EvidenceCase("R", "source", "case", "loss", 10.0, "dB", 0.01, "read", lambda: 10.005)
    return replace(case, **change)  # type: ignore[arg-type]


def test_a_figure_can_be_missed() -> None:
    assert run_case(sample()).within
    assert run_case(sample()).difference == pytest.approx(0.005)
    assert not run_case(sample(compute=lambda: 10.02)).within
    assert not run_case(sample(compute=lambda: math.nan)).within
    assert not run_case(sample(tolerance=0.0)).within
    assert run_case(sample(tolerance=0.0, compute=lambda: 10.0)).within


def test_an_engine_that_refuses_misses_the_figure_and_says_why() -> None:
    def refuse() -> float:
        raise RangeError("frequency_mhz", 1.0, "30 to 6000")

    row = run_case(sample(compute=refuse))
    assert (row.within, math.isnan(row.computed)) == (False, True)
    assert row.problem == "frequency_mhz is 1.0; allowed: 30 to 6000"


def test_cases_that_share_a_result_work_it_out_once_a_run() -> None:
    calls: list[int] = []
    once = Once(lambda: calls.append(1) or len(calls))
    assert (once.result, once.result, len(calls)) == (1, 1, 1)
    assert [case.name for case in all_cases()] == [case.name for case in all_cases()]


def test_counts_by_standing() -> None:
    rows = [
        EvidenceRow(sample(), 10.0),
        EvidenceRow(sample(), 11.0),
        EvidenceRow(sample(standing="computed"), 10.0),
    ]
    assert count_by_standing(rows) == {"read": (2, 1), "computed": (1, 1)}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"source": " "}, "source of a case of evidence is empty; allowed: some words"),
        ({"standing": "sure"}, "standing of a case of evidence is 'sure'; allowed: read or computed or"),
        ({"tolerance": math.nan}, "tolerance of a case of evidence is nan; allowed: 0 or more"),
    ],
)
def test_a_case_is_checked(change: dict[str, object], words: str) -> None:
    with pytest.raises(RangeError, match=words):
        sample(**change)


def test_the_folder_is_named_by_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("COMBE_REFERENCE_DATA", raising=False)
    assert reference_folder() is None
    monkeypatch.setenv("COMBE_REFERENCE_DATA", str(tmp_path))
    with pytest.raises(RangeError, match=r"COMBE_REFERENCE_DATA is .*; allowed: a folder that holds p1812"):
        reference_folder()
    (tmp_path / "p1812").mkdir()
    assert reference_folder() == tmp_path
    assert len(all_cases(tmp_path)) == len(all_cases())
    worked = run_evidence(tmp_path, "BT.419")
    assert [row.case.name for row in worked] == [
        case.name for case in all_cases() if case.recommendation == "ITU-R BT.419-3"
    ]
    assert all(row.within for row in worked)


def test_a_profile_without_marks_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bare.csv").write_text("0,1,2,3,4\n", encoding="utf-8")
    with pytest.raises(ProfileError, match="has 0 profile marks"):
        read_profile(tmp_path / "bare.csv")
