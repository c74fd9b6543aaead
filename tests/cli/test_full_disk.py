"""A full disk is one line and exit code 2 for each command that writes, and leaves nothing half-written."""

import json

import pytest

from support_cli import complaint, run
from support_full_disk import full_disk, on_small_disks
from support_study import SITING, STUDY, edited, write_study

FREE_SPACE = ("invented = true", 'invented = true\nmodel = "free-space"')
ROOM = 10_000


def contents(folder):
    """Return the bytes of all files below a folder, by their path."""
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def study(tmp_path):
    return write_study(tmp_path / "in", edited(FREE_SPACE, text=STUDY + SITING))


@pytest.mark.parametrize(
    ("words", "first"),
    [
        (("feed", "STUDY", "--out", "OUT"), "feed.html"),
        (("cover", "STUDY", "--out", "OUT", "--cache", "OUT"), ".fields"),
        (("site", "STUDY", "--out", "OUT", "--cache", "OUT"), ".fields"),
        (("visit", "STUDY", "--sheet", "--out", "OUT"), "sheet.html"),
        (("aerial", "--kind", "panels", "--count", "4", "--out", "OUT"), "panels_horizontal.csv"),
        (("evidence", "--recommendation", "BT.419", "--html", "OUT/e.html"), "e.html"),
        (("new", "OUT"), "out"),
    ],
    ids=lambda words: words[0] if isinstance(words, tuple) else "",
)
def test_nothing_can_be_written(tmp_path, study, words, first):
    out = tmp_path / "out"
    out.mkdir()
    with full_disk(1000):
        line = complaint(*(str(word).replace("STUDY", str(study)).replace("OUT", str(out)) for word in words))
    assert line.startswith(f"cannot write {out}")
    assert f"{first}: file too large; " in line.lower()
    assert [path for path, content in contents(out).items() if content] == []


def test_the_old_rasters_and_the_old_map_stay(tmp_path, study):
    """The second run finds all in the cache; a raster that somebody changed is the first that it writes."""
    words = ("cover", study, "--out", tmp_path / "out", "--cache", tmp_path / "cache")
    assert run(*words).exit_code == 0
    with full_disk(ROOM):
        assert run(*words).exit_code == 0, "all is there as it would be written"
    raster = tmp_path / "out" / "field_parent-hill_mux-1.tif"
    raster.write_bytes(raster.read_bytes() + b"changed")
    before = contents(tmp_path / "out")
    with full_disk(ROOM):
        line = complaint(*words)
    assert line == (
        f"cannot write {tmp_path / 'out' / 'field_parent-hill_mux-1.tif'}: file too large; "
        "make room, or choose a folder on another disk"
    )
    assert contents(tmp_path / "out") == before


PROGRAM = """
import contextlib, io, json
from pathlib import Path
from combe.cli import group
from combe.cli.progress import COMPILING

def cover(study, out, disk):
    said = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(said):
        try:
            group.main(["cover", study, "--out", out, "--cache", disk])
        except SystemExit as leave:
            lines = said.getvalue().splitlines()
            return leave.code, [line for line in lines if not line.endswith((" % done", COMPILING))]

for size in (100, 500, 800, 1000, 1200):
    with small_disk(f"{size}k"):
        code, lines = cover(STUDY, OUT, DISK)
        print(json.dumps([code, lines, [path.name for path in Path(DISK).rglob(".*.part*")]]))
"""


def test_a_disk_that_fills_while_the_coverage_is_put_together(tmp_path, study):
    """An array that is mapped to memory would end the process without a word where the disk ends."""
    disk = tmp_path / "disk"
    disk.mkdir()
    names = {"STUDY": study, "OUT": tmp_path / "out", "DISK": disk}
    given = "".join(f"{name} = {str(path)!r}\n" for name, path in names.items())
    done = on_small_disks(disk, given + PROGRAM)
    assert done.returncode == 0, done.stderr
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) == 5
    for code, lines, remains in told:
        assert (code, len(lines), remains) == (2, 1, [])
        assert lines[0].startswith(f"combe: cannot write {disk}")
        assert "no space left on device; make room" in lines[0]
    failed = [lines[0].partition(": no space")[0].rpartition(".")[2] for _, lines, _ in told]
    assert failed[0] == "fields"
    assert "npy" in failed, "at one size the disk ended in an array of the whole grid"
