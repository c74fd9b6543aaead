"""What files may be that a study is to stand on: asked of the files alone, before any study names them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from combe.answers.ground_found import (
    ColumnLook,
    Found,
    InspectReport,
    KnownRaster,
    RasterFound,
    RasterKind,
    TableLook,
)
from combe.errors import CombeError, RasterError, TableError
from combe.standards import LEGENDS
from combe.tables import TABLES, TELLING, Layout, likely_columns, look_at_text, read_table
from combe.terrain import (
    TEXT_ENDINGS,
    Features,
    RasterLook,
    look_at_raster,
    read_features,
    seams_of,
    to_lonlat,
)

LARGEST_TABLE_BYTES: Final = 100_000_000
RASTER_ENDINGS: Final = (".tif", ".tiff", ".hgt", ".asc")

_BY_NAME: Final[Mapping[RasterKind, str]] = {
    "people": r"pop|people|ppp|ghs|worldpop|einwohner|inhabit",
    "canopy height": r"canopy|forest_height|tree_?height|chm",
    "water mask": r"wbm|water_?mask",
    "zones": r"zones?",
    "land cover": r"land_?cover|worldcover|nlcd|corine|clc|lulc",
    "elevation": r"dem|dsm|dtm|srtm|hgt|elev|terrain|height|dgm|dom|mdt|alti|ned|usgs|relief|topo",
}
_CANOPY_CODES: Final = (101.0, 102.0, 103.0)
"""Water, snow and no data of a world map of canopy heights (from memory)."""

_TALLEST_TREE_M: Final = 100.0
_ZONES: Final = frozenset({1.0, 3.0, 4.0})
_FEWEST_CLASSES: Final = 3


_KNOWN: Final = (
    (r"copernicus_dsm", KnownRaster("Copernicus DEM", "EGM2008", True)),
    (r"^alpsmlc30_.*dsm|^aw3d30", KnownRaster("AW3D30", "EGM96", True)),
    (r"^nasadem", KnownRaster("NASADEM", "EGM96", True)),
    (r"^[ns]\d{2}[ew]\d{3}\.hgt$|srtm", KnownRaster("SRTM", "EGM96", True)),
    (r"^usgs_(13|1|1m)_", KnownRaster("3DEP", "NAVD88", False)),
    (r"dsm|\bdom\b", KnownRaster("DSM in its name", "", True)),
    (r"dtm|dgm|mdt|bare", KnownRaster("DTM in its name", "", False)),
)
"""By names of files (registries of these products, as read in public documents; datums from memory)."""


def inspect_report(files: Sequence[Path]) -> InspectReport:
    """Look at files; what cannot be read is told beside the others, or raised where it is all there is.

    Raises
    ------
    RasterError, TableError
        Where no file can be read.
    """
    found: list[Found] = []
    refused: list[tuple[Path, str]] = []
    for file in files:
        try:
            found.append(_look_at(file))
        except (RasterError, TableError) as error:
            if len(files) == 1:
                raise
            refused.append((file, str(error)))
    rasters = [each.look for each in found if isinstance(each, RasterFound) and each.likely == "elevation"]
    return InspectReport(tuple(found), seams_of(rasters), tuple(refused))


def _look_at(file: Path) -> Found:
    ending = file.suffix.lower()
    if ending in RASTER_ENDINGS:
        return raster_found(look_at_raster(file))
    if ending in TEXT_ENDINGS:
        return _text_look(file)
    features = read_features(file)
    return _layer_look(file, features)


def raster_found(look: RasterLook) -> RasterFound:
    """Return what a raster likely is."""
    name = look.path.name.casefold()
    legends = _legends(look)
    codes = tuple(
        each.value for each in look.classes if each.value in _CANOPY_CODES and look.highest > _TALLEST_TREE_M
    )
    by_name = next((kind for kind, form in _BY_NAME.items() if re.search(form, name)), None)
    by_values = _by_values(look, legends, codes)
    known = next((each for form, each in _KNOWN if re.search(form, name)), None)
    kind = by_name or by_values
    because = "by its name" if by_name else "by its values"
    if by_name and by_values in ("land cover", "zones", "canopy height") and by_name == "elevation":
        kind, because = by_values, "by its values"
    return RasterFound(look, kind, because, known if kind == "elevation" else None, legends, codes)


def _by_values(look: RasterLook, legends: tuple[str, ...], codes: tuple[float, ...]) -> RasterKind:
    values = {each.value for each in look.classes}
    if values and values <= _ZONES and len(values) > 1:
        return "zones"
    if codes:
        return "canopy height"
    if legends:
        return "land cover"
    if look.negative_share == 0.0 and look.zero_share > 0.3 and look.fraction_share > 0.1:
        return "people"
    return "elevation" if not values or look.fraction_share > 0.0 or len(values) > 20 else "numbers"


def _legends(look: RasterLook) -> tuple[str, ...]:
    """Return the names of legends that have every class of a raster."""
    values = {each.value for each in look.classes} - {0.0, 255.0}
    if len(values) < _FEWEST_CLASSES:
        return ()
    fits = [name for name, each in LEGENDS.items() if values <= {float(one.code) for one in each.classes}]
    return tuple(fits)


def _text_look(file: Path) -> TableLook:
    records, encoding_fault = look_at_text(file, LARGEST_TABLE_BYTES)
    rows = list(records)
    if not rows:
        raise TableError(file, "it holds no rows")
    header = [cell.strip() for cell in rows[0][1]]
    example = [cell.strip() for cell in rows[1][1]] if len(rows) > 1 else []
    likely, mapping = _likely(header, has_points=False)
    lonlat, fault = None, encoding_fault
    supposed: tuple[str, ...] = ()
    if not encoding_fault and likely != "table":
        lonlat, fault, supposed = _read_places(file, likely, mapping)
    return TableLook(
        path=file,
        file_format="text",
        rows=len(rows) - 1,
        geometries=(),
        crs_name="",
        lonlat=lonlat,
        columns=_columns(header, example, mapping),
        likely=likely,
        mapping=mapping,
        supposed=supposed,
        fault=fault,
    )


def _read_places(
    file: Path, likely: str, mapping: Mapping[str, str]
) -> tuple[tuple[float, float, float, float] | None, str, tuple[str, ...]]:
    """Return the frame of a table's places, what keeps it from being read, and how it is written."""
    # Eastings and northings lie nowhere until their system is named.
    in_degrees = "easting_m" not in mapping
    wanted = tuple(
        name for name in TABLES[likely] if in_degrees and name in ("longitude_deg", "latitude_deg")
    )
    try:
        table = read_table(
            file, wanted, (), "", Layout(_places_of(mapping)), strict=False, largest_bytes=LARGEST_TABLE_BYTES
        )
        if not wanted:
            return None, "", table.supposed
        places = [
            (float(row.cells[wanted[0]]), float(row.cells[wanted[1]]))
            for row in table.rows()
            if all(row.cells[name] for name in wanted)
        ]
    except (CombeError, ValueError) as error:
        return None, str(getattr(error, "problem", error)), ()
    fault = table.faults[0] if table.faults else ""
    if not places:
        return None, fault, table.supposed
    lon, lat = np.array(places).T
    return (float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())), fault, table.supposed


