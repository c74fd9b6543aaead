"""A file is left as it is only if it would be written the same, to the byte."""

import dataclasses

import numpy as np
import pytest

import support_map_page as support
from combe.publishing import written_before
from combe.publishing.page_language import page_language, pages_in
from combe.publishing.written_before import WrittenBefore


@pytest.fixture(scope="module")
def page():
    return support.map_page(grid=support.ridge_grid(rows=30, columns=40, cell_size_m=360.0))


@pytest.fixture
def write(tmp_path):
    """Return what asks for a file of some content in a run of its own, and tells whether it was written."""

    def asked(content, name="map.html", words="drawn"):
        before, path, wrote = WrittenBefore(tmp_path), tmp_path / name, []

        def draw():
            wrote.append(name)
            path.write_text(words)

        before.unless_there(path, content, draw)
        before.keep()
        assert path.is_file()
        return bool(wrote)

    return asked


def test_what_is_there_is_not_written_again(page, write):
    assert [write(page) for _ in range(3)] == [True, False, False]


def test_another_file_of_the_same_content_is_written(page, write):
    assert write(page)
    assert write(page, "other.html")


def test_a_file_that_somebody_changed_or_removed_is_written_again(page, write, tmp_path):
    write(page)
    (tmp_path / "map.html").write_text("changed")
    assert write(page)
    (tmp_path / "map.html").unlink()
    assert write(page)


def _with_layer(page, **changes):
    layer = dataclasses.replace(page.layers[2], **changes)
    return dataclasses.replace(page, layers=(*page.layers[:2], layer, *page.layers[3:]))


def _nudged(page):
    field = page.layers[2].field_dbuv_m.copy()
    field[5, 5] += 1e-9
    return _with_layer(page, field_dbuv_m=field)


@pytest.mark.parametrize(
    "changed",
    [
        lambda page: dataclasses.replace(page, title="Another"),
        lambda page: dataclasses.replace(page, street_tiles=True),
        lambda page: dataclasses.replace(page, feed_notes=("The feed fails.",)),
        lambda page: dataclasses.replace(page, people=page.people[1:]),
        lambda page: dataclasses.replace(page, heights_m=page.heights_m.astype(np.float32)),
        lambda page: dataclasses.replace(page, grid=dataclasses.replace(page.grid, west_m=195_000.5)),
        lambda page: _with_layer(page, threshold_dbuv_m=53.0001),
        _nudged,
    ],
)
def test_whatever_changes_is_written_anew(changed, page, write):
    write(page)
    assert write(changed(page))


@pytest.mark.parametrize("name", ["program_salt", "version"])
def test_another_program_writes_anew(name, page, write, monkeypatch):
    write(page)
    monkeypatch.setattr(written_before, name, lambda _: "another")
    written_before._maker.cache_clear()
    assert write(page)
    written_before._maker.cache_clear()


def test_a_spoilt_list_is_not_trusted(page, write, tmp_path):
    write(page)
    kept = tmp_path / "written.sealed"
    spoilt = bytearray(kept.read_bytes())
    spoilt[-10] ^= 1
    kept.write_bytes(spoilt)
    assert write(page)


def test_where_nothing_can_be_noted_all_is_written(page, tmp_path):
    (tmp_path / "file").write_text("no folder")
    for _ in range(2):
        before, wrote = WrittenBefore(tmp_path / "file"), []
        before.unless_there(tmp_path / "map.html", page, lambda wrote=wrote: wrote.append(1))
        before.keep()
        assert wrote == [1]


def test_a_page_in_another_language_is_another_page(page, write, monkeypatch):
    assert write(page)
    with pages_in(page_language("de")):
        assert write(page, words="gezeichnet")
        assert not write(page, words="gezeichnet")
    assert write(page)
    written_before._maker.cache_clear()
    monkeypatch.setattr(written_before, "catalogues_hash", lambda: "another catalogue")
    assert write(page)
    written_before._maker.cache_clear()
