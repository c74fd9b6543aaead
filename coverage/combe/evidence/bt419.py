"""Directivity of the public's receiving aerials: figures of Recommendation ITU-R BT.419-3."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.standards import (
    DIRECTIVITY_CURVES,
    curve_number,
    directivity_db,
    orthogonal_directivity_db,
)

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

VHF_CURVES: Final[tuple[tuple[str, float, tuple[tuple[float, float, Standing], ...]], ...]] = (
    # band, a frequency of it; degrees off the axis, dB: corners as recalled, and worked half down the slope
    ("Band I", 62.25, ((50.0, 0.0, TYPED_TWICE), (60.0, -3.0, "from memory"), (70.0, -6.0, TYPED_TWICE))),
    ("Band III", 201.5, ((27.0, 0.0, TYPED_TWICE), (43.5, -6.0, "from memory"), (60.0, -12.0, TYPED_TWICE))),
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
    for band, mhz, points in VHF_CURVES:
        curve = DIRECTIVITY_CURVES[curve_number(mhz)]
        for angle, level, standing in points:
            source, case = f"BT.419-3, curve of {band}", f"{band}, {angle:g}° off the axis"
            compute = partial(directivity_db, angle, curve)
            yield EvidenceCase(NAME, source, case, "like polarization", level, "dB", 0.01, standing, compute)
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
