"""An invented plain in memory with a ridge across it, from which a relay sees a mast 7 km west of it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyproj

import combe
from combe.terrain import Terrain

CELL_M, SIDE = 100.0, 160
WEST_M, NORTH_M = 730_000.0, 4_060_000.0
RIDGE_KM, BROAD_KM = 8.0, 0.6
PLAIN_M = 100.0

_TO_DEG = pyproj.Transformer.from_crs("EPSG:32616", "EPSG:4326", always_xy=True)


def place(east_km: float, south_km: float) -> tuple[float, float]:
    """Return longitude and latitude of a place, counted from the north-west corner."""
    lon, lat = _TO_DEG.transform(WEST_M + 1000.0 * east_km, NORTH_M - 1000.0 * south_km)
    return lon, lat


def ridge_heights(over_m: float) -> npt.NDArray[np.float64]:
    """Return the heights [m] of the plain, and of the ridge from north to south so much over it."""
    east_km = (np.arange(SIDE) + 0.5) * CELL_M / 1000.0
    ridge_m = over_m * np.exp(-((east_km - RIDGE_KM) ** 2) / (2 * BROAD_KM**2))
    return np.tile(PLAIN_M + ridge_m, (SIDE, 1))


def ridge_terrain(over_m: float) -> Terrain:
    """Return the ground of those heights."""
    return combe.terrain_of_heights(
        ridge_heights(over_m), west=WEST_M, north=NORTH_M, cell_x=CELL_M, cell_y=CELL_M, crs="EPSG:32616"
    )


def farms(places_km: list[tuple[float, float]]) -> combe.PeopleInMemory:
    """Return 100 people at each of some places."""
    lon, lat = np.array([place(*each) for each in places_km]).T
    names = tuple(f"Farm {n}" for n in range(lon.size))
    return combe.PeopleInMemory(
        points=combe.PeoplePoints(lon, lat, np.full(lon.size, 100.0), names, "made up", True)
    )


def ridge_feed() -> combe.Feed:
    """Return the feed of the relay on the ridge."""
    return combe.Feed.of_budget(
        "Mast", aerial_height_m=10.0, aerial_gain_dbi=14.0, feeder_loss_db=2.0, noise_figure_db=6.0,
        required_margin_db=10.0,
    )  # fmt: skip
