"""How far predicted fields are off, by the model that predicted them, as standard deviations.

The error of a median field, measured less predicted, has two parts. One is common to an area: ground, cover
and aerials there are not what the model takes them for, and all fields are off by it together. The other is
each place's own. Over many cells the second averages out and the first does not, so the first decides how
sure a number of people is.

Published comparisons tell the mean error of an area and the deviation of places about it. That of places was
measured at points, so it holds some of the scatter within a cell, which a planning standard counts already: a
range made of it is a little wide.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from combe.standards.cited import Citation, Cited


class PredictionError(NamedTuple):
    """Standard deviations [dB] of the part common to an area, and of each place's own part."""

    common_db: Cited
    place_db: Cited

    @property
    def citations(self) -> tuple[Citation, ...]:
        """Where the two are from."""
        named = (("common error", self.common_db), ("error of places", self.place_db))
        return tuple(Citation(what, each.reference, each.confidence) for what, each in named)


_COMPARISONS: Final = (
    "comparisons of UHF broadcasting with P.1812 and P.526 over terrain and cover: mean 0 ± 4 dB, deviation "
    "6 to 9 dB"
)
_BY_HILLS: Final = PredictionError(
    Cited(4.0, _COMPARISONS, "from memory"),
    Cited(7.5, _COMPARISONS, "from memory"),
)

PREDICTION_ERRORS: Final[Mapping[str, PredictionError]] = {
    "p1812": _BY_HILLS,
    "p526": _BY_HILLS,
    "free-space": PredictionError(
        Cited(8.0, "twice that of models that see the ground", "own choice"),
        Cited(
            12.0,
            "as the best of 28 models tuned by hand in the country, 12 dB r.m.s. (Phillips and others)",
            "own choice",
        ),
    ),
}
"""By the name of the model."""
