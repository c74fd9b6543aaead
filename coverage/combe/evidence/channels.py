"""Channel rasters and channel relations: the usual plans and 47 CFR 73.698."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Standing
from combe.standards import (
    PUBLISHED_SPACINGS,
    analogue_conversion,
    analogue_system,
    centre_frequency_mhz,
    digital_conversion,
    image_channels,
    oscillator_channel,
    steps_of,
    troubled_channels,
)

RASTERS: Final = "Channel rasters"
RELATIONS: Final = "Channel relations"

CENTRES: Final[tuple[tuple[str, int, float, str, Standing], ...]] = (
    # raster, channel, centre MHz, source
    ("8 MHz UHF", 21, 474.0, "GE06, 306 + 8n", "from memory"),
    ("8 MHz UHF", 34, 578.0, "GE06, 306 + 8n", "from memory"),
    ("8 MHz UHF", 48, 690.0, "GE06, 306 + 8n", "from memory"),
    ("8 MHz UHF", 69, 858.0, "GE06, 306 + 8n", "from memory"),
    ("6 MHz UHF", 14, 473.0, "47 CFR 73.603, 389 + 6n", "from memory"),
    ("6 MHz UHF", 36, 605.0, "47 CFR 73.603, 389 + 6n", "from memory"),
    ("6 MHz UHF", 39, 623.0, "public listing of channel 39, 620 to 626 MHz", "read"),
    ("6 MHz UHF", 51, 695.0, "47 CFR 73.603, 389 + 6n", "from memory"),
    ("7 MHz UHF", 28, 529.5, "Australian plan, 526 to 533 MHz", "from memory"),
    ("7 MHz VHF", 2, 50.5, "CCIR plan, vision 48.25 MHz", "read"),
    ("7 MHz VHF", 5, 177.5, "GE06, 177.5 + 7(n − 5); CCIR plan, vision 175.25 MHz", "read"),
    ("7 MHz VHF", 12, 226.5, "GE06, 177.5 + 7(n − 5)", "read"),
    ("8 MHz VHF", 1, 52.5, "OIRT plan, vision 49.75 MHz", "read"),
    ("8 MHz VHF", 4, 88.0, "OIRT plan, sound 91.75 MHz", "read"),
    ("8 MHz VHF", 6, 178.0, "GE06, 178 + 8(n − 6); OIRT plan, vision 175.25 MHz", "read"),
    ("8 MHz VHF", 12, 226.0, "GE06, 178 + 8(n − 6)", "read"),
    ("6 MHz VHF and UHF", 2, 57.0, "47 CFR 73.603, 54 to 60 MHz", "read"),
    ("6 MHz VHF and UHF", 6, 85.0, "47 CFR 73.603, 82 to 88 MHz", "read"),
    ("6 MHz VHF and UHF", 13, 213.0, "47 CFR 73.603, 210 to 216 MHz", "read"),
    ("6 MHz VHF and UHF ISDB-T", 7, 177.142857, "47 CFR 73.603, 174 to 180 MHz, and 1/7 MHz", "read"),
    ("6 MHz VHF and UHF Japan", 7, 191.0, "Japanese plan, 188 to 194 MHz", "read"),
    ("6 MHz VHF and UHF Japan", 8, 195.0, "Japanese plan, 192 to 198 MHz", "read"),
    ("8 MHz VHF and UHF China", 6, 171.0, "Chinese plan, vision 168.25 MHz", "from memory"),
    ("7 MHz VHF and UHF Australia", 10, 212.5, "Australian plan, 209 to 216 MHz", "from memory"),
)

CONVERSIONS: Final = (
    # system: oscillator MHz over the channel's edge, its step; images of vision and sound, their steps
    ("I", 40.75, 5, (80.25, 74.25), (10, 9)),
    ("G", 40.15, 5, (79.05, 73.55), (9, 9)),
    ("D/K", 39.25, 4, (77.25, 70.75), (9, 8)),
    ("M", 47.0, 7, (92.75, 88.25), (15, 14)),
    ("B", 40.15, 5, (79.05, 73.55), (11, 10)),
)
RULE: Final = "oscillator = vision + IF, image = 2 × oscillator − frequency; worked"

TABLE_II: Final = (
    # relation, steps of the 6 MHz raster, km
    ("beat at the IF", 8, 31.4),
    ("intermodulation", 5, 31.4),
    ("adjacent", 1, 87.7),
    ("oscillator", 7, 95.7),
    ("image of sound", 14, 95.7),
    ("image of vision", 15, 119.9),
)
BY_RULE: Final = ("beat at the IF", "adjacent", "oscillator", "image of sound", "image of vision")


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for raster, channel, centre, source, standing in CENTRES:
        compute = partial(centre_frequency_mhz, raster, channel)
        case = f"{raster}, channel {channel}"
        yield EvidenceCase(RASTERS, source, case, "centre", centre, "MHz", 1e-6, standing, compute)
    yield from _conversions()
    yield from _published()


def _conversions() -> Iterator[EvidenceCase]:
    for system, oscillator, step, images, image_steps in CONVERSIONS:
        rows = [("oscillator", oscillator, step, partial(_oscillator, system))]
        for at, name in enumerate(("image of vision", "image of sound")):
            rows.append((name, images[at], image_steps[at], partial(_image, system, at)))
        for name, place, channel_step, find in rows:
            for quantity, expected, unit, part in (
                (f"{name}, over the edge", place, "MHz", 0),
                (f"{name}, channel n +", float(channel_step), "", 1),
            ):
                compute = partial(_part, find, part)
                case = f"system {system}"
                yield EvidenceCase(
                    RELATIONS, RULE, case, quantity, expected, unit, 1e-6, "computed", compute, RULE
                )
    for quantity, expected, compute in (
        ("oscillator, channels above", 4.52, partial(_digital_oscillator)),
        ("image, channels above", 9.03, partial(_digital_image)),
    ):
        case, source = "digital 8 MHz, IF 36.125 MHz", "same rule, from centre to centre; worked"
        yield EvidenceCase(RELATIONS, source, case, quantity, expected, "", 0.006, "computed", compute)


def _oscillator(system: str) -> tuple[float, float]:
    found = oscillator_channel(analogue_conversion(analogue_system(system)))
    return found.over_edge_mhz, float(found.channel_step)


def _image(system: str, at: int) -> tuple[float, float]:
    found = image_channels(analogue_conversion(analogue_system(system)))[at]
    return found.over_edge_mhz, float(found.channel_step)


def _part(find: partial[tuple[float, float]], part: int) -> float:
    return find()[part]


def _digital_oscillator() -> float:
    return (digital_conversion(8.0).oscillator_over_edge_mhz - 4.0) / 8.0


def _digital_image() -> float:
    return (image_channels(digital_conversion(8.0))[0].over_edge_mhz - 4.0) / 8.0


def _published() -> Iterator[EvidenceCase]:
    source = "47 CFR 73.698 Table II, UHF"
    for relation, step, km in TABLE_II:
        compute = partial(_spacing_km, relation, step)
        case = f"{relation}, {step} channels apart"
        yield EvidenceCase(RELATIONS, source, case, "spacing", km, "km", 0.0, "read", compute)
        if relation in BY_RULE:
            compute = partial(_farthest_step, relation)
            quantity = "step found by the rule for system M"
            yield EvidenceCase(RELATIONS, source, case, quantity, float(step), "", 0.0, "read", compute)


def _spacing_km(relation: str, step: int) -> float:
    return next(
        row.distance_km
        for row in PUBLISHED_SPACINGS
        if row.relation == relation and step in row.channel_steps
    )


def _farthest_step(relation: str) -> float:
    found = troubled_channels(analogue_conversion(analogue_system("M")))
    return float(max(steps_of(found, relation)))  # type: ignore[arg-type]
