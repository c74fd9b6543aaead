"""DVB-T planning: figures of EN 300 744, of the chain of minimum field, and of the GE06 configurations."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from combe.evidence.case import TYPED_TWICE, EvidenceCase, Standing
from combe.standards import planning_field, reference_field_dbuv_m, television_system

NAME: Final = "DVB-T planning"

RATES: Final = ("1/2", "2/3", "3/4", "5/6", "7/8")
REQUIRED_CN: Final = {
    # modulation, channel model: C/N dB at RATES, of QPSK at the first three
    ("QPSK", "gaussian"): (3.1, 4.9, 5.9),
    ("QPSK", "ricean"): (3.6, 5.7, 6.8),
    ("QPSK", "rayleigh"): (5.4, 8.4, 10.7),
    ("16-QAM", "gaussian"): (8.8, 11.1, 12.5, 13.5, 13.9),
    ("16-QAM", "ricean"): (9.6, 11.6, 13.0, 14.4, 15.0),
    ("16-QAM", "rayleigh"): (11.2, 14.2, 16.7, 19.3, 22.8),
    ("64-QAM", "gaussian"): (14.4, 16.5, 18.0, 19.3, 20.1),
    ("64-QAM", "ricean"): (14.7, 17.1, 18.6, 20.0, 21.0),
    ("64-QAM", "rayleigh"): (16.0, 19.3, 21.7, 25.3, 27.9),
}
CHAIN: Final = (
    # MHz; Emin, Emed for 70 and 95 % of places dB(µV/m): 64-QAM 2/3 Ricean, C/N 17.1 + 3 dB, F 7 dB
    (500.0, 43.99, 46.8, 53.0),
    (650.0, 46.27, 49.1, 55.3),
    (800.0, 48.07, 50.9, 57.1),
)

CONFIGURATIONS: Final = (
    # name; field at 650 and at 500 MHz dB(µV/m), the second by 20 or 30 log(f/650)
    ("RPC 1", 56.0, 53.72),
    ("RPC 2", 78.0, 74.58),
    ("RPC 3", 88.0, 84.58),
)


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for (modulation, model), ratios in REQUIRED_CN.items():
        for rate, ratio in zip(RATES, ratios, strict=False):
            compute = partial(_cn_db, modulation, rate, model)
            case, quantity = f"{modulation} {rate}", f"required C/N, {model}"
            yield EvidenceCase(
                NAME, "ETSI EN 300 744 Annex A", case, quantity, ratio, "dB", 1e-9, TYPED_TWICE, compute,
                "EN 300 744, required C/N",
            )  # fmt: skip
    source = "chain of GE06, worked in double precision with 145.76 in place of 145.8; C/N from memory"
    for mhz, *figures in CHAIN:
        case = f"64-QAM 2/3 Ricean, {mhz:g} MHz"
        for quantity, figure, percent, tolerance in (
            ("Emin", figures[0], 50.0, 0.05),
            ("Emed, 70 % of places", figures[1], 70.0, 0.1),
            ("Emed, 95 % of places", figures[2], 95.0, 0.1),
        ):
            compute = partial(_field_dbuv_m, mhz, percent)
            yield EvidenceCase(
                NAME, source, case, quantity, figure, "dB(µV/m)", tolerance, "computed", compute
            )
    for name, at_650, at_500 in CONFIGURATIONS:
        ways: tuple[tuple[float, float, float, Standing], ...] = (
            (650.0, at_650, 0.0, TYPED_TWICE),
            (500.0, at_500, 0.005, "from memory"),
        )
        for mhz, figure, tolerance, standing in ways:
            compute = partial(reference_field_dbuv_m, name, mhz)
            yield EvidenceCase(
                NAME, "GE06 Final Acts, reference planning configurations", f"{name}, {mhz:g} MHz", "Emed",
                figure, "dB(µV/m)", tolerance, standing, compute,
            )  # fmt: skip


def _cn_db(modulation: str, rate: str, model: str) -> float:
    system = television_system("DVB-T", modulation, rate, model)
    return (system.required_cn_db or 0.0) - system.implementation_margin_db


def _field_dbuv_m(mhz: float, percent: float) -> float:
    return planning_field(television_system("DVB-T", "64-QAM", "2/3"), mhz, percent).median_field_dbuv_m
