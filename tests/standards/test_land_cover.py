"""Legends of land-cover maps and tables of heights."""

import pytest

from combe.errors import RangeError, TableError
from combe.standards.land_cover import (
    HEADER,
    KIND_HEIGHT_M,
    LEGENDS,
    CoverClass,
    Legend,
    class_heights_m,
    legend_named,
    read_heights_m,
)


@pytest.mark.parametrize(
    ("kind", "height_m"),
    # ITU-R P.2108-1 §3.1, Table 3 (as in the public code of NTIA/p2108).
    [("suburban", 10.0), ("urban", 15.0), ("trees", 15.0), ("dense urban", 20.0)],
)
def test_published_heights(kind, height_m):
    assert KIND_HEIGHT_M[kind].value == height_m
    assert KIND_HEIGHT_M[kind].confidence == "read"


@pytest.mark.parametrize("kind", ["open", "scrub", "industry"])
def test_heights_without_a_source_say_so(kind):
    assert KIND_HEIGHT_M[kind].confidence == "own choice"


def test_classes_of_worldcover():
    # Class table of ESA WorldCover.
    heights = class_heights_m(legend_named("worldcover"))
    assert list(heights) == [10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100]
    assert (heights[10], heights[40], heights[50], heights[80]) == (15.0, 0.0, 10.0, 0.0)


def test_corine_in_its_three_numberings():
    codes, numbers = legend_named("corine").classes, legend_named("corine-grid").classes
    assert len(codes) == len(numbers) == 44
    assert [each.name for each in codes] == [each.name for each in numbers]
    assert (codes[0].code, numbers[0].code) == (111, 1)
    assert (codes[-1].code, numbers[-1].code) == (523, 44)
    assert [each.code for each in legend_named("corine-level-1").classes] == [1, 2, 3, 4, 5]


def test_every_legend_names_its_source():
    for legend in LEGENDS.values():
        assert legend.reference
        assert legend.confidence in ("read", "from memory")
        assert all(each.height_m >= 0.0 for each in legend.classes)


def legend_text(legend):
    """Return a legend as the text of a file of heights; what more is in a row is passed over."""
    rows = [f"{each.code},{each.height_m:g},{each.name},{each.kind}" for each in legend.classes]
    head = f"# {legend.title}: {legend.reference} ({legend.confidence}). Edit the heights."
    return "\n".join([head, ",".join([*HEADER, "name", "kind"]), *rows]) + "\n"


def test_a_legend_is_written_and_read_back(tmp_path):
    for name, legend in LEGENDS.items():
        path = tmp_path / f"{name}.csv"
        path.write_text(legend_text(legend), encoding="utf-8")
        assert read_heights_m(path) == class_heights_m(legend)


def test_unknown_words():
    with pytest.raises(RangeError, match="legend is 'moon'; allowed: worldcover, nlcd, corine"):
        legend_named("moon")
    with pytest.raises(RangeError, match="kind of a land-cover class is 'jungle'"):
        CoverClass(1, "jungle", "jungle")
    one = CoverClass(1, "wood", "trees")
    with pytest.raises(RangeError, match="codes of a legend"):
        Legend("twice", "Twice", (one, one), "nowhere", "own choice")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("10,15\n", "it does not begin with class,height_m; write that header line first"),
        ("", "it does not begin with class,height_m"),
        ("class,height_m\n", "it holds no class"),
        ("class,height_m\nwood,15\n", "line 2: 'wood,15' is no class and height; write for example 10,15"),
        ("class,height_m\n10\n", "line 2: '10' is no class and height"),
        ("# mine\nclass,height_m\n\n10,900\n", "line 4: height 900 m is out of range; write 0 to 150"),
        ("class,height_m\n10,nan\n", "line 2: height nan m is out of range"),
        ("class,height_m\n10,1\n10,2\n", "line 3: class 10 stands twice"),
    ],
)
def test_tables_that_cannot_be_used(tmp_path, text, words):
    path = tmp_path / "heights.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TableError) as caught:
        read_heights_m(path)
    assert f"table {path}: {words}" in str(caught.value)


def test_files_that_are_no_table(tmp_path):
    with pytest.raises(TableError, match="there is no such file"):
        read_heights_m(tmp_path / "gone.csv")
    with pytest.raises(TableError, match="is not a regular file"):
        read_heights_m(tmp_path)
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TableError, match="is not UTF-8 text"):
        read_heights_m(tmp_path / "bytes.csv")
    (tmp_path / "large.csv").write_bytes(b"#" * 1_000_001)
    with pytest.raises(TableError, match="is larger than 1 MB"):
        read_heights_m(tmp_path / "large.csv")
