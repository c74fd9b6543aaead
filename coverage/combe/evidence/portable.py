"""Portable reception: the planning configurations of GE06 rebuilt, and DVB-T2 outdoors and indoors."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Once, Standing
from combe.standards import class_entry_loss, height_loss_db, minimum_median_field, portable_terms

NAME: Final = "Portable reception"
_CHAIN: Final = "chain of GE06 and BT.2033-2 worked apart, with the exact quantile in place of the printed μ"
_PRINTED: Final = "GE06 Final Acts, reference planning configurations"

_ROOF: Final = "RPC 1, fixed roof"
CONFIGURATIONS: Final = (
    # name, class of building (none outdoors), MHz, C/N dB; Emin, σ, Emed dB(µV/m) and Emed as printed
    (_ROOF, "", 200.0, 21.0, 38.96, 5.5, 50.01, 50.0),
    (_ROOF, "", 650.0, 21.0, 47.20, 5.5, 56.25, 56.0),
    ("RPC 2, portable outdoor", "", 200.0, 19.0, 44.16, 5.5, 67.21, 67.0),
    ("RPC 2, portable outdoor", "", 650.0, 19.0, 52.20, 5.5, 78.37, 78.0),
    ("RPC 3, portable indoor", "GE06", 200.0, 17.0, 42.16, 6.265, 75.47, 76.0),
    ("RPC 3, portable indoor", "GE06", 650.0, 17.0, 50.20, 7.778, 88.11, 88.0),
)
"""F 7 dB, B 7.61 MHz, 95 % of places."""

DVB_T2: Final = (
    # class of building (none outdoors); Emed dB(µV/m) for 70 and 95 % of places
    ("", 69.40, 75.57),
    ("BT.2033 high", 77.42, 85.74),
    ("BT.2033 medium", 81.79, 90.91),
    ("BT.2033 low", 86.19, 96.16),
)
"""64-QAM 2/3 in the Rayleigh channel, C/N 17.2 dB, F 6 dB, 650 MHz; Emin 49.40."""

HEIGHT_LOSSES: Final[tuple[tuple[float, float, Standing], ...]] = (
    # MHz, Lh dB
    (200.0, 12.0, TYPED_TWICE),
    (500.0, 16.0, TYPED_TWICE),
    (800.0, 18.0, TYPED_TWICE),
    (174.0, 11.39, "computed"),
    (230.0, 12.61, "computed"),
    (474.0, 15.77, "computed"),
    (600.0, 16.78, "computed"),
    (650.0, 17.12, "computed"),
    (698.0, 17.42, "computed"),
    (858.0, 18.30, "computed"),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for name, building, mhz, ratio, minimum, deviation, median, printed in CONFIGURATIONS:
        found = Once(partial(_field, building, mhz, ratio, 7.0, 95.0, portable=name != _ROOF))
        case = f"{name}, {mhz:g} MHz"
        rows = (
            ("Emin", "minimum_field_dbuv_m", minimum, "dB(µV/m)", 0.006),
            ("location standard deviation σ", "location_deviation_db", deviation, "dB", 0.001),
            ("Emed", "median_field_dbuv_m", median, "dB(µV/m)", 0.05),
        )
        for quantity, field, figure, unit, tolerance in rows:
            compute = partial(found.field, field)
            yield EvidenceCase(NAME, _CHAIN, case, quantity, figure, unit, tolerance, "computed", compute)
        compute = partial(found.field, "median_field_dbuv_m")
        yield EvidenceCase(
            NAME,
            _PRINTED,
            case,
            "Emed, printed in whole dB",
            printed,
            "dB(µV/m)",
            0.6,
            "from memory",
            compute,
        )
    yield from _dvb_t2()
    for mhz, loss, standing in HEIGHT_LOSSES:
        tolerance = 0.0 if standing == TYPED_TWICE else 0.006
        yield EvidenceCase(
            NAME, "GE06 Final Acts, height loss in suburbs, read in a public copy", f"{mhz:g} MHz",
            "height loss Lh from 10 to 1.5 m", loss, "dB", tolerance, standing, partial(_height_loss_db, mhz),
        )  # fmt: skip


def _dvb_t2() -> Iterator[EvidenceCase]:
    for building, at_70, at_95 in DVB_T2:
        case = f"DVB-T2 64-QAM 2/3, 650 MHz, {building or 'outdoors'}"
        for percent, median in ((70.0, at_70), (95.0, at_95)):
            compute = partial(
                Once(partial(_field, building, 650.0, 17.2, 6.0, percent)).field, "median_field_dbuv_m"
            )
            quantity = f"Emed, {percent:g} % of places"
            yield EvidenceCase(NAME, _CHAIN, case, quantity, median, "dB(µV/m)", 0.05, "computed", compute)


def _field(
    building: str,
    mhz: float,
    ratio_db: float,
    noise_figure_db: float,
    percent: float,
    *,
    portable: bool = True,
) -> object:
    entry = class_entry_loss(building, mhz) if building else None
    return minimum_median_field(
        mhz,
        ratio_db,
        location_percent=percent,
        noise_figure_db=noise_figure_db,
        portable=portable_terms(mhz, entry) if portable else None,
    )


def _height_loss_db(mhz: float) -> float:
    return height_loss_db(mhz).value
