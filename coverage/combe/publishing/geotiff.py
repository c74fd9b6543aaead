"""Writes predicted fields, and shares of places served, as cloud-optimised GeoTIFFs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.files import replacing
from combe.publishing.colours import rgb_of
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

_LEVELS: Final = {"dtype": "float32", "nodata": np.nan}
_NOTHING: Final[Mapping[str, str]] = MappingProxyType({})


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
    statistics: bool = False,
) -> None:
    """Write any other quantity over the study grid in a unit of its own; NaN where it is not known.

    Parameters and errors are those of :func:`write_field_raster`; ``values`` has shape (rows, columns).
    ``statistics`` go into the band if asked.
    """
    check_shape("values", values.shape, grid)
    about = _statistics(values[np.isfinite(values)], values.size) if statistics else {}
    _write(path, values, grid, unit, tags, description, about)


def write_class_raster(
    path: Path | str,
    codes: npt.NDArray[np.unsignedinteger],
    grid: StudyGrid,
    classes: Mapping[int, tuple[str, str]],
    *,
    tags: Mapping[str, str],
    description: str,
) -> None:
    """Write codes over the study grid with a table of their colours, their words, and statistics.

    Parameters and errors are those of :func:`write_field_raster`; ``codes`` has shape (rows, columns), 8 or
    16 bits, and ``classes`` the words and the colour of each. Words stand in the band as ``CLASS_n``. No
    code counts as missing: that there is no prediction is a class like the others.

    Raises
    ------
    RangeError
        A code without a class, besides.
    """
    check_shape("codes", codes.shape, grid)
    if unknown := set(np.unique(codes).tolist()) - set(classes):
        raise RangeError("code of a raster", min(unknown), ", ".join(map(str, classes)))
    words = {f"CLASS_{code}": plain(label) for code, (label, _) in classes.items()}
    colours = {code: (*rgb_of(colour), 255) for code, (_, colour) in classes.items()}
    _write(path, codes, grid, "", tags, description, {**words, **_statistics(codes, codes.size)}, colours)


def _statistics(values: npt.NDArray[Any], cells: int) -> dict[str, str]:
    """Return what other programs else work out from all cells when they open a raster."""
    if not values.size:
        return {"STATISTICS_VALID_PERCENT": "0"}
    known = values.astype(np.float32).astype(np.float64)
    return {
        "STATISTICS_MINIMUM": f"{known.min():.9g}",
        "STATISTICS_MAXIMUM": f"{known.max():.9g}",
        "STATISTICS_MEAN": f"{known.mean():.9g}",
        "STATISTICS_STDDEV": f"{known.std():.9g}",
        "STATISTICS_VALID_PERCENT": f"{100.0 * known.size / cells:.4g}",
    }


def _write(
    path: Path | str,
    values: npt.NDArray[Any],
    grid: StudyGrid,
    unit: str,
    tags: Mapping[str, str],
    description: str,
    of_band: Mapping[str, str] = _NOTHING,
    colours: Mapping[int, tuple[int, int, int, int]] | None = None,
) -> None:
    """Write one band, float32 or with ``colours`` of codes, with its unit, its name and what made it.

    The raster is made in memory. A driver that writes to a full disk itself may fail on closing, with any of
    its private errors or words of its own on standard error.
    """
    from rasterio import Env
    from rasterio.io import MemoryFile

    kind = _LEVELS if colours is None else {"dtype": str(values.dtype), "overview_resampling": "MODE"}
    profile: dict[str, Any] = {**_COG_OPTIONS, **_registration(grid), "count": 1, **kind}
    with replacing(path) as beside, Env(GDAL_PAM_ENABLED="NO"), MemoryFile(ext=".tif") as memory:
        with memory.open(**profile) as raster:
            raster.write(values.astype(profile["dtype"]), 1)
            raster.set_band_description(1, plain(description))
            raster.set_band_unit(1, unit)
            raster.update_tags(**{plain(key): plain(value) for key, value in tags.items()})
            raster.update_tags(1, **of_band)
            if colours is not None:
                raster.write_colormap(1, dict(colours))
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
