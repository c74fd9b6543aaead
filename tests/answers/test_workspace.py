"""Folders of runs: one for a study, held while in use, cleared when killed, and never without bound."""

import gc
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from combe.answers import workspace as module
from combe.answers.workspace import open_workspace
from combe.files import HOLD, hold_folder
from combe.study.project_of import load_project
from support_study import edited, write_study


@pytest.fixture
def study(tmp_path):
    return load_project(write_study(tmp_path / "study"))


@pytest.fixture
def scratch(tmp_path, monkeypatch):
    """Return where folders of no cache are made."""
    folder = tmp_path / "scratch"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    return folder


def test_a_study_has_one_folder_among_the_caches(study, tmp_path):
    first = open_workspace(study, tmp_path / "cache").run
    gc.collect()
    again = open_workspace(study, tmp_path / "cache")
    assert again.run == first
    assert again.fields == tmp_path / "cache"
    text = edited(("cell_size_m = 300", "cell_size_m = 400"))
    Path(study.key).write_text(text, encoding="utf-8")
    assert open_workspace(load_project(Path(study.key)), tmp_path / "cache").run != first


def test_two_at_once_do_not_meet(study, tmp_path, scratch):
    first = open_workspace(study, tmp_path / "cache")
    second = open_workspace(study, tmp_path / "cache")
    assert second.run.parent == scratch
    assert second.fields == first.fields
    place = second.run
    del second
    gc.collect()
    assert not place.exists()
    assert first.run.exists()


def test_without_a_cache_nothing_stays(study, scratch):
    found = open_workspace(study, None)
    (found.run / "x.npy").write_bytes(b"x")
    assert found.fields.parent == found.run
    del found
    gc.collect()
    assert list(scratch.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="no locks")
def test_what_a_killed_process_left_is_cleared(study, scratch):
    code = (
        "import os, signal, sys; from pathlib import Path; from combe.files import hold_folder\n"
        "held = hold_folder(Path(sys.argv[1])); os.kill(os.getpid(), signal.SIGKILL)"
    )
    killed, working, foreign = (
        scratch / name for name in ("combe-cover-a", "combe-cover-b", "combe-cover-c")
    )
    for folder in (killed, working, foreign):
        folder.mkdir()
        (folder / "x.npy").write_bytes(b"x")
    subprocess.run([sys.executable, "-c", code, str(killed)], check=False, env=os.environ)
    assert (killed / HOLD).exists()
    held = hold_folder(working)
    found = open_workspace(study, None)
    assert sorted(scratch.iterdir()) == sorted([working, foreign, found.run])
    held.close()


def test_runs_that_were_not_used_for_longest_go_first(study, tmp_path, monkeypatch):
    monkeypatch.setattr(module, "LARGEST_RUNS_BYTES", 2500)
    runs = tmp_path / "cache" / "runs"
    for age, name in enumerate(("new", "held", "old")):
        (runs / name).mkdir(parents=True)
        (runs / name / "x.npy").write_bytes(b"x" * 1000)
        os.utime(runs / name, (1e9 - age, 1e9 - age))
    held = hold_folder(runs / "held")
    os.utime(runs / "held", (1e8, 1e8))
    found = open_workspace(study, tmp_path / "cache")
    assert {path.name for path in runs.iterdir()} == {"new", "held", found.run.name}
    held.close()


def test_a_lock_whose_file_was_removed_holds_nothing(tmp_path, monkeypatch):
    def removing(*_):
        (tmp_path / HOLD).unlink()
        return True

    monkeypatch.setattr("combe.files._locked", removing)
    assert hold_folder(tmp_path) is None
    assert hold_folder(Path(tmp_path / "none")) is None
