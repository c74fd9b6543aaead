"""What is saved of an edited study: its text kept where nothing changed, and only what passes the checks."""

import shutil
import tomllib

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from combe.errors import OutputError, RangeError, StudyError
from combe.study.edit import edited
from combe.study.file import checked_study, load_study, read_study
from combe.study.file_names import with_names
from combe.study.new import demo_study_path, new_study
from combe.study.save import changes, write_study
from combe.study.saved_text import saved_text
from combe.study.toml_text import TomlText
from combe.terrain import sample_folder
from support_edits import ALONE, ROWS, write_table_study
from support_study import STUDY
from support_study import write_study as make_study

NEW = {"add": {"name": "Høyåsen 2", "longitude_deg": -84.3, "latitude_deg": 36.6}}
MOVE = {"station": "Larkcombe", "longitude_deg": -84.28, "erp_w": {"Mux A": 80}}


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    return new_study(tmp_path_factory.mktemp("new") / "study")


@pytest.fixture
def copied(tmp_path):
    """Return the demo's study, with its tiles beside its folder as in the samples."""
    shutil.copytree(demo_study_path().parent, tmp_path / "given" / "demo")
    shutil.copy(sample_folder() / "ridges_srtm3.tif", tmp_path / "given")
    return tmp_path / "given" / "demo" / "study.toml"


def text_of(path):
    return path.read_bytes().decode("utf-8")


def saved_as(reading, after, path, *, overwrite=False):
    return write_study(checked_study(reading), reading.table, after, path, overwrite=overwrite)


def comments(text):
    """Return the lines of a text that are comments."""
    return [line.strip() for line in text.splitlines() if line.lstrip().startswith("#")]


def is_subsequence(some, of):
    rest = iter(of)
    return all(each in rest for each in some)


def of_station(name):
    """Return edits of a station that the demo's stations can all have."""
    number = st.floats(0.0, 300.0, allow_nan=False)
    return st.fixed_dictionaries(
        {"station": st.just(name)},
        optional={
            "longitude_deg": st.floats(-84.35, -84.2, allow_nan=False),
            "aerial_height_m": number,
            "polarization": st.sampled_from(["horizontal", "vertical"]),
            "horizontal_pattern": st.sampled_from(["omni", 'a "b" ç.csv']),
            "bearing_deg": number,
            "on_air": st.booleans(),
            "erp_w": st.dictionaries(st.sampled_from(["Mux A", "Mux C"]), number, max_size=2),
            "channel": st.dictionaries(st.sampled_from(["Mux A", "Mux B"]), st.integers(21, 48), max_size=2),
        },
    )


ADDED = st.fixed_dictionaries(
    {
        "name": st.sampled_from(["Høyåsen", "Far #2"]),
        "longitude_deg": st.just(-84.3),
        "latitude_deg": st.just(36.6),
    }
)
EDITS = st.lists(
    st.one_of(
        of_station("Larkcombe"),
        of_station("Tarnbeacon"),
        st.builds(lambda add: {"add": add}, ADDED),
        st.builds(lambda name: {"remove": name}, st.sampled_from(["Larkcombe", "Høyåsen", "Far #2"])),
    ),
    max_size=6,
)


def after_all(table, edits):
    """Return a table after those of the edits that can be made one after another."""
    for edit in edits:
        try:
            table = edited(table, edit)
        except RangeError:
            continue
    return table


@pytest.mark.parametrize("which", ["demo", "template"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=EDITS)
@example(edits=[])
@example(edits=[{"remove": "Larkcombe"}])
@example(edits=[NEW, {"remove": "Larkcombe"}])
def test_a_text_says_what_the_edits_made_and_keeps_the_rest(which, ends, mark, template, edits):
    text = mark + text_of(demo_study_path() if which == "demo" else template).replace("\n", ends)
    before = tomllib.loads(text.removeprefix(mark))
    after = after_all(before, edits)
    saved = saved_text(text, before, after)
    assert tomllib.loads(saved.removeprefix(mark)) == after
    assert saved.startswith(mark)
    assert saved.count("\n") == saved.count(ends)
    if after == before:
        assert saved == text
    if {"Larkcombe"} <= {each["name"] for each in after["stations"]}:
        assert is_subsequence(comments(text), comments(saved))
    else:
        outside = text[: text.rindex("[[stations]]")] + text[text.rindex("[stations.output]") :]
        kept = [line for line in comments(outside) if "Where" in line or "television" in line]
        assert is_subsequence(kept, comments(saved))


def test_every_value_is_found_where_it_stands(template):
    text = (
        'a."b c".d = """x\\"""y""" # one\n[t.\'q\']\nlist = [ 1, # two\n "]#", [3] , ]\n'
        "in = { x.y = 'z', w = {} }\nday = 2026-01-05 07:00:00 # three\n"
        "[[s]]\n[[s.t]]\nn = 1\n[[s.t]]\nn=2\n[[s]]\n"
        "[s.u]\nm = '''\n[no]\nheading = 1'''\n"
    )
    for each in (text, text_of(template), text_of(demo_study_path()), STUDY):
        found = TomlText(each)
        for place, value in leaves(tomllib.loads(each)):
            start, end = found.values[place]
            assert tomllib.loads(f"x = {each[start:end]}")["x"] == value
    assert [heading.place for heading in TomlText(text).headings] == [
        ("t", "q"), ("s", 0), ("s", 0, "t", 0), ("s", 0, "t", 1), ("s", 1), ("s", 1, "u"),
    ]  # fmt: skip


def leaves(value, place=()):
    inner = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    )
    if inner is None:
        yield place, value
        return
    for key, each in inner:
        yield from leaves(each, (*place, key))


