"""What is saved of an edited study: only what passes the checks, where it was told, its table beside it."""

import shutil
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from combe.errors import OutputError, StudyError
from combe.study.edit import edited
from combe.study.file import checked_study, load_study, read_study
from combe.study.file_names import with_names
from combe.study.new import demo_study_path
from combe.study.save import changes, write_study
from combe.terrain import sample_folder
from support_edits import ALONE, NEW, ROWS, after_all, text_of, write_table_study
from support_study import STUDY
from support_study import write_study as make_study

MOVE = {"station": "Larkcombe", "longitude_deg": -84.28, "erp_w": {"Mux A": 80}}


@pytest.fixture
def copied(tmp_path):
    """Return the demo's study, with its tiles beside its folder as in the samples."""
    shutil.copytree(demo_study_path().parent, tmp_path / "given" / "demo")
    shutil.copy(sample_folder() / "ridges_srtm3.tif", tmp_path / "given")
    return tmp_path / "given" / "demo" / "study.toml"


def saved_as(reading, after, path, *, overwrite=False):
    return write_study(checked_study(reading), reading.table, after, path, overwrite=overwrite)


def test_a_study_is_saved_beside_its_own(copied):
    reading = read_study(copied)
    before = copied.read_bytes()
    saved = saved_as(reading, edited(reading.table, MOVE), "other.toml")
    assert saved.path == copied.with_name("other.toml").absolute()
    assert saved.changed == (
        "stations[1] Larkcombe: longitude_deg -84.2861 → -84.28",
        "stations[1] Larkcombe: erp_w of Mux A 100 → 80",
        "study.speaks_of: follows Larkcombe; see that what note and invented claim still holds",
    )
    relay = load_study(saved.path).content.stations[1]
    assert (relay.longitude_deg, relay.services[0].erp_w) == (-84.28, 80.0)
    old, new = before.decode().splitlines(), text_of(saved.path).splitlines()
    assert len(old) == len(new)
    assert sum(was != now for was, now in zip(old, new, strict=True)) == 3
    assert copied.read_bytes() == before


def test_without_edits_the_same_bytes_are_saved(copied):
    copied.write_bytes(b"\xef\xbb\xbf" + copied.read_bytes().replace(b"\n", b"\r\n"))
    reading = read_study(copied)
    saved = saved_as(reading, reading.table, "other.toml")
    assert saved.path.read_bytes() == copied.read_bytes()
    assert saved.changed == ()


def test_files_are_called_as_seen_from_another_folder(copied, tmp_path):
    (tmp_path / "elsewhere" / "deep").mkdir(parents=True)
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere" / "deep")
    reading = read_study(copied)
    after = edited(reading.table, MOVE)
    for folder in ("elsewhere", "elsewhere/deep", "link"):
        saved = saved_as(reading, after, tmp_path / folder / "study.toml", overwrite=True)
        there = read_study(saved.path)
        assert not there.faults
        assert files_of(there) == files_of(reading)
        assert saved.changed[-1].startswith("names of files: as seen from ")
    assert 'raster = "../given/demo/people.tif"' in text_of(tmp_path / "elsewhere" / "study.toml")


def files_of(reading):
    """Return the files that a study names, wherever they lie."""
    found = []
    with_names(reading.table, lambda name: found.append((reading.path.parent / name).resolve()) or name)
    assert all(path.exists() for path in found)
    return found


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("other.txt", r"end the name in \.toml"),
        ("ot\0her.toml", r"end the name in \.toml"),
        ("nowhere/other.toml", r"there is no such folder"),
        ("study.toml", r"it is already there; choose another name, or say that it may be replaced"),
    ],
)
def test_a_path_that_is_no_place_for_a_study_is_refused(path, told, copied):
    reading = read_study(copied)
    with pytest.raises(OutputError, match=told):
        saved_as(reading, reading.table, path)


def test_a_study_takes_its_own_place_only_when_told(copied):
    reading = read_study(copied)
    saved_as(reading, edited(reading.table, NEW), "study.toml", overwrite=True)
    assert [each.name for each in load_study(copied).content.stations][-1] == "Høyåsen 2"


