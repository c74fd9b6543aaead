"""Writes predicted fields, and shares of places served, as cloud-optimised GeoTIFFs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.files import replacing
from combe.publishing.text import plain

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

FIELD_UNIT: Final = "dB(uV/m)"
"""Unit in the raster's band; ASCII, since not every reader takes the micro sign."""

SHARE_UNIT: Final = "1"
"""Unit of a share, 0 to 1."""

_SHARE_DECIMALS: Final = 4

_COG_OPTIONS: Final = {
    "driver": "COG",
    "compress": "DEFLATE",
    "predictor": "YES",
    # The most, 9, takes three times as long for a hundredth of the size.
    "level": 6,
    "blocksize": 256,
    "overviews": "AUTO",
    "overview_resampling": "NEAREST",
    "num_threads": 1,
}


def write_field_raster(
    path: Path | str,
    field_dbuv_m: npt.NDArray[np.floating],
    grid: StudyGrid,
    *,
    tags: Mapping[str, str],
    description: str = "field strength",
) -> None:
    """Write field strength over the study grid: float32, NaN for no prediction, DEFLATE, overviews.

    Parameters
    ----------
    path
        File to write; it is whole or not there.
    field_dbuv_m
        Field strength [dB(µV/m)], shape (rows, columns), row 0 north.
    grid
        The study grid; its CRS and corner go into the file.
    tags
        What made the field (model and edition, conditions, terrain source …), stored as text.
    description
        Name of the band.

    Raises
    ------
    RangeError
        The shape of the field is not the grid's.
    OutputError
        The folder or file cannot be written.
    """
    check_shape("field_dbuv_m", field_dbuv_m.shape, grid)
    _write(path, field_dbuv_m, grid, FIELD_UNIT, tags, description)


def write_share_raster(
    path: Path | str,
    share: npt.NDArray[np.floating],
    grid: StudyGrid,
    *,
    tags: Mapping[str, str],
    description: str = "share of places served",
) -> None:
    """Write the share of places served over the study grid, 0 to 1, to four decimals; NaN for no prediction.

    Parameters and errors are those of :func:`write_field_raster`; ``share`` has shape (rows, columns).

    Raises
    ------
    RangeError
        A share outside 0 to 1, besides.
    """
    check_shape("share", share.shape, grid)
    # NaN compares as neither and passes: it says that there is no prediction.
    wrong = share[(share < 0.0) | (share > 1.0)]
    if wrong.size:
        raise RangeError("share of places", float(wrong.flat[0]), "0 to 1")
    _write(path, np.round(share, _SHARE_DECIMALS), grid, SHARE_UNIT, tags, description)


def write_level_raster(
    path: Path | str,
    values: npt.NDArray[np.floating],
    grid: StudyGrid,
    *,
    unit: str,
    tags: Mapping[str, str],
    description: str,
) -> None:
    """Write any other quantity over the study grid in a unit of its own; NaN where it is not known.

    Parameters and errors are those of :func:`write_field_raster`; ``values`` has shape (rows, columns).
    """
    check_shape("values", values.shape, grid)
    _write(path, values, grid, unit, tags, description)


def _write(
    path: Path | str,
    values: npt.NDArray[np.floating],
    grid: StudyGrid,
    unit: str,
    tags: Mapping[str, str],
    description: str,
) -> None:
    """Write one band of float32 with its unit, its name and what made it.

    The raster is made in memory. A driver that writes to a full disk itself may fail on closing, with any of
    its private errors or words of its own on standard error.
    """
    from rasterio import Env
    from rasterio.io import MemoryFile

    profile = {**_COG_OPTIONS, **_registration(grid), "count": 1, "dtype": "float32", "nodata": np.nan}
    with replacing(path) as beside, Env(GDAL_PAM_ENABLED="NO"), MemoryFile(ext=".tif") as memory:
        with memory.open(**profile) as raster:
            raster.write(values.astype(np.float32), 1)
            raster.set_band_description(1, plain(description))
            raster.set_band_unit(1, unit)
            raster.update_tags(**{plain(key): plain(value) for key, value in tags.items()})
        beside.write_bytes(memory.getbuffer())


def check_shape(name: str, shape: tuple[int, ...], grid: StudyGrid) -> None:
    """Raise RangeError unless ``shape`` is that of the study grid."""
    if shape != (grid.rows, grid.columns):
        raise RangeError(f"shape of {name}", shape, f"the study grid's {(grid.rows, grid.columns)}")


def _registration(grid: StudyGrid) -> dict[str, object]:
    """Return where the grid lies, in rasterio's words."""
    from rasterio.transform import from_origin

    transform = from_origin(grid.west_m, grid.north_m, grid.cell_size_m, grid.cell_size_m)
    return {"crs": grid.crs.to_wkt(), "transform": transform, "height": grid.rows, "width": grid.columns}
