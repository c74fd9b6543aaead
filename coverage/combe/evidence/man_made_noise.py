"""External noise: figures of Recommendation ITU-R P.372, and what they add to fields and feeds."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase
from combe.standards import NoiseEnvironment, minimum_median_field, noise_line_db, noise_rise_db

NAME: Final = "ITU-R P.372"

LINE_NAMES: Final = ("city", "residential", "rural", "quiet rural", "galactic")
LINES: Final = (
    # MHz; Fam of the lines in the order of LINE_NAMES, dB
    (50.0, (29.74, 25.44, 20.14, 5.01, 12.92)),
    (65.0, (26.58, 22.28, 16.98, 1.75, 10.30)),
    (100.0, (21.40, 17.10, 11.80, -3.60, 6.00)),
    (200.0, (13.06, 8.76, 3.46, -12.21, -0.92)),
    (600.0, (-0.15, -4.45, -9.75, -25.86, -11.9)),
    (800.0, (-3.62, -7.92, -13.2, -29.4, -14.8)),
)

RISES: Final[tuple[tuple[float, NoiseEnvironment, float, float], ...]] = (
    # MHz, surroundings; rise behind 2 dB of feeder and without, receiver of 6 dB, η 1: dB
    (200.0, "city", 6.07, 7.66),
    (200.0, "residential", 3.08, 4.21),
    (200.0, "rural", 0.77, 1.16),
    (65.0, "residential", 14.42, 16.36),
    (600.0, "residential", 0.0, 0.0),
    (600.0, "rural", 0.0, 0.0),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    source = "c − d log f, c and d read in a public code; worked"
    for mhz, values in LINES:
        for name, value in zip(LINE_NAMES, values, strict=True):
            compute = partial(noise_line_db, name, mhz)
            # Two figures were written with one decimal.
            tolerance = 0.05 if round(value, 1) == value and mhz > 500.0 else 0.006
            case = f"{name}, {mhz:g} MHz"
            yield EvidenceCase(NAME, source, case, "Fam", value, "dB", tolerance, "computed", compute)
    source = "10 log((f_r + (f_a − 1)/l_f)/f_r), f_a at least 1; worked"
    for mhz, environment, roof, portable in RISES:
        for loss_db, rise in ((2.0, roof), (0.0, portable)):
            case = f"{environment}, {mhz:g} MHz, F 6 dB, feeder {loss_db:g} dB"
            compute = partial(noise_rise_db, environment, mhz, noise_figure_db=6.0, feeder_loss_db=loss_db)
            yield EvidenceCase(NAME, source, case, "rise", rise, "dB", 0.006, "computed", compute)
    yield from _first_configuration()


def _first_configuration() -> Iterator[EvidenceCase]:
    """Yield configuration 1 of GE06 in Band III, whose noise is the published allowance."""
    case = "fixed reception, 95 % of places, 200 MHz, 7.61 MHz"
    for field, quantity, expected in (
        ("minimum_field_dbuv_m", "Emin", 38.96),
        ("man_made_noise_db", "Pmmn", 2.0),
        ("median_field_dbuv_m", "Emed", 50.01),
    ):
        compute = partial(_configuration_1, field)
        source = "GE06 reference planning configuration 1, worked; 50 dB(µV/m) printed"
        unit = "dB" if field == "man_made_noise_db" else "dB(µV/m)"
        yield EvidenceCase(NAME, source, case, quantity, expected, unit, 0.05, "computed", compute)


def _configuration_1(field: str) -> float:
    found = minimum_median_field(200.0, 21.0, noise_figure_db=7.0, bandwidth_mhz=7.61)
    return float(getattr(found, field))