HAND = """\
# all
[study] # what
title = "T"   # called

[[stations]]   # the first
name = "A"
erp_w = 100.0    # power
# on_air = false   # whether it is
# tilt_deg = 3.0
# [stations.array]
# bearing_deg = 3.0

# what the next one is for
[[stations]]
name = "B" # last
note = \"\"\"
# tilt_deg = 9
\"\"\"

# The north.

# right above C
[[stations]]
name = "C"

[[sfn]]
members = [
  "A",  # the first
  "B",
  "C"  # the last
]
static_delay_us = {A = 1.0, "B" = 2}

# [coordination]
# points = "x"
"""


def changed(change, text=HAND):
    before = tomllib.loads(text)
    after = tomllib.loads(text)
    change(after)
    return saved_text(text, before, after)


def test_a_key_that_stands_as_a_comment_is_written_there():
    found = changed(lambda table: table["stations"][0].update(on_air=True, tilt_deg=1.5, bearing_deg=2.0))
    new = "on_air = true      # whether it is\ntilt_deg = 1.5\n"
    wanted = HAND.replace("# on_air = false   # whether it is\n# tilt_deg = 3.0\n", new, 1)
    assert found == wanted.replace("# power\n", "# power\nbearing_deg = 2.0\n")


def test_a_new_key_stands_in_its_own_table_and_not_under_the_next_ones_comment():
    found = changed(lambda table: table["stations"][1].update(tilt_deg=2.0))
    assert found == HAND.replace('9\n"""\n', '9\n"""\ntilt_deg = 2.0\n')


def test_a_comment_stays_in_its_column_while_there_is_room():
    assert changed(lambda table: table["stations"][0].update(erp_w=5.0)) == HAND.replace(
        "erp_w = 100.0    # power", "erp_w = 5.0      # power"
    )
    found = changed(lambda table: table["stations"][0].update(erp_w=1000000.0))
    assert "erp_w = 1000000.0  # power" in found


def test_a_table_goes_with_its_comment_and_without_that_of_the_next():
    found = changed(lambda table: table["stations"].pop(1))
    gone = HAND[HAND.index("# what the next one is for") : HAND.index("# The north.")]
    assert found == HAND.replace(gone, "")
    found = changed(lambda table: table["stations"].pop(0))
    assert found.startswith(
        '# all\n[study] # what\ntitle = "T"   # called\n\n# what the next one is for\n[[stations]]'
    )


def test_entries_of_a_list_go_with_what_is_about_them_alone():
    def without(*names):
        return changed(lambda table: [table["sfn"][0]["members"].remove(name) for name in names])

    assert without("B") == HAND.replace('  "B",\n  "C"', '  "C"')
    assert without("A") == HAND.replace('  "A",  # the first', "    # the first")
    assert is_subsequence(comments(HAND), comments(without("B", "C")))
    assert without("B", "C").count("# the ") == HAND.count("# the ")
    found = changed(lambda table: table["sfn"][0]["members"].append("D"))
    assert found == HAND.replace('"C"  # the last', '"C", "D"  # the last')
    found = changed(lambda table: table["sfn"][0]["static_delay_us"].pop("B"))
    assert found == HAND.replace('{A = 1.0, "B" = 2}', "{ A = 1.0 }")


def test_a_network_that_goes_leaves_the_others():
    head = '[[stations]]\nname = "A"\n'
    first = '# first\n[[sfn]]\nmembers = ["A", "D"]\n\n'
    second = '# second\n[[sfn]]\nmembers = ["A", "B", "C"]  # three\n'
    found = changed(lambda table: table.update(sfn=[{"members": ["A", "B"]}]), f"{head}\n{first}{second}")
    assert found == f"{head}\n{second}".replace(', "C"', "")


def test_what_cannot_be_written_in_place_is_refused():
    inline = 'stations = [{ name = "A" }, {name = "B"}]\n'
    assert changed(lambda table: table["stations"].pop(0), inline) == 'stations = [{name = "B"}]\n'
    implied = "[stations.a.b]\nx = 1\n"
    with pytest.raises(RangeError, match=r"the study's text is such that stations\.a\.y cannot be changed"):
        changed(lambda table: table["stations"]["a"].update(y=2), implied)


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
