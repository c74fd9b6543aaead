"""States that are kept under a name, and the row in which they are told side by side."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from combe.desk.settled import Settled
from combe.planning import PeopleCount
from combe.publishing.as_json import plain


class Variant(NamedTuple):
    """A state that is kept, and what its row tells of it."""

    settled: Settled
    row: Mapping[str, Any]


def variant_row(name: str, settled: Settled) -> dict[str, Any]:
    """Return what is told of a state: people, feeds, harm, power and cost; null for what is not known."""
    report, project = settled.report, settled.project
    network = report.all_services
    relays = [each for each in project.stations if each.role == "relay"]
    margins = [one.budget.margin_db for each in _relays(settled) for one in each.services]
    return {
        "name": name,
        **_people(network.people),
        "least_feed_margin_db": _least(margins),
        "harm_people": None
        if report.interference is None
        else _sum([each.fall_below for each in report.harm]),
        "erp_w": math.fsum(service.erp_w for each in relays for service in each.services),
        "running_cost": _sum([project.running_costs.get(each.name) for each in relays]),
        "edits": plain(settled.edits),
        "districts": [{"name": each, **_people(people)} for each, people in network.districts] or None,
    }


def _relays(settled: Settled) -> tuple[Any, ...]:
    return settled.report.feeds.relays if settled.report.feeds else ()


def _people(people: PeopleCount | None) -> dict[str, float | None]:
    names = ("served", "newly_served", "lost", "unserved")
    values = {name: None if people is None else getattr(people, name) for name in names}
    return {f"people_{name}": None if value is None else round(value, 3) for name, value in values.items()}


def _sum(values: Sequence[float | None]) -> float | None:
    """Return a sum; null where one of its parts is not known."""
    known = [each for each in values if each is not None]
    return round(math.fsum(known), 3) if len(known) == len(values) else None


def _least(margins_db: list[float]) -> float | None:
    """Return the least margin; null without any, or where one is not known."""
    if not margins_db or not all(map(math.isfinite, margins_db)):
        return None
    return round(min(margins_db), 2)
