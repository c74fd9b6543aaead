"""Writes the printable sheet for the next visit: cautions, RF exposure, room to write readings and checks."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.planning.exposure import ComplianceDistance
from combe.planning.visits.sheet import SheetRow
from combe.planning.visits.units import shown
from combe.publishing.figure import make_figure
from combe.publishing.inline import self_contained_html
from combe.publishing.map_panel import invented_html
from combe.publishing.parts import filled, foot_html, list_html, page_part, unseen_html, wide_html
from combe.publishing.text import breakable, encode, number, plain
from combe.standards.visit_readings import PRACTICE, RoutineReading, source_words

_HEADS: Final = ("Where", "Reading", "Service", "Predicted", "Record", "Last visit", "Within", "Read")

VISIT_CAUTIONS: Final = (
    "Do not go alone; say when you will be back. Only trained people climb, with harness, permit and a plan "
    "for rescue.",
    "Before anyone is near the aerials: output off or reduced, locked, and proved off with a meter.",
    "Mains isolated and proved dead before a cover comes off; supplies hold charge. Earth before you touch.",
    "Never open a feeder or connector under power. No work on the mast with lightning, ice or high wind.",
    "The licence, its frequencies and its powers are not changed on a visit. Put back what you found.",
)
"""Common practice, no source; in our own words."""


@dataclass(frozen=True)
class SheetStation:
    """One station of the sheet; ``facts`` are pairs of a name and words.

    ``exposure_fault`` says why there are no distances, where there are none.
    """

    name: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[SheetRow, ...]
    exposure: tuple[ComplianceDistance, ...] = ()
    exposure_reflected: tuple[ComplianceDistance, ...] = ()
    exposure_fault: str = ""


@dataclass(frozen=True)
class SheetPage:
    """All that the sheet shows."""

    title: str
    subtitle: str
    stations: tuple[SheetStation, ...]
    provenance: tuple[str, ...] = ()
    invented_note: str = ""


def render_sheet_page(page: SheetPage) -> str:
    """Return the sheet as one HTML text that asks the network for nothing and prints well."""
    body = filled(
        "visit_body.html",
        title=encode(page.title),
        subtitle=encode(page.subtitle),
        note=invented_html(page.invented_note),
        summary="",
        stations="".join(_station_html(station) for station in page.stations),
        foot=foot_html(page.provenance),
    )
    style = page_part("feed.css") + page_part("visit.css") + page_part("sheet.css")
    figure = make_figure(plain(page.title), with_map=False, style=style, body=body, script="")
    return self_contained_html(figure)


def _station_html(station: SheetStation) -> str:
    measured = [row for row in station.rows if row.row.scale != "check"]
    checks = [row for row in station.rows if row.row.scale == "check"]
    facts = "".join(
        f"<div><dt>{encode(name)}</dt><dd>{encode(words)}</dd></div>" for name, words in station.facts
    )
    return (
        f'<section class="site"><h2>{encode(station.name)}</h2><dl class="facts">{facts}</dl>{_BLANKS}'
        f'<div class="care"><div><h3>Before you begin</h3>{list_html(VISIT_CAUTIONS)}</div>'
        f"<div>{_exposure_html(station)}</div></div>"
        f"<h3>Readings</h3>{_readings_html(measured)}<h3>Checks</h3>{_checks_html(checks)}"
        '<h3>Notes, repairs, what is to be done by whom</h3><div class="notes"></div></section>'
    )


_BLANKS: Final = "".join(
    ['<dl class="blanks">']
    + [
        f"<div><dt>{name}</dt><dd></dd></div>"
        for name in ("Date, from, to", "Who", "Weather", "Meters, each with its number and last calibration")
    ]
    + ["</dl>"]
)


def _exposure_html(station: SheetStation) -> str:
    """Return the distances to keep from the aerial, all services summed, with their standard and caution."""
    if not station.exposure:
        why = station.exposure_fault or "no service is radiated"
        return (
            f"<h3>Distance from the transmitting aerial</h3><p>Not worked out: {encode(why)}. Keep clear.</p>"
        )
    pairs = zip(station.exposure, station.exposure_reflected, strict=True)
    rows = "".join(_distance_html(free, reflected) for free, reflected in pairs)
    first = station.exposure[0]
    count = len(first.shares)
    services = "One service" if count == 1 else f"All {count} services summed"
    caution = "; ".join(dict.fromkeys(each.caution for each in station.exposure))
    return (
        "<h3>Distance from the transmitting aerial</h3>"
        '<table class="distances"><thead><tr><th scope="col">In its main beam, at least</th>'
        '<th scope="col">free space</th><th scope="col">with ground reflection</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
        f"<p>{services}, at full ERP. {encode(first.standard)}, whole body.</p>"
        f"<p>Near field: {encode(caution)}. Inside 2D²/λ of an aerial of length D these distances are "
        "a guide only: measure, or switch off.</p>"
    )


def _distance_html(free: ComplianceDistance, reflected: ComplianceDistance) -> str:
    names = {"public": "the public", "occupational": "trained people at work"}
    return (
        f'<tr><th scope="row">{names[free.audience]}</th>'
        f"<td>{number(free.distance_m, 1)} m</td><td>{number(reflected.distance_m, 1)} m</td></tr>"
    )


def _readings_html(rows: Sequence[SheetRow]) -> str:
    heads = "".join(f'<th scope="col">{head}</th>' for head in _HEADS)
    groups = [list(group) for _, group in itertools.groupby(rows, lambda each: each.row)]
    lines = "".join(_group_html(group) for group in groups)
    table = f'<table class="readings sheet"><thead><tr>{heads}</tr></thead>{lines}</table>'
    sources = dict.fromkeys(
        f"{row.row.quantity}: {source_words(row.row)}" for row in rows if row.row.reference != PRACTICE
    )
    told = "; ".join((*sources, f"all other limits and tolerances: {PRACTICE}"))
    return f'{wide_html(table, "Readings")}<p class="sources">{encode(told)}.</p>'


def _group_html(group: Sequence[SheetRow]) -> str:
    """Return one routine reading, a line for each service."""
    row, span = group[0].row, len(group)
    unit = "" if row.unit in ("ratio", "count") else f' <span class="unit">{encode(row.unit)}</span>'
    name = f"{encode(row.quantity)}{unit}<small>{encode(row.where)}</small>"
    head = (
        f'<th scope="rowgroup" rowspan="{span}">{encode(row.test_point)}</th><td rowspan="{span}">{name}</td>'
    )
    lines = [_reading_html(each) for each in group]
    return f"<tbody><tr>{head}{'</tr><tr>'.join(lines)}</tr></tbody>"


def _reading_html(each: SheetRow) -> str:
    row = each.row
    port = f"<small>{encode(each.key.test_point)}</small>" if row.numbered else ""
    service = f'<td class="service">{breakable(each.key.service or "–")}{port}</td>'
    cells = (
        _value(each.expected, row),
        _value(each.record_value, row) + (f"<small>{each.record.date}</small>" if each.record else ""),
        _value(each.last_value, row) + (f"<small>{each.last.date}</small>" if each.last else ""),
        f"{encode(_range_words(each))}<small>{encode(each.basis)}</small>",
    )
    filled_in = "".join(f"<td>{cell}</td>" for cell in cells)
    return f'{service}{filled_in}<td class="room"></td>'


def _value(value: float | None, row: RoutineReading) -> str:
    return "–" if value is None else encode(_bare(value, row))


def _range_words(each: SheetRow) -> str:
    """Return between which values the reading is within tolerance, the unit once."""
    low, high, row = each.lowest, each.highest, each.row
    if low is not None and high is not None:
        return f"{_bare(low, row)} to {_bare(high, row)}"
    if low is not None:
        return f"≥ {_bare(low, row)}"
    return "–" if high is None else f"≤ {_bare(high, row)}"


def _bare(value: float, row: RoutineReading) -> str:
    return plain(shown(value, row).removesuffix(f" {row.unit}")).replace("-", "−")


def _checks_html(rows: Sequence[SheetRow]) -> str:
    lines = "".join(
        f'<tr><th scope="row">{encode(each.key.test_point)}</th>'
        f"<td>{encode(each.row.quantity)}<small>{encode(each.row.where)}</small></td>"
        '<td class="box">☐ ok</td><td class="box">☐ not ok</td><td class="remark"></td></tr>'
        for each in rows
    )
    words = ("Where", "Check", unseen_html("ok"), unseen_html("not ok"), "Remark")
    heads = "".join(f'<th scope="col">{each}</th>' for each in words)
    table = f'<table class="checks sheet"><thead><tr>{heads}</tr></thead><tbody>{lines}</tbody></table>'
    return wide_html(table, "Checks")
