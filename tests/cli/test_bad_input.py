"""Bad input: one line on standard error, exit code 2, nothing half-written."""

import pytest

from support_cli import complaint
from support_study import SITING, STUDY, edited, strip_crs, void_under, write_study

PATTERN = ('polarization = "horizontal"', 'polarization = "horizontal"\nhorizontal_pattern = "p.csv"')
COMMANDS = ("check", "path", "feed", "cover", "site", "channels")
WITH_PEOPLE = ("check", "cover", "site", "channels")
OWN_OUT = ("feed", "cover", "site")
"""Commands that write files into the folder named by --out."""

TO_RELAY = ("--from", "Parent Hill", "--to", "Combe Relay")


def left_behind(folder):
    """Return the files of a run, whole or half-written."""
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def with_siting(*changes):
    """Return the text of a study that every command takes, changed."""
    return edited(*changes, text=STUDY + SITING)


def refused(command, study, out):
    """Run a command on a study that it has to refuse, writing into a folder if it writes; return its line."""
    words = TO_RELAY if command == "path" else ("--out", out) if command in OWN_OUT else ()
    return complaint(command, study, *words)


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ([('"terrain.tif"', '"gone.tif"')], 'terrain.tiles[0]: "gone.tif": there is no such file'),
        ([('"people.tif"', '"gone.tif"')], 'people.raster: "gone.tif": there is no such file'),
        ([("erp_w = 1000.0", "erp_w = -10.0")], "stations[0].services[0].erp_w: -10.0 is out of range"),
        ([("channel = 27", "channel = 12")], "services[0].channel: channel 12 is unknown; allowed: 21 to 69"),
        ([('"Combe Relay"', '"Parent Hill"')], 'two stations are called "Parent Hill"'),
        ([PATTERN], "horizontal_pattern: aerial pattern"),
        ([("longitude_deg = -84.33", "longitude_deg = -70.0")], 'station "Parent Hill"'),
    ],
    ids=["terrain", "people", "ERP", "channel", "name", "pattern", "outside"],
)
def test_faults_of_the_file(tmp_path, command, changes, words):
    study = write_study(tmp_path / "in", with_siting(*changes))
    rows = "".join(f"{bearing},0\n" for bearing in range(0, 200, 20))
    (tmp_path / "in" / "p.csv").write_text("bearing_deg,relative_db\n" + rows, encoding="utf-8")
    assert words in refused(command, study, tmp_path / "out")
    assert left_behind(tmp_path / "out") == []


@pytest.mark.parametrize("command", COMMANDS)
def test_terrain_without_a_crs(tmp_path, command):
    study = write_study(tmp_path, with_siting())
    strip_crs(tmp_path / "terrain.tif")
    assert f"raster {tmp_path / 'terrain.tif'}: it has no CRS" in refused(command, study, tmp_path / "out")
    assert left_behind(tmp_path / "out") == []


@pytest.mark.parametrize("command", COMMANDS)
def test_a_void_under_a_station(tmp_path, command):
    study = write_study(tmp_path, with_siting())
    void_under(study, -84.20, 36.60)
    line = refused(command, study, tmp_path / "out")
    assert 'station "Combe Relay"' in line
    assert "terrain.tif" in line
    assert left_behind(tmp_path / "out") == []


@pytest.mark.parametrize("command", WITH_PEOPLE)
def test_a_study_area_outside_the_terrain(tmp_path, command):
    area = ("cell_size_m = 300", "cell_size_m = 300\narea_deg = [10.0, 50.0, 10.2, 50.2]")
    line = refused(command, write_study(tmp_path, with_siting(area)), tmp_path / "out")
    assert "the study area, longitude 10 to 10.2" in line
    assert left_behind(tmp_path / "out") == []


@pytest.mark.parametrize("command", WITH_PEOPLE)
def test_people_without_a_crs(tmp_path, command):
    study = write_study(tmp_path, with_siting())
    strip_crs(tmp_path / "people.tif")
    assert f"raster {tmp_path / 'people.tif'}: it has no CRS" in refused(command, study, tmp_path / "out")
    assert left_behind(tmp_path / "out") == []


@pytest.mark.parametrize(
    "words",
    [
        ("feed", "STUDY", "--out", "OUT"),
        ("cover", "STUDY", "--out", "OUT"),
        ("site", "STUDY", "--out", "OUT"),
        ("visit", "STUDY", "--sheet", "--out", "OUT"),
        ("visit", "STUDY", "--log", "--out", "OUT"),
        ("aerial", "--kind", "panels", "--out", "OUT"),
        ("demo", "--out", "OUT"),
        ("new", "OUT"),
        ("evidence", "--recommendation", "BT.419", "--html", "OUT/page.html"),
    ],
    ids=lambda words: "-".join(word for word in words if word.isidentifier() and word.islower()),
)
def test_a_folder_that_cannot_be_written(tmp_path, words):
    """A file is in its place: it stays, and nothing else is left anywhere."""
    study = write_study(tmp_path / "in", with_siting())
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    out, before = tmp_path / "file" / "out", left_behind(tmp_path)
    line = complaint(*(word.replace("STUDY", str(study)).replace("OUT", str(out)) for word in words))
    assert line.startswith(f"cannot write {out}: it, or a part of its path, is a file and no folder; ")
    assert left_behind(tmp_path) == before
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(("command", "page"), [("feed", "feed.html"), ("cover", "map.html")])
def test_a_page_that_cannot_be_put_in_its_place(tmp_path, command, page):
    study = write_study(tmp_path / "in")
    (tmp_path / "out" / page).mkdir(parents=True)
    assert "a folder of this name is in the way" in complaint(command, study, "--out", tmp_path / "out")
    assert not [name for name in left_behind(tmp_path / "out") if ".part" in name]


def test_a_full_disk_is_one_line_and_leaves_the_old_page(tmp_path, monkeypatch):
    from pathlib import Path

    study = write_study(tmp_path / "in")
    page = tmp_path / "out" / "feed.html"
    page.parent.mkdir()
    page.write_text("old", encoding="utf-8")

    def full(self, *args, **settings):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    assert complaint("feed", study, "--out", page.parent) == (
        f"cannot write {page}: no space left on device; make room, or choose a folder on another disk"
    )
    assert left_behind(page.parent) == ["feed.html"]
    assert page.read_text(encoding="utf-8") == "old"


def test_an_unknown_station_of_a_path(tmp_path):
    study = write_study(tmp_path)
    line = complaint("path", study, "--from", "Parent Hil", "--to", "Combe Relay")
    assert line == ('station is "Parent Hil"; allowed: Parent Hill, Combe Relay; did you mean "Parent Hill"?')


def test_feed_without_a_relay(tmp_path):
    text = edited()
    study = write_study(tmp_path, text[: text.index('[[stations]]\nname = "Combe Relay"')])
    assert "no relay is there to feed" in complaint("feed", study)
