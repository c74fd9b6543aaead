"""The people of a coverage as the slider of its map counts them: all, by layer, by district and by mark."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from combe.answers.cover import CoverReport
from combe.answers.network import Network
from combe.answers.people_steps import PeopleSteps, people_steps
from combe.decibels import FloatArray
from combe.planning import PeopleCount, StepCounts
from combe.publishing.content import MapLayer
from combe.publishing.recount import PeopleAtSteps, Recount, Whole, thresholds_db
from combe.reports.cover_districts import shown_districts

_COUNTED: Final = {
    "served": "served",
    "unserved": "unserved",
    "before": "served_before",
    "newly": "newly_served",
    "lost": "lost",
    "limited": "limited_by_interference",
}
"""Numbers at thresholds, and what the count at the minimum calls them."""


def recount(report: CoverReport, layers: Iterable[MapLayer], networks: Sequence[Network]) -> Recount | None:
    """Return the people at each threshold; None where nobody is counted.

    ``networks`` are those of the page's table, in its order: first that of all services, by which districts
    and marks are told.
    """
    steps = people_steps(report, thresholds_db())
    if steps is None or not networks:
        return None
    first, *others = networks
    groups = steps.of_groups(first)
    rows = [at_steps(steps.of_all(each), 0, each.people) for each in others]
    return Recount(
        rows=(at_steps(groups, 0, first.people), *rows),
        layers={each.key: _of_layer(steps, each) for each in layers},
        districts=tuple(
            at_steps(groups, number + 1, first.districts[number][1]) for number in shown_districts(report)
        ),
        marks=steps.states_of_places(),
    )


def _of_layer(steps: PeopleSteps, layer: MapLayer) -> PeopleAtSteps:
    """Return who lives where a layer reaches its threshold, and so much more."""
    over_db = np.asarray(layer.field_dbuv_m, dtype=np.float64) - layer.threshold_dbuv_m
    return at_steps(steps.over(over_db), 0, None)


def at_steps(counts: StepCounts, group: int, people: PeopleCount | None) -> PeopleAtSteps:
    """Return one group of people in whole numbers; at the minimum those that were counted there, if any."""
    at_minimum = int(np.searchsorted(thresholds_db(), 0.0))

    def whole(name: str) -> Whole | None:
        series: FloatArray | None = getattr(counts, name)
        if series is None:
            return None
        numbers: Whole = np.rint(series[group]).astype(np.int64)
        counted = getattr(people, _COUNTED[name], None)
        if counted is not None:
            # The same but for the last bits, which may still round to the next person.
            numbers[at_minimum] = round(counted)
        return numbers

    served, unserved = whole("served"), whole("unserved")
    assert served is not None
    assert unserved is not None
    return PeopleAtSteps(
        round(float(counts.total[group])),
        round(float(counts.without_prediction[group])),
        served,
        unserved,
        whole("before"),
        whole("newly"),
        whole("lost"),
        whole("limited"),
    )