def _places_of(mapping: Mapping[str, str]) -> dict[str, str | int]:
    return {
        name: their for name, their in mapping.items() if name.endswith("_deg") or name == "grid_reference"
    }


def _layer_look(file: Path, features: Features) -> TableLook:
    kinds = tuple(sorted({each.geometry.geom_type.removeprefix("Multi") for each in features.features}))
    header = list(dict.fromkeys(name for each in features.features[:1000] for name in each.properties))
    example = [
        "" if (value := features.features[0].properties.get(name)) is None else str(value) for name in header
    ]
    likely, mapping = (
        _likely(header, has_points=True) if kinds == ("Point",) else _likely_shapes(header, kinds)
    )
    corners = np.array([each.geometry.bounds for each in features.features])
    west, south = corners[:, :2].min(axis=0)
    east, north = corners[:, 2:].max(axis=0)
    lon, lat = to_lonlat(features.crs, [west, west, east, east], [south, north, south, north])
    return TableLook(
        path=file,
        file_format="GeoPackage" if file.suffix.lower() == ".gpkg" else "GeoJSON",
        rows=len(features.features),
        geometries=kinds,
        crs_name=features.crs.name,
        lonlat=(float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())),
        columns=_columns(header, example, mapping),
        likely=likely,
        mapping=mapping,
    )


def _likely(header: Sequence[str], *, has_points: bool) -> tuple[str, dict[str, str]]:
    """Return which table of a study this may be, and its columns; "table" for none."""
    for kind, columns in TABLES.items():
        wanted = [name for name in columns if not (has_points and name in ("longitude_deg", "latitude_deg"))]
        found = likely_columns(header, wanted)
        telling = all(any(_stands_for(name, each) for each in found) for name in TELLING[kind])
        placed = has_points or _has_place(found)
        if telling and placed:
            return kind, found
    return "table", {}


def _has_place(found: Mapping[str, Any]) -> bool:
    pairs = (("longitude_deg", "latitude_deg"), ("easting_m", "northing_m"), ("grid_reference",))
    return any(all(name in found for name in pair) for pair in pairs)


def _stands_for(ours: str, found: str) -> bool:
    return found == ours or (ours == "erp_w" and found.startswith(("erp_", "eirp_")))


def _likely_shapes(header: Sequence[str], kinds: Sequence[str]) -> tuple[str, dict[str, str]]:
    if "Polygon" in kinds:
        found = likely_columns(header, ["name", "people"])
        return ("districts" if "name" in found else "areas"), found
    return "lines", {}


def _columns(
    header: Sequence[str], example: Sequence[str], mapping: Mapping[str, str]
) -> tuple[ColumnLook, ...]:
    ours = {their: name for name, their in mapping.items()}
    return tuple(
        ColumnLook(name, example[at][:40] if at < len(example) else "", ours.get(name, ""))
        for at, name in enumerate(header)
    )
