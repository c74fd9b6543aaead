"""Two runs of a command leave the same bytes, whatever was left before; pages tell no time of computing."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest

from support_cli import run
from support_study import SITING, STUDY, write_study
from support_terrain import write_tif

_CLOCK = re.compile(r"\d\d:\d\d|\b\d+(\.\d+)? s\b|a second|earlier run")


def study(folder: Path) -> Path:
    path = write_study(folder, STUDY + SITING)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return path


def left_by(path: Path, *words: object) -> dict[str, bytes]:
    """Run a siting; return the bytes of all that it leaves beside the study, by name."""
    result = run("site", path, "--compare", 1, 3, "--no-cache", *words)
    assert result.exit_code == 0, result.output
    folder = path.parent / "results"
    return {str(one.relative_to(folder)): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


@pytest.fixture(scope="module")
def sitings(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, bytes]]:
    """Site once, once more elsewhere, and there again after half of the blocks were lost."""
    first, second = (study(tmp_path_factory.mktemp(name)) for name in ("first", "second"))
    runs = [left_by(first), left_by(second)]
    blocks = sorted((second.parent / "results" / "siting").rglob("*.npz"))
    assert blocks
    for block in blocks[::2]:
        block.unlink()
    return [*runs, left_by(second)]


def differing(one: Mapping[str, bytes], other: Mapping[str, bytes]) -> list[str]:
    return sorted(name for name in {*one, *other} if one.get(name) != other.get(name))


def test_two_sitings_leave_the_same_bytes(sitings: list[dict[str, bytes]]) -> None:
    assert differing(sitings[0], sitings[1]) == []
    assert {"site.html", "hill-01.html", "compare-01-03.html", "site.gpkg"} <= sitings[0].keys()


def test_a_siting_taken_up_leaves_the_same_bytes(sitings: list[dict[str, bytes]]) -> None:
    assert differing(sitings[1], sitings[2]) == []


def test_the_page_of_a_siting_tells_how_many_hills_were_priced_and_not_how_fast(
    sitings: list[dict[str, bytes]],
) -> None:
    words = html.unescape(sitings[0]["site.html"].decode())
    told = words.partition("How it was found")[2]
    assert re.search(r"search: every hill priced: [\d\u202f]+ hills", told)
    assert _CLOCK.search(told) is None


def test_the_evidence_page_tells_no_time_of_day(tmp_path: Path) -> None:
    page = tmp_path / "evidence.html"
    assert run("evidence", "--recommendation", "BT.419", "--html", page).exit_code == 0
    made = html.unescape(page.read_text(encoding="utf-8")).partition("How this was made")[2]
    assert "Combe " in made
    assert _CLOCK.search(made) is None
    assert re.search(r"\d{4}-\d\d-\d\d", made) is None
