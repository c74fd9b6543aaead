"""Where a change of some emissions' fields can matter at all: elsewhere a judgement stands as it is.

A station that moves changes its fields everywhere, and most of that changes nothing: it neither comes near
to serving there nor to disturbing anybody who does. What is left untouched here stays as it is to the last
bit, for the bounds are those by which the judges leave signals out themselves:

* an emission whose margin against noise is under nought and under that of the best one is neither the best
  nor serves, whatever disturbs it;
* an interferer that arrives under the noise by ``cut_db`` never comes to the sum of a wanted emission
  (:func:`combe.reception.judging.gather`), and one that disturbs only emissions of the first kind changes
  nothing that is shown of them.

Of a network on one frequency echoes add, and neither bound holds: then every cell is touched.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel, kernel_part
from combe.reception.bench import Layers, Records
from combe.reception.judges import Judges
from combe.reception.standing import Roles
from combe.reception.summing import LOGS_PER_DB

_OWN: Final = np.dtype([("moved", "i8"), ("service", "i8"), ("parent", "?"), ("minimum", "f4")])
"""An emission whose fields change: its place among the moved, its service, whether it is a parent's, and the
median that serves against noise."""

_VICTIM: Final = np.dtype(
    [
        ("moved", "i8"),
        ("wanted", "i8"),
        ("service", "i8"),
        ("parents", "?"),
        ("minimum", "f4"),
        ("median_limit", "f8"),
        ("at_time_limit", "f8"),
    ]
)
"""A pair in which a moved emission disturbs: its place among the moved and that of the wanted one among the
wanted, with the service of that, whether both are parents', what serves it, and the interfering fields
[dB(µV/m)] up to which it is not disturbed."""


class Change(NamedTuple):
    """What is compared: emissions that change, those that they may disturb, and the tables of both.

    ``everywhere`` tells that no cell can be spared.
    """

    moved: tuple[int, ...]
    wanted: tuple[int, ...]
    own: Records
    victims: Records
    everywhere: bool


class MovedFields(NamedTuple):
    """Fields of the moved emissions (moved, rows, columns), for the median and the small share of time."""

    median_dbuv_m: Layers
    at_time_dbuv_m: Layers


def change_of(judges: Judges, roles: Roles, moved: Sequence[int]) -> Change:
    """Return what has to be compared where the fields of some emissions change, by their places."""
    scene, places = judges.scene, {emission: at for at, emission in enumerate(moved)}
    pairs = [
        (wanted, scene.pairs[index])
        for wanted, own in enumerate(scene.emissions)
        for index in range(own["first_pair"], own["end_pair"])
        if scene.pairs[index]["partner"] in places
    ]
    wanted = tuple(dict.fromkeys(wanted for wanted, _ in pairs))
    grouped = bool(scene.emissions["grouped"][[*moved, *wanted]].any())
    parent = ~roles.table["relay"]
    own = np.zeros(len(moved), dtype=_OWN)
    own["moved"], own["service"] = range(len(moved)), roles.table["service"][list(moved)]
    own["parent"], own["minimum"] = parent[list(moved)], roles.table["median_minimum"][list(moved)]
    victims = np.zeros(len(pairs), dtype=_VICTIM)
    for row, (victim, pair) in zip(victims, pairs, strict=True):
        partner = int(pair["partner"])
        row["moved"], row["wanted"] = places[partner], wanted.index(victim)
        row["service"], row["minimum"] = roles.table["service"][victim], roles.table["median_minimum"][victim]
        row["parents"] = parent[victim] and parent[partner]
        heard = scene.emissions["noise"][victim] / LOGS_PER_DB + scene.emissions["cut_db"][partner]
        row["median_limit"] = heard - pair["continuous_db"]
        row["at_time_limit"] = heard - pair["tropospheric_db"]
    return Change(tuple(moved), wanted, own, victims, grouped)


def touched_cells(
    change: Change,
    before: MovedFields,
    after: MovedFields,
    wanted_dbuv_m: Layers,
    margin_db: Layers,
    margin_before_db: Layers,
) -> npt.NDArray[np.bool_]:
    """Return the cells whose judgement may change, bool (rows, columns).

    Parameters
    ----------
    change
        By :func:`change_of`.
    before, after
        Fields of the moved emissions as they were judged, and as they are now.
    wanted_dbuv_m : float32 array (wanted, rows, columns)
        Medians of the emissions that the moved may disturb; these did not change, unless they moved too.
    margin_db, margin_before_db : float32 arrays (services, rows, columns)
        Margins of the services as they were judged, with all on air and with the parents alone.
    """
    shape = margin_db.shape[1:]
    touched = np.full(shape, change.everywhere)
    if not change.everywhere:
        _touch(
            change.own, change.victims, *before, *after, wanted_dbuv_m, margin_db, margin_before_db, touched
        )
    return touched


@kernel
def _touch(
    own: Records,
    victims: Records,
    old_median: Layers,
    old_at_time: Layers,
    new_median: Layers,
    new_at_time: Layers,
    wanted: Layers,
    margin: Layers,
    before: Layers,
    touched: npt.NDArray[np.bool_],
) -> None:
    """Mark the cells in which the old or the new fields of the moved emissions may matter."""
    for row in range(touched.shape[0]):
        for column in range(touched.shape[1]):
            for i in range(own.size):
                k, service = own[i].moved, own[i].service
                least = _least(margin[service, row, column], before[service, row, column], own[i].parent)
                old, new = old_median[k, row, column], new_median[k, row, column]
                known = math.isnan(old) == math.isnan(new) and (
                    math.isnan(old_at_time[k, row, column]) == math.isnan(new_at_time[k, row, column])
                )
                if not known or max(old, new) - own[i].minimum >= least:
                    touched[row, column] = True
                    break
            for i in range(victims.size):
                if touched[row, column]:
                    break
                k, pair = victims[i].moved, victims[i]
                heard = (
                    max(old_median[k, row, column], new_median[k, row, column]) > pair.median_limit
                    or max(old_at_time[k, row, column], new_at_time[k, row, column]) > pair.at_time_limit
                )
                if heard:
                    least = _least(
                        margin[pair.service, row, column], before[pair.service, row, column], pair.parents
                    )
                    if wanted[pair.wanted, row, column] - pair.minimum >= least:
                        touched[row, column] = True


@kernel_part
def _least(margin: np.float32, before: np.float32, parents: bool) -> np.float32:
    """Return the margin against noise from which on an emission can matter to a service; −inf if unknown.

    With the parents alone only these count, and their service may be worse.
    """
    least = min(margin, np.float32(0.0))
    if parents:
        least = min(least, before)
    return np.float32(-math.inf) if math.isnan(least) else least
