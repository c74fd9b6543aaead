"""One desk a study: the second is told where the first is, and what was killed holds nothing."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from combe.desk.lock import desk_folder, only_desk
from combe.errors import InUseError

HOLDER = "http://127.0.0.1:8123/"

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="files are not locked there")


@pytest.fixture(autouse=True)
def caches(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))


@pytest.fixture
def study(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text("", encoding="utf-8")
    return path


def where_it_is_open(study):
    with pytest.raises(InUseError) as refused, only_desk(study):
        pass
    return str(refused.value)


def test_the_second_desk_is_told_where_the_first_is(study):
    with only_desk(study) as told:
        assert where_it_is_open(study) == (
            f"study {study} is in use on a desk that is being opened; work there, or end that one first"
        )
        told(HOLDER)
        assert f"on the desk at {HOLDER} (process {os.getpid()})" in where_it_is_open(study)
    with only_desk(study):
        assert "is being opened" in where_it_is_open(study)


def test_a_study_is_known_by_its_file(study, tmp_path):
    other = tmp_path / "other.toml"
    other.symlink_to(study)
    with only_desk(study):
        where_it_is_open(other)
        where_it_is_open(tmp_path / "." / "x" / ".." / study.name)
        with only_desk(tmp_path / "third.toml"):
            pass


def test_nothing_is_written_beside_the_study(study, tmp_path):
    before = {path.name for path in tmp_path.iterdir()}
    with only_desk(study) as told:
        told(HOLDER)
        assert {path.name for path in tmp_path.iterdir()} - before == {"caches"}
        assert desk_folder(study).is_relative_to(tmp_path / "caches")


def test_a_note_that_nobody_can_read_is_no_trouble(study):
    with only_desk(study):
        for spoilt in ("", "{}", "[]", '{"pid": "x", "address": 1}', "\x00"):
            (desk_folder(study) / "desk.json").write_text(spoilt, encoding="utf-8")
            assert "is being opened" in where_it_is_open(study)


def test_without_a_cache_there_is_no_lock(study, tmp_path):
    (tmp_path / "caches").write_text("a file is in the way", encoding="utf-8")
    with only_desk(study) as told, only_desk(study):
        told(HOLDER)


HOLDING = """
import pathlib, signal, sys
from combe.desk.lock import only_desk
with only_desk(pathlib.Path(sys.argv[1])) as told:
    told(sys.argv[2])
    print("held", flush=True)
    signal.pause()
"""


def test_what_was_killed_lets_go_at_once(study):
    words = [sys.executable, "-c", HOLDING, str(study), HOLDER]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout.readline() == "held\n"
        assert f"{HOLDER} (process {other.pid})" in where_it_is_open(study)
        other.kill()
    with only_desk(study):
        assert "is being opened" in where_it_is_open(study)
