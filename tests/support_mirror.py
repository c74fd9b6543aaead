"""Makes files in the very names, tiling, cells and nodata of the open data sets, with invented numbers.

Run as a program it makes a folder for the first quarter of an hour of the guide: the sample's heights
and the demo's invented people under the names of the open data sets:
``python tests/support_mirror.py FOLDER``.
"""

from __future__ import annotations

import gzip
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import rasterio
from affine import Affine
from rasterio.warp import Resampling, reproject

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "terrain_samples" / "ridges_srtm3.tif"
PEOPLE = ROOT / "terrain_samples" / "demo" / "people.tif"
COLUMNS = ((50, 3600), (60, 2400), (70, 1800), (80, 1200), (85, 720), (90, 360))
Heights = Callable[[Any, Any], Any]


def slope(lon: Any, lat: Any) -> Any:
    """Return invented heights that tell where they are: 100 m a degree north, 10 m a degree east."""
    return 100.0 * lat + 10.0 * lon + 3000.0


def glo_columns(south: int, rows: int = 3600) -> int:
    """Return how many columns a GLO tile has."""
    nearest = south if south >= 0 else -south - 1
    return next(columns for most, columns in COLUMNS if nearest < most) * rows // 3600


def glo_name(west: int, south: int, seconds: int = 10) -> str:
    """Return the name of a GLO tile, without ending."""
    lat = f"{'N' if south >= 0 else 'S'}{abs(south):02}_00"
    lon = f"{'E' if west >= 0 else 'W'}{abs(west):03}_00"
    return f"Copernicus_DSM_COG_{seconds}_{lat}_{lon}_DEM"


def write_glo(folder: Path, west: int, south: int, heights: Heights = slope, *, seconds: int = 10) -> Path:
    """Write a GLO tile: float32, centres of cells on whole degrees, no nodata, in blocks of 1024."""
    rows = 3600 if seconds == 10 else 1200
    columns = glo_columns(south, rows)
    name = glo_name(west, south, seconds)
    lon = west + np.arange(columns) / columns
    lat = south + 1 - np.arange(rows) / rows
    cells = np.asarray(heights(lon[None, :], lat[:, None]), dtype=np.float32)
    place = Affine(1 / columns, 0, west - 0.5 / columns, 0, -1 / rows, south + 1 + 0.5 / rows)
    return write_cog(
        folder / name / f"{name}.tif", np.broadcast_to(cells, (rows, columns)), place, blocks=1024
    )


