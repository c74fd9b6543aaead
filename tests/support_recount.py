"""What tests of the map's slider share: its thresholds, and a study in which all numbers differ."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import geopandas
import numpy as np
import rasterio
from shapely import box

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
    ('raster = "people.tif"', 'raster = "people.tif"\ndistricts = "districts.geojson"'),
    ("channel = 41\nerp_w = 20.0", "channel = 27\nerp_w = 2000.0"),
    ("channel = 27\nerp_w = 1000.0", "channel = 27\nerp_w = 20000.0"),
    ("channel = 31\nerp_w = 1000.0", "channel = 31\nerp_w = 20000.0"),
    ("channel = 45\nerp_w = 20.0", "channel = 45\nerp_w = 2000.0"),
)
"""The relay sends one service on the parent's own channel: people are gained, and left to interference."""


HOSTILE: Final = "South <b>Ward</b> \"'\u200f"
DISTRICTS: Final = {
    "North Hundred": box(-84.38, 36.60, -84.22, 36.72).difference(box(-84.32, 36.63, -84.30, 36.65)),
    HOSTILE: box(-84.30, 36.48, -84.15, 36.60),
    "Far Away": box(-80.0, 30.0, -79.0, 31.0),
}


def write_uneven(folder: Path) -> Path:
    """Write the study with districts, and people of whom no two cells have as many: no count is a half."""
    study = write_study(folder, UNEVEN)
    shapes = geopandas.GeoDataFrame(
        {"name": list(DISTRICTS)}, geometry=list(DISTRICTS.values()), crs="EPSG:4326"
    )
    shapes.to_file(folder / "districts.geojson")
    with rasterio.open(folder / "people.tif", "r+") as raster:
        shape = raster.height, raster.width
        raster.write(np.random.default_rng(8).gamma(0.6, 17.0, shape).astype(np.float32), 1)
    return study


def shifted(network: Network, excess_db: float) -> Standing:
    """Return how the cells of a network stand where so much more is asked, worked out from its margins."""
    margins = (network.margin_db, network.margin_before_db, network.noise_margin_db)
    return Standing(*(each.astype(np.float64) - excess_db for each in margins))