def test_a_study_that_was_changed_meanwhile_is_not_written(copied):
    reading = read_study(copied)
    copied.write_text(text_of(copied).replace("Larkcombe", "Larkcomb"), encoding="utf-8")
    with pytest.raises(OutputError, match="was changed since it was read; load the study anew"):
        saved_as(reading, reading.table, "other.toml")


def test_what_has_faults_is_not_written(copied):
    reading = read_study(copied)
    wrong = edited(reading.table, {"station": "Larkcombe", "aerial_height_m": -1})
    before = sorted(copied.parent.iterdir())
    with pytest.raises(StudyError, match=r"other\.toml has 1 fault: stations\[1\]\.aerial_height_m: -1\.0"):
        saved_as(reading, wrong, "other.toml")
    assert sorted(copied.parent.iterdir()) == before


def table_edits(*more):
    return [{"station": "Combe Relay", "erp_w": {"Mux 2": 10.5}, "latitude_deg": 36.61}, *more]


def test_a_changed_table_of_stations_is_written_beside(tmp_path):
    reading = read_study(write_table_study(tmp_path))
    saved = saved_as(reading, after_all(reading.table, table_edits()), "other.toml")
    assert saved.table == tmp_path.absolute() / "other_stations.csv"
    assert saved.table.read_text() == ROWS.replace("36.60,20", "36.61,20").replace("45,20.0", "45,10.5")
    assert text_of(saved.path) == ALONE.replace("stations.csv", "other_stations.csv")
    assert saved.changed[-1] == (
        "network.stations: stations.csv → other_stations.csv, which was written beside the study"
    )
    assert (tmp_path / "stations.csv").read_text() == ROWS


def test_a_table_that_stays_as_it_is_is_not_written(tmp_path):
    reading = read_study(write_table_study(tmp_path))
    saved = saved_as(reading, edited(reading.table, NEW), "other.toml")
    assert saved.table is None
    assert load_study(saved.path).content.stations[0].name == "Høyåsen 2"
    (tmp_path / "deep").mkdir()
    saved = saved_as(reading, reading.table, "deep/other.toml")
    assert files_of(read_study(saved.path)) == files_of(reading)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    ends=st.sampled_from(["\n", "\r\n"]),
    mark=st.sampled_from(["", "\ufeff"]),
    edits=st.lists(
        st.one_of(
            st.builds(
                lambda name, height, lon: {"station": name, "aerial_height_m": height, "longitude_deg": lon},
                st.sampled_from(["Far Hill", "Parent Hill", "Combe Relay"]),
                st.floats(1.0, 400.0),
                st.floats(-84.3, -84.21),
            ),
            st.builds(
                lambda erp_w: {"station": "Combe Relay", "erp_w": {"Mux 2": erp_w}}, st.floats(0.1, 9e4)
            ),
            st.builds(lambda deg: {"station": "Combe Relay", "tilt_deg": deg}, st.floats(-10.0, 30.0)),
            st.just({"remove": "Far Hill"}),
            st.just({"remove": "Combe Relay"}),
            st.just(NEW),
        ),
        max_size=5,
    ),
)
def test_a_table_study_reads_back_as_it_was_edited(ends, mark, edits, tmp_path_factory):
    folder = tmp_path_factory.mktemp("table")
    reading = read_study(write_table_study(folder, mark + ROWS.replace("\n", ends)))
    after = after_all(reading.table, edits)
    saved = saved_as(reading, after, "other.toml")
    there = read_study(saved.path)
    assert sorted(there.table["stations"], key=str) == sorted(after["stations"], key=str)
    if saved.table is not None:
        text = text_of(saved.table)
        assert text.startswith(mark)
        assert "# invented" in text
        assert text.count("\n") == text.count(ends)


def test_a_table_without_stations_left_is_not_named(tmp_path):
    far = ROWS.splitlines(keepends=True)[:3]
    text = f'{STUDY}\n[network]\nstations = "stations.csv"\n'
    reading = read_study(write_table_study(tmp_path, "".join(far), text))
    saved = saved_as(reading, edited(reading.table, {"remove": "Far Hill"}), "other.toml")
    assert "network" not in tomllib.loads(text_of(saved.path))
    assert saved.table is None


