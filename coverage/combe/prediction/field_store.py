"""Coverage of stations from a folder that keeps their fields, each under the hash of all that made them.

Fields are kept as predicted, in single precision without rounding or packing: a field read back is the field,
bit by bit, and rows of it are read straight from the file. 100 x 100 km at 100 m take 4 MB a service.

The ground enters the hash by its heights as read, not by names or dates of files: moved or renamed terrain is
the same, changed terrain is not, wherever it lies. So do cover and zones. The program enters by its version,
the sources of the rooms that predict, and the libraries that compute. What cannot change a field stays out:
names of stations and services, and words for reports.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
import time
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import platformdirs

from combe.errors import OutputError
from combe.files import clear_remains, ensure_folder
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions, describe
from combe.prediction.coverage import FieldMap, Progress, predict_coverage
from combe.prediction.rays import origin_on_ground
from combe.prediction.sealed_file import HeldArrays, SealedFile, open_sealed, read_rows, write_sealed
from combe.stations import Station
from combe.terrain import StudyGrid, height_at
from combe.version import __version__

PREDICTING_ROOMS: Final = ("terrain", "propagation", "standards", "stations", "prediction")
_LIBRARIES: Final = ("numpy", "numba", "pyproj", "rasterio")
_WORDS_OF_STATION: Final = ("name", "role", "parent")
_WORDS_OF_SERVICE: Final = ("name", "channel", "offset_twelfths", "precision_offset", "offset_khz")
_WORDS_OF_PATTERN: Final = ("source", "kind")


FIELD: Final = "field_dbuv_m"
"""Name of the array in a file: shape (services, rows, columns), float32, NaN without prediction."""

LARGEST_STORE_BYTES: Final = 8 << 30
UNUSED_S: Final = 3600.0
"""Fields used within the last hour are never removed: another run may be reading them."""

_ENDING: Final = ".fields"


@cache
def program_salt(rooms: Sequence[str] | None = PREDICTING_ROOMS) -> str:
    """Return the hash of version, libraries, kind of processor and sources; of all rooms for None."""
    root = Path(__file__).parents[1]
    folders = [root] if rooms is None else [root / room for room in rooms]
    # Files at the root belong to no room, and every room builds on them.
    sources = {*root.glob("*.py"), *(path for folder in folders for path in folder.rglob("*.py"))}
    digest = hashlib.sha256()
    for path in sorted(sources):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    libraries = {name: version(name) for name in _LIBRARIES}
    return content_hash({"sources": digest.hexdigest(), **_machine(), **libraries})


def area_key(area: Area) -> str:
    """Return the hash of a grid and the ground, cover and zones under it; once for all stations."""
    grid, ground = area.grid, area.ground
    layers = ground.layers
    arrays = (
        area.heights_m, ground.heights, ground.row_at, ground.column_at, area.cover, area.zones,
        layers.heights, layers.size, layers.at,
    )  # fmt: skip
    return content_hash(
        {
            "crs": grid.crs.to_wkt(),
            "grid": [grid.west_m, grid.north_m, grid.cell_size_m, grid.rows, grid.columns],
            "arrays": [array_hash(array) for array in arrays],
            "spacing": [ground.spacing, ground.north, ground.west],
            "over": layers.over,
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
    # Fails here, before anything is predicted, where the station cannot be.
    origin_on_ground(area, *place)
    air = asdict(conditions)
    # These are words for reports; the cover itself is in the key of the area.
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


@dataclass(frozen=True)
class FieldStore:
    """A folder of fields, for one study area."""

    folder: Path
    area: Area
    area_key: str

    def find(self, key: str, services: int) -> SealedFile | None:
        """Return the file of a key, as :func:`find_fields` does."""
        return find_fields(self, key, services)

    def keep(self, key: str, maps: Sequence[FieldMap]) -> SealedFile:
        """Write field maps under a key, as :func:`keep_fields` does."""
        return keep_fields(self, key, maps)


class FieldMemory:
    """Fields of one study area in memory, by the keys of a store; what was not used for longest goes first.

    Only this counts them: what an answer still holds stays with that.
    """

    def __init__(self, area: Area, largest_bytes: int) -> None:
        self.area = area
        self.area_key = area_key(area)
        self._largest_bytes = largest_bytes
        self._kept: dict[str, HeldArrays] = {}

    def find(self, key: str, services: int) -> HeldArrays | None:
        """Return the fields of a key, which count as used now; None where there are none."""
        del services
        found = self._kept.pop(key, None)
        if found is not None:
            self._kept[key] = found
        return found

    def keep(self, key: str, maps: Sequence[FieldMap]) -> HeldArrays:
        """Keep field maps under a key."""
        fields = np.stack([each.field_dbuv_m for each in maps])
        fields.setflags(write=False)
        self._kept[key] = HeldArrays(_about(key, maps), {FIELD: fields})
        self._trim()
        return self._kept[key]

    def _trim(self) -> None:
        sizes = {key: each.arrays[FIELD].nbytes for key, each in self._kept.items()}
        total = sum(sizes.values())
        for key in list(sizes)[:-1]:
            if total <= self._largest_bytes:
                break
            total -= sizes[key]
            del self._kept[key]


@dataclass(frozen=True)
class StationFields:
    """Where the fields of a station's services are kept; ``from_cache``: they were there before."""

    kept: SealedFile | HeldArrays
    from_cache: bool


