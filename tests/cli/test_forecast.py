"""What commands tell of their work beforehand, where --forecast stops, a search that goes coarse first."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import combe.answers.forecast as forecasting
import combe.answers.forecast_rates as measuring
from combe.answers.forecast import CoarseWork
from support_cli import complaint, run, run_json
from support_study import SITING, STUDY, write_study
from support_terrain import write_tif

COMMANDS = ("site", "cover", "channels", "desk")


def study(folder: Path) -> Path:
    path = write_study(folder, STUDY + SITING)
    counts = np.zeros((28, 32), dtype="float32")
    counts[3:26:4, 3:30:4] = 50.0
    write_tif(folder / "people.tif", counts, -84.405, 36.73, 0.01)
    return path


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let any search be too long for every hill."""
    monkeypatch.setattr(forecasting, "COARSE_OVER_S", -1.0)
    monkeypatch.setattr(forecasting, "SMALL_UNDER_S", 0.0)
    monkeypatch.setattr(measuring._Sample, "coarse", lambda *_: CoarseWork(0, 0, 0))


@pytest.mark.parametrize("command", COMMANDS)
def test_only_the_forecast_writes_nothing(command: str, tmp_path: Path) -> None:
    path = study(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    told = run(command, path, "--forecast")
    assert told.exit_code == 0
    assert "cells × 2 stations" in told.stdout
    found = json.loads(run(command, path, "--forecast", "--json").stdout)["forecast"]
    assert found["stations"] == 2
    assert found["seconds"] > 0.0
    assert found["memory_mib"] > 0.0
    assert found["measured_seconds"] is None
    assert (found["hills"] is None) == (command != "site")
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("command", COMMANDS)
def test_too_much_memory_is_one_line_before_anything_is_read(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(forecasting, "machine_memory_mib", lambda: 10.0)
    words = complaint(command, study(tmp_path))
    assert words.startswith("a grid of ")
    assert "allowed: 10, all that this machine has; take larger cells" in words
    assert not (tmp_path / "results").exists()


def test_short_work_is_not_told_of_and_long_work_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = study(tmp_path)
    quiet = run("cover", path, "--no-cache", "--json")
    assert "combe:" not in quiet.stderr
    ahead = json.loads(quiet.stdout)["forecast"]
    assert ahead["measured_seconds"] > 0.0
    monkeypatch.setattr(forecasting, "TOLD_OVER_S", 0.0)
    told = run("cover", path, "--no-cache", "--json").stderr.splitlines()
    assert len(told) == 1
    assert told[0].startswith("combe: ")
    assert "cells × 2 stations: about " in told[0]
    assert told[0].endswith(" MiB")


def test_a_long_search_says_that_it_goes_coarse_first_and_how_to_ask_for_all(
    tmp_path: Path, coarse: None
) -> None:
    path = study(tmp_path)
    done = run("site", path, "--no-cache", "--json")
    assert done.exit_code == 0, done.output
    assert "coarse first, for every hill at once" in done.stderr
    assert "--whole prices every hill" in done.stderr
    found = json.loads(done.stdout)
    wide = found["coarse_first"]
    assert found["forecast"]["coarse_first"] is True
    assert 0 < wide["exact_hills"] < wide["cells_looked_at"]
    assert any(
        line.startswith(f"Exact for the {wide['exact_hills']} leading hills") for line in found["headline"]
    )
    whole = run_json("site", path, "--no-cache", "--whole")
    assert whole["coarse_first"] is None
    assert whole["forecast"]["coarse_first"] is False
    assert not any(line.startswith("Exact for") for line in whole["headline"])
    assert [each["people"] for each in found["list"]] == [each["people"] for each in whole["list"]]


def test_minutes_are_of_a_search_coarse_first(tmp_path: Path) -> None:
    path = study(tmp_path)
    assert "give one" in complaint("site", path, "--whole", "--minutes", "2")
    assert "--minutes" in complaint("site", path, "--minutes", "0")
