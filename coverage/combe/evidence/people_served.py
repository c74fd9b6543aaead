"""People served under an error of the prediction: sums over groups of people, worked out apart."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

import numpy as np

from combe.evidence.case import EvidenceCase
from combe.planning import chance_served

NAME: Final = "People served under an error"

_GROUPS: Final = ((62.0, 100.0), (58.0, 200.0), (55.0, 300.0), (52.0, 200.0), (48.0, 200.0))
"""Median fields [dB(µV/m)], and how many people have them; 50 dB(µV/m) are needed at a place."""

_SCATTER_DB: Final = 5.5

EXPECTED: Final = (
    # error of places dB, common error dB, people
    (0.0, 0.0, 729.47),
    (6.0, 0.0, 679.56),
    (8.0, 0.0, 657.21),
    (0.0, -8.0, 298.90),
    (0.0, -4.0, 516.79),
    (0.0, 4.0, 882.50),
    (0.0, 8.0, 962.47),
)


def _people(place_db: float, common_db: float) -> float:
    fields, people = np.array(_GROUPS).T
    return float(np.sum(people * chance_served(fields - 50.0, common_db, np.hypot(_SCATTER_DB, place_db))))


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "Σ n Φ((E + b − Emin)/√(σL² + σE²)), summed apart with tables of the normal distribution"
    for place_db, common_db, people in EXPECTED:
        case = f"five groups, own error {place_db:g} dB, common error {common_db:+g} dB"
        compute = partial(_people, place_db, common_db)
        yield EvidenceCase(NAME, source, case, "people", people, "", 0.005, "computed", compute)
