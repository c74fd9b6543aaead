"""Checks of tables of patterns: what is accepted, one line for each fault, and back the same when written."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combe.errors import OutputError, PatternError
from combe.stations.pattern import Pattern, read_pattern, write_pattern

ROWS = "\n".join(f"{bearing},{0.0 if bearing == 0 else -3.5}" for bearing in range(0, 360, 30))
TABLE = f"bearing_deg,relative_db\n{ROWS}\n"


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "pattern.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_reads_a_table(tmp_path: Path) -> None:
    path = written(tmp_path, TABLE)
    pattern = read_pattern(path, "horizontal")
    assert pattern.angle_deg == tuple(range(0, 360, 30))
    assert pattern.relative_db == (0.0,) + (-3.5,) * 11
    assert (pattern.kind, pattern.source) == ("horizontal", str(path))


def test_reads_a_vertical_table(tmp_path: Path) -> None:
    rows = "\n".join(f"{angle},{0 if angle == 0 else -20}" for angle in range(-90, 91, 30))
    assert (
        read_pattern(written(tmp_path, f"elevation_deg,relative_db\n{rows}"), "vertical").angle_deg[0]
        == -90.0
    )


def test_comments_blanks_spaces_line_ends_and_byte_order_mark_are_passed_over(tmp_path: Path) -> None:
    decorated = "\ufeff# invented\r\n\r\n bearing_deg , relative_db \r\n# rows\r\n" + ROWS.replace(
        ",", " , "
    ).replace("\n", "\r\n")
    expected = read_pattern(written(tmp_path, TABLE), "horizontal")
    assert read_pattern(written(tmp_path, decorated), "horizontal") == expected


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "it holds no rows; begin with the header bearing_deg,relative_db"),
        ("# only words\n", "it holds no rows; begin with the header bearing_deg,relative_db"),
        ("angle,gain\n0,0\n", "line 1: the header is 'angle,gain'; write bearing_deg,relative_db"),
        ("#\nbearing_deg;relative_db\n0;0\n", "line 2: the header is 'bearing_deg;relative_db'; write "),
        (TABLE.replace("elevation", "x").replace("bearing_deg", "elevation_deg"), "line 1: the header is "),
        ("bearing_deg,relative_db\n", "the number of rows is 0; give 2 to 4000 rows"),
        (
            TABLE.replace("60,-3.5", "60,-3,5"),
            "line 4: the number of fields is 3 in '60,-3,5'; write two numbers with decimal",
        ),
        (
            TABLE.replace("60,-3.5", "60"),
            "line 4: the number of fields is 1 in '60'; write two numbers with decimal",
        ),
        (TABLE.replace("60,-3.5", "60,"), "line 4: '' is no number; write it as -3.5"),
        (TABLE.replace("60,-3.5", "60,low"), "line 4: 'low' is no number; write it as -3.5"),
        (TABLE.replace("60,-3.5", "60,nan"), "line 4: 'nan' is no number"),
        (TABLE.replace("60,-3.5", "60,-inf"), "line 4: '-inf' is no number"),
        (TABLE.replace("60,-3.5", "6_0,-3.5"), "line 4: '6_0' is no number"),
        (TABLE.replace("60,-3.5", "60,−3.5"), "line 4: '−3.5' is no number"),
        (TABLE.replace("60,-3.5", "60,-1e999"), "line 4: relative gain -inf dB is out of range"),
        (
            TABLE.replace("60,-3.5", "60,3.5"),
            "line 4: relative gain 3.5 dB is out of range; allowed: -100 to 0",
        ),
        (
            TABLE.replace("60,-3.5\n", ""),
            "line 4: gap between bearing 30 and 90 degrees; add rows at most 30",
        ),
        (TABLE.replace("60,-3.5", "20,-3.5"), "line 4: bearing 20 degrees comes after 30; put the rows in"),
        (TABLE.replace("330,-3.5\n", ""), "gap between bearing 300 and 0 degrees, through north"),
        (
            TABLE.replace("0,0.0", "0,-3.5"),
            "the greatest relative gain is -3.5 dB, not 0; subtract the maximum",
        ),
        (TABLE.replace("60,-3.5", "x" * 500 + ",1"), "line 4: '" + "x" * 40 + "...' is no number"),
        (b"bearing_deg,relative_db\n0,\xff\n", "it is not UTF-8 text; save the table as CSV in UTF-8"),
        (TABLE + "#" * 1_000_000, "it is larger than 1000000 bytes; one row per degree is plenty"),
    ],
)
def test_fault(tmp_path: Path, text: str | bytes, message: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(PatternError) as caught:
        read_pattern(path, "horizontal")
    assert str(caught.value).startswith(f"aerial pattern {path}: {message}")
    assert len(str(caught.value).splitlines()) == 1


def test_too_many_rows(tmp_path: Path) -> None:
    rows = "\n".join(f"{row / 100},0" for row in range(4001))
    with pytest.raises(PatternError, match="the number of rows is 4001; give 2 to 4000 rows"):
        read_pattern(written(tmp_path, f"bearing_deg,relative_db\n{rows}"), "horizontal")


def test_missing_file_and_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match="there is no such file"):
        read_pattern(tmp_path / "none.csv", "horizontal")
    with pytest.raises(PatternError, match="it is no regular file"):
        read_pattern(tmp_path, "horizontal")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(PatternError, match="it is no regular file"):
        read_pattern(tmp_path / "pipe", "horizontal")


def test_unknown_kind(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match="kind is 'round'; write horizontal or vertical"):
        read_pattern(written(tmp_path, TABLE), "round")  # type: ignore[arg-type]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=100)
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda text: (TABLE + text).encode())))
def test_any_bytes_are_a_pattern_or_a_pattern_error(tmp_path: Path, raw: bytes) -> None:
    try:
        assert isinstance(read_pattern(written(tmp_path, raw), "horizontal"), Pattern)
    except PatternError as error:
        assert len(str(error).splitlines()) == 1


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(st.lists(st.floats(-100.0, 0.0), min_size=35, max_size=35))
def test_written_and_read_again(tmp_path: Path, gains: list[float]) -> None:
    all_gains = (0.0, *gains)
    rows = "\n".join(f"{10 * row},{gain!r}" for row, gain in enumerate(all_gains))
    pattern = read_pattern(written(tmp_path, f"bearing_deg,relative_db\n{rows}"), "horizontal")
    assert pattern.relative_db == all_gains


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
