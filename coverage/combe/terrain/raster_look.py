"""What a raster file is by its own word: place, cells, numbers, and values that may stand for something else.

Nothing is decided here: a value that looks like no data is told with its share, and who knows it decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import pyproj

from combe.decibels import FloatArray
from combe.terrain.areas import cell_areas_km2
from combe.terrain.projecting import LONLAT, transformer
from combe.terrain.raster import dataset_crs, safe_open

Bounds = tuple[float, float, float, float]
"""(west, south, east, north)."""

MOST_CELLS: Final = 4_000_000
"""Most cells whose values are looked at; of a larger raster every so manieth row and column."""

NO_DATA_LOOKS: Final = (
    -32768.0, -32767.0, -9999.0, -99999.0, -999999.0, -999.0, -200.0, 9999.0, 32767.0, 65535.0, 255.0,
    float(np.finfo(np.float32).min), float(np.finfo(np.float32).max), 1e20,
)  # fmt: skip
"""Values that files use for no data (common practice, no source)."""

_MOST_CLASSES: Final = 60
_LARGEST_USUAL: Final = 9_500.0
"""No height on land and no class is as large, so what is takes no part in how far values spread."""

_APART: Final = 0.2
_METRES_A_DEGREE: Final = 111_320.0
_SQUARE: Final = 0.02
"""Cells whose sides differ by less than this share are called square."""


class CodeFound(NamedTuple):
    """A value that looks like a code and not like a number, and its share of the cells looked at."""

    value: float
    share: float


@dataclass(frozen=True)
class RasterLook:
    """A raster as its file tells it.

    Attributes
    ----------
    path, file_format
        The file, and GDAL's name of its format.
    rows, columns, bands, data_type
        Its layout.
    crs_name, vertical_name
        Its system; what heights are counted from where the file says so, else empty.
    lonlat, bounds
        Its frame in degrees of WGS 84, None where its system is unknown, and in its own system.
    cell_m, cell_own
        Sides of a cell, west to east and north to south [m], NaN where unknown, and in its own unit.
    own_unit
        The unit of its system: degree or metre.
    point
        Whether the file says that its numbers stand at points, and not for areas.
    transform
        From column and row to its own system.
    rotated, south_up
        Whether its rows are not west to east, or begin in the south.
    unit
        Of its numbers, where the file says so, else empty.
    nodata
        What the file declares as no data, None for nothing.
    every
        Of how many rows and columns one was looked at.
    void_share
        Share of cells that are declared void, or NaN.
    lowest, highest, mean, total
        Of the others; NaN where there are none.
    total_by_km2
        Sum of the numbers times the areas of their cells [km²].
    zero_share, negative_share, fraction_share
        Shares of the others that are 0, below 0, and no whole numbers.
    classes
        All values, where they are whole and few; else empty.
    codes
        Values not declared as no data that look like it.
    tags
        What else the file says of itself.
    """

    path: Path
    file_format: str
    rows: int
    columns: int
    bands: int
    data_type: str
    crs_name: str
    vertical_name: str
    lonlat: Bounds | None
    bounds: Bounds
    cell_m: tuple[float, float]
    cell_own: tuple[float, float]
    own_unit: str
    point: bool
    transform: tuple[float, ...]
    rotated: bool
    south_up: bool
    unit: str
    nodata: float | None
    every: int
    void_share: float
    lowest: float
    highest: float
    mean: float
    total: float
    total_by_km2: float
    zero_share: float
    negative_share: float
    fraction_share: float
    classes: tuple[CodeFound, ...]
    codes: tuple[CodeFound, ...]
    tags: tuple[tuple[str, str], ...]

    @property
    def is_square(self) -> bool:
        """Whether a cell is as high as it is wide, as far as that is known."""
        wide, high = self.cell_m
        return not math.isfinite(wide) or abs(wide / high - 1.0) < _SQUARE


def look_at_raster(path: Path | str) -> RasterLook:
    """Look at a raster of any kind; raises RasterError for what is none."""
    file = Path(path)
    with safe_open(file) as dataset:
        crs = dataset_crs(dataset)
        shape = tuple(float(each) for each in dataset.transform[:6])
        every = max(1, math.ceil(math.sqrt(dataset.height * dataset.width / MOST_CELLS)))
        numbers, voids = _numbers(dataset, every)
        areas = _areas(crs, shape, (dataset.height, dataset.width), every)
        return RasterLook(
            path=file,
            file_format=str(dataset.driver),
            rows=int(dataset.height),
            columns=int(dataset.width),
            bands=int(dataset.count),
            data_type=str(dataset.dtypes[0]),
            **_place(dataset, crs, shape),
            point=dataset.tags().get("AREA_OR_POINT") == "Point",
            transform=shape,
            rotated=shape[1] != 0.0 or shape[3] != 0.0,
            south_up=shape[1] == 0.0 and shape[4] > 0.0,
            unit=dataset.units[0] or "",
            nodata=None if dataset.nodata is None else float(dataset.nodata),
            every=every,
            void_share=float(voids.mean()),
            **_values(numbers, voids, areas, every),
            tags=tuple((str(key), str(value)[:120]) for key, value in sorted(dataset.tags().items())),
        )


def _numbers(dataset: Any, every: int) -> tuple[FloatArray, Any]:
    """Return the numbers of the first band, thinned out, and where there are none."""
    size = (max(1, dataset.height // every), max(1, dataset.width // every))
    stored = dataset.read(1, out_shape=size)
    if np.iscomplexobj(stored):
        stored = stored.real
    numbers: FloatArray = stored.astype(np.float64)
    voids = ~np.isfinite(numbers)
    if dataset.nodata is not None and not math.isnan(dataset.nodata):
        with np.errstate(over="ignore"):
            declared = float(np.float32(dataset.nodata)) if stored.dtype == np.float32 else dataset.nodata
        voids |= numbers == declared
    return numbers * float(dataset.scales[0]) + float(dataset.offsets[0]), voids


def _areas(crs: pyproj.CRS | None, shape: tuple[float, ...], size: tuple[int, int], every: int) -> FloatArray:
    """Return the area of each cell looked at [km²], alike for a row or for all; NaN without a system."""
    rows = max(1, size[0] // every)
    if crs is None:
        return np.full((rows, 1), np.nan)
    a, b, c, d, e, f = shape
    thinned = (a * every, b * every, c, d * every, e * every, f)
    if crs.is_geographic:
        return cell_areas_km2(crs, thinned, (rows, 1)) / every**2
    return cell_areas_km2(crs, thinned, (rows, max(1, size[1] // every))) / every**2


def _place(dataset: Any, crs: pyproj.CRS | None, shape: tuple[float, ...]) -> dict[str, Any]:
    """Return where a raster lies, and how large its cells are."""
    a, b, c, d, e, f = shape
    corners = [
        (c + a * x + b * y, f + d * x + e * y) for x in (0, dataset.width) for y in (0, dataset.height)
    ]
    x, y = zip(*corners, strict=True)
    bounds = (min(x), min(y), max(x), max(y))
    own = (math.hypot(a, d), math.hypot(b, e))
    if crs is None:
        found = {
            "crs_name": "",
            "vertical_name": "",
            "lonlat": None,
            "own_unit": "",
            "cell_m": (math.nan,) * 2,
        }
        return {**found, "bounds": bounds, "cell_own": own}
    flat = crs.sub_crs_list[0] if crs.is_compound else crs
    metres = (own[0], own[1])
    if flat.is_geographic:
        middle = math.radians(min(89.9, abs(0.5 * (bounds[1] + bounds[3]))))
        metres = (own[0] * _METRES_A_DEGREE * math.cos(middle), own[1] * _METRES_A_DEGREE)
    elif flat.axis_info:
        factor = float(flat.axis_info[0].unit_conversion_factor)
        metres = (own[0] * factor, own[1] * factor)
    return {
        "crs_name": _system_name(flat),
        "vertical_name": crs.sub_crs_list[1].name if crs.is_compound else "",
        "lonlat": transformer(flat, LONLAT).transform_bounds(*bounds),
        "bounds": bounds,
        "cell_m": metres,
        "cell_own": own,
        "own_unit": "degree"
        if flat.is_geographic
        else str(flat.axis_info[0].unit_name if flat.axis_info else ""),
    }


def _system_name(crs: pyproj.CRS) -> str:
    number = crs.to_epsg()
    return f"EPSG:{number}, {crs.name}" if number else crs.name


def _values(numbers: FloatArray, voids: Any, areas: FloatArray, every: int) -> dict[str, Any]:
    """Return what the numbers are like that are not void."""
    known = numbers[~voids]
    if not known.size:
        nothing = dict.fromkeys(("lowest", "highest", "mean", "total", "total_by_km2"), math.nan)
        shares = dict.fromkeys(("zero_share", "negative_share", "fraction_share"), math.nan)
        return {**nothing, **shares, "classes": (), "codes": ()}
    codes = _codes(known)
    kept = ~np.isin(known, [each.value for each in codes])
    sound, spread = known[kept], np.broadcast_to(areas, numbers.shape)[~voids][kept]
    return {
        "lowest": float(sound.min()),
        "highest": float(sound.max()),
        "mean": float(sound.mean()),
        "total": float(sound.sum()) * every**2,
        "total_by_km2": float((sound * spread).sum()) * every**2,
        "zero_share": float((sound == 0.0).mean()),
        "negative_share": float((sound < 0.0).mean()),
        "fraction_share": float((sound != np.rint(sound)).mean()),
        "classes": _classes(known),
        "codes": codes,
    }


def _codes(known: FloatArray) -> tuple[CodeFound, ...]:
    """Return values that files use for no data and that no other value is near to."""
    found = []
    for value in NO_DATA_LOOKS:
        here = known == (float(np.float32(value)) if abs(value) > 1e19 else value)
        if not here.any() or here.all():
            continue
        others = known[~here]
        usual = others[np.abs(others) < _LARGEST_USUAL]
        # A code stands apart: a value among others of its size is one of them.
        spread = max(float(np.ptp(usual)), 1.0) if usual.size else 0.0
        if float(np.abs(others - known[here][0]).min()) > _APART * spread:
            found.append(CodeFound(float(known[here][0]), float(here.mean())))
    return tuple(found)


def _classes(known: FloatArray) -> tuple[CodeFound, ...]:
    values, counts = np.unique(known, return_counts=True)
    if values.size > _MOST_CLASSES or not bool(np.all(values == np.rint(values))):
        return ()
    return tuple(
        CodeFound(float(value), float(count) / known.size)
        for value, count in zip(values, counts, strict=True)
    )
