"""What a map page holds of its people so that its slider can count them: whole numbers for each threshold.

The numbers are made where people are counted, and not by the page: its grids may be thinned, and show a cell
of several.
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError

Whole = npt.NDArray[np.int64]

LOWEST_DB: Final = -15.0
HIGHEST_DB: Final = 25.0
STEP_DB: Final = 0.5
"""The thresholds over the minimum that a page's slider has."""

SERIES: Final = ("served", "unserved", "before", "newly", "lost", "limited")


def thresholds_db() -> npt.NDArray[np.float64]:
    """Return the thresholds of the slider, from the lowest."""
    count = round((HIGHEST_DB - LOWEST_DB) / STEP_DB) + 1
    steps: npt.NDArray[np.float64] = LOWEST_DB + STEP_DB * np.arange(count, dtype=np.float64)
    return steps


@dataclass(frozen=True)
class PeopleAtSteps:
    """Some people as they are shown at each threshold: whole numbers, arrays (thresholds,).

    ``served`` have it, ``unserved`` have less; ``before``, ``newly``, ``lost`` and ``limited`` as
    :class:`combe.planning.PeopleCount` has them, None where they are not told.
    """

    total: int
    without_prediction: int
    served: Whole
    unserved: Whole
    before: Whole | None = None
    newly: Whole | None = None
    lost: Whole | None = None
    limited: Whole | None = None

    def __post_init__(self) -> None:
        """Check that there is a number for each threshold."""
        for name in SERIES:
            each = getattr(self, name)
            if each is not None and each.shape != thresholds_db().shape:
                raise RangeError(f"people {name}", each.shape, f"{thresholds_db().shape}, one a threshold")


@dataclass(frozen=True)
class Recount:
    """The people of a map page at each threshold.

    ``rows`` are those of the page's table, ``districts`` those of each district, both in order; ``layers``
    those of each layer, by its key. ``marks`` has the state of each mark of people, a number of
    ``PEOPLE_STATES``, shape (marks, thresholds).
    """

    rows: tuple[PeopleAtSteps, ...]
    layers: Mapping[str, PeopleAtSteps]
    districts: tuple[PeopleAtSteps, ...] = ()
    marks: npt.NDArray[np.int8] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int8))


def recount_data(found: Recount) -> dict[str, Any]:
    """Return what the page's script reads."""
    packed: list[Whole] = []
    rows = [_people_data(each, packed) for each in found.rows]
    layers = {key: _people_data(each, packed) for key, each in found.layers.items()}
    districts = [_people_data(each, packed) for each in found.districts]
    return {
        "low_db": LOWEST_DB,
        "step_db": STEP_DB,
        "steps": thresholds_db().size,
        "packed": pack_whole(packed),
        "rows": rows,
        "layers": layers,
        "districts": districts,
        "marks": [_turns(each) for each in found.marks],
    }


def _people_data(people: PeopleAtSteps, packed: list[Whole]) -> dict[str, Any]:
    """Return where the numbers of some people stand among those packed, to which they are added."""
    at = {}
    for name in SERIES:
        each = getattr(people, name)
        if each is not None:
            at[name] = len(packed)
            packed.append(each)
    return {"total": people.total, "unknown": people.without_prediction, "at": at}


def pack_whole(series: list[Whole]) -> str:
    """Return series of whole numbers as base64 of a zlib stream of their differences, 32 bits each."""
    together = np.concatenate([np.zeros(0, dtype=np.int64), *series])
    steps = np.diff(together, prepend=0).astype("<i4")
    return base64.b64encode(zlib.compress(steps.tobytes(), 9)).decode("ascii")


def _turns(states: npt.NDArray[np.int8]) -> list[int]:
    """Return the thresholds, by number, at which a mark changes its state, each before the state it takes."""
    begins = [0, *(at for at, (one, other) in enumerate(pairwise(states.tolist()), 1) if one != other)]
    return [part for at in begins for part in (at, int(states[at]))]
