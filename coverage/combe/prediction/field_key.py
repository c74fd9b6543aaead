"""The hash of everything that makes a station's fields, by which they are kept and found again.

The ground enters by its heights as read, not by names or dates of files: moved or renamed terrain is the
same, changed terrain is not, wherever it lies. So do cover and zones. The program enters by its version, the
sources of the rooms that predict, and the libraries that compute. What cannot change a field stays out: names
of stations and services, and words for reports.
"""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.rays import origin_on_ground
from combe.stations.transmitter import Station
from combe.terrain.sampling import height_at
from combe.version import __version__

PREDICTING_ROOMS: Final = ("terrain", "propagation", "standards", "stations", "prediction")
_LIBRARIES: Final = ("numpy", "numba", "pyproj", "rasterio")
_WORDS_OF_STATION: Final = ("name", "role", "parent")
_WORDS_OF_SERVICE: Final = ("name", "channel", "offset_twelfths", "precision_offset", "offset_khz")
_WORDS_OF_PATTERN: Final = ("source", "kind")


@cache
def program_salt(rooms: Sequence[str] | None = PREDICTING_ROOMS) -> str:
    """Return the hash of version, libraries, kind of processor and sources; of all rooms for None."""
    root = Path(__file__).parents[1]
    folders = [root] if rooms is None else [root / room for room in rooms]
    sources = {*root.glob("*.py"), *(path for folder in folders for path in folder.rglob("*.py"))}
    digest = hashlib.sha256()
    for path in sorted(sources):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    libraries = {name: version(name) for name in _LIBRARIES}
    return content_hash({"sources": digest.hexdigest(), **_machine(), **libraries})


def area_key(area: Area) -> str:
    """Return the hash of a grid and the ground, cover and zones under it; once for all stations."""
    grid, ground = area.grid, area.ground
    arrays = (area.heights_m, ground.heights, ground.row_at, ground.column_at, area.cover, area.zones)
    return content_hash(
        {
            "crs": grid.crs.to_wkt(),
            "grid": [grid.west_m, grid.north_m, grid.cell_size_m, grid.rows, grid.columns],
            "arrays": [array_hash(array) for array in arrays],
            "spacing": [ground.spacing, ground.north, ground.west],
            "step_m": area.step_m,
        }
    )


def field_key(
    area: Area, key_of_area: str, station: Station, conditions: Conditions, rx_height_m: float
) -> str:
    """Return the hash of all that makes the fields of a station.

    Parameters
    ----------
    area, key_of_area
        The study area, and what :func:`area_key` gives of it.
    station, conditions, rx_height_m
        As for :func:`combe.prediction.coverage.predict_coverage`.

    Raises
    ------
    RangeError, TerrainGapError
        For a station beyond the ground that was read, or on a void of the terrain.
    """
    place = station.longitude_deg, station.latitude_deg
    origin_on_ground(area, *place)
    air = asdict(conditions)
    del air["clutter"]
    return content_hash(
        {
            "program": program_salt(),
            "area": key_of_area,
            "station": _station(station),
            "ground_m": height_at(area.terrain, *place, f"station {station.name}"),
            "conditions": air,
            "rx_height_m": float(rx_height_m),
        }
    )


def content_hash(content: Mapping[str, Any]) -> str:
    """Return the SHA-256 of what JSON makes of a mapping, whatever the order of its keys."""
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def array_hash(array: npt.NDArray[Any]) -> str:
    """Return the SHA-256 of an array's type, shape and values."""
    digest = hashlib.sha256(f"{array.dtype.str} {array.shape} ".encode())
    digest.update(np.ascontiguousarray(array).reshape(-1).view(np.uint8).data)
    return digest.hexdigest()


def _station(station: Station) -> dict[str, Any]:
    """Return all of a station but its words."""
    content = _without(asdict(station), _WORDS_OF_STATION)
    content["services"] = [_without(each, _WORDS_OF_SERVICE) for each in content["services"]]
    for plane in ("horizontal_pattern", "vertical_pattern"):
        if content[plane] is not None:
            content[plane] = _without(content[plane], _WORDS_OF_PATTERN)
    return content


def _without(content: Mapping[str, Any], words: Sequence[str]) -> dict[str, Any]:
    return {name: value for name, value in content.items() if name not in words}


def _machine() -> dict[str, str]:
    return {"combe": __version__, "python": platform.python_version(), "machine": platform.machine()}
