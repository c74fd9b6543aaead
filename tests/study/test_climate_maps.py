"""Files of the maps of P.2001-4: read in any letter case, refused by name and with what is allowed."""

import shutil

import pytest

from combe.errors import TableError
from combe.study.climate_maps import MAP_FILES, maps_and_faults, read_map, read_maps
from support_maps import LOW_HIGH, value_at, write_maps

RAIN = ("Esarain_Pr6_v5.txt", "Esarain_Mt_v5.txt", "Esarain_Beta_v5.txt")
FORM = "allowed: 121 lines of 241 numbers, blanks between"


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    return write_maps(tmp_path_factory.mktemp("maps"))


@pytest.fixture
def folder(sound, tmp_path):
    return shutil.copytree(sound, tmp_path / "maps")


def faults(folder):
    maps, found = maps_and_faults(folder)
    assert (maps is None) == bool(found)
    return found


def test_every_file_tells_its_own_number(sound):
    climate = read_maps(sound).at(-2.1, 51.3)
    for name in LOW_HIGH:
        assert getattr(climate, name) == pytest.approx(value_at(name, -2.1, 51.3), rel=1e-5), name


def test_names_may_differ_in_letter_case(sound, folder):
    for path in list(folder.iterdir()):
        path.rename(folder / path.name.upper())
    assert read_maps(folder).at(5.0, -7.0) == read_maps(sound).at(5.0, -7.0)


def test_rain_counts_where_its_three_maps_are_there(folder):
    assert read_maps(folder).rain_known
    (folder / RAIN[1]).unlink()
    (folder / RAIN[0]).write_text("spoilt", encoding="utf-8")  # and is not read where they are not
    assert not read_maps(folder).rain_known


def test_line_ends_tabs_and_empty_lines_are_as_blanks(sound, folder):
    path = folder / "h0.txt"
    path.write_bytes(path.read_bytes().replace(b" ", b"\t").replace(b"\n", b"  \r\n") + b"\r\n\r\n")
    assert read_maps(folder).at(5.0, -7.0) == read_maps(sound).at(5.0, -7.0)


def test_missing_files_are_told_at_once(folder):
    (folder / "h0.txt").unlink()
    assert faults(folder) == ["h0.txt is missing; put there what the ITU-R publishes with P.2001-4"]
    (folder / "DN_Median.txt").unlink()
    (folder / "FoEs50.txt").write_text("x", encoding="utf-8")
    assert faults(folder) == [
        "DN_Median.txt, h0.txt are missing; put there what the ITU-R publishes with P.2001-4",
        f'FoEs50.txt: line 1: "x" is no number; {FORM}',
    ]
    with pytest.raises(
        TableError, match=r"^table .*maps: DN_Median.txt, h0.txt are missing; .* \| FoEs50.txt: "
    ):
        read_maps(folder)


def test_a_map_that_is_there_twice_is_a_fault(folder):
    shutil.copyfile(folder / "h0.txt", folder / "H0.TXT")
    if len({path.name.casefold() for path in folder.iterdir()}) == len(list(folder.iterdir())):
        pytest.skip("this file system does not tell letter case")
    assert faults(folder) == ["H0.TXT and h0.txt are one map; take one out"]


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("h0.txt", lambda text: text.replace("\n", "\n\n", 1) + text, f"it holds 242 lines; {FORM}"),
        ("h0.txt", lambda text: text.split("\n", 1)[1], f"it holds 120 lines; {FORM}"),
        ("h0.txt", lambda text: text[:0], f"it holds 0 lines; {FORM}"),
        ("h0.txt", lambda text: text.replace("\n", " 1.5\n", 1), f"line 1 holds 242; {FORM}"),
        ("h0.txt", lambda text: text.replace(" ", ",", 1), f'line 1: "1.4,1.46" is no number; {FORM}'),
        ("h0.txt", lambda text: "km\n" + text, f'line 1: "km" is no number; {FORM}'),
        ("h0.txt", lambda text: text + "1.2.3\n", f'line 122: "1.2.3" is no number; {FORM}'),
        ("h0.txt", lambda text: "x" * 50 + " " + text, f'line 1: "{"x" * 30}…" is no number; {FORM}'),
        (
            "h0.txt",
            lambda text: "NaN" + text[3:],
            "it holds nan in row 1, column 1; allowed: finite numbers",
        ),
        (
            "TropoClim.txt",
            lambda text: "9" + text[1:],
            "it holds 9 in row 1, column 1; allowed: 0 (sea), 1, 2, 3, 4, 5 or 6",
        ),
        (
            "TropoClim.txt",
            lambda text: text + text,
            "it holds 720 lines; allowed: 360 lines of 720 numbers, blanks between",
        ),
        (
            "Esarain_Mt_v5.txt",
            lambda text: text + text,
            "it holds 322 lines; allowed: 161 lines of 321 numbers, blanks between",
        ),
    ],
)
def test_a_spoilt_file_is_told_with_what_is_allowed(sound, tmp_path, name, change, words):
    path = tmp_path / name
    path.write_text(change((sound / name).read_text("utf-8")), encoding="utf-8")
    told = next(number for number, file in MAP_FILES.items() if file == name)
    with pytest.raises(TableError) as caught:
        read_map(path, told)
    assert caught.value.problem == words


def test_what_is_no_text_is_told(folder):
    (folder / "h0.txt").write_bytes(b"\xff\xfe\x00\x01")
    assert faults(folder) == ["h0.txt: is no text; a map is a text file of numbers"]
    (folder / "h0.txt").unlink()
    (folder / "h0.txt").mkdir()
    assert faults(folder) == ["h0.txt: is no file of text"]


def test_a_file_larger_than_any_map_is_not_read(folder, monkeypatch):
    monkeypatch.setattr("combe.study.climate_maps._LARGEST_BYTES", 2_000_000)
    assert (folder / "h0.txt").stat().st_size < 2_000_000
    assert faults(folder) == []
    (folder / "h0.txt").write_text("1 " * 1_000_001, encoding="utf-8")
    assert faults(folder) == ["h0.txt: is larger than 2 MB, and no map is"]


def test_a_folder_that_is_none_is_told(tmp_path):
    advice = "name the folder with the maps of P.2001-4 (DN_Median.txt, …)"
    assert faults(tmp_path / "nowhere") == [f"there is no such folder; {advice}"]
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert faults(tmp_path / "file") == [f"is a file and no folder; {advice}"]


def test_an_empty_folder_names_all_files_but_those_of_rain(tmp_path):
    (fault,) = faults(tmp_path)
    listed = fault.split(" are missing")[0].split(", ")
    assert sorted([*listed, *RAIN]) == sorted(MAP_FILES.values())
