"""Invented woods, scrub and villages on the sample terrain; how far the sweep there is from exact paths."""

from pathlib import Path

import numpy as np
from scipy.ndimage import gaussian_filter

from combe.prediction.area import Area, survey_area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.path import predict_path
from combe.stations.transmitter import Station
from combe.terrain.clutter import GroundCover, clutter_heights, clutter_under, open_cover
from combe.terrain.grid import cell_centres_m, make_grid, to_lonlat_deg
from combe.terrain.samples import SRTM_SAMPLE, sample_folder
from combe.terrain.sampling import geodesic_profile
from combe.terrain.tiles import open_terrain
from support_terrain import write_tif

CONDITIONS = Conditions(model="p1812", clutter="invented")
HEIGHTS_M = {10: 15.0, 20: 3.0, 30: 0.0, 50: 10.0}
STEP_M = 9.0
_CELL_DEG = 1.0 / 10_800.0
"""Cells of about 10 m, as land-cover maps have them."""


def invented_codes(rows: int, columns: int, seed: int = 4) -> np.ndarray:
    """Return classes of cells: woods on a quarter of the ground, some villages and scrub between."""
    noise = np.random.default_rng(seed)

    def patches(size: float) -> np.ndarray:
        smooth = gaussian_filter(noise.normal(size=(rows, columns)).astype(np.float32), size)
        return smooth / smooth.std()

    woods, houses, bushes = patches(12.0), patches(3.0), patches(20.0)
    codes = np.full((rows, columns), 30, dtype=np.uint8)
    codes[bushes < -1.5] = 20
    codes[(houses > 1.2) & (woods < 0.0)] = 50
    codes[woods > 0.7] = 10
    return codes


def invented_cover(folder: Path, area_deg: tuple[float, float, float, float]) -> GroundCover:
    """Return cover for an area (west, south, east, north) and a little around it."""
    west, south, east, north = area_deg
    margin = 0.02
    rows = round((north - south + 2.0 * margin) / _CELL_DEG)
    columns = round((east - west + 2.0 * margin) / _CELL_DEG)
    path = folder / "cover.tif"
    write_tif(path, invented_codes(rows, columns), west - margin, north + margin, _CELL_DEG, nodata=0)
    return open_cover([path], class_height_m=HEIGHTS_M)


def covered_area(
    folder: Path, area_deg: tuple[float, float, float, float], cell_size_m: float
) -> tuple[Area, GroundCover]:
    """Return part of the sample terrain with its cover, and the cover."""
    terrain = open_terrain([sample_folder() / SRTM_SAMPLE], vertical_datum="EGM96")
    grid = make_grid(terrain, cell_size_m=cell_size_m, area_deg=area_deg)
    cover = invented_cover(folder, area_deg)
    return survey_area(terrain, grid, cover=clutter_under(cover, terrain, grid)), cover


def exact_field_dbuv_m(
    area: Area, cover: GroundCover, transmitter: Station, lon: float, lat: float, step_m: float = STEP_M
) -> float:
    """Return the field of the first service at a place by the exact path, sampled at a step."""
    place = transmitter.longitude_deg, transmitter.latitude_deg
    profile = geodesic_profile(area.terrain, *place, lon, lat, step_m=step_m)
    return predict_path(
        profile,
        tx_height_m=transmitter.aerial_height_m,
        rx_height_m=10.0,
        frequency_mhz=transmitter.services[0].frequency_mhz,
        polarization=transmitter.polarization,
        conditions=CONDITIONS,
        clutter_height_m=clutter_heights(cover, profile.lon_deg, profile.lat_deg),
    ).field_strength_1kw_dbuv_m


def field_over_exact_db(area: Area, cover: GroundCover, transmitter: Station, count: int) -> np.ndarray:
    """Return at random cells the sweep's field less that of an exact path sampled every 9 m.

    ``transmitter`` radiates 1 kW everywhere. Cells nearer than a kilometre are left out.
    """
    swept = predict_coverage(area, transmitter, conditions=CONDITIONS)[0].field_dbuv_m
    x, y = cell_centres_m(area.grid)
    found = []
    for row, column in np.random.default_rng(6).integers(0, swept.shape, (count, 2)):
        lon, lat = (float(value) for value in to_lonlat_deg(area.grid, x[column], y[row]))
        away_m = 111_000.0 * np.hypot(lat - transmitter.latitude_deg, 0.8 * (lon - transmitter.longitude_deg))
        if np.isfinite(swept[row, column]) and away_m > 1000.0:
            found.append(swept[row, column] - exact_field_dbuv_m(area, cover, transmitter, lon, lat))
    return np.array(found)
