"""Recommendation ITU-R P.1812-8 at 177.5, 198.5 and 226.5 MHz, on invented ground that needs no file.

The middles of channels 5, 8 and 12 of the raster of 7 MHz in Band III. The figures are those of the Study
Group 3 reference code on the very same profiles, ΔN and N0 given in place of its maps; the same copy of it
gives the loss of each of the 18 logs of the validation set that were at hand to 1e-7 dB.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any, Final

import numpy as np

from combe.evidence.case import EvidenceCase, Once
from combe.evidence.p1812_set import DB, NAME
from combe.propagation.p1812 import INLAND, PathLoss, predict_path

SOURCE: Final = "run of the Study Group 3 reference code on a profile of ours; not an official figure"
TIMES_PERCENT: Final = (50.0, 10.0, 1.0)

LOSSES: Final[dict[tuple[str, float, str], tuple[float, float, float]]] = {
    # profile, MHz, polarization: Lb dB at TIMES_PERCENT. On high ridges the two polarizations are alike.
    ("two ridges", 177.5, "horizontal"): (141.848945, 140.122285, 137.816122),
    ("two ridges", 177.5, "vertical"): (141.848945, 140.122285, 137.816122),
    ("two ridges", 198.5, "horizontal"): (143.316139, 141.589479, 139.283315),
    ("two ridges", 198.5, "vertical"): (143.316139, 141.589479, 139.283315),
    ("two ridges", 226.5, "horizontal"): (145.047485, 143.320856, 141.014708),
    ("two ridges", 226.5, "vertical"): (145.047485, 143.320856, 141.014708),
    ("two low rises", 177.5, "horizontal"): (133.490524, 130.367430, 127.146851),
    ("two low rises", 177.5, "vertical"): (133.503986, 130.379876, 127.158665),
    ("two low rises", 198.5, "horizontal"): (134.061625, 130.904431, 127.672524),
    ("two low rises", 198.5, "vertical"): (134.073738, 130.915570, 127.683094),
    ("two low rises", 226.5, "horizontal"): (134.752633, 131.556294, 128.308578),
    ("two low rises", 226.5, "vertical"): (134.763629, 131.566327, 128.318077),
    ("plain", 177.5, "horizontal"): (144.403495, 139.747264, 134.973728),
    ("plain", 177.5, "vertical"): (144.413049, 139.755619, 134.980698),
    ("plain", 198.5, "horizontal"): (144.828232, 140.100138, 135.350205),
    ("plain", 198.5, "vertical"): (144.836853, 140.107909, 135.357066),
    ("plain", 226.5, "horizontal"): (145.348035, 140.501779, 135.717613),
    ("plain", 226.5, "vertical"): (145.355627, 140.508788, 135.724062),
}


def cases() -> Iterator[EvidenceCase]:
    """Yield the cases of this table."""
    for (profile, mhz, polarization), losses in LOSSES.items():
        for percent, loss in zip(TIMES_PERCENT, losses, strict=True):
            found = Once(partial(_predict, profile, mhz, polarization, percent))
            compute = partial(found.field, "basic_transmission_loss_db")
            case = f"{profile}, {mhz:g} MHz, {polarization}, {percent:g} % of time"
            yield EvidenceCase(NAME, SOURCE, case, "Lb", loss, "dB", DB, "computed", compute, "Band III")


def _predict(profile: str, mhz: float, polarization: str, percent: float) -> PathLoss:
    return predict_path(
        **_ground(profile),
        clutter_height_m=0.0,
        zone=INLAND,
        frequency_mhz=mhz,
        polarization=polarization,
        time_percent=percent,
        latitude_deg=50.0,
        delta_n=45.0,
        n0=325.0,
    )


def _ground(profile: str) -> dict[str, Any]:
    """Return distances, heights and aerials: straight-sided hills on ground at 100 m, a point each 250 m."""
    if profile == "plain":
        distance = np.linspace(0.0, 45.0, 181)
        height, tx_height_m = np.full(distance.size, 100.0), 30.0
    else:
        first_m, second_m = {"two ridges": (260.0, 180.0), "two low rises": (25.0, 40.0)}[profile]
        distance = np.linspace(0.0, 30.0, 121)
        first = first_m * np.maximum(0.0, 1.0 - np.abs(distance - 9.0) / 3.0)
        second = second_m * np.maximum(0.0, 1.0 - np.abs(distance - 20.0) / 4.0)
        height, tx_height_m = 100.0 + first + second, 60.0
    return {"distance_km": distance, "height_m": height, "tx_height_m": tx_height_m, "rx_height_m": 10.0}
