"""Recommendation ITU-R P.1812-8 as a whole: the Study Group 3 validation set, when its files are given.

A folder p1812 holds profiles/NAME.csv and logs/NAME_K_log.csv, every value, for the set-ups K of a profile.
The figures are those of the logs, read when asked; only runs that are not in the set stand here.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import Any, Final

import numpy as np

from combe.errors import ProfileError
from combe.evidence.case import EvidenceCase, Once
from combe.propagation.p1812 import PathLoss, predict_path

Label = tuple[str, str]
"""A value of a log is known by its name and its equation; some names come twice."""

_ASKED: Final = {
    "time_percent": ("p (%)", ""),
    "tx_height_m": ("htg (m)", ""),
    "rx_height_m": ("hrg (m)", ""),
    "latitude_deg": ("phi (deg)", "Eq (4)"),
    "delta_n": ("DN", ""),
    "n0": ("N0", ""),
    "location_percent": ("pL (%)", ""),
    "location_sigma_db": ("sigmaL (dB)", ""),
    "tx_coast_distance_km": ("dct (km)", ""),
    "rx_coast_distance_km": ("dcr (km)", ""),
}
_COLUMNS: Final = {"distance_km": 0, "height_m": 1, "clutter_height_m": 3, "zone": 4}
_EQUATION: Final = ("Eq", "Sec", "Table")


@dataclass(frozen=True)
class SetUp:
    """One receive set-up of the set: its name, such as ``b2iseac_0``, its profile and its log."""

    name: str
    profile: Path
    log_path: Path

    @cached_property
    def log(self) -> dict[Label, float]:
        """Every value of the log by its label."""
        return read_log(self.log_path)

    def asked(self) -> dict[str, Any]:
        """Return what the log says was asked, by the names of ``predict_path``."""
        values: dict[str, Any] = {name: self.log[label] for name, label in _ASKED.items()}
        values["frequency_mhz"] = 1000.0 * self.log["f (GHz)", ""]
        values["polarization"] = "vertical" if self.log["pol", ""] == 2.0 else "horizontal"
        return values

    def predict(self, **changes: Any) -> PathLoss:
        """Price the set-up, with changes to what is asked."""
        return predict_path(**read_profile(self.profile), **(self.asked() | changes))


def set_ups(folder: Path) -> list[SetUp]:
    """Return every set-up whose profile and log are both in a folder of reference data."""
    found = []
    for log in sorted((folder / "p1812" / "logs").glob("*_log.csv")):
        name = log.name.removesuffix("_log.csv")
        profile = folder / "p1812" / "profiles" / f"{name.rpartition('_')[0]}.csv"
        if profile.is_file():
            found.append(SetUp(name, profile, log))
    return found


def read_log(path: Path) -> dict[Label, float]:
    """Return the values of a log; the value is the last cell of a row that is not empty."""
    values: dict[Label, float] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in list(csv.reader(file))[1:]:
            cells = [cell.strip() for cell in row]
            filled = [cell for cell in cells if cell]
            if len(filled) > 1:
                equation = cells[1] if cells[1].startswith(_EQUATION) else ""
                values[cells[0], equation] = float(filled[-1])
    return values


def read_profile(path: Path) -> dict[str, Any]:
    """Return the arrays of a profile by the names of ``predict_path``.

    Raises
    ------
    ProfileError
        A file without the marks that a profile lies between.
    """
    lines = [line.strip() for line in path.read_text(encoding="utf-8").splitlines()]
    marks = [
        at for at, line in enumerate(lines) if line.startswith(("{Begin of Profile}", "{End of Profile}"))
    ]
    if len(marks) != 2:
        raise ProfileError(f"file {path} has {len(marks)} profile marks; allowed: one begin and one end")
    rows = [line.split(",") for line in lines[marks[0] + 1 : marks[1]] if not line.startswith("Number")]
    return {name: np.array([float(row[at]) for row in rows]) for name, at in _COLUMNS.items()}


NAME: Final = "ITU-R P.1812-8"
PUBLIC_SOURCE: Final = "the public repository eeveetza/Py1812"
SOURCE: Final = "Study Group 3 validation set of P.1812, log of the set-up"
DB: Final = 1e-5
"""Tolerance [dB]; the logs carry ten digits, and the constants here are the Recommendation's own."""

