"""Makes the elevation sample of this folder: ``python terrain_samples/make_samples.py``, from the checkout.

The heights are those of the sample ``jacksboro_fault_dem.npz`` that matplotlib carries (SRTM, 3 arc seconds).
In that file the keys ``ymin`` and ``ymax`` are swapped; here the larger is taken as north. The same
heights, tags and settings give the same bytes for one version of GDAL.
"""

from __future__ import annotations

import sys
from pathlib import Path

import rasterio
from matplotlib import cbook
from rasterio.transform import from_bounds

TAGS = {
    "AREA_OR_POINT": "Area",
    "TIFFTAG_IMAGEDESCRIPTION": "SRTM 3 arc seconds, 344 x 403 cells, heights in metres above EGM96",
    "TIFFTAG_COPYRIGHT": "Public domain: Shuttle Radar Topography Mission, NASA and USGS",
    "VERTICAL_DATUM": "EGM96",
    "SURFACE_MODEL": "yes",
}


def make_ridges(folder: Path) -> Path:
    """Write ``ridges_srtm3.tif`` into the folder and return its path."""
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        heights = sample["elevation"]
        west, east = float(sample["xmin"]), float(sample["xmax"])
        south, north = sorted((float(sample["ymin"]), float(sample["ymax"])))
    rows, columns = heights.shape
    path = folder / "ridges_srtm3.tif"
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=columns,
        height=rows,
        count=1,
        dtype="int16",
        nodata=-32768,
        crs="EPSG:4326",
        transform=from_bounds(west, south, east, north, columns, rows),
        compress="DEFLATE",
        predictor=2,
        zlevel=9,
        tiled=True,
        blockxsize=256,
        blockysize=256,
    ) as dataset:
        dataset.update_tags(**TAGS)
        dataset.write(heights, 1)
    return path


if __name__ == "__main__":
    make_ridges(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
