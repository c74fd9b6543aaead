"""What happens to a place between two states of a network, in one byte for each cell.

Before and after, a service is served, unserved or unknown (no prediction) at a place: nine flows, and every
place is in just one of them. So nobody is counted twice or lost, however the flows are added up afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.reception.judge_cells import Judgement, Mask

Codes = npt.NDArray[np.uint8]

CONDITIONS: Final = ("served", "unserved", "without prediction")
"""Condition of a place, in the order of rows (before) and columns (after) of the flows."""

FLOWS: Final = 9
TWICE_BEFORE: Final = 16
TWICE_AFTER: Final = 32
DOUBTFUL: Final = 64
"""Bits of a code above its flow (3·before + after): served by two stations or more; served for all that is
known, while an interferer has no prediction."""


class Reach(NamedTuple):
    """What a judgement says of each cell, bool arrays of one shape.

    ``twice``: two stations serve or more. ``doubtful``: served, but an interferer has no prediction there.
    """

    served: Mask
    predicted: Mask
    twice: Mask
    doubtful: Mask


def reach_of(judgement: Judgement) -> Reach:
    """Return what a judgement says of each cell.

    Where no station of the service is on air, use :func:`never_served`: that is known, not unpredicted.
    """
    served = judgement.served
    return Reach(served, judgement.predicted, judgement.serving >= 2, served & (judgement.unknown > 0))


def never_served(shape: tuple[int, ...]) -> Reach:
    """Return the reach of a service that nobody radiates: unserved everywhere, and known to be."""
    nowhere: Mask = np.zeros(shape, dtype=np.bool_)
    everywhere: Mask = np.ones(shape, dtype=np.bool_)
    return Reach(nowhere, everywhere, nowhere, nowhere)


def all_of(reaches: Sequence[Reach]) -> Reach:
    """Return the reach of several services together: all must serve, all be predicted, all serve twice.

    Raises
    ------
    RangeError
        For no service, or different shapes.
    """
    if not reaches:
        raise RangeError("number of services", 0, "at least one")
    shapes = {each.served.shape for each in reaches}
    if len(shapes) > 1:
        raise RangeError("shapes of the services", sorted(shapes), "one shape for all")
    served: Mask = np.logical_and.reduce([each.served for each in reaches])
    return Reach(
        served,
        np.logical_and.reduce([each.predicted for each in reaches]),
        np.logical_and.reduce([each.twice for each in reaches]),
        served & np.logical_or.reduce([each.doubtful for each in reaches]),
    )


def change_codes(before: Reach, after: Reach) -> Codes:
    """Return a code for each cell: flow 0 to 8 in the low bits, and the bits named above.

    Raises
    ------
    RangeError
        For different shapes.
    """
    if before.served.shape != after.served.shape:
        raise RangeError("shape of the time after", after.served.shape, f"{before.served.shape}, as before")
    flow = 3 * _condition(before) + _condition(after)
    bits = TWICE_BEFORE * before.twice + TWICE_AFTER * after.twice + DOUBTFUL * after.doubtful
    codes: Codes = (flow + bits).astype(np.uint8)
    return codes


def _condition(reach: Reach) -> npt.NDArray[np.int64]:
    """Return the place of each cell's condition in :data:`CONDITIONS`."""
    return np.where(reach.served, 0, np.where(reach.predicted, 1, 2)).astype(np.int64)