GEOMETRY: Final[dict[Label, tuple[str, str]]] = {
    # label in the log: field of the result, unit
    ("d (km)", ""): ("distance_km", "km"),
    ("dlt (km)", "Eq (78)"): ("tx_horizon_km", "km"),
    ("dlr (km)", "Eq (81a)"): ("rx_horizon_km", "km"),
    ("th_t (mrad)", "Eqs (76-78)"): ("tx_horizon_mrad", "mrad"),
    ("th_r (mrad)", "Eqs (79-81)"): ("rx_horizon_mrad", "mrad"),
    ("th (mrad)", "Eq (82)"): ("path_angle_mrad", "mrad"),
    ("hts (m)", ""): ("tx_amsl_m", "m"),
    ("hrs (m)", ""): ("rx_amsl_m", "m"),
    ("w", "Table 5"): ("sea_fraction", ""),
    ("dtm (km)", "Sec 3.6"): ("longest_land_km", "km"),
    ("dlm (km)", "Sec 3.6"): ("longest_inland_km", "km"),
    ("b0 (%)", "Eq (5)"): ("ducting_incidence_percent", "%"),
    ("ae (km)", "Eq (7a)"): ("effective_radius_km", "km"),
    ("hst (m)", "Eq (85)"): ("smooth_tx_m", "m"),
    ("hsr (m)", "Eq (86)"): ("smooth_rx_m", "m"),
    ("hst (m)", "Eq (90a)"): ("duct_tx_m", "m"),
    ("hsr (m)", "Eq (90b)"): ("duct_rx_m", "m"),
    ("hstd (m)", "Eq (89)"): ("diffraction_tx_m", "m"),
    ("hsrd (m)", "Eq (89)"): ("diffraction_rx_m", "m"),
    ("htc (m)", "Eq (37a)"): ("tx_effective_diffraction_m", "m"),
    ("hrc (m)", "Eq (37b)"): ("rx_effective_diffraction_m", "m"),
    ("hte (m)", "Eq (92a)"): ("tx_effective_duct_m", "m"),
    ("hre (m)", "Eq (92b)"): ("rx_effective_duct_m", "m"),
    ("hm (m)", "Eq (93)"): ("roughness_m", "m"),
    ("Fi", "Eq (40)"): ("time_factor", ""),
    ("Fj", "Eq (57)"): ("angle_factor", ""),
    ("Fk", "Eq (58)"): ("distance_factor", ""),
}

# Lbulla, Lbulls and Ldsph of the logs are those of the radius for β0 % of time: they rebuild Ldb, not Ld50.
LOSSES: Final[dict[Label, str]] = {
    ("Lbfs", "Eq (8)"): "free_space_loss_db",
    ("Lb0p", "Eq (10)"): "line_of_sight_loss_db",
    ("Lb0b", "Eq (11)"): "line_of_sight_beta_loss_db",
    ("Lbulla (dB)", "Eq (21)"): "bullington_beta_db",
    ("Lbulls (dB)", "Eq (21)"): "bullington_smooth_beta_db",
    ("Ldsph (dB)", "Eq (27)"): "spherical_beta_db",
    ("Ld50 (dB)", "Eq (39)"): "diffraction_median_db",
    ("Ldb (dB)", "Eq (39)"): "diffraction_beta_db",
    ("Ldp (dB)", "Eq (41)"): "diffraction_loss_db",
    ("Lbd50 (dB)", "Eq (42)"): "basic_diffraction_median_db",
    ("Lbd (dB)", "Eq (43)"): "basic_diffraction_db",
    ("Lminb0p (dB)", "Eq (59)"): "notional_minimum_db",
    ("Lba (dB)", "Eq (46)"): "ducting_loss_db",
    ("Lminbap (dB)", "Eq (60)"): "ducting_minimum_db",
    ("Lbda (dB)", "Eq (61)"): "diffraction_with_ducting_db",
    ("Lbam (dB)", "Eq (62)"): "modified_diffraction_db",
    ("Lbs (dB)", "Eq (44)"): "troposcatter_loss_db",
    ("Lbc (dB)", "Eq (63)"): "combined_loss_db",
    ("Lb (dB)", "Eq (69)"): "basic_transmission_loss_db",
    ("Ep (dBuV/m)", "Eq (70)"): "field_strength_dbuv_m",
}

