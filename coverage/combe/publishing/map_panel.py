"""Writes the words of the map page: panel, readout and footer, each text encoded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

from combe.digits import spoken
from combe.publishing.colours import MARK_COLOURS, NEWLY_SERVED, NEWLY_SERVED_STRIPE, SERVED_BEFORE
from combe.publishing.content import MapPage, StationMark
from combe.publishing.parts import filled, foot_html
from combe.publishing.text import breakable, encode, number

if TYPE_CHECKING:
    from combe.planning import PeopleCount

_Cell = TypeVar("_Cell")

_CREDITS: Final = (
    "Map software: Leaflet (BSD 2-Clause). Colours of field strength: batlow by Fabio Crameri "
    "(doi:10.5281/zenodo.1243862), or viridis or cividis of matplotlib. Drawn by Combe.",
)
_TILE_CREDIT: Final = "Street tiles come from tile.openstreetmap.org, and only when switched on."

_BAR_FILLS: Final = (SERVED_BEFORE, "url(#stripes)", "url(#crosses)", "#fffdf7")
"""Of people who are served as before, newly served, unserved, without prediction."""

_HEADS: Final = ("Served before", "Newly served", "Served after", "Unserved", "No pre\u00addiction")
_MOST_UNFOLDED: Final = 12
"""Stations that are listed openly."""

_LOST_AT: Final = 2
"""Where the column of people who lose their service stands, if there are any."""


def body_html(page: MapPage, data: str) -> str:
    """Return the body of the page around the map; ``data`` is the JSON for the script."""
    tiles = (_TILE_CREDIT,) if page.street_tiles else ()
    return filled(
        "map_body.html",
        title=encode(page.title),
        subtitle=encode(page.subtitle),
        note=invented_html(page.invented_note),
        feeds="".join(f'<p class="told">{breakable(words)}</p>' for words in page.feed_notes),
        left_out=f"<p><small>{encode(page.left_out)}</small></p>" if page.left_out else "",
        headline="".join(headline_html(*row) + _bar_html(row[1]) for row in page.people_rows[:1]),
        table=people_html(page.people_rows),
        stations=stations_html(page.stations),
        streets=_STREETS if page.street_tiles else "",
        foot=foot_html((*page.provenance, *_CREDITS, *tiles), folded=True),
        data=data,
    )


_STREETS: Final = '<label><input type="checkbox" id="mark-streets"> Street tiles (from the network)</label>'


def invented_html(note: str) -> str:
    """Return the note that data are invented; nothing for an empty note."""
    return f'<p class="invented">{encode(note)}</p>' if note else ""


def people_html(rows: tuple[tuple[str, PeopleCount], ...]) -> str:
    """Return the table of people, one group of rows per service; nothing when nobody was counted."""
    if not rows:
        return ""
    with_lost = any((people.lost or 0.0) >= 0.5 for _, people in rows)
    body = "".join(_row_html(*row, with_lost) for row in rows)
    heads = _with_lost(_HEADS, "Lost") if with_lost else _HEADS
    head = "".join(f'<th scope="col">{text}</th>' for text in heads)
    table = f'<table class="counts"><thead><tr>{head}</tr></thead>{body}</table>'
    return f"<section><h2>People</h2>{table}</section>"


def stations_html(stations: tuple[StationMark, ...]) -> str:
    """Return the list of stations with role, height and services, folded if long; nothing without any."""
    if not stations:
        return ""
    lines = "".join(
        f"<li><b>{encode(one.name)}</b>, {one.role}, aerial {number(one.aerial_height_m)} m"
        + (f"<br>{encode(one.services)}" if one.services else "")
        + "</li>"
        for one in stations
    )
    listed = f'<ul class="stations">{lines}</ul>'
    if len(stations) > _MOST_UNFOLDED:
        listed = f"<details><summary>{len(stations)} stations</summary>{listed}</details>"
    return f"<section><h2>Stations</h2>{listed}</section>"


def headline_html(name: str, people: PeopleCount) -> str:
    """Return the sentences that a reader in a hurry takes away."""
    gain = f"<b>{number(people.newly_served or 0.0)}</b> more people served"
    gone = f"; {number(people.lost)} lose it to interference" if people.lost and people.lost >= 0.5 else ""
    rest = f"{spoken(people.served_before)} before, {number(people.served)} after{gone}"
    left = f"{number(people.unserved)} stay unserved"
    limited = people.limited_by_interference
    if limited is not None and limited >= 0.5:
        left += f", {number(limited)} of them by interference"
    lacking = people.without_prediction
    unknown = f", and for {number(lacking)} there is no prediction" if lacking else ""
    return f'<p class="headline">{gain} <small>({encode(name)})</small></p><p>{rest}; {left}{unknown}.</p>'


def _bar_html(people: PeopleCount) -> str:
    """Return a bar of the four shares of people, each with its own pattern."""
    new = people.newly_served or 0.0
    shares = people.served - new, new, people.unserved, people.without_prediction
    total, at, pieces = max(people.total, 1e-9), 0.0, ""
    for share, fill in zip(shares, _BAR_FILLS, strict=True):
        width = 100.0 * share / total
        look = f'fill="{fill}" stroke="#23292c" stroke-width="0.8"'
        pieces += f'<rect x="{at:.3f}%" y="1" width="{width:.3f}%" height="18" {look}/>' if width else ""
        at += width
    patterns = filled(
        "bar_patterns.html", newly=NEWLY_SERVED, stripe=NEWLY_SERVED_STRIPE, cross=MARK_COLOURS["unserved"]
    )
    return f'<svg class="bar" role="img" aria-label="Shares of people">{patterns}{pieces}</svg>'


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
    label = f'<th scope="rowgroup" colspan="{len(counts)}">{encode(name)}</th>'
    return f"<tbody><tr>{label}</tr><tr>{cells}</tr></tbody>"
