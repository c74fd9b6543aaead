"""Small studies over the shipped sample terrain, for the tests of study and cli."""

from __future__ import annotations

import shutil
from pathlib import Path

from combe.terrain.samples import SRTM_SAMPLE, sample_folder

STUDY = """\
[study]
title = "Relay for Long Combe"
invented = true

[terrain]
tiles = ["terrain.tif"]
vertical_datum = "EGM96"
credit = "SRTM (NASA/USGS)"

[grid]
cell_size_m = 300

[television]
modulation = "256-QAM"
code_rate = "2/3"

[people]
raster = "people.tif"

[[stations]]
name = "Parent Hill"
role = "parent"
longitude_deg = -84.33
latitude_deg = 36.70
aerial_height_m = 60.0
polarization = "horizontal"

[[stations.services]]
name = "Mux 1"
channel = 27
erp_w = 1000.0

[[stations.services]]
name = "Mux 2"
channel = 31
erp_w = 1000.0

[[stations]]
name = "Combe Relay"
role = "relay"
longitude_deg = -84.20
latitude_deg = 36.60
aerial_height_m = 20.0
polarization = "vertical"

[[stations.services]]
name = "Mux 1"
channel = 41
erp_w = 20.0

[[stations.services]]
name = "Mux 2"
channel = 45
erp_w = 20.0

[stations.feed]
from = "Parent Hill"
aerial_height_m = 12.0
aerial_gain_dbi = 14.0
feeder_loss_db = 2.0
splitter_loss_db = 3.5
noise_figure_db = 6.0
required_margin_db = 10.0
"""

AIR = '[air]\nclimate = "temperate"\n'
SETTLED = f"{STUDY}\n{AIR}"
"""The study with a climate: check has nothing to note."""

BAND_III = (
    ("[television]\n", '[television]\nsystem = "DVB-T2 7 MHz"\nchannel_raster = "7 MHz VHF"\n'),
    ("channel = 27", "channel = 6"),
    ("channel = 31", "channel = 8"),
    ("channel = 41", "channel = 10"),
    ("channel = 45", "channel = 12"),
)
"""Changes that put the study into Band III, channels of 7 MHz."""

SITING = """
[siting]
cell_size_m = 300.0
list_length = 4
sites = 2

[[siting.services]]
name = "Mux 1"
channel = 41
erp_w = 20.0
"""


def write_study(folder: Path, text: str = STUDY) -> Path:
    """Write a study with its terrain and people into a folder, and return its path."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(sample_folder() / SRTM_SAMPLE, folder / "terrain.tif")
    write_people(folder / "people.tif")
    path = folder / "study.toml"
    path.write_text(text, encoding="utf-8")
    return path


def edited(*changes: tuple[str, str], text: str = STUDY) -> str:
    """Return the study's text with each first occurrence replaced; the old text must be there."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def write_people(path: Path) -> None:
    """Write an invented raster of 10 people in each 0.01 degree cell, 32 by 30 cells, inside the sample."""
    import numpy as np
    import rasterio
    from rasterio.transform import from_origin

    counts = np.full((28, 32), 10.0, dtype=np.float32)
    shape = {"width": 32, "height": 28, "count": 1, "dtype": "float32", "crs": "EPSG:4326", "nodata": -1.0}
    where = from_origin(-84.405, 36.73, 0.01, 0.01)
    with rasterio.open(path, "w", driver="GTiff", transform=where, **shape) as dataset:
        dataset.write(counts, 1)


def strip_crs(path: Path) -> None:
    """Rewrite a raster without its coordinate reference system."""
    import rasterio

    with rasterio.open(path) as dataset:
        values, transform = dataset.read(1), dataset.transform
    shape = {"width": values.shape[1], "height": values.shape[0], "count": 1, "dtype": values.dtype}
    with rasterio.open(path, "w", driver="GTiff", transform=transform, **shape) as dataset:
        dataset.write(values, 1)


def void_under(study: Path, longitude_deg: float, latitude_deg: float) -> None:
    """Make a void of a few cells in a study's terrain around a place."""
    import rasterio

    path = study.parent / "terrain.tif"
    with rasterio.open(path) as dataset:
        profile, values = dataset.profile, dataset.read(1)
        # rasterio 1.4.0 and 1.4.1 count rows in floats.
        row, column = map(int, dataset.index(longitude_deg, latitude_deg))
    values[row - 2 : row + 3, column - 2 : column + 3] = -32768
    with rasterio.open(path, "w", **{**profile, "nodata": -32768}) as dataset:
        dataset.write(values, 1)