def test_a_table_in_the_way_stays(tmp_path):
    reading = read_study(write_table_study(tmp_path))
    after = after_all(reading.table, table_edits())
    (tmp_path / "other_stations.csv").write_text("mine")
    with pytest.raises(OutputError, match=r"other_stations\.csv: it is already there"):
        saved_as(reading, after, "other.toml", overwrite=True)
    wrong = edited(after, {"station": "Far Hill", "aerial_height_m": 0.0})
    (tmp_path / "other.toml").write_text("mine")
    with pytest.raises(StudyError):
        saved_as(reading, wrong, "other.toml", overwrite=True)
    assert (tmp_path / "other_stations.csv").read_text() == "mine"
    saved_as(reading, after, "other.toml", overwrite=True)
    again = read_study(tmp_path / "other.toml")
    more = edited(again.table, {"station": "Far Hill", "aerial_height_m": 31})
    saved_as(again, more, "other.toml", overwrite=True)
    assert load_study(tmp_path / "other.toml").content.stations[0].aerial_height_m == 31.0


def test_the_table_of_another_study_is_not_replaced(tmp_path):
    path = write_table_study(tmp_path, text=ALONE.replace("stations.csv", "other_stations.csv"))
    shutil.move(tmp_path / "stations.csv", tmp_path / "other_stations.csv")
    reading = read_study(path)
    (tmp_path / "other.toml").write_text("mine")
    with pytest.raises(OutputError, match=r"other_stations\.csv: it is already there; choose another name"):
        saved_as(reading, after_all(reading.table, table_edits()), "other.toml", overwrite=True)
    assert (tmp_path / "other_stations.csv").read_text() == ROWS
    assert load_study(path)


def test_stations_of_a_geopackage_are_not_rewritten(tmp_path):
    import geopandas

    frame = geopandas.GeoDataFrame(
        {"name": ["Far Hill"], "role": ["parent"], "aerial_height_m": [30.0], "polarization": ["vertical"]}
        | {"service": ["Mux 3"], "channel": [50], "erp_w": [10.0]},
        geometry=geopandas.points_from_xy([-84.25], [36.55]),
        crs="EPSG:4326",
    )
    path = make_study(tmp_path, f'{STUDY}\n[network]\nstations = "stations.gpkg"\n')
    frame.to_file(tmp_path / "stations.gpkg", driver="GPKG")
    reading = read_study(path)
    far = edited(reading.table, {"station": "Far Hill", "aerial_height_m": 31})
    with pytest.raises(OutputError, match="a GeoPackage is not rewritten; write that table as CSV"):
        saved_as(reading, far, "other.toml")
    own = edited(reading.table, {"station": "Combe Relay", "aerial_height_m": 31})
    saved = saved_as(reading, own, "other.toml")
    assert load_study(saved.path).content.stations[1].aerial_height_m == 31.0


def test_claims_follow_stations_that_come_and_go(copied):
    reading = read_study(copied)
    after = after_all(reading.table, [NEW, {"remove": "Larkcombe"}])
    saved = saved_as(reading, after, "other.toml")
    about = load_study(saved.path).content.study
    assert [entry.partition(" #")[0] for entry in about.speaks_of] == [
        "Tarnbeacon", "people.tif", "../ridges_srtm3.tif", "Høyåsen 2",
    ]  # fmt: skip
    assert saved.changed[:2] == ("stations[1] Larkcombe: taken away", "stations[1] Høyåsen 2: added")
    assert "study.speaks_of: follows Larkcombe, Høyåsen 2; " in saved.changed[-1]


def test_changes_elsewhere_are_told_at_their_places():
    before = {"stations": [], "sfn": [{"members": ["A"]}], "siting": {"feed": {"from": ["A", "B"]}}}
    after = {"stations": [], "siting": {"feed": {"from": ["B"]}}}
    assert changes(before, after) == [
        'sfn: [{ members = ["A"] }] → not given',
        'siting.feed.from: ["A", "B"] → ["B"]',
    ]
