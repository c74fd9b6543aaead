"""Draws the map of studies side by side: the map page with a divider between two of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.publishing.content import MapPage
from combe.publishing.inline import (
    filled,
    make_figure,
    page_part,
    page_script,
    self_contained_html,
    tell_html,
)
from combe.publishing.map_page import MAP_SCRIPTS, body_html, page_data
from combe.publishing.page_language import in_page_language, retold_data, told_html
from combe.publishing.text import breakable, encode_data, plain

_SCRIPTS: Final = (
    *MAP_SCRIPTS,
    *("swipe.js", "sides.js", "compare.js", "start.js"),
)


@dataclass(frozen=True)
class SideBySide:
    """What the page says beside the map: sentences, and a table by its heads and rows of texts.

    ``sentences`` stand at the top, ``more`` with the table, which on paper has a sheet of its own.
    """

    sentences: tuple[str, ...]
    more: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def render_compare(page: MapPage, said: SideBySide) -> str:
    """Return the page as one HTML text that asks the network for nothing.

    The layers that show margins are the studies, and each may lie on either side of the divider.
    """
    figure = make_figure(
        plain(in_page_language(page.title)),
        with_map=True,
        style="\n".join(page_part(name) for name in ("map.css", "swipe.css", "compare.css")),
        body=_body(page, said),
        script=page_script(*_SCRIPTS),
    )
    return self_contained_html(figure, about=page.about)


def _body(page: MapPage, said: SideBySide) -> str:
    return body_html(
        page,
        encode_data(retold_data(page_data(page))),
        headline=filled("compare_head.html", sentences=_sentences_html(said.sentences)),
        table=_table_html(said),
        work=filled("swipe_frame.html"),
    )


def _sentences_html(sentences: Sequence[str]) -> str:
    return "".join(f"<p>{breakable(in_page_language(words))}</p>" for words in sentences)


def _table_html(said: SideBySide) -> str:
    """Return the counts as a table, which scrolls by itself where it is wider than its panel."""
    head = "".join(f'<th scope="col">{told_html(words)}</th>' for words in said.heads)
    body = "".join(
        f'<tr><th scope="row">{told_html(first)}</th>'
        + "".join(f"<td>{told_html(words)}</td>" for words in others)
        + "</tr>"
        for first, *others in said.rows
    )
    rows_html = f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>"
    table = f'<table class="counts beside-one-another">{rows_html}</table>'
    title = tell_html("Count by count")
    framed = f'<div class="scrolled" tabindex="0" role="group" aria-label="{title}">{table}</div>'
    return f"<section><h2>{title}</h2>{framed}{_sentences_html(said.more)}</section>"
