"""Reads the Study Group 3 validation set of ITU-R P.1812: profiles with their inputs, logs with every value.

A folder p1812 holds profiles/NAME.csv and logs/NAME_K_log.csv for the set-ups K of a profile.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import numpy as np

from combe.errors import ProfileError
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