def write_water(folder: Path, west: int, south: int) -> Path:
    """Write the mask of water of a GLO tile: its western half ocean, a lake in a corner of the land."""
    name = glo_name(west, south)
    columns = glo_columns(south)
    cells = np.zeros((3600, columns), dtype=np.uint8)
    cells[:, : columns // 2], cells[:300, -300:] = 1, 2
    place = Affine(1 / columns, 0, west - 0.5 / columns, 0, -1 / 3600, south + 1 + 0.5 / 3600)
    return write_cog(folder / name / "AUXFILES" / f"{name[:-4]}_WBM.tif", cells, place, blocks=1024)


def write_cog(
    file: Path,
    cells: Any,
    place: Affine,
    crs: str = "EPSG:4326",
    *,
    nodata: float | None = None,
    blocks: int = 512,
) -> Path:
    """Write a GeoTIFF in blocks with its header in front."""
    file.parent.mkdir(parents=True, exist_ok=True)
    rows, columns = cells.shape
    profile = {
        "driver": "COG", "width": columns, "height": rows, "count": 1, "dtype": cells.dtype, "crs": crs,
        "transform": place, "nodata": nodata, "compress": "deflate", "level": 1, "blocksize": blocks,
        "overviews": "none",
    }  # fmt: skip
    with rasterio.open(file, "w", **profile) as made:
        made.write(cells, 1)
    return file


def write_tif(file: Path, cells: Any, place: Affine, crs: str, nodata: float | None) -> Path:
    """Write a plain GeoTIFF."""
    file.parent.mkdir(parents=True, exist_ok=True)
    profile = {
        "driver": "GTiff", "width": cells.shape[1], "height": cells.shape[0], "count": 1,
        "dtype": cells.dtype, "crs": crs, "transform": place, "nodata": nodata, "compress": "deflate",
    }  # fmt: skip
    with rasterio.open(file, "w", **profile) as made:
        made.write(cells, 1)
    return file


def write_hgt(file: Path, west: int, south: int, *, packed: bool = False, samples: int = 1201) -> Path:
    """Write an SRTM .hgt: big-endian int16, north row first, the edges shared, one void in its middle."""
    lon, lat = west + np.linspace(0, 1, samples), south + np.linspace(1, 0, samples)
    cells = np.round(slope(lon[None, :], lat[:, None])).astype(">i2")
    cells[samples // 2, samples // 2] = -32768
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(gzip.compress(cells.tobytes(), 1) if packed else cells.tobytes())
    return file


def ghs_name(row: int, column: int, edition: str = "54009_100", year: str = "2020") -> str:
    """Return the path of a GHS-POP tile below its base."""
    kind = f"GHS_POP_E{year}_GLOBE_R2023A_{edition}"
    return f"{kind}/V1-0/tiles/{kind}_V1_0_R{row}_C{column}.zip"


def write_ghs(folder: Path, row: int, column: int, people: Any, *, edition: str = "54009_100") -> Path:
    """Write a GHS-POP tile: a zip of one .tif of float counts, nodata -200."""
    if edition == "54009_100":
        place = Affine(100, 0, -18_041_000 + (column - 1) * 1e6, 0, -100, 9_000_000 - (row - 1) * 1e6)
        crs = "ESRI:54009"
    else:
        place = Affine(
            1 / 1200, 0, -180.0079167 + (column - 1) * 10, 0, -1 / 1200, 89.0991667 - (row - 1) * 10
        )
        crs = "EPSG:4326"
    path = folder / ghs_name(row, column, edition)
    raster = write_tif(path.with_suffix(".tif"), people(place), place, crs, -200.0)
    with zipfile.ZipFile(path, "w") as packed:
        packed.write(raster, raster.name)
    raster.unlink()
    return path


def sample_heights(lon: Any, lat: Any) -> Any:
    """Return the heights of the sample at places of a grid; beyond it the level of its lowest valley."""
    columns, rows = lon.shape[1], lat.shape[0]
    step_x, step_y = float(lon[0, 1] - lon[0, 0]), float(lat[0, 0] - lat[1, 0])
    place = Affine(step_x, 0, float(lon[0, 0]) - step_x / 2, 0, -step_y, float(lat[0, 0]) + step_y / 2)
    with rasterio.open(SAMPLE) as sample:
        cells = np.full((rows, columns), np.nan, dtype=np.float32)
        source = sample.read(1).astype(np.float32)
        reproject(
            source, cells, src_transform=sample.transform, src_crs=sample.crs, dst_transform=place,
            dst_crs="EPSG:4326", resampling=Resampling.bilinear, dst_nodata=np.nan,
        )  # fmt: skip
    return np.where(np.isnan(cells), np.float32(source.min()), cells)


def sample_people(place: Affine) -> Any:
    """Return the demo's invented people, each in the cell of a tile that its own cell's middle lies in."""
    cells = np.zeros((10_000, 10_000), dtype=np.float32)
    with rasterio.open(PEOPLE) as demo:
        people = demo.read(1)
        rows, columns = np.nonzero(people > 0)
        x = demo.transform.c + (columns + 0.5) * demo.transform.a
        y = demo.transform.f + (rows + 0.5) * demo.transform.e
        there = pyproj.Transformer.from_crs(demo.crs, "ESRI:54009", always_xy=True)
        x, y = there.transform(x, y)
    column, row = ((x - place.c) / place.a).astype(int), ((y - place.f) / place.e).astype(int)
    inside = (row >= 0) & (row < 10_000) & (column >= 0) & (column < 10_000)
    np.add.at(cells, (row[inside], column[inside]), people[rows, columns][inside])
    return cells


def write_mirror(folder: Path) -> None:
    """Write heights and people around the sample under the names of the open data sets."""
    for west in (-85, -84):
        for south in (36, 37) if west == -85 else (36,):
            write_glo(folder, west, south, sample_heights)
    from combe.ground import known_sources

    box = (-84.6, 36.3, -83.9, 36.9)
    for tile in known_sources()["ghs-pop"].tiling.tiles(box):
        write_ghs(folder, int(tile.words["row"]), int(tile.words["column"]), sample_people)


if __name__ == "__main__":
    write_mirror(Path(sys.argv[1]))
