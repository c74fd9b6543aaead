"""P.2001-4 against the reference cases: every result and every intermediate that they tell.

They are also cases of evidence (``combe.evidence.p2001_set``); here they are read once more, so that neither
that reader nor its names stand between the figures and the model.
"""

from __future__ import annotations

import csv
import json
from functools import cache
from typing import Any

import numpy as np
import pytest

from combe.errors import ProfileError
from combe.evidence.p2001_set import read_profile, reference_cases
from combe.propagation.p2001 import Climate, PathLoss, predict_path
from support_p1812 import reference_folder

FOLDER = reference_folder() / "p2001"
FILE = FOLDER / "cases.json"
ABSENT = "no p2001/cases.json: name the folder of reference data in COMBE_REFERENCE_DATA"
NUMBERS = range(60) if FILE.is_file() else [pytest.param(0, marks=pytest.mark.skip(reason=ABSENT))]

LOSSES = {
    "Lb": "basic_transmission_loss_db",
    "Lbm1": "normal_db",
    "Lbm2": "anomalous_db",
    "Lbm3": "troposcatter_db",
    "Lbfs": "free_space_loss_db",
    "Ld": "diffraction_loss_db",
    "A1": "clear_air_fade_db",
    "Agsur": "gas_loss_db",
    "Lba": "duct_loss_db",
    "Lbs": "scatter_loss_db",
}
GEOMETRY = {
    "Nd1kmp": "gradient_n_km",
    "Reff50": "median_radius_km",
    "Reffp": "time_radius_km",
    "Thetat": "tx_horizon_mrad",
    "Thetar": "rx_horizon_mrad",
    "Dlt": "tx_horizon_km",
    "Dlr": "rx_horizon_km",
    "Htea": "tx_effective_duct_m",
    "Hrea": "rx_effective_duct_m",
    "Hm": "roughness_m",
    "Htep": "tx_effective_diffraction_m",
    "Hrep": "rx_effective_diffraction_m",
    "omega": "sea_fraction",
    "Sp": "slope_mrad",
}
MAPS = ("DN_Median", "DN_SupSlope", "DN_SubSlope", "dndz_01", "FoEs0p1", "FoEs01", "FoEs10", "FoEs50")
MAPS += ("h0", "surfwv_50_fixed", "TropoClim")
ENDS = ("tx_longitude_deg", "tx_latitude_deg", "rx_longitude_deg", "rx_latitude_deg")


@cache
def told() -> dict[str, Any]:
    return json.loads(FILE.read_text(encoding="utf-8"))


@cache
def profile(name: str) -> np.ndarray:
    lines = (FOLDER / f"{name}_profile.csv").read_text(encoding="utf-8").splitlines()
    start = next(at for at, line in enumerate(lines) if line.startswith("Points")) + 1
    return np.array([[float(cell) for cell in row[:3]] for row in csv.reader(lines[start:])])


def predict(case: dict[str, Any]) -> PathLoss:
    climate = Climate(*(told()["climates"][case["climate"]][name] for name in MAPS))
    part = profile(case["profile"])[case["first_point"] : case["last_point"] + 1]
    return predict_path(
        part[:, 0] - part[0, 0],
        part[:, 1],
        part[:, 2].astype(int),
        frequency_mhz=1000.0 * case["frequency_ghz"],
        time_percent=case["time_percent"],
        tx_height_m=case["tx_height_m"],
        rx_height_m=case["rx_height_m"],
        climate=climate,
        tx_gain_dbi=case["tx_gain_dbi"],
        rx_gain_dbi=case["rx_gain_dbi"],
        polarization=("horizontal", "vertical")[case["vertical"]],
        **{name: case[name] for name in ENDS},
    )


@pytest.mark.parametrize("number", NUMBERS)
def test_every_figure_of_a_case(number: int) -> None:
    """Losses to a millionth of a decibel: the operations and their order are the same."""
    case = told()["cases"][number]
    found = predict(case)
    for name, field in LOSSES.items():
        assert getattr(found, field) == pytest.approx(case[name], abs=1e-6), name
    for name, field in GEOMETRY.items():
        assert getattr(found, field) == pytest.approx(case[name], abs=1e-6), name
    assert found.sporadic_e_db == pytest.approx(case["Lbm4"], rel=1e-9)
    assert found.multipath_percent == pytest.approx(case["Q0ca"], rel=1e-9)
    assert found.line_of_sight == bool(case["FlagLos50"])


@pytest.mark.skipif(not FILE.is_file(), reason=ABSENT)
def test_the_cases_go_all_over_the_model() -> None:
    """Both kinds of path, land and sea, fades and enhancements, each sub-model the strongest but the last."""
    cases = told()["cases"]
    assert len(cases) == 60
    assert {case["FlagLos50"] for case in cases} == {0.0, 1.0}
    assert min(case["omega"] for case in cases) == 0.0
    assert max(case["omega"] for case in cases) > 0.99
    assert min(case["A1"] for case in cases) < -3.0
    assert max(case["A1"] for case in cases) > 10.0
    assert {min(f"Lbm{n}" for n in "123" if case[f"Lbm{n}"] == least(case)) for case in cases} >= {
        "Lbm1",
        "Lbm2",
    }


def least(case: dict[str, Any]) -> float:
    return min(case[f"Lbm{n}"] for n in "1234")


@pytest.mark.skipif(not FILE.is_file(), reason=ABSENT)
def test_evidence_reads_the_same_paths() -> None:
    listed = reference_cases(reference_folder())
    assert len(listed) == 60
    assert listed[0].predict() == predict(told()["cases"][0])
    assert listed[59].predict() == predict(told()["cases"][59])
    assert listed[0].name == "case 1, prof4, 600 MHz, 99.99 %"


def test_no_file_of_cases_gives_none(tmp_path) -> None:
    assert reference_cases(tmp_path) == []


def test_a_profile_cut_short_is_refused(tmp_path) -> None:
    file = tmp_path / "x_profile.csv"
    file.write_text("File1,Profile,\nPoints,3,\n0,1,4\n1,2,4\n", encoding="utf-8")
    with pytest.raises(ProfileError, match=r"has 2 rows of a profile; allowed: as many as Points tells"):
        read_profile(file)
