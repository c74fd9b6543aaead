"""The districts of a map page: a table of their people, and the outlines that its script draws."""

from __future__ import annotations

from typing import Any, Final

from combe.digits import spoken
from combe.geodesy import turned
from combe.publishing.content import MapDistrict
from combe.publishing.inline import tell_html
from combe.publishing.page_language import in_page_language
from combe.publishing.text import breakable, plain

_DEGREES_KEPT: Final = 5
"""Decimals of an outline: a metre."""

_MOST_UNFOLDED: Final = 12
_COLUMNS: Final = {
    "served": "Served after",
    "newly": "Newly served",
    "lost": "Lost",
    "unserved": "Unserved",
    "unknown": "No pre\u00addiction",
}
"""What the columns hold, by the names of a page's recount."""


def switch_html() -> str:
    """Return what shows and hides the outlines."""
    return f'<label><input type="checkbox" id="mark-districts" checked> {tell_html("Districts")}</label> '


def districts_html(districts: tuple[MapDistrict, ...], left_out: str) -> str:
    """Return the table of districts, folded if long; nothing without any.

    The name of a district that the map shows is a button, by which the script goes there.
    """
    if not districts:
        return ""
    unknown = any(each.people.without_prediction >= 0.5 for each in districts)
    columns = {key: words for key, words in _COLUMNS.items() if unknown or key != "unknown"}
    head = "".join(f'<th scope="col">{tell_html(words)}</th>' for words in ("District", *columns.values()))
    body = "".join(_row_html(number, each, tuple(columns)) for number, each in enumerate(districts))
    table = (
        f'<table class="counts districts" id="district-counts"><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )
    if len(districts) > _MOST_UNFOLDED:
        summary = tell_html("{count} districts", count=str(len(districts)))
        table = f"<details><summary>{summary}</summary>{table}</details>"
    told = f"<p><small>{breakable(in_page_language(left_out))}</small></p>" if left_out else ""
    title = tell_html("People by district, all services")
    return f'<section><h2 id="districts-title">{title}</h2>{table}{told}</section>'


def _row_html(number: int, district: MapDistrict, columns: tuple[str, ...]) -> str:
    people = district.people
    counts = {
        "served": people.served,
        "newly": people.newly_served,
        "lost": people.lost,
        "unserved": people.unserved,
        "unknown": people.without_prediction,
    }
    cells = "".join(f'<td data-count="{key}">{spoken(counts[key])}</td>' for key in columns)
    name = breakable(in_page_language(district.name))
    if district.rings:
        goes = f'type="button" class="goes" data-district="{number}" aria-pressed="false"'
        name = f"<button {goes}>{name}</button>"
    return f'<tr><th scope="row">{name}</th>{cells}</tr>'


def district_data(district: MapDistrict, middle: float) -> dict[str, Any]:
    """Return a district for the page, on the side of the map's middle [degrees]."""
    return {"name": plain(district.name), "rings": [_ring_data(each, middle) for each in district.rings]}


def _ring_data(ring: Any, middle: float) -> list[list[float]]:
    # A ring is not torn where it crosses the side of the map: all of it goes with its first place.
    moved = float(turned(ring[0, 0], middle)) - ring[0, 0]
    return [[round(float(lat), _DEGREES_KEPT), round(float(lon + moved), _DEGREES_KEPT)] for lon, lat in ring]