def default_folder() -> Path:
    """Return the folder for fields among the caches of the user."""
    return Path(platformdirs.user_cache_dir("combe", appauthor=False)) / "fields"


def usual_folder() -> Path | None:
    """Return the default folder, made if needed, or None where none can be made and written."""
    try:
        return ensure_folder(default_folder())
    except OutputError:
        return None


def open_store(area: Area, folder: Path | None = None) -> FieldStore:
    """Open a store for a study area, making its folder if needed.

    Raises
    ------
    OutputError
        The folder cannot be made or written.
    """
    made = ensure_folder(folder or default_folder())
    clear_remains(made)
    return FieldStore(made, area, area_key(area))


def station_fields(
    store: FieldStore | FieldMemory,
    station: Station,
    *,
    conditions: Conditions | None = None,
    rx_height_m: float = 10.0,
    threads: int | None = None,
    progress: Progress | None = None,
) -> StationFields:
    """Return where a station's fields are kept, predicting them only if they are not there.

    A field from the store equals the predicted one bit by bit. Parameters and errors are those of
    :func:`combe.prediction.coverage.predict_coverage`, and besides

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    conditions = conditions or Conditions()
    key = field_key(store.area, store.area_key, station, conditions, rx_height_m)
    found = store.find(key, len(station.services))
    if found is not None:
        if progress:
            progress(1.0)
        return StationFields(found, from_cache=True)
    maps = predict_coverage(
        store.area,
        station,
        conditions=conditions,
        rx_height_m=rx_height_m,
        threads=threads,
        progress=progress,
    )
    return StationFields(store.keep(key, maps), from_cache=False)


def field_map_in(
    kept: SealedFile | HeldArrays,
    grid: StudyGrid,
    station: Station,
    service: int,
    conditions: Conditions,
) -> FieldMap:
    """Read the field map of one service, by its place among the station's, from where those are kept.

    Parameters
    ----------
    kept
        As :func:`station_fields` gives it for the grid, the station and the conditions.

    Raises
    ------
    StoreError
        The file is gone.
    """
    about = station.services[service]
    return FieldMap(
        station=station.name,
        service=about.name,
        channel=about.channel,
        frequency_mhz=about.frequency_mhz,
        grid=grid,
        field_dbuv_m=read_rows(kept, FIELD, service, 0, grid.rows),
        receive_height_m=float(kept.about["receive_height_m"]),
        sweep_s=float(kept.about["sweep_s"]),
        provenance=describe(conditions),
    )


def find_fields(store: FieldStore, key: str, services: int) -> SealedFile | None:
    """Return the file of a key, or None where it is not there, or not as it was written.

    Its hash is checked over all it holds, and a file that fails is removed. One that is found counts as used
    now.
    """
    path = _path(store, key)
    sealed = open_sealed(path)
    shape = (services, store.area.grid.rows, store.area.grid.columns)
    if sealed is None or sealed.about.get("key") != key or not _holds(sealed, shape):
        with suppress(OSError):
            path.unlink(missing_ok=True)
        return None
    with suppress(OSError):
        # Touched, for the store drops what was not used for longest.
        os.utime(path)
    return sealed


def keep_fields(store: FieldStore, key: str, maps: Sequence[FieldMap]) -> SealedFile:
    """Write the field maps of a station's services under a key.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    fields = np.stack([field_map.field_dbuv_m for field_map in maps])
    return write_sealed(_path(store, key), {FIELD: fields}, _about(key, maps))


def _about(key: str, maps: Sequence[FieldMap]) -> dict[str, Any]:
    """Return what is noted beside the fields of a station."""
    return {
        "key": key,
        "station": maps[0].station,
        "services": [field_map.service for field_map in maps],
        "frequency_mhz": [float(field_map.frequency_mhz) for field_map in maps],
        "receive_height_m": float(maps[0].receive_height_m),
        "sweep_s": maps[0].sweep_s,
        "provenance": dict(maps[0].provenance),
    }


def trim_store(
    store: FieldStore, *, spared: Collection[Path] = (), largest_bytes: int = LARGEST_STORE_BYTES
) -> int:
    """Remove the fields that were not used for longest until the rest fits; return how many went.

    Files of ``spared``, and those used within the last hour, stay whatever they take.
    """
    by_use = sorted((path.stat().st_mtime, path) for path in store.folder.glob(f"*{_ENDING}"))
    total = sum(path.stat().st_size for _, path in by_use)
    latest_s, removed = time.time() - UNUSED_S, 0
    for used_s, path in by_use:
        if total <= largest_bytes or used_s > latest_s:
            break
        if path not in spared:
            total -= path.stat().st_size
            path.unlink(missing_ok=True)
            removed += 1
    return removed


def _path(store: FieldStore, key: str) -> Path:
    return store.folder / f"{key}{_ENDING}"


def _holds(sealed: SealedFile, shape: tuple[int, int, int]) -> bool:
    part = sealed.parts.get(FIELD)
    return part is not None and part.shape == shape and part.dtype == "<f4"
