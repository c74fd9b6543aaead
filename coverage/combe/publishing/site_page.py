"""Writes the pages of a siting: the map of all hills with the list, each hill, two side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combe.publishing.figure import make_figure
from combe.publishing.inline import self_contained_html
from combe.publishing.map_panel import invented_html
from combe.publishing.parts import filled, foot_html, page_part, wide_html
from combe.publishing.site_picture import HillPicture, hill_svg, legend_html, marks_html
from combe.publishing.text import breakable, encode, plain


@dataclass(frozen=True)
class PageTable:
    """A table with a heading; words stand to the left, where a column's head says so by a leading ``<``.

    ``links`` are addresses beside the page for the first cell of each row, empty for none.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    links: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class HillSheet:
    """One hill: facts in pairs, reasons in sentences, feed and services in tables, whom it serves drawn."""

    title: str
    facts: tuple[tuple[str, str], ...]
    reasons: tuple[str, ...]
    tables: tuple[PageTable, ...]
    picture: HillPicture


@dataclass(frozen=True)
class SiteFrame:
    """What stands at head and foot of every page of a siting."""

    title: str
    subtitle: str
    provenance: tuple[str, ...]
    invented_note: str = ""


def render_site_map(
    frame: SiteFrame,
    picture: HillPicture,
    best: float,
    unit: str,
    tables: Sequence[PageTable],
    lead: str,
    *,
    nothing: str = "nobody",
    blank: str = "not searched",
) -> str:
    """Return the page with the map of all hills and the list, as one HTML text that fetches nothing.

    ``best`` is the worth of the best hill, in ``unit``; ``lead`` one sentence ahead of the map; ``nothing``
    says what hills of no worth have, ``blank`` what cells without colour are.
    """
    content = (
        f"<p>{encode(lead)}</p>{hill_svg(picture)}{legend_html(best, unit, nothing, blank)}"
        f"{marks_html(picture)}" + "".join(_table_html(table) for table in tables)
    )
    return _page(frame, content)


def render_hill(frame: SiteFrame, sheet: HillSheet) -> str:
    """Return the page of one hill."""
    return _page(frame, _sheet_html(sheet))


def render_comparison(frame: SiteFrame, first: HillSheet, second: HillSheet, both: PageTable) -> str:
    """Return the page of two hills side by side, their figures in one table first."""
    sides = "".join(f"<section>{_sheet_html(each, beside=True)}</section>" for each in (first, second))
    return _page(frame, f'{_table_html(both)}<div class="sides">{sides}</div>')


def _page(frame: SiteFrame, content: str) -> str:
    body = filled(
        "site_body.html",
        title=encode(frame.title),
        subtitle=encode(frame.subtitle),
        note=invented_html(frame.invented_note),
        content=content,
        foot=foot_html(frame.provenance),
    )
    style = page_part("feed.css") + page_part("site.css")
    figure = make_figure(plain(frame.title), with_map=False, style=style, body=body, script="")
    return self_contained_html(figure)


def _sheet_html(sheet: HillSheet, *, beside: bool = False) -> str:
    """Return a hill's sheet; one beside another has a heading, and its facts stand in the table of both."""
    facts = "".join(
        f"<div><dt>{encode(name)}</dt><dd>{encode(words)}</dd></div>" for name, words in sheet.facts
    )
    reasons = "".join(f"<li>{encode(each)}</li>" for each in sheet.reasons)
    return (
        (f"<h2>{encode(sheet.title)}</h2>" if beside else "")
        + f'<ul class="reasons">{reasons}</ul>'
        + ("" if beside else f'<dl class="facts">{facts}</dl>')
        + hill_svg(sheet.picture)
        + marks_html(sheet.picture)
        + "".join(_table_html(table) for table in sheet.tables)
    )


def _table_html(table: PageTable) -> str:
    left = [head.startswith("<") for head in table.heads]
    looks = ["left" if each else "" for each in left]
    heads = "".join(_head_html(head, look) for head, look in zip(table.heads, looks, strict=True))
    links = table.links or ("",) * len(table.rows)
    rows = "".join(
        f"<tr>{_row_html(row, looks, link)}</tr>" for row, link in zip(table.rows, links, strict=True)
    )
    named = any(head.removeprefix("<") for head in table.heads)
    head_row = f"<thead><tr>{heads}</tr></thead>" if named else ""
    note = f"<p><small>{encode(table.note)}</small></p>" if table.note else ""
    grid = wide_html(f'<table class="grid">{head_row}<tbody>{rows}</tbody></table>', table.title)
    return f'<section class="part"><h2>{encode(table.title)}</h2>{grid}{note}</section>'


def _head_html(head: str, look: str) -> str:
    """Return the head of a column; one without words is an empty corner and heads nothing."""
    words = breakable(head.removeprefix("<"))
    return f'<th scope="col" class="{look}">{words}</th>' if words else "<td></td>"


def _row_html(row: Sequence[str], looks: Sequence[str], link: str) -> str:
    first = f'<a href="{encode(link)}">{breakable(row[0])}</a>' if link else breakable(row[0])
    cells = [first, *(breakable(each) for each in row[1:])]
    return "".join(f'<td class="{look}">{cell}</td>' for look, cell in zip(looks, cells, strict=True))
