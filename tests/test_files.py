"""Tests of writing files whole or not at all."""

import pytest

from combe.errors import OutputError
from combe.files import ensure_folder, replacing, write_text_atomically


def test_text_is_written_and_nothing_else_is_left(tmp_path):
    write_text_atomically(tmp_path / "new" / "a.html", "wörd\n")
    assert (tmp_path / "new" / "a.html").read_bytes() == "wörd\n".encode()
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["a.html"]


def test_a_failure_leaves_the_old_file_and_no_remains(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text("old")
    with pytest.raises(ZeroDivisionError), replacing(path) as beside:
        beside.write_text("half")
        (beside.parent / (beside.name + "-journal")).write_text("remains")
        raise ZeroDivisionError
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_a_file_is_one_line(tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(
        OutputError, match=r"cannot write .*below: it, or a part of its path, is a file"
    ) as caught:
        ensure_folder(tmp_path / "taken" / "below")
    assert "\n" not in str(caught.value)


def test_a_folder_that_may_not_be_written(tmp_path, monkeypatch):
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(OutputError, match="may not be written; choose a folder"):
        ensure_folder(tmp_path)


def test_a_folder_in_the_way(tmp_path):
    (tmp_path / "map.html").mkdir()
    with pytest.raises(OutputError, match="a folder of this name is in the way"):
        write_text_atomically(tmp_path / "map.html", "x")


def test_a_system_error_becomes_one_line(tmp_path):
    with (
        pytest.raises(OutputError, match=r"cannot write .*a.txt: no space left on device"),
        replacing(tmp_path / "a.txt"),
    ):
        raise OSError(28, "No space left on device")
    assert list(tmp_path.iterdir()) == []
