"""Recommendation ITU-R P.2001-4 as a whole: the reference cases, when their files are given.

A folder p2001 holds NAME_profile.csv (km, m, zone) and cases.json: stretches of two profiles, two climates
and every value of each. They are runs of the public code of the Recommendation with maps that hold one value
each, and are read when asked.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import ProfileError
from combe.evidence.case import EvidenceCase, Once
from combe.propagation.p2001 import Climate, PathLoss, predict_path

CASES_FILE: Final = "cases.json"
MAPS: Final = {
    # map as the file names it: number of the climate
    "DN_Median": "median_dn",
    "DN_SupSlope": "super_slope",
    "DN_SubSlope": "sub_slope",
    "dndz_01": "dn_65m_1_percent",
    "FoEs0p1": "foes_0_1_mhz",
    "FoEs01": "foes_1_mhz",
    "FoEs10": "foes_10_mhz",
    "FoEs50": "foes_50_mhz",
    "h0": "rain_height_km",
    "surfwv_50_fixed": "water_vapour_g_m3",
    "TropoClim": "troposcatter_climate",
}
_SAME_NAMES: Final = (
    "time_percent",
    "tx_height_m",
    "rx_height_m",
    "tx_gain_dbi",
    "rx_gain_dbi",
    "tx_longitude_deg",
    "tx_latitude_deg",
    "rx_longitude_deg",
    "rx_latitude_deg",
)
_HEADER: Final = {
    "File1",
    "Locations",
    "Coords",
    "TxCoordE",
    "TxCoordN",
    "RxCoordE",
    "RxCoordN",
    "Data",
    "Points",
}


@dataclass(frozen=True)
class ReferenceCase:
    """One case: its number in the file, its path, and what the file says of it."""

    number: int
    profile: npt.NDArray[np.float64]
    climate: Climate
    values: dict[str, Any]

    @property
    def name(self) -> str:
        """Number, profile, frequency and time in a few words."""
        frequency_mhz, percent = 1000.0 * self.values["frequency_ghz"], self.values["time_percent"]
        return f"case {self.number}, {self.values['profile']}, {frequency_mhz:g} MHz, {percent:g} %"

    def asked(self) -> dict[str, Any]:
        """Return what was asked, by the names of ``predict_path``; distances begin anew at the stretch."""
        values = self.values
        stretch = self.profile[values["first_point"] : values["last_point"] + 1]
        return {
            "distance_km": stretch[:, 0] - stretch[0, 0],
            "height_m": stretch[:, 1],
            "zone": stretch[:, 2],
            "frequency_mhz": 1000.0 * values["frequency_ghz"],
            "polarization": "vertical" if values["vertical"] else "horizontal",
            "climate": self.climate,
        } | {name: values[name] for name in _SAME_NAMES}

    def predict(self) -> PathLoss:
        """Price the path."""
        return predict_path(**self.asked())


def reference_cases(folder: Path) -> list[ReferenceCase]:
    """Return every case of a folder of reference data, none where there is no file of cases."""
    file = folder / "p2001" / CASES_FILE
    if not file.is_file():
        return []
    told = json.loads(file.read_text(encoding="utf-8"))
    climates = {name: climate_of(maps) for name, maps in told["climates"].items()}
    names = {values["profile"] for values in told["cases"]}
    profiles = {name: read_profile(file.with_name(f"{name}_profile.csv")) for name in names}
    return [
        ReferenceCase(number, profiles[values["profile"]], climates[values["climate"]], values)
        for number, values in enumerate(told["cases"], start=1)
    ]


def climate_of(maps: dict[str, Any]) -> Climate:
    """Return the climate of maps that hold one value each; their rain is nil, so it is not told."""
    return Climate(**{field: maps[name] for name, field in MAPS.items()})


def read_profile(path: Path) -> npt.NDArray[np.float64]:
    """Return the rows (km, m, zone) of a profile, which follow its header, shape (n, 3).

    Raises
    ------
    ProfileError
        A file that holds another number of rows than its header says.
    """
    with path.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.reader(file) if row]
    told = [int(row[1]) for row in rows if row[0] == "Points"]
    found = [[float(cell) for cell in row[:3]] for row in rows if row[0] not in _HEADER]
    if told != [len(found)]:
        raise ProfileError(
            f"file {path} has {len(found)} rows of a profile; allowed: as many as Points tells"
        )
    return np.array(found)


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
