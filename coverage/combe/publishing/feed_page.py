"""Writes the feed page: for each relay the profile, the budgets, the chain, and what else is on its input."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Final

from combe.errors import RangeError
from combe.publishing.figure import make_figure
from combe.publishing.inline import self_contained_html
from combe.publishing.map_panel import invented_html
from combe.publishing.parts import filled, foot_html, page_part, unseen_html, wide_html
from combe.publishing.text import breakable, encode, number, plain
from combe.reception.feed_verdict import VERDICTS, Verdict, worst_verdict

_VERDICT_SIGNS: Final[dict[Verdict, str]] = {"passes": "✓", "not judged": "?", "fails": "✗"}


@dataclass(frozen=True)
class BudgetRow:
    """One line of a feed budget; ``strong`` lines are results. NaN prints as a dash."""

    label: str
    value: float
    unit: str
    decimals: int = 1
    strong: bool = False


Cell = str | float | None
"""A cell of a table: text to the left, a number to the right, None as a dash."""


@dataclass(frozen=True)
class FeedTable:
    """A table below the budgets; ``note`` stands under its title. Rows are as long as the heads."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        """Check the lengths."""
        for row in self.rows:
            if len(row) != len(self.heads):
                raise RangeError(
                    f"cells in a row of {self.title}", len(row), f"{len(self.heads)}, as the heads"
                )


@dataclass(frozen=True)
class FeedPicture:
    """A diagram below the budgets; ``words`` describe it to those who cannot see it."""

    title: str
    svg: str
    words: str
    note: str = ""


@dataclass(frozen=True)
class FeedService:
    """The budget of one service; ``reason`` says in a sentence why it passes or fails."""

    name: str
    channel: int
    rows: tuple[BudgetRow, ...]
    verdict: Verdict
    reason: str = ""

    def __post_init__(self) -> None:
        """Check the verdict."""
        if self.verdict not in VERDICTS:
            raise RangeError("verdict", repr(self.verdict), ", ".join(VERDICTS))


@dataclass(frozen=True)
class FeedRelay:
    """The feed of one relay: its services, all with the same lines in the same order, and profile diagrams.

    ``diagrams`` holds pairs of an SVG text and the words that describe it to those who cannot see it;
    ``parts`` are the pictures and tables below the budgets, in order.
    """

    relay: str
    parent: str
    services: tuple[FeedService, ...]
    diagrams: tuple[tuple[str, str], ...] = ()
    summary: str = ""
    parts: tuple[FeedTable | FeedPicture, ...] = ()

    def __post_init__(self) -> None:
        """Check that the budgets can stand side by side."""
        if not self.services:
            raise RangeError(f"services of relay {self.relay}", 0, "1 or more")
        lines = {tuple((row.label, row.unit) for row in service.rows) for service in self.services}
        if len(lines) > 1:
            raise RangeError(f"budget lines of relay {self.relay}", "different", "the same for each service")

    @property
    def verdict(self) -> Verdict:
        """The worst of its services."""
        return worst_verdict(service.verdict for service in self.services)


@dataclass(frozen=True)
class FeedPage:
    """All that one feed page shows."""

    title: str
    subtitle: str
    relays: tuple[FeedRelay, ...]
    provenance: tuple[str, ...] = ()
    invented_note: str = ""


def render_feed_page(page: FeedPage) -> str:
    """Return the page as one HTML text that asks the network for nothing."""
    body = filled(
        "feed_body.html",
        title=encode(page.title),
        subtitle=encode(page.subtitle),
        note=invented_html(page.invented_note),
        relays="".join(_relay_html(relay) for relay in page.relays),
        foot=foot_html(page.provenance),
    )
    figure = make_figure(plain(page.title), with_map=False, style=page_part("feed.css"), body=body, script="")
    return self_contained_html(figure)


def _relay_html(relay: FeedRelay) -> str:
    """Return the section of one relay."""
    pictures = "".join(_picture_html(svg, words) for svg, words in relay.diagrams)
    summary = f"<p>{encode(relay.summary)}</p>" if relay.summary else ""
    heading = f"{encode(relay.relay)} receives {encode(relay.parent)} {_verdict_html(relay.verdict)}"
    parts = "".join(_part_html(part) for part in relay.parts)
    return (
        f"<section><h2>{heading}</h2>{summary}{_reasons_html(relay)}{pictures}{_table_html(relay)}{parts}"
        "</section>"
    )


def _part_html(part: FeedTable | FeedPicture) -> str:
    """Return a picture or a table with its title."""
    note = f'<p class="subtitle">{encode(part.note)}</p>' if part.note else ""
    inner = _picture_html(part.svg, part.words) if isinstance(part, FeedPicture) else _rows_html(part)
    return f'<section class="part"><h3>{encode(part.title)}</h3>{note}{inner}</section>'


def _rows_html(table: FeedTable) -> str:
    """Return a table of any columns; a column with text in it stands to the left."""
    left = [any(isinstance(row[at], str) for row in table.rows) for at in range(len(table.heads))]
    looks = ['class="left"' if to_left else "" for to_left in left]
    heads = "".join(
        f'<th scope="col" {look}>{encode(head)}</th>' for head, look in zip(table.heads, looks, strict=True)
    )
    rows = "".join(
        "<tr>"
        + "".join(f"<td {look}>{_cell_html(cell)}</td>" for cell, look in zip(row, looks, strict=True))
        + "</tr>"
        for row in table.rows
    )
    body = f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody>"
    return wide_html(f'<table class="grid">{body}</table>', table.title)


def _cell_html(cell: Cell) -> str:
    if isinstance(cell, str):
        return breakable(cell)
    return "–" if cell is None else number(cell, 1)


def _picture_html(svg: str, words: str) -> str:
    """Return a diagram as a picture: an SVG inside a picture runs no script and leaks no style."""
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    return f'<img class="profile" src="data:image/svg+xml;base64,{data}" alt="{encode(words)}">'


def _table_html(relay: FeedRelay) -> str:
    """Return the budgets side by side, one column per service."""
    heads = "".join(
        f'<th scope="col">{breakable(service.name)}<small>channel {encode(service.channel)}</small></th>'
        for service in relay.services
    )
    lines = "".join(_line_html([service.rows[at] for service in relay.services]) for at in _lines(relay))
    verdicts = "".join(f"<td>{_verdict_html(service.verdict)}</td>" for service in relay.services)
    return wide_html(
        f'<table><thead><tr><th scope="col">Feed budget</th><th scope="col">{unseen_html("Unit")}</th>'
        f"{heads}</tr></thead><tbody>{lines}"
        f'<tr class="strong"><th scope="row">Verdict</th><td></td>{verdicts}</tr></tbody></table>',
        f"Feed budget of {relay.relay}",
    )


def _lines(relay: FeedRelay) -> range:
    """Return the places of the budget lines."""
    return range(len(relay.services[0].rows))


def _line_html(rows: list[BudgetRow]) -> str:
    """Return one budget line over all services."""
    first = rows[0]
    values = "".join(f"<td>{number(row.value, row.decimals)}</td>" for row in rows)
    look = ' class="strong"' if first.strong else ""
    unit = f'<td class="unit">{encode(first.unit)}</td>'
    return f'<tr{look}><th scope="row">{encode(first.label)}</th>{unit}{values}</tr>'


def _reasons_html(relay: FeedRelay) -> str:
    """Return why each service passes or fails, those that fail first."""
    told = sorted((s for s in relay.services if s.reason), key=lambda s: -VERDICTS.index(s.verdict))
    reasons = [
        f'<li class="told-{_look(s.verdict)}">{encode(s.name)} {s.verdict}: {encode(s.reason)}</li>'
        for s in told
    ]
    return f'<ul class="reasons">{"".join(reasons)}</ul>' if reasons else ""


def _look(verdict: Verdict) -> str:
    """Return the name of a verdict's look in the style sheet."""
    return verdict.replace(" ", "-")


def _verdict_html(verdict: Verdict) -> str:
    """Return the verdict with its sign, told by shape as well as colour."""
    return f'<span class="verdict {_look(verdict)}">{_VERDICT_SIGNS[verdict]} {verdict}</span>'
