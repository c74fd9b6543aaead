"""Files of arrays sealed with their hash: read back bit by bit, never trusted when anything changed."""

import numpy as np
import pytest

from combe.errors import OutputError, RangeError, StoreError
from combe.prediction.sealed_file import open_sealed, read_part, read_rows, write_sealed

RANDOM = np.random.default_rng(7)
ARRAYS = {
    "field": RANDOM.normal(size=(3, 7, 5)).astype(np.float32),
    "best": RANDOM.integers(-1, 9, size=(7, 5)).astype(np.int16),
    "served": RANDOM.random((7, 5)) > 0.5,
    "big end first": np.arange(4.0).astype(">f8"),
    "one": np.array(3),
    "none": np.empty((0, 5)),
}
ABOUT = {"key": "abc", "sweep_s": 1.25, "names": ["Møre", "b"]}


@pytest.fixture
def path(tmp_path):
    write_sealed(tmp_path / "new" / "a.fields", ARRAYS, ABOUT)
    return tmp_path / "new" / "a.fields"


def test_what_is_read_is_what_was_written(path):
    sealed = open_sealed(path)
    assert sealed.about == ABOUT
    for name, array in ARRAYS.items():
        back = read_part(sealed, name)
        np.testing.assert_array_equal(back, array)
        assert back.shape == array.shape
        assert back.dtype == array.dtype.newbyteorder("<")


def test_the_writer_returns_what_the_reader_finds(tmp_path):
    written = write_sealed(tmp_path / "b", ARRAYS, ABOUT)
    assert written == open_sealed(tmp_path / "b")
    assert [each.name for each in tmp_path.iterdir()] == ["b"]


def test_the_same_content_makes_the_same_bytes(tmp_path):
    for name in "ab":
        write_sealed(tmp_path / name, ARRAYS, ABOUT)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_not_a_number_keeps_its_place(tmp_path):
    field = np.array([[np.nan, -np.inf], [0.0, -0.0]], dtype=np.float32)
    write_sealed(tmp_path / "c", {"f": field}, {})
    assert read_part(open_sealed(tmp_path / "c"), "f").tobytes() == field.tobytes()


def test_rows_of_a_layer(path):
    sealed = open_sealed(path)
    np.testing.assert_array_equal(read_rows(sealed, "field", 2, 3, 6), ARRAYS["field"][2, 3:6])
    np.testing.assert_array_equal(read_rows(sealed, "field", 0, 0, 7), ARRAYS["field"][0])
    assert read_rows(sealed, "field", 1, 4, 4).shape == (0, 5)


@pytest.mark.parametrize("wanted", [(3, 0, 1), (-1, 0, 1), (0, 0, 8), (0, 2, 1)])
def test_rows_that_are_not_there(path, wanted):
    with pytest.raises(RangeError, match="allowed: 3 layers of 7 rows"):
        read_rows(open_sealed(path), "field", *wanted)


def test_any_changed_byte_closes_the_file(path):
    whole = path.read_bytes()
    places = [*range(100), *RANDOM.integers(100, len(whole), 200), len(whole) - 1]
    for place in places:
        spoilt = bytearray(whole)
        spoilt[place] ^= 1
        path.write_bytes(spoilt)
        assert open_sealed(path) is None, place
    path.write_bytes(whole)
    assert open_sealed(path) is not None


@pytest.mark.parametrize("length", [0, 10, 79, 80, 200, -1])
def test_a_file_cut_short_does_not_open(path, length):
    path.write_bytes(path.read_bytes()[:length])
    assert open_sealed(path) is None


def test_more_than_was_written_does_not_open(path):
    path.write_bytes(path.read_bytes() + b"x")
    assert open_sealed(path) is None


def test_no_file_and_no_sealed_file(tmp_path):
    assert open_sealed(tmp_path / "nothing") is None
    assert open_sealed(tmp_path) is None
    (tmp_path / "text").write_text("combe sealed 1 not really\n")
    assert open_sealed(tmp_path / "text") is None


def test_a_file_lost_while_in_use(path):
    sealed = open_sealed(path)
    path.write_bytes(path.read_bytes()[:700])
    with pytest.raises(StoreError, match=r"a.fields: it was cut short while in use; run again"):
        read_rows(sealed, "field", 2, 0, 7)
    path.unlink()
    with pytest.raises(StoreError, match="it was removed while in use; run again"):
        read_part(sealed, "best")


def test_only_numbers_are_kept(tmp_path):
    with pytest.raises(RangeError, match="type of array names is object; allowed: numbers"):
        write_sealed(tmp_path / "d", {"names": np.array(["a", None])}, {})
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written(tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match="cannot write"):
        write_sealed(tmp_path / "taken" / "d", ARRAYS, {})
