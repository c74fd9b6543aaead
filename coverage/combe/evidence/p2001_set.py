"""Recommendation ITU-R P.2001-4 as a whole: the reference cases, when their files are given.

The figures are those of the file, read when asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Final

from combe.evidence.case import EvidenceCase, Once
from combe.evidence.p2001_cases import reference_cases

NAME: Final = "ITU-R P.2001-4"
SOURCE: Final = "run of the public code of P.2001-4, its maps holding one value each; not an official figure"

QUANTITIES: Final = {
    # name in the public code: field of the result, unit
    "Lb": ("basic_transmission_loss_db", "dB"),
    "Lbm1": ("normal_db", "dB"),
    "Lbm2": ("anomalous_db", "dB"),
    "Lbm3": ("troposcatter_db", "dB"),
    "Lbm4": ("sporadic_e_db", "dB"),
    "Lbfs": ("free_space_loss_db", "dB"),
    "Ld": ("diffraction_loss_db", "dB"),
    "A1": ("clear_air_fade_db", "dB"),
    "Q0ca": ("multipath_percent", "%"),
    "Nd1kmp": ("gradient_n_km", "N-units/km"),
    "Reff50": ("median_radius_km", "km"),
    "Reffp": ("time_radius_km", "km"),
    "Agsur": ("gas_loss_db", "dB"),
    "Lba": ("duct_loss_db", "dB"),
    "Lbs": ("scatter_loss_db", "dB"),
    "FlagLos50": ("line_of_sight", ""),
    "Thetat": ("tx_horizon_mrad", "mrad"),
    "Thetar": ("rx_horizon_mrad", "mrad"),
    "Dlt": ("tx_horizon_km", "km"),
    "Dlr": ("rx_horizon_km", "km"),
    "Htea": ("tx_effective_duct_m", "m"),
    "Hrea": ("rx_effective_duct_m", "m"),
    "Hm": ("roughness_m", "m"),
    "Htep": ("tx_effective_diffraction_m", "m"),
    "Hrep": ("rx_effective_diffraction_m", "m"),
    "omega": ("sea_fraction", ""),
    "Sp": ("slope_mrad", "mrad"),
}


def file_cases(folder: Path) -> Iterator[EvidenceCase]:
    """Yield every figure of the reference cases found in a folder of reference data."""
    for reference in reference_cases(folder):
        found = Once(reference.predict)
        for symbol, (field, unit) in QUANTITIES.items():
            expected = float(reference.values[symbol])
            compute, quantity = partial(found.field, field), f"{symbol}, {field}"
            yield EvidenceCase(
                NAME,
                SOURCE,
                reference.name,
                quantity,
                expected,
                unit,
                tolerance_of(expected, unit),
                "computed",
                compute,
                f"cases on {reference.values['profile']}",
            )


def tolerance_of(expected: float, unit: str) -> float:
    """Return how far a figure may be off: rounding alone, since operations and their order are the same."""
    if unit == "dB":
        return max(1e-9, 1e-12 * abs(expected))
    return max(1e-12, 1e-9 * abs(expected)) if unit == "%" else 1e-9
