"""Texts of tables: encodings that prove themselves and those that do not, and what parts cells."""

import pytest

from combe.errors import TableError
from combe.tables.columns import Layout
from combe.tables.text_file import ENCODINGS, read_records, separator_of

TEXT = "name;people\nKöln;7\n"


def read(tmp_path, content, encoding=None):
    (tmp_path / "t.csv").write_bytes(content)
    return read_records(tmp_path / "t.csv", Layout(encoding=encoding), 1000, "cut it")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_texts_that_tell_their_encoding(tmp_path, encoding):
    assert [cells for _, cells in read(tmp_path, TEXT.encode(encoding))] == [
        ["name", "people"],
        ["Köln", "7"],
    ]


@pytest.mark.parametrize("encoding", ["windows-1252", "utf-16-le", "utf-16-be", "cp850"])
def test_texts_whose_encoding_is_told(tmp_path, encoding):
    with pytest.raises(TableError, match="it is not UTF-8 text"):
        read(tmp_path, TEXT.encode(encoding))
    assert "Köln" in read(tmp_path, TEXT.encode(encoding), encoding).text


def test_an_error_shows_how_a_text_would_read(tmp_path):
    with pytest.raises(TableError) as caught:
        read(tmp_path, TEXT.encode("windows-1252"))
    said = str(caught.value)
    assert "as windows-1252, row 2 has 'Köln;7'; if that reads well write encoding = \"windows-1252\"" in said
    with pytest.raises(TableError, match='write encoding = "utf-16-be", or save it as CSV in UTF-8'):
        read(tmp_path, TEXT.encode("utf-16-be"))


def test_a_wrong_encoding_is_not_believed(tmp_path):
    with pytest.raises(TableError, match="it is utf-8 and not windows-1252; take encoding out"):
        read(tmp_path, TEXT.encode(), "windows-1252")
    with pytest.raises(TableError, match="it is utf-16 and not utf-8"):
        read(tmp_path, TEXT.encode("utf-16"), "utf-8")
    with pytest.raises(TableError, match="row 2 is no utf-8 text"):
        read(tmp_path, TEXT.encode("windows-1252"), "utf-8")
    with pytest.raises(TableError, match="encoding 'windows-1525' is unknown; did you mean"):
        read(tmp_path, TEXT.encode("windows-1252"), "windows-1525")
    assert all("a".encode(name).decode(name) == "a" for name in ENCODINGS)


def test_no_text_at_all(tmp_path):
    with pytest.raises(TableError, match="a zero byte stands in it"):
        read(tmp_path, b"name,people\nX\0Y,700000000000\n")
    with pytest.raises(TableError, match="it is larger than 0 MB; cut it"):
        read(tmp_path, b"x" * 1001)


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("a,b\n1,2\n", ","),
        ("a;b\n1;2\n", ";"),
        ("a\tb\n1,5\t2,5\n", "\t"),
        ("a|b\n1|2\n", "|"),
        ("name;lat, deg;lon, deg\nHill;47,1;9,5\n", ";"),
        ("a;b\n", ";"),
        ('a,"b;c"\n1,2\n', ","),
        ("a\n1\n", ","),
        ("# made; by; hand\na,b\n1,2\n", ","),
        ("a,b\n1;2\n3,4\n", ","),
    ],
)
def test_what_parts_cells(text, separator):
    assert separator_of(text) == separator
