"""DVB-T2 planning: figures of Recommendations ITU-R BT.2033-2 and BT.2036-5, and of the GE06 plan."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import EvidenceCase, Once, Standing
from combe.standards import dvbt2, minimum_median_field

NAME: Final = "ITU-R BT.2033-2"

MODULATIONS: Final = ("QPSK", "16-QAM", "64-QAM", "256-QAM")
CHANNELS: Final = ("gaussian", "ricean", "rayleigh")
TABLE_2: Final = {
    # code rate: required C/N dB of each modulation in the three channels
    "1/2": ((2.4, 2.6, 3.4), (7.6, 7.8, 9.1), (11.9, 12.2, 14.0), (15.9, 16.3, 18.3)),
    "3/5": ((3.6, 3.8, 4.9), (9.0, 9.2, 10.7), (13.8, 14.1, 15.8), (18.2, 18.4, 20.5)),
    "2/3": ((4.5, 4.8, 6.3), (10.3, 10.5, 12.2), (15.1, 15.4, 17.2), (19.7, 20.0, 22.1)),
    "3/4": ((5.5, 5.8, 7.6), (11.4, 11.8, 13.9), (16.6, 16.9, 19.3), (21.7, 22.0, 24.6)),
    "4/5": ((6.1, 6.5, 8.5), (12.2, 12.6, 15.1), (17.6, 18.1, 20.9), (23.1, 23.6, 26.6)),
    "5/6": ((6.6, 7.0, 9.3), (12.7, 13.1, 15.9), (18.2, 18.7, 21.8), (23.9, 24.4, 28.0)),
}

CHAIN: Final = (
    # MHz, C/N dB, F dB; Pn, Ps dBW, Aa dB(m²), φ dB(W/m²), Emin, Emed 70, 95, 99 % dB(µV/m)
    (650.0, 20.0, 6.0, -129.16, -109.16, -4.57, -100.60, 45.17, 48.0, 54.2, 58.0),
    (500.0, 20.0, 6.0, -129.16, -109.16, -3.29, -102.88, 42.89, 45.7, 51.9, 55.7),
    (800.0, 20.0, 6.0, -129.16, -109.16, -5.37, -98.79, 46.97, 49.8, 56.0, 59.8),
    (650.0, 21.0, 7.0, -128.16, -107.16, -4.57, -98.60, 47.17, 50.0, 56.2, 60.0),
)

STEPS: Final = (
    # field of the chain, symbol, unit, tolerance
    ("noise_power_dbw", "Pn", "dBW", 0.006),
    ("minimum_power_dbw", "Ps", "dBW", 0.006),
    ("effective_aperture_dbm2", "Aa", "dB(m²)", 0.006),
    ("minimum_flux_dbw_m2", "φ", "dB(W/m²)", 0.01),
    ("minimum_field_dbuv_m", "Emin", "dB(µV/m)", 0.05),
)
PERCENTAGES: Final = (70.0, 95.0, 99.0)

FIXED_AERIALS: Final = (
    # MHz, dBd, feeder dB
    (500.0, 10.0, 3.0),
    (650.0, 11.0, 4.0),
    (800.0, 12.0, 5.0),
)

LOCATION_FACTORS: Final[tuple[tuple[float, float, Standing], ...]] = (
    # % of places, μ
    (70.0, 0.52, "read"),
    (90.0, 1.2816, "computed"),
    (95.0, 1.64, "read"),
    (99.0, 2.33, "read"),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    yield from _required_cn()
    yield from _chain()
    yield from _printed()
    for mhz, gain, loss in FIXED_AERIALS:
        found = Once(partial(dvbt2.fixed_aerial, mhz))
        for field, quantity, expected, unit in (
            ("gain_dbd", "aerial gain", gain, "dBd"),
            ("feeder_loss_db", "feeder loss", loss, "dB"),
        ):
            source, case = "BT.2036-5, fixed reception", f"{mhz:g} MHz"
            compute = partial(found.field, field)
            yield EvidenceCase(NAME, source, case, quantity, expected, unit, 1e-9, "read", compute)
    for percent, factor, standing in LOCATION_FACTORS:
        source = (
            "GE06 Final Acts and BT.2033-2" if standing == "read" else "quantile of the normal distribution"
        )
        compute = partial(_location_factor, percent)
        case = f"{percent:g} % of places"
        yield EvidenceCase(NAME, source, case, "location factor μ", factor, "", 1e-4, standing, compute)


def _required_cn() -> Iterator[EvidenceCase]:
    for rate, row in TABLE_2.items():
        for modulation, ratios in zip(MODULATIONS, row, strict=True):
            for channel, ratio in zip(CHANNELS, ratios, strict=True):
                source, series = "BT.2033-2 Table 2, read in a public copy", "Table 2, required C/N"
                compute = partial(dvbt2.required_cn_db, modulation, rate, channel)
                case, quantity = f"{modulation} {rate}", f"required C/N, {channel}"
                yield EvidenceCase(NAME, source, case, quantity, ratio, "dB", 0.0, "read", compute, series)


def _chain() -> Iterator[EvidenceCase]:
    """Yield the items of the minimum median field, worked from the printed formulas."""
    source = "BT.2033-2 Attachment 1, chain worked in double precision with 145.76 in place of 145.8"
    for mhz, ratio, noise_figure, *rest in CHAIN:
        case = f"C/N {ratio:g} dB, F {noise_figure:g} dB, {mhz:g} MHz"
        found = {
            percent: Once(
                partial(
                    minimum_median_field, mhz, ratio, location_percent=percent, noise_figure_db=noise_figure
                )
            )
            for percent in PERCENTAGES
        }
        for (field, symbol, unit, tolerance), expected in zip(STEPS, rest[: len(STEPS)], strict=True):
            compute = partial(found[95.0].field, field)
            yield EvidenceCase(NAME, source, case, symbol, expected, unit, tolerance, "computed", compute)
        for percent, expected in zip(PERCENTAGES, rest[len(STEPS) :], strict=True):
            compute = partial(found[percent].field, "median_field_dbuv_m")
            quantity = f"Emed, {percent:g} % of places"
            yield EvidenceCase(NAME, source, case, quantity, expected, "dB(µV/m)", 0.1, "computed", compute)


def _printed() -> Iterator[EvidenceCase]:
    """Yield the results that the publications themselves print."""
    table_13 = partial(Once(partial(minimum_median_field, 650.0, 20.0)).field, "minimum_field_dbuv_m")
    first = partial(
        Once(partial(minimum_median_field, 650.0, 21.0, noise_figure_db=7.0)).field, "median_field_dbuv_m"
    )
    yield EvidenceCase(
        NAME, "BT.2033-2 Table 13, read in a public copy", "256-QAM 2/3 Ricean, 650 MHz", "Emin",
        45.2, "dB(µV/m)", 0.2, "read", table_13,
    )  # fmt: skip
    yield EvidenceCase(
        NAME, "GE06 reference planning configuration 1", "fixed reception, 95 % of places, 650 MHz", "Emed",
        56.0, "dB(µV/m)", 0.5, "from memory", first,
    )  # fmt: skip


def _location_factor(percent: float) -> float:
    return dvbt2.location_factor(percent).value
