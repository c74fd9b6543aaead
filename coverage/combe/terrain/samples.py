"""Finds the elevation samples that come with the package."""

from __future__ import annotations

from pathlib import Path

from combe.errors import RasterError

SRTM_SAMPLE = "ridges_srtm3.tif"
"""Real ground, 30 x 32 km of ridges and valleys at 3 arc seconds; see README.md in the folder."""


def sample_folder() -> Path:
    """Return the folder of samples: inside an installed package, or the checkout's own.

    Raises
    ------
    RasterError
        Neither is there: the package was installed without its data.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "terrain_samples", package.parents[1] / "terrain_samples"):
        if (folder / SRTM_SAMPLE).is_file():
            return folder
    raise RasterError(package / "terrain_samples", "no such folder", "install the package again")
