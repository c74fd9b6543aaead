"""A map page is taken from where it is kept only if it would be drawn the same, to the byte."""

import dataclasses

import numpy as np
import pytest

import support_map_page as support
from combe.publishing import kept_map, map_page
from combe.publishing.kept_map import render_kept_map
from combe.publishing.map_page import render_map

DRAWN = render_map


@pytest.fixture(scope="module")
def page():
    return support.map_page(grid=support.ridge_grid(rows=30, columns=40, cell_size_m=360.0))


@pytest.fixture
def drawn(monkeypatch):
    """Return a list that grows by each page that is drawn."""
    found = []

    def draw(page):
        found.append(page)
        return DRAWN(page)

    monkeypatch.setattr(map_page, "render_map", draw)
    return found


def test_a_page_is_drawn_once_and_is_the_same_later(page, drawn, tmp_path):
    first, again = (render_kept_map(page, tmp_path) for _ in range(2))
    assert len(drawn) == 1
    assert first == again == DRAWN(page)


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
def test_whatever_changes_is_drawn_anew(changed, page, drawn, tmp_path):
    render_kept_map(page, tmp_path)
    other = changed(page)
    assert render_kept_map(other, tmp_path) == DRAWN(other)
    assert len(drawn) == 2


@pytest.mark.parametrize("name", ["program_salt", "version"])
def test_another_program_draws_anew(name, page, drawn, tmp_path, monkeypatch):
    render_kept_map(page, tmp_path)
    monkeypatch.setattr(kept_map, name, lambda _: "another")
    render_kept_map(page, tmp_path)
    assert len(drawn) == 2


def test_a_spoilt_page_is_drawn_anew(page, drawn, tmp_path):
    first = render_kept_map(page, tmp_path)
    (kept,) = tmp_path.iterdir()
    spoilt = bytearray(kept.read_bytes())
    spoilt[-100] ^= 1
    kept.write_bytes(spoilt)
    assert render_kept_map(page, tmp_path) == first
    assert len(drawn) == 2


def test_where_nothing_can_be_kept_the_page_is_drawn(page, drawn, tmp_path):
    (tmp_path / "file").write_text("no folder")
    assert render_kept_map(page, tmp_path / "file") == DRAWN(page)
    assert len(drawn) == 1
