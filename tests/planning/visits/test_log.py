"""The log: a GeoPackage, appended whole or not at all, whoever is killed or comes at the same time."""

import datetime
import os
import signal
import sqlite3
import subprocess
import sys
import time

import pytest

from combe.errors import OutputError, TableError
from combe.planning.visits.geopackage import LATER_COLUMNS
from combe.planning.visits.log import append_readings, read_log
from combe.planning.visits.readings import key_of
from support_visits import PLACES, level

ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
FOUR = tuple(level(day, -50.0 - day / 10.0) for day in range(4))


def append(path, readings, **settings):
    given = {"places": PLACES, "expected": {}, "program": "Combe test"}
    return append_readings(path, readings, **(given | settings))


def test_what_is_written_comes_back(tmp_path):
    path = tmp_path / "visits.gpkg"
    assert read_log(path) == ()
    assert not path.exists()
    odd = level(
        9, -60.0, note="Süd „x“", meter_calibrated_on=datetime.date(2019, 1, 2), visit="commissioning",
        correction=True, photos="IMG_1.jpg", visit_note="gate open",
    )  # fmt: skip
    assert append(path, FOUR) == FOUR
    assert append(path, [odd]) == (*FOUR, odd)
    assert read_log(path) == (*FOUR, odd)


def first_layout(path):
    """Take the later columns out of a log, as logs of the first layout have none."""
    with sqlite3.connect(path) as base:
        for name, _ in LATER_COLUMNS:
            base.execute(f"ALTER TABLE visit_readings DROP COLUMN {name}")
    base.close()


def test_a_log_of_the_first_layout_opens_and_is_widened_by_the_next_append(tmp_path):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR)
    first_layout(path)
    before = path.read_bytes()
    assert read_log(path) == FOUR
    assert path.read_bytes() == before, "reading changes nothing"
    later = level(9, -51.0, photos="IMG_1.jpg", visit_note="gate open")
    assert append(path, [later]) == (*FOUR, later)
    assert read_log(path) == (*FOUR, later)


def test_an_append_that_is_refused_leaves_a_first_layout_as_it_was(tmp_path):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR)
    first_layout(path)
    before = path.read_bytes()

    def refuse(known):
        raise TableError("x", "no")

    with pytest.raises(TableError, match="no"):
        append(path, [level(9, -51.0)], check=refuse)
    assert path.read_bytes() == before


def test_it_is_a_geopackage(tmp_path):
    import pyogrio

    path = tmp_path / "visits.gpkg"
    append(path, FOUR, expected={key_of(FOUR[0]): -48.5})
    assert pyogrio.list_layers(path).tolist() == [["visit_readings", "Point"]]
    info = pyogrio.read_info(path)
    assert info["crs"] == "EPSG:4326"
    assert tuple(info["total_bounds"]) == (-84.20, 36.60, -84.20, 36.60)
    frame = pyogrio.read_dataframe(path)
    assert frame["value"].tolist() == [reading.value for reading in FOUR]
    assert frame["expected"].tolist() == [-48.5] * 4
    assert str(frame["date"].dtype).startswith("datetime64")
    assert (frame.geometry.x[0], frame.geometry.y[0]) == (-84.20, 36.60)
    with sqlite3.connect(path) as base:
        assert base.execute("PRAGMA application_id").fetchone()[0] == 0x47504B47  # OGC 12-128: GPKG
        assert base.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert base.execute("PRAGMA foreign_key_check").fetchall() == []
        # The same standard, edition 1.3 (from memory).
        assert base.execute("PRAGMA user_version").fetchone()[0] == 10300
    base.close()


@pytest.mark.parametrize("act", ["UPDATE visit_readings SET value = 0", "DELETE FROM visit_readings"])
def test_nobody_rewrites_it(tmp_path, act):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR)
    base = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="appended, never rewritten; enter a correction"):
        base.execute(act)
    base.close()
    assert read_log(path) == FOUR


def test_a_check_that_refuses_leaves_the_log_as_it_was(tmp_path):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR[:2])
    before = path.read_bytes()

    def refuse(known):
        assert known == FOUR[:2]
        raise TableError("x", "no")

    with pytest.raises(TableError, match="no"):
        append(path, FOUR[2:], check=refuse)
    assert path.read_bytes() == before
    assert not (tmp_path / "visits.gpkg-journal").exists()


CHILD = """
import sys, time
from pathlib import Path
from combe.planning.visits import log
from support_visits import PLACES, level

stage, path = sys.argv[1], Path(sys.argv[2])

def stop():
    print("half-way", flush=True)
    time.sleep(60)

written, made = log._touch, log._make_layout

def touch(*given):
    if stage == "rows":
        stop()
    written(*given)
    stop()

def layout(base):
    base.execute("PRAGMA cache_size = 1")  # so that the file itself is written before the end
    made(base)
    if stage == "layout":
        stop()

log._touch, log._make_layout = touch, layout
many = [level(day, -70.0, note="x" * 200) for day in range(10, 3000)]
log.append_readings(path, many, places=PLACES, expected={}, program="killed")
"""


