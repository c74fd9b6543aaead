"""P.2001-4 in a kernel: the losses of ``predict_path``, of several services and of both times at once."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combe.evidence.p2001_set import ReferenceCase, reference_cases
from combe.propagation.p2001 import LossesAsked, fill_losses_db, predict_path
from combe.propagation.p2001.great_circle import latitude_along_deg
from support_p1812 import reference_folder
from support_p2001 import ASKED, CONDITIONS, HUMID, RAINY, TEMPERATE, flat, profiles

ENDS = ("tx_longitude_deg", "tx_latitude_deg", "rx_longitude_deg", "rx_latitude_deg")
STEP_DB = 0.005
"""Between two fades that the search of Attachment I can end at: rounding may choose either."""
CASES = reference_cases(reference_folder()) or [
    pytest.param(None, marks=pytest.mark.skip(reason="no p2001/cases.json in COMBE_REFERENCE_DATA"))
]


def by_kernel(asked: dict[str, Any], frequencies_mhz: tuple[float, ...], zone: np.ndarray) -> np.ndarray:
    """Return the losses of frequencies for the median and the time asked, (n, 2)."""
    distance = np.asarray(asked["distance_km"], dtype=np.float64)
    vertical = asked["polarization"] == "vertical"
    frequencies = np.array(frequencies_mhz, dtype=np.float64)
    losses = np.full((frequencies.size, 2), np.nan)
    fill_losses_db(
        LossesAsked(asked["climate"].air, vertical, frequencies, float(asked["time_percent"])),
        distance,
        np.asarray(asked["height_m"], dtype=np.float64),
        zone,
        float(asked["tx_height_m"]),
        float(asked["rx_height_m"]),
        latitude_along_deg(*(asked[name] for name in ENDS), 0.5 * float(distance[-1])),
        losses,
    )
    return losses


def by_path(asked: dict[str, Any]) -> list[float]:
    """Return the losses of one frequency for the median and the time asked."""
    both = (asked | {"time_percent": percent} for percent in (50.0, asked["time_percent"]))
    return [predict_path(**each).basic_transmission_loss_db for each in both]


@pytest.mark.parametrize("case", CASES)
def test_the_kernel_has_the_losses_of_the_reference_cases(case: ReferenceCase) -> None:
    asked = case.asked() | {"tx_gain_dbi": 0.0, "rx_gain_dbi": 0.0}
    found = by_kernel(asked, (asked["frequency_mhz"],), asked["zone"].astype(np.int64))
    assert found[0] == pytest.approx(by_path(asked), abs=STEP_DB)


@settings(max_examples=100)
@given(profiles(), CONDITIONS, st.sampled_from([1e-5, 1.0, 30.0, 50.0, 90.0, 99.0, 99.9, 99.99, 99.999]))
def test_the_kernel_has_the_losses_of_drawn_paths(
    profile: tuple[np.ndarray, ...], conditions: dict[str, Any], percent: float
) -> None:
    """Over sea, coast and land, in line of sight and beyond, with rain and without."""
    distance, height, zone = profile
    asked = {"polarization": "horizontal", "distance_km": distance, "height_m": height, "zone": zone}
    asked = ASKED | asked | conditions | {"time_percent": percent}
    found = by_kernel(asked, (asked["frequency_mhz"],), zone)
    assert found[0] == pytest.approx(by_path(asked), abs=STEP_DB)


@pytest.mark.parametrize("climate", [TEMPERATE, HUMID, RAINY])
@pytest.mark.parametrize("hill_m", [0.0, 300.0])
def test_services_at_once_and_one_by_one(hill_m: float, climate: Any) -> None:
    """Where all is inland zones need not be given."""
    distance, height = flat(30.0, height_m=100.0)
    height += hill_m * np.maximum(0.0, 1.0 - np.abs(distance - 12.0) / 3.0) + 7.0 * np.sin(5.0 * distance)
    asked = ASKED | {"distance_km": distance, "height_m": height, "zone": 4, "polarization": "vertical"}
    asked |= {"climate": climate, "time_percent": 99.9}
    services = (90.0, 600.0, 6000.0)
    found = by_kernel(asked, services, np.zeros(0, dtype=np.int64))
    for losses, frequency_mhz in zip(found, services, strict=True):
        assert losses == pytest.approx(by_path(asked | {"frequency_mhz": frequency_mhz}), abs=STEP_DB)


@pytest.mark.parametrize(
    ("length_km", "frequency_mhz", "percent", "part"),
    [(600.0, 600.0, 99.0, "troposcatter_db"), (1700.0, 30.0, 0.1, "sporadic_e_db")],
)
def test_what_is_too_weak_to_count_is_left_out_and_nothing_else(
    length_km: float, frequency_mhz: float, percent: float, part: str
) -> None:
    """Far beyond the horizon scatter is all there is, and sporadic E for long waves."""
    distance, height = flat(length_km, 201)
    asked = ASKED | {"distance_km": distance, "height_m": height, "zone": 4, "climate": HUMID}
    asked |= {"polarization": "horizontal", "frequency_mhz": frequency_mhz, "time_percent": percent}
    strongest = predict_path(**asked)
    assert getattr(strongest, part) < strongest.surface_db - 10.0
    found = by_kernel(asked, (frequency_mhz,), np.zeros(0, dtype=np.int64))
    assert found[0] == pytest.approx(by_path(asked), abs=STEP_DB)
