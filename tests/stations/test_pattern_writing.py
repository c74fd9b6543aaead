"""Checks that a written pattern comes back the same and that a failed write leaves nothing behind."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combe.errors import OutputError
from combe.stations.pattern import Pattern
from combe.stations.pattern_file import read_pattern, write_pattern

HORIZONTAL = Pattern(tuple(range(0, 360, 30)), (0.0,) + (-1 / 3,) * 11, "horizontal", "invented\nfor a test")
VERTICAL = Pattern(
    (-90, -60, -30, -1e-05, 29.5, 59, 89, 90), (-20, -20, -20, 0, -20, -20, -20, -100), "vertical", "invented"
)


@pytest.mark.parametrize("pattern", [HORIZONTAL, VERTICAL], ids=["horizontal", "vertical"])
def test_comes_back_the_same(tmp_path: Path, pattern: Pattern) -> None:
    write_pattern(tmp_path / "pattern.csv", pattern)
    back = read_pattern(tmp_path / "pattern.csv", pattern.kind)
    assert (back.angle_deg, back.relative_db) == (pattern.angle_deg, pattern.relative_db)
    assert [path.name for path in tmp_path.iterdir()] == ["pattern.csv"]


@given(st.lists(st.floats(-100.0, -1e-9), min_size=12, max_size=12))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_number_comes_back(tmp_path: Path, gains: list[float]) -> None:
    pattern = Pattern(tuple(range(0, 390, 30)), (0.0, *gains[1:], 0.0), "horizontal", "invented")
    write_pattern(tmp_path / "pattern.csv", pattern)
    assert read_pattern(tmp_path / "pattern.csv", "horizontal").relative_db == pattern.relative_db


def test_the_file_is_plain(tmp_path: Path) -> None:
    write_pattern(tmp_path / "pattern.csv", HORIZONTAL)
    raw = (tmp_path / "pattern.csv").read_bytes()
    assert raw.startswith(b"# invented for a test\nbearing_deg,relative_db\n0.0,0.0\n30.0,-0.333")
    assert b"\r" not in raw


def test_a_strange_source_is_no_hindrance(tmp_path: Path) -> None:
    for source in ("a\x1cb\u2028c\x0b\r\nd", "name\udcff.csv", "x" * 2_000_000, "", "é µ"):
        write_pattern(tmp_path / "pattern.csv", replace(HORIZONTAL, source=source))
        assert read_pattern(tmp_path / "pattern.csv", "horizontal").relative_db == HORIZONTAL.relative_db


def test_an_older_file_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "pattern.csv").write_text("old")
    write_pattern(tmp_path / "pattern.csv", VERTICAL)
    assert read_pattern(tmp_path / "pattern.csv", "vertical").relative_db == VERTICAL.relative_db


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(
        OutputError, match=r"cannot write .*x.csv: no such file or directory; choose a folder"
    ):
        write_pattern(tmp_path / "none" / "x.csv", HORIZONTAL)


def test_folder_in_the_way(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="a folder of this name is in the way; remove it or choose another"):
        write_pattern(tmp_path, HORIZONTAL)


def test_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "pattern.csv").write_text("old")

    def refuse(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(
        OutputError, match="no space left on device; make room, or choose a folder on another disk"
    ):
        write_pattern(tmp_path / "pattern.csv", HORIZONTAL)
    assert (tmp_path / "pattern.csv").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["pattern.csv"]
