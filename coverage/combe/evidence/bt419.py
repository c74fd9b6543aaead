"""Directivity of the public's receiving aerials: figures of Recommendation ITU-R BT.419-3, Bands IV and V."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase
from combe.standards import directivity_db, orthogonal_directivity_db

NAME: Final = "ITU-R BT.419-3"

CURVE: Final = (
    # degrees off the axis, dB
    (0.0, 0.0),
    (20.0, 0.0),
    (30.0, -4.0),
    (40.0, -8.0),
    (50.0, -12.0),
    (60.0, -16.0),
    (90.0, -16.0),
    (180.0, -16.0),
)

ORTHOGONAL_DB: Final = -16.0
"""At all azimuths, not added to the curve."""


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "BT.419-3, curve of Bands IV and V, read in a public copy"
    for angle, level in CURVE:
        compute = partial(directivity_db, angle)
        case = f"{angle:g}° off the axis"
        yield EvidenceCase(NAME, source, case, "like polarization", level, "dB", 0.01, "read", compute)
    compute = partial(orthogonal_directivity_db, 10.0)
    source, case = "BT.419-3, notes", "any azimuth"
    yield EvidenceCase(
        NAME,
        source,
        case,
        "orthogonal polarization",
        ORTHOGONAL_DB,
        "dB",
        0.0,
        TYPED_TWICE,
        compute,
    )
