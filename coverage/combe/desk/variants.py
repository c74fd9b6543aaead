"""States that are kept under a name, and the row in which they are told side by side."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from combe.answers.relay_totals import cost_of_relays, erp_of_relays_w, harm_to_others, least_feed
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
    network, least, harmed = report.all_services, least_feed(report), harm_to_others(report)
    return {
        "name": name,
        **_people(network.people),
        "least_feed_margin_db": None if least is None else round(least[1], 2),
        "harm_people": None if harmed is None else round(harmed, 3),
        "erp_w": erp_of_relays_w(project),
        "running_cost": cost_of_relays(project),
        "edits": plain(settled.edits),
        "districts": [{"name": each, **_people(people)} for each, people in network.districts] or None,
    }


def _people(people: PeopleCount | None) -> dict[str, float | None]:
    names = ("served", "newly_served", "lost", "unserved")
    values = {name: None if people is None else getattr(people, name) for name in names}
    return {f"people_{name}": None if value is None else round(value, 3) for name, value in values.items()}
