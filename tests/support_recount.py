"""What tests of the map's slider share: its thresholds, and a study in which all numbers differ."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import rasterio

from combe.answers.network import Network
from combe.planning import Standing
from support_study import edited, write_study

EXCESSES_DB: Final = (-15.0, -6.5, 0.0, 3.0, 12.5)
NAMES: Final = {
    "served": "served",
    "unserved": "unserved",
    "before": "served_before",
    "newly": "newly_served",
    "lost": "lost",
    "limited": "limited_by_interference",
}
"""Series of a page, and what a count of people calls them."""

UNEVEN: Final = edited(
    ("channel = 41\nerp_w = 20.0", "channel = 27\nerp_w = 2000.0"),
    ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 20000.0"),
    ("channel = 31\nerp_w = 1000.0", "channel = 31\nerp_w = 20000.0"),
    ("channel = 45\nerp_w = 20.0", "channel = 45\nerp_w = 2000.0"),
)
"""The relay sends one service on the parent's own channel: people are gained, and left to interference."""


def write_uneven(folder: Path) -> Path:
    """Write the study with people of whom no two cells have as many, so that no count ends on a half."""
    study = write_study(folder, UNEVEN)
    with rasterio.open(folder / "people.tif", "r+") as raster:
        shape = raster.height, raster.width
        raster.write(np.random.default_rng(8).gamma(0.6, 17.0, shape).astype(np.float32), 1)
    return study


def shifted(network: Network, excess_db: float) -> Standing:
    """Return how the cells of a network stand where so much more is asked, worked out from its margins."""
    margins = (network.margin_db, network.margin_before_db, network.noise_margin_db)
    return Standing(*(each.astype(np.float64) - excess_db for each in margins))
