"""Coverage of stations from a folder that keeps their fields, each under the hash of all that made them.

Fields are kept as predicted, in single precision without rounding or packing: a field read back is the field,
bit by bit, and rows of it are read straight from the file. 100 x 100 km at 100 m take 4 MB a service.
"""

from __future__ import annotations

import os
import time
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import platformdirs

from combe.errors import OutputError
from combe.files import clear_remains, ensure_folder
from combe.prediction.area import Area
from combe.prediction.conditions import Conditions, describe
from combe.prediction.coverage import FieldMap, Progress, predict_coverage
from combe.prediction.field_key import area_key, field_key
from combe.prediction.sealed_file import SealedFile, open_sealed, read_rows, write_sealed
from combe.stations.transmitter import Station
from combe.terrain.grid import StudyGrid

FIELD: Final = "field_dbuv_m"
"""Name of the array in a file: shape (services, rows, columns), float32, NaN without prediction."""

LARGEST_STORE_BYTES: Final = 8 << 30
UNUSED_S: Final = 3600.0
"""Fields used within the last hour are never removed: another run may be reading them."""

_ENDING: Final = ".fields"


@dataclass(frozen=True)
class FieldStore:
    """A folder of fields, for one study area."""

    folder: Path
    area: Area
    area_key: str


@dataclass(frozen=True)
class StationFields:
    """The file that holds the fields of a station's services; ``from_cache``: it was there before."""

    sealed: SealedFile
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
    store: FieldStore,
    station: Station,
    *,
    conditions: Conditions | None = None,
    rx_height_m: float = 10.0,
    threads: int | None = None,
    progress: Progress | None = None,
) -> StationFields:
    """Return the file of a station's fields, predicting them only if it is not there.

    A field from the store equals the predicted one bit by bit. Parameters and errors are those of
    :func:`combe.prediction.coverage.predict_coverage`, and besides

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    conditions = conditions or Conditions()
    key = field_key(store.area, store.area_key, station, conditions, rx_height_m)
    sealed = find_fields(store, key, len(station.services))
    if sealed is not None:
        if progress:
            progress(1.0)
        return StationFields(sealed, from_cache=True)
    maps = predict_coverage(
        store.area,
        station,
        conditions=conditions,
        rx_height_m=rx_height_m,
        threads=threads,
        progress=progress,
    )
    return StationFields(keep_fields(store, key, maps), from_cache=False)


def field_map_in(
    sealed: SealedFile, grid: StudyGrid, station: Station, service: int, conditions: Conditions
) -> FieldMap:
    """Read the field map of one service, by its place among the station's, from the file of the station.

    Parameters
    ----------
    sealed
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
        field_dbuv_m=read_rows(sealed, FIELD, service, 0, grid.rows),
        receive_height_m=float(sealed.about["receive_height_m"]),
        sweep_s=float(sealed.about["sweep_s"]),
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
        os.utime(path)
    return sealed


def keep_fields(store: FieldStore, key: str, maps: Sequence[FieldMap]) -> SealedFile:
    """Write the field maps of a station's services under a key.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    about = {
        "key": key,
        "station": maps[0].station,
        "services": [each.service for each in maps],
        "frequency_mhz": [float(each.frequency_mhz) for each in maps],
        "receive_height_m": float(maps[0].receive_height_m),
        "sweep_s": maps[0].sweep_s,
        "provenance": dict(maps[0].provenance),
    }
    return write_sealed(_path(store, key), {FIELD: np.stack([each.field_dbuv_m for each in maps])}, about)


def trim_store(
    store: FieldStore, *, spared: Collection[Path] = (), largest_bytes: int = LARGEST_STORE_BYTES
) -> int:
    """Remove the fields that were not used for longest until the rest fits; return how many went.

    Files of ``spared``, and those used within the last hour, stay whatever they take.
    """
    found = sorted((path.stat().st_mtime, path) for path in store.folder.glob(f"*{_ENDING}"))
    total = sum(path.stat().st_size for _, path in found)
    latest_s, removed = time.time() - UNUSED_S, 0
    for used_s, path in found:
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
