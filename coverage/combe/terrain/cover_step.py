"""How finely ground cover is looked at along a path, whatever the cells of the terrain are.

Woods and houses are narrow, and the nearest edge to a low aerial costs most: where it falls between two
samples of the terrain, tens of metres apart, the loss would depend on where samples happen to fall. So cover
has a step of its own:

- within ``NEAR_STEPS`` steps of the terrain's samples from either aerial, ground and cover are sampled at it;
- elsewhere each sample of the terrain bears the highest cover of its own stretch of the path, half a step to
  both sides, looked at in parts of this length.

Exact paths with cover are sampled at it all the way (:func:`exact_step_m`).
"""

from __future__ import annotations

import math
from typing import Final

from combe.compiling import kernel

COVER_STEP_M: Final = 9.0
"""Longest step over cover [m]: just under the 10 m cells of open land-cover maps (our own choice)."""

NEAR_STEPS: Final = 1.5
"""Steps of the terrain from an aerial within which cover is sampled at its own step: a whole stretch."""

LARGEST_COVER_CELLS: Final = 64_000_000
"""Cells of cover kept under a grid, a quarter of a gigabyte; over larger areas the cells are larger."""


@kernel
def cover_parts(step_m: float) -> int:
    """Return in how many parts of ``COVER_STEP_M`` at most a step of the terrain's samples [m] is divided."""
    return max(math.ceil(step_m / COVER_STEP_M), 1)


def exact_step_m(step_m: float, *, covered: bool) -> float:
    """Return the step [m] of an exact profile: the cover's, if there is cover and it is the shorter."""
    return min(step_m, COVER_STEP_M) if covered else step_m