UHF_MHZ: Final = (474.0, 600.0, 858.0)
UHF: Final = {
    # profile, time %: Lb dB at UHF_MHZ; the profile's own air, aerials 60 and 10 m, horizontal
    ("b2iseac_rural_land_10km", 1.0): (138.489263, 141.580866, 146.270450),
    ("b2iseac_rural_land_10km", 50.0): (141.334774, 144.426353, 149.115868),
    ("b2iseac_rural_land_1km_eqdist", 1.0): (110.146410, 112.995005, 117.439378),
    ("b2iseac_rural_land_1km_eqdist", 50.0): (111.542345, 114.556890, 119.170190),
    ("b2iseac_rural_land_100km", 1.0): (121.498726, 123.546185, 126.652905),
    ("b2iseac_rural_land_100km", 50.0): (129.496882, 130.144784, 131.070027),
    ("rburg_rural_noclutter", 1.0): (143.778106, 144.826742, 148.302537),
    ("rburg_rural_noclutter", 50.0): (175.369251, 178.538391, 183.220093),
}
UHF_SOURCE: Final = "run of the Study Group 3 reference code on a profile of the set; not an official figure"

VERTICAL: Final = (
    # set-up b2iseac_vertical_2, published, has the profile of b2iseac_2: field, figure, tolerance
    ("diffraction_median_db", 40.5254, 5e-5),
    ("diffraction_beta_db", 14.2331, 5e-5),
    ("basic_transmission_loss_db", 159.481885, 2e-6),
    ("field_strength_dbuv_m", 19.459973, 2e-6),
)


def file_cases(folder: Path) -> Iterator[EvidenceCase]:
    """Yield the cases of every set-up found in a folder of reference data."""
    there = {each.name: each for each in set_ups(folder)}
    for set_up in there.values():
        yield from _logged(set_up)
    for (profile, percent), losses in UHF.items():
        if f"{profile}_0" in there:
            yield from _uhf(there[f"{profile}_0"], profile, percent, losses)
    if "b2iseac_2" in there:
        yield from _vertical(there["b2iseac_2"])


def _logged(set_up: SetUp) -> Iterator[EvidenceCase]:
    """Yield every value of one log, geometry first."""
    found = Once(set_up.predict)
    for label, (field, unit) in GEOMETRY.items():
        tolerance = max(1e-9, 1e-6 * abs(set_up.log[label]))
        yield _case(set_up, found, label, field, unit, tolerance)
    for label, field in LOSSES.items():
        if not _overwritten(set_up, label):
            yield _case(set_up, found, label, field, "dB(µV/m)" if label[0].startswith("Ep") else "dB", DB)


def _case(
    set_up: SetUp, found: Once[PathLoss], label: Label, field: str, unit: str, tolerance: float
) -> EvidenceCase:
    symbol, compute = label[0].partition(" ")[0], partial(found.field, field)
    quantity, series = f"{symbol}, {field}", f"set-up {set_up.name}"
    return EvidenceCase(
        NAME, SOURCE, set_up.name, quantity, set_up.log[label], unit, tolerance, "read", compute, series
    )


def _overwritten(set_up: SetUp, label: Label) -> bool:
    """Return whether a log holds Lbda where Lbd should be, a known fault of some logs."""
    same = set_up.log["Lbd (dB)", "Eq (43)"] == set_up.log["Lbda (dB)", "Eq (61)"]
    return label[0] == "Lbd (dB)" and same


def _uhf(set_up: SetUp, profile: str, percent: float, losses: tuple[float, ...]) -> Iterator[EvidenceCase]:
    for mhz, loss in zip(UHF_MHZ, losses, strict=True):
        asked = {"frequency_mhz": mhz, "time_percent": percent, "tx_height_m": 60.0, "rx_height_m": 10.0}
        compute = partial(Once(partial(set_up.predict, **asked)).field, "basic_transmission_loss_db")
        case = f"{profile}, {mhz:g} MHz, {percent:g} % of time"
        yield EvidenceCase(NAME, UHF_SOURCE, case, "Lb", loss, "dB", DB, "computed", compute, "UHF")


def _vertical(set_up: SetUp) -> Iterator[EvidenceCase]:
    found = Once(partial(set_up.predict, polarization="vertical"))
    for field, expected, tolerance in VERTICAL:
        unit = "dB(µV/m)" if field.endswith("dbuv_m") else "dB"
        source = "Study Group 3 validation set of P.1812, table of results"
        compute = partial(found.field, field)
        yield EvidenceCase(
            NAME, source, "b2iseac_vertical_2", field, expected, unit, tolerance, "read", compute
        )