def killed(stage, path):
    """Run an append in a process of its own, and kill it half-way."""
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, stage, str(path)],
        stdout=subprocess.PIPE,
        env=ENVIRONMENT,
        text=True,
    )
    assert child.stdout.readline() == "half-way\n"
    child.send_signal(signal.SIGKILL)
    child.communicate()
    assert child.returncode == -signal.SIGKILL


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")
@pytest.mark.parametrize("stage", ["rows", "contents"])
def test_a_writer_that_is_killed_half_way_loses_nothing(tmp_path, stage):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR)
    before = path.read_bytes()
    killed(stage, path)
    journal = tmp_path / "visits.gpkg-journal"
    assert journal.stat().st_size > 0, "the writer was killed in the middle of its transaction"
    assert path.read_bytes() != before, "and had changed the file by then"
    assert read_log(path) == FOUR
    assert not journal.exists()
    assert append(path, [level(9, -51.0)]) == (*FOUR, level(9, -51.0))
    base = sqlite3.connect(path)
    assert base.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    base.close()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")
@pytest.mark.parametrize("stage", ["layout", "rows"])
def test_a_first_writer_that_is_killed_half_way_leaves_an_empty_file_which_is_asked_about(tmp_path, stage):
    path = tmp_path / "visits.gpkg"
    killed(stage, path)
    if path.stat().st_size == 0 and not path.with_name("visits.gpkg-journal").exists():
        with pytest.raises(TableError, match="or a first visit was cut off; put a copy back, or remove"):
            read_log(path)
        path.unlink()
    assert append(path, FOUR) == FOUR


APPENDER = """
import sys
from pathlib import Path
from combe.planning.visits.log import append_readings
from support_visits import PLACES, level

for number in range(12):
    reading = level(number, -50.0, service=sys.argv[1])
    append_readings(Path(sys.argv[2]), [reading], places=PLACES, expected={}, program="both")
"""


def test_two_writers_at_once_both_land(tmp_path):
    path = tmp_path / "visits.gpkg"
    writers = [
        subprocess.Popen([sys.executable, "-c", APPENDER, name, str(path)], env=ENVIRONMENT)
        for name in ("Mux 1", "Mux 2")
    ]
    assert [writer.wait(timeout=100) for writer in writers] == [0, 0]
    found = read_log(path)
    assert {(each.service, each.date) for each in found} == {
        (name, level(day, 0.0).date) for name in ("Mux 1", "Mux 2") for day in range(12)
    }
    assert len(found) == 24


def test_a_reader_meanwhile_sees_the_log_before(tmp_path):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR[:1])
    seen = []

    def look(known):
        seen.append(read_log(path))

    append(path, FOUR[1:], check=look)
    assert seen == [FOUR[:1]]


def test_a_log_that_another_holds(tmp_path, monkeypatch):
    monkeypatch.setattr("combe.planning.visits.log.WAIT_S", 0.05)
    path = tmp_path / "visits.gpkg"
    append(path, FOUR[:1])
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    started = time.monotonic()
    with pytest.raises(OutputError, match="database is locked; is another writing to it, or is it read-only"):
        append(path, FOUR[1:])
    assert time.monotonic() - started < 10.0
    holder.close()
    assert read_log(path) == FOUR[:1]


def test_a_log_whose_readings_are_a_query_without_end_is_refused(tmp_path):
    path = tmp_path / "log.gpkg"
    append(path, FOUR)
    base = sqlite3.connect(path)
    base.execute("ALTER TABLE visit_readings RENAME TO hidden")
    columns = ", ".join(row[1] for row in base.execute("PRAGMA table_info(hidden)") if row[1] != "fid")
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)"
    base.execute(f"CREATE VIEW Visit_Readings AS {endless} SELECT i AS fid, {columns} FROM n, hidden")
    base.commit()
    base.close()
    with pytest.raises(TableError, match="it is no log of visits: its Visit_Readings is a query; name anoth"):
        read_log(path)


def test_files_that_are_no_log(tmp_path):
    text = tmp_path / "text.gpkg"
    text.write_text("not a database, but long enough to be looked at " * 40, encoding="utf-8")
    with pytest.raises(TableError, match=r"it is no log of visits .*; name another log"):
        read_log(text)
    other = tmp_path / "other.gpkg"
    base = sqlite3.connect(other)
    base.execute("CREATE TABLE visit_readings (fid INTEGER)")
    base.close()
    before = other.read_bytes()
    for act in (lambda: read_log(other), lambda: append(other, FOUR)):
        with pytest.raises(TableError, match="without the layer visit_readings; name another log"):
            act()
    assert other.read_bytes() == before
    with pytest.raises(OutputError, match="its folder is not there"):
        append(tmp_path / "none" / "visits.gpkg", FOUR)
    with pytest.raises(OutputError, match="it is a folder"):
        read_log(tmp_path)


def test_an_entry_that_another_program_spoilt(tmp_path):
    path = tmp_path / "visits.gpkg"
    append(path, FOUR)
    base = sqlite3.connect(path, isolation_level=None)
    base.execute("DROP TRIGGER visit_readings_no_update")
    base.execute("UPDATE visit_readings SET unit = 'MHz' WHERE fid = 3")
    base.close()
    with pytest.raises(TableError, match=r"entry 3 cannot be used: unit of level is 'MHz'; allowed: dBm"):
        read_log(path)
