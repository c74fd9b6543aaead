"""Reads the Study Group 3 validation set of ITU-R P.1812: profiles with their inputs, logs with every value.

The set is public: repository eeveetza/Py1812 on GitHub. Point COMBE_REFERENCE_DATA at a
folder that holds p1812/profiles and p1812/logs.
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

PUBLIC_SOURCE = "the public repository eeveetza/Py1812 (folder with validation profiles and logs)"
_BESIDE = Path(__file__).resolve().parents[2] / "shared" / "reference_data"


def reference_folder() -> Path:
    """Return the folder of reference data, which may not be there."""
    return Path(os.environ.get("COMBE_REFERENCE_DATA") or _BESIDE)


@dataclass(frozen=True)
class ValidationCase:
    """One receive set-up: what is asked, and the log's values by (label, equation)."""

    name: str
    arrays: tuple[np.ndarray, ...]
    asked: dict[str, Any]
    log: dict[tuple[str, str], float]


def case_names() -> list[str]:
    """Return the names of all set-ups found, such as ``b2iseac_0``."""
    logs = reference_folder() / "p1812" / "logs"
    return sorted(path.name.removesuffix("_log.csv") for path in logs.glob("*_log.csv"))


def read_case(name: str) -> ValidationCase:
    """Return one set-up from its profile and its log."""
    folder = reference_folder() / "p1812"
    log = read_log(folder / "logs" / f"{name}_log.csv")
    arrays = read_profile(folder / "profiles" / f"{name.rpartition('_')[0]}.csv")
    asked = {
        "frequency_mhz": log["f (GHz)", ""] * 1000.0,
        "time_percent": log["p (%)", ""],
        "tx_height_m": log["htg (m)", ""],
        "rx_height_m": log["hrg (m)", ""],
        "latitude_deg": log["phi (deg)", "Eq (4)"],
        "delta_n": log["DN", ""],
        "n0": log["N0", ""],
        "polarization": "vertical" if log["pol", ""] == 2.0 else "horizontal",
        "location_percent": log["pL (%)", ""],
        "location_sigma_db": log["sigmaL (dB)", ""],
        "tx_coast_distance_km": log["dct (km)", ""],
        "rx_coast_distance_km": log["dcr (km)", ""],
    }
    return ValidationCase(name, arrays, asked, log)


def read_log(path: Path) -> dict[tuple[str, str], float]:
    """Return the rows of a log; the value is the last cell that is not empty, labels may come twice."""
    rows: dict[tuple[str, str], float] = {}
    for line in path.read_text().splitlines()[1:]:
        cells = [cell.strip() for cell in line.split(",")]
        filled = [cell for cell in cells if cell]
        if len(filled) > 1:
            equation = cells[1] if cells[1].startswith(("Eq", "Sec", "Table")) else ""
            rows[cells[0], equation] = float(filled[-1])
    return rows


def read_profile(path: Path) -> tuple[np.ndarray, ...]:
    """Return distance [km], height [m], cover [m] and zone of the rows between the profile marks."""
    rows, inside = [], False
    for line in path.read_text().splitlines():
        if line.startswith("{End of Profile}"):
            break
        cells = line.split(",")
        if inside and not line.startswith("Number"):
            rows.append([float(cells[k]) for k in (0, 1, 3, 4)])
        inside = inside or line.startswith("{Begin of Profile}")
    return tuple(np.array(rows).T)


def close(found: float, expected: float, absolute: float) -> bool:
    """Return whether two numbers agree, logs carrying ten digits."""
    return math.isclose(found, expected, rel_tol=1e-6, abs_tol=absolute)
