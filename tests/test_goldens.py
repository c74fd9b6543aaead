"""The comparison of frozen answers notices what changed: a value, a key, a cell, a row, a line of a page."""

from __future__ import annotations

import json
import shutil
import sqlite3

import numpy as np
import pytest

from goldens import compare, questions_of, questions_without_study
from support_golden_files import write_raster
from support_goldens import differences, json_differences, keep, page_text, without_varying

ANSWER = {"title": "A", "list": [{"people": 10, "db": 3.0}, {"people": 12, "db": 4.26}], "ok": True}
PAGE = """<html><head><title>Feed</title><style>p { color: red }</style></head><body><h1>Larkcombe</h1>
<p>It <b>passes</b>,
by 3&nbsp;dB.</p><table><tr><th>dB</th><td>1</td></tr></table><script>let hidden = 1;</script>
<script type="application/json" id="grid">{"cells": "AAAA"}</script></body></html>"""


def answer(**changes):
    return json.loads(json.dumps(ANSWER)) | changes


def told(old, new, **settings):
    return {each.place: each.words for each in json_differences(old, new, **settings)}


@pytest.fixture
def folders(tmp_path):
    """Two folders that hold the same: an answer, a raster, a page and a GeoPackage."""
    raw, old = tmp_path / "raw", tmp_path / "old"
    raw.mkdir()
    write_raster(raw / "field.tif", np.arange(12, dtype=np.float32).reshape(3, 4), 0.01)
    (raw / "page.html").write_text(PAGE, "utf-8")
    with sqlite3.connect(raw / "log.gpkg") as base:
        base.execute("CREATE TABLE readings (value DOUBLE, entered_at TEXT, geom BLOB)")
        base.execute("INSERT INTO readings VALUES (1.5, '2026-01-01', x'00ff')")
    base.close()
    for path in raw.iterdir():
        keep(path, old / path.name)
    (old / "cover.json").write_text(json.dumps(ANSWER), "utf-8")
    shutil.copytree(old, tmp_path / "new")
    return raw, old, tmp_path / "new"


def test_what_is_the_same_is_no_difference(folders, capsys):
    assert list(differences(*folders[1:])) == []
    assert compare(*folders[1:], most=3, rounded=False) == 0
    assert capsys.readouterr().out == "no difference\n"


def test_a_changed_value_a_lost_key_and_a_new_one_are_told():
    new = answer(list=[{"people": 11, "db": 3.0}, {"people": 13, "db": 4.26}], format="x")
    del new["title"]
    assert told(ANSWER, new) == {
        "title": 'missing, was "A"',
        "list[].people": "changed 10 -> 11 and 1 more",
        "format": 'new: "x"',
    }


def test_a_row_more_and_another_type_are_told():
    new = answer(list=[*ANSWER["list"], {}], ok=1)
    assert told(ANSWER, new) == {"list": "count 2 -> 3", "ok": "changed true -> 1"}


@pytest.mark.parametrize(("value", "same"), [(4.3, True), (4, True), (4.2, False), (5, False), (None, False)])
def test_a_rounded_number_may_count_as_the_same(value, same):
    new = answer(list=[ANSWER["list"][0], {"people": 12, "db": value}])
    assert (told(ANSWER, new, rounded=True) == {}) is same
    assert told(ANSWER, new) != {}


def test_how_long_work_took_is_left_out():
    assert without_varying({"hills": 3, "seconds": 1.2, "all": [{"sweep_s": 1}]}) == {"hills": 3, "all": [{}]}


def test_a_changed_cell_is_counted_and_measured(folders):
    raw, old, new = folders
    cells = np.arange(12, dtype=np.float32).reshape(3, 4)
    cells[1, 2] += 0.5
    cells[0, 0] = np.nan
    write_raster(raw / "field.tif", cells, 0.01)
    keep(raw / "field.tif", new / "field.tif")
    found = dict(differences(old, new))
    assert [each.words for each in found["field.tif.npz"]] == [
        "2 of 12 differ, at most by 0.5; 1 known in one alone"
    ]
    assert {"known_cells", "cells_sha256", "file_sha256"} <= {each.place for each in found["field.tif.json"]}


def test_a_changed_row_of_a_geopackage_is_told_and_its_time_is_not(folders):
    raw, old, new = folders
    for change, expected in (("entered_at = '2027-01-01'", set()), ("value = 2.5", {"log.gpkg.json"})):
        with sqlite3.connect(raw / "log.gpkg") as base:
            base.execute(f"UPDATE readings SET {change}")
        base.close()
        keep(raw / "log.gpkg", new / "log.gpkg")
        assert set(dict(differences(old, new))) == expected


def test_the_text_of_a_page_is_what_a_reader_sees():
    assert page_text(PAGE) == "Feed\nLarkcombe\nIt passes, by 3\u00a0dB.\ndB | 1\n"


def test_changed_data_of_a_page_and_lost_files_are_told(folders, capsys):
    raw, old, new = folders
    (raw / "page.html").write_text(PAGE.replace("AAAA", "AAAB").replace("3&nbsp;dB", "4 dB"), "utf-8")
    keep(raw / "page.html", new / "page.html")
    (new / "cover.json").unlink()
    assert compare(old, new, most=1, rounded=False) == 1
    assert capsys.readouterr().out.splitlines() == [
        "cover.json",
        "  is no longer made",
        "page.html.json",
        '  data.grid.cells changed "AAAA" -> "AAAB"',
        "page.html.txt",
        "  -It passes, by 3\u00a0dB.",
        "  ... and 1 more; see all with --most 2",
        "3 files differ",
    ]


def test_every_command_is_asked():
    from combe.cli.group import COMMANDS

    asked = {question.words[0] for question in [*questions_without_study(), *questions_of("analogue")]}
    helped = {q.words[0] for q in questions_without_study() if q.words[1:] == ("--help",)}
    assert set(COMMANDS) <= asked
    assert set(COMMANDS) == helped
