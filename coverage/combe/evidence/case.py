"""One published figure: where it is from, how far it is trusted, and how the engine comes to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Generic, Literal, TypeVar, get_args

from combe.errors import RangeError

Result = TypeVar("Result")

Standing = Literal["read", "computed", "from memory", "common practice, no source", "typed twice from memory"]
"""How the expected figure is known.

The last is no check of anything outside: a number of a table in ``standards/`` that was recalled, and stands
here once more as recalled. It finds a slip in one of the two, and does not count as a figure that is checked.
"""

STANDINGS: Final[tuple[Standing, ...]] = get_args(Standing)

TYPED_TWICE: Final[Standing] = "typed twice from memory"


@dataclass(frozen=True)
class EvidenceCase:
    """A figure and the call that works it out.

    Parameters
    ----------
    recommendation
        What it is grouped by: a Recommendation with its edition, or a part of the trade.
    source
        Publication and place in it, or how the expected figure was worked out.
    case, quantity
        What was asked, and which of its results is compared.
    expected, unit, tolerance
        The figure, its unit, and by how much the result may differ from it.
    standing
        One of :data:`STANDINGS`.
    compute
        Works the figure out with the engine.
    series
        Name of a long table of like figures that a short print sums up in one line; empty for a figure that
        stands alone.

    Raises
    ------
    RangeError
        For a case without a name or source, an unknown standing, or a tolerance below 0.
    """

    recommendation: str
    source: str
    case: str
    quantity: str
    expected: float
    unit: str
    tolerance: float
    standing: Standing
    compute: Callable[[], float]
    series: str = ""

    def __post_init__(self) -> None:
        """Check the fields."""
        for name in ("recommendation", "source", "case", "quantity"):
            if not getattr(self, name).strip():
                raise RangeError(f"{name} of a case of evidence", "empty", "some words")
        if self.standing not in STANDINGS:
            raise RangeError("standing of a case of evidence", repr(self.standing), " or ".join(STANDINGS))
        if not self.tolerance >= 0.0:
            raise RangeError("tolerance of a case of evidence", self.tolerance, "0 or more")

    @property
    def checked(self) -> bool:
        """Whether something is worked out or read for it; not for a look-up that was typed twice."""
        return self.standing != TYPED_TWICE

    @property
    def name(self) -> str:
        """Recommendation, case and quantity in one line."""
        return f"{self.recommendation}: {self.case}, {self.quantity}"


class Once(Generic[Result]):
    """Works something out when it is first asked for; cases that share one result hold the same ``Once``."""

    def __init__(self, make: Callable[[], Result]) -> None:
        self._make = make

    @cached_property
    def result(self) -> Result:
        """What was worked out."""
        return self._make()

    def field(self, name: str) -> float:
        """Return one number of the result."""
        return float(getattr(self.result, name))
