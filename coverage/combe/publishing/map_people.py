"""The people of a map page as HTML: the headline, the bar of their shares, and tables of their numbers.

A page with a script that recounts them finds each part by its id, and each number by what it counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

from combe.digits import spoken
from combe.publishing.colours import MARK_COLOURS, NEWLY_SERVED, NEWLY_SERVED_STRIPE, SERVED_BEFORE
from combe.publishing.inline import filled, tell_html
from combe.publishing.page_language import told_html
from combe.publishing.text import number
from combe.words import tell

if TYPE_CHECKING:
    from combe.planning import PeopleCount

_Cell = TypeVar("_Cell")

_BAR_FILLS: Final = (SERVED_BEFORE, "url(#stripes)", "url(#crosses)", "#fffdf7")
"""Of people who are served as before, newly served, unserved, without prediction."""

_HEADS: Final = ("Served before", "Newly served", "Served after", "Unserved", "No pre\u00addiction")

_LOST_AT: Final = 2
"""Where the column of people who lose their service stands, if there are any."""


def people_html(rows: tuple[tuple[str, PeopleCount], ...]) -> str:
    """Return the table of people, one group of rows per service; nothing when nobody was counted."""
    if not rows:
        return ""
    with_lost = any((people.lost or 0.0) >= 0.5 for _, people in rows)
    body = "".join(_row_html(*row, with_lost) for row in rows)
    heads = _with_lost(_HEADS, "Lost") if with_lost else _HEADS
    head = "".join(f'<th scope="col">{tell_html(text)}</th>' for text in heads)
    table = f'<table class="counts" id="people-counts"><thead><tr>{head}</tr></thead>{body}</table>'
    return f'<section><h2 id="people-title">{tell_html("People")}</h2>{table}</section>'


def headline_part_html(rows: tuple[tuple[str, PeopleCount], ...], sure: str, harm: str) -> str:
    """Return the headline of the first row with its bar, how sure it is, and what it takes from others."""
    told = "".join(f'<div id="headline">{headline_html(*row)}</div>{_bar_html(row[1])}' for row in rows)
    others = (("sure", sure), ("harm", harm))
    return told + "".join(f'<p id="{name}">{told_html(words)}</p>' for name, words in others if words)


def headline_html(name: str, people: PeopleCount) -> str:
    """Return the sentences that a reader in a hurry takes away."""
    lost, limited, lacking = (
        number(each) if each is not None and each >= least else ""
        for each, least in (
            (people.lost, 0.5),
            (people.limited_by_interference, 0.5),
            (people.without_prediction, 1e-9),
        )
    )
    told = tell(
        "{before} before, {after} after{lost}; {left} stay unserved{limited}{unknown}.",
        before=spoken(people.served_before),
        after=number(people.served),
        lost=tell("; {people} lose it to interference", people=lost) if lost else "",
        left=number(people.unserved),
        limited=tell(", {people} of them by interference", people=limited) if limited else "",
        unknown=tell(", and for {people} there is no prediction", people=lacking) if lacking else "",
    )
    gain = tell_html(
        "{people} more people served {services}",
        people=f"<b>{number(people.newly_served or 0.0)}</b>",
        services=f"<small>({told_html(name)})</small>",
    )
    return f'<p class="headline">{gain}</p><p>{told_html(told)}</p>'


def _bar_html(people: PeopleCount) -> str:
    """Return a bar of the four shares of people, each with its own pattern."""
    new = people.newly_served or 0.0
    # Served before and after, then newly served: people who lost it are among the unserved, so the four add
    # up.
    shares = people.served - new, new, people.unserved, people.without_prediction
    total, at, pieces = max(people.total, 1e-9), 0.0, ""
    for share, fill in zip(shares, _BAR_FILLS, strict=True):
        width = 100.0 * share / total
        look = f'fill="{fill}" stroke="#23292c" stroke-width="0.8"'
        pieces += f'<rect x="{at:.3f}%" y="1" width="{width:.3f}%" height="18" {look}/>' if width else ""
        at += width
    drawn = f"{bar_patterns_html()}<g>{pieces}</g>"
    return f'<svg class="bar" role="img" aria-label="{tell_html("Shares of people")}">{drawn}</svg>'


def bar_patterns_html() -> str:
    """Return the patterns that fill a bar of people."""
    return filled(
        "bar_patterns.html", newly=NEWLY_SERVED, stripe=NEWLY_SERVED_STRIPE, cross=MARK_COLOURS["unserved"]
    )


def _with_lost(cells: tuple[_Cell, ...], lost: _Cell) -> tuple[_Cell, ...]:
    return (*cells[:_LOST_AT], lost, *cells[_LOST_AT:])


def _row_html(name: str, people: PeopleCount, with_lost: bool) -> str:
    """Return a service's name over its counts."""
    counts: tuple[float | None, ...] = (
        people.served_before,
        people.newly_served,
        people.served,
        people.unserved,
        people.without_prediction,
    )
    counts = _with_lost(counts, people.lost) if with_lost else counts
    cells = "".join(f"<td>{spoken(count)}</td>" for count in counts)
    label = f'<th scope="rowgroup" colspan="{len(counts)}">{told_html(name)}</th>'
    return f"<tbody><tr>{label}</tr><tr>{cells}</tr></tbody>"
