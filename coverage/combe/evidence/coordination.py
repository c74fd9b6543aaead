"""Trigger fields of coordination: figures of the GE06 Agreement."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase
from combe.standards import trigger_at, trigger_table

NAME: Final = "GE06 coordination"

TRIGGERS: Final = (
    # MHz, dB(µV/m)
    (177.5, 17.0),
    (226.5, 17.0),
    (474.0, 21.0),
    (578.0, 21.0),
    (586.0, 23.0),
    (714.0, 23.0),
    (722.0, 25.0),
    (858.0, 25.0),
)
"""Of the first and the last channel of each band."""


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "GE06 Agreement, Annex 4, protection of broadcasting"
    for mhz, field_dbuv_m in TRIGGERS:
        compute = partial(_trigger_dbuv_m, mhz)
        yield EvidenceCase(
            NAME, source, f"{mhz:g} MHz", "trigger field", field_dbuv_m, "dB(µV/m)", 0.0, TYPED_TWICE, compute
        )  # fmt: skip


def _trigger_dbuv_m(frequency_mhz: float) -> float:
    found = trigger_at(trigger_table("GE06"), frequency_mhz, analogue=False)
    return math.nan if found is None else found
