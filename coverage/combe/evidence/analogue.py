"""Analogue signals: figures of the systems' carriers, noise and products."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase
from combe.reception import in_band_product_over_vision_mhz, required_oip3_over_peak_sync_db
from combe.standards import (
    AnalogueSystem,
    analogue_parts,
    analogue_system,
    black_picture_power_db,
    video_sn_over_cn_db,
)

NAME: Final = "Analogue signals"

CARRIERS: Final = (
    # system: channel width, vision over edge, sound and chroma over vision, vision IF, sound IF MHz
    ("I", 8.0, 1.25, 6.0, 4.43, 39.5, 33.5),
    ("B", 7.0, 1.25, 5.5, 4.43, 38.9, 33.4),
    ("G", 8.0, 1.25, 5.5, 4.43, 38.9, 33.4),
    ("D/K", 8.0, 1.25, 6.5, 4.43, 38.0, 31.5),
    ("M", 6.0, 1.25, 4.5, 3.58, 45.75, 41.25),
)
FIELDS: Final = (
    "channel_width_mhz",
    "vision_over_edge_mhz",
    "sound_over_vision_mhz",
    "chroma_over_vision_mhz",
    "vision_if_mhz",
    "sound_if_mhz",
)

VIDEO_NOISE: Final = (("I", -8.05), ("B", -6.75), ("G", -6.75), ("M", -7.09))
"""System, unweighted video S/N less C/N [dB]."""

BLACK_PICTURE: Final = (("I", -2.16), ("G", -2.26), ("M", -2.26))
"""System, mean power of a black picture under peak sync [dB]."""

PRODUCTS: Final = (("I", 1.566), ("B", 1.066), ("G", 1.066), ("D/K", 2.066), ("M", 0.920))
"""System, third-order product of vision, sound and chroma over vision [MHz]."""

INTERCEPTS: Final = ((-51.0, 11.5), (-54.0, 13.0), (-60.0, 16.0))
"""Limit of the in-band product [dB], intercept over peak sync that it asks [dB]."""

ON_THE_SCREEN: Final = (
    # part of system I, over vision at peak sync dB, over the vision carrier MHz, width MHz, source
    ("sound", -10.0, 6.0, 0.0, "usual ratio of vision to sound"),
    ("digital sound", -20.0, 6.552, 0.728, "EN 300 163, NICAM 728"),
    ("colour", -16.0, 4.43, 0.0, "three-tone test of television transposers"),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "ITU-R BT.470-6 and usual intermediate frequencies"
    for name, *values in CARRIERS:
        for field, value in zip(FIELDS, values, strict=True):
            compute = partial(_field, name, field)
            yield EvidenceCase(
                NAME, source, f"system {name}", field, value, "MHz", 0.005, TYPED_TWICE, compute,
                "BT.470-6, carriers",
            )  # fmt: skip
    for table, function, quantity, source in (
        (VIDEO_NOISE, video_sn_over_cn_db, "video S/N less C/N", "20 log(m/2) + 3.01, derived"),
        (
            BLACK_PICTURE,
            black_picture_power_db,
            "black picture under peak sync",
            "levels of BT.470-6, worked",
        ),
    ):
        for name, decibels in table:
            compute = partial(_of_system, function, name)
            yield EvidenceCase(
                NAME, source, f"system {name}", quantity, decibels, "dB", 0.01, "computed", compute
            )
    for name, mhz in PRODUCTS:
        compute = partial(_of_system, in_band_product_over_vision_mhz, name)
        source, quantity = "sound less chroma of BT.470-6, worked", "in-band product over vision"
        yield EvidenceCase(NAME, source, f"system {name}", quantity, mhz, "MHz", 0.001, "computed", compute)
    yield from _on_the_screen()
    for limit, intercept in INTERCEPTS:
        compute = partial(required_oip3_over_peak_sync_db, limit)
        source = "P(a+b−c) = Pa + Pb + Pc − 2 OIP3 + 6, tones of −8, −10 and −16 dB; worked"
        case, quantity = f"limit of {limit:g} dB", "intercept over peak sync"
        yield EvidenceCase(NAME, source, case, quantity, intercept, "dB", 0.05, "computed", compute)


def _on_the_screen() -> Iterator[EvidenceCase]:
    for part, *figures, source in ON_THE_SCREEN:
        case = f"system I on an analyser, {part}"
        for field, figure in zip(("level_db", "offset_mhz", "width_mhz"), figures, strict=True):
            compute, unit = partial(_of_part, part, field), "dB" if field == "level_db" else "MHz"
            yield EvidenceCase(NAME, source, case, field, float(figure), unit, 0.005, TYPED_TWICE, compute)


def _field(system: str, field: str) -> float:
    return float(getattr(analogue_system(system), field))


def _of_part(name: str, field: str) -> float:
    part = next(each for each in analogue_parts(analogue_system("I")) if each.name == name)
    return float(getattr(part, field))


def _of_system(function: Callable[[AnalogueSystem], float], system: str) -> float:
    return function(analogue_system(system))
