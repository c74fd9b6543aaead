"""Runs a general-purpose library's area map of the same ground: pycraf's height map and attenuation map."""

from __future__ import annotations

import contextlib
import io
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from combe.terrain.sampling import sample_heights
from combe.terrain.tiles import Terrain

SIDE = 1201


def write_hgt(terrain: Terrain, folder: Path) -> Path:
    """Write the sample as the SRTM tile N36W085, 0 m where the sample has nothing."""
    lon = -85.0 + np.arange(SIDE) / (SIDE - 1)
    lat = 37.0 - np.arange(SIDE) / (SIDE - 1)
    heights = np.nan_to_num(sample_heights(terrain, *np.meshgrid(lon, lat)), nan=0.0)
    path = folder / "N36W085.hgt"
    path.write_bytes(np.round(heights).astype(">i2").tobytes())
    return path


def area_map(
    terrain: Terrain, lon_deg: float, lat_deg: float, size_deg: float, resolution_arcsec: float
) -> tuple[Callable[[], Any], int]:
    """Return a call that makes pycraf's map around a station, and its number of cells."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from astropy import units
        from pycraf import pathprof

    folder = Path(tempfile.mkdtemp())
    write_hgt(terrain, folder)

    def run() -> Any:
        quiet = contextlib.redirect_stdout(io.StringIO())
        with quiet, warnings.catch_warnings(), pathprof.SrtmConf.set(srtm_dir=str(folder), download="never"):
            warnings.simplefilter("ignore")
            ground = pathprof.height_map_data(
                lon_deg * units.deg,
                lat_deg * units.deg,
                size_deg * units.deg,
                size_deg * units.deg,
                map_resolution=resolution_arcsec * units.arcsec,
                do_cos_delta=False,
            )
            return pathprof.atten_map_fast(
                0.474 * units.GHz,
                290 * units.K,
                1013 * units.hPa,
                40 * units.m,
                10 * units.m,
                50 * units.percent,
                hprof_data=ground,
            )

    return run, int(np.asarray(run()["L_b"].value).size)
