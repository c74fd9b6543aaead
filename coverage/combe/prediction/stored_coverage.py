"""Coverage of a station from the store of fields where it is kept, else predicted and kept."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import NamedTuple

from combe.errors import OutputError
from combe.prediction.conditions import Conditions, describe
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_key import field_key
from combe.prediction.field_map import FieldMap
from combe.prediction.field_store import FIELD, FieldStore, find_fields, keep_fields
from combe.prediction.losses import Progress
from combe.prediction.sealed_file import SealedFile, read_part
from combe.stations.transmitter import Station


@dataclass(frozen=True)
class StationFields:
    """The file that holds the fields of a station's services; ``from_cache``: it was there before."""

    sealed: SealedFile
    from_cache: bool


@dataclass(frozen=True)
class StoredCoverage:
    """The field map of each service of a station; ``from_cache``: nothing was predicted for it."""

    maps: list[FieldMap]
    from_cache: bool


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

    Parameters and errors are those of :func:`combe.prediction.coverage.predict_coverage`, and besides

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    conditions = conditions or Conditions()
    found = _found_or_predicted(store, station, conditions, rx_height_m, threads, progress)
    if found.sealed is not None:
        return StationFields(found.sealed, from_cache=True)
    return StationFields(keep_fields(store, found.key, found.maps), from_cache=False)


def stored_coverage(
    store: FieldStore,
    station: Station,
    *,
    conditions: Conditions | None = None,
    rx_height_m: float = 10.0,
    threads: int | None = None,
    progress: Progress | None = None,
) -> StoredCoverage:
    """Return what :func:`combe.prediction.coverage.predict_coverage` does, from the store where it has it.

    A field from the store equals the predicted one bit by bit. Where nothing can be written (a full disk),
    nothing is kept. Parameters and errors are those of the prediction.
    """
    conditions = conditions or Conditions()
    found = _found_or_predicted(store, station, conditions, rx_height_m, threads, progress)
    if found.sealed is not None:
        maps = _maps(store, station, conditions, rx_height_m, found.sealed)
        return StoredCoverage(maps, from_cache=True)
    with suppress(OutputError):
        keep_fields(store, found.key, found.maps)
    return StoredCoverage(found.maps, from_cache=False)


class _Found(NamedTuple):
    """A file of the store or, where there is none, what is predicted instead."""

    key: str
    sealed: SealedFile | None
    maps: list[FieldMap]


def _found_or_predicted(
    store: FieldStore,
    station: Station,
    conditions: Conditions,
    rx_height_m: float,
    threads: int | None,
    progress: Progress | None,
) -> _Found:
    key = field_key(store.area, store.area_key, station, conditions, rx_height_m)
    sealed = find_fields(store, key, len(station.services))
    if sealed is not None:
        if progress:
            progress(1.0)
        return _Found(key, sealed, [])
    maps = predict_coverage(
        store.area,
        station,
        conditions=conditions,
        rx_height_m=rx_height_m,
        threads=threads,
        progress=progress,
    )
    return _Found(key, None, maps)


def _maps(
    store: FieldStore, station: Station, conditions: Conditions, rx_height_m: float, sealed: SealedFile
) -> list[FieldMap]:
    """Return the field maps as the prediction would give them, but for the time that it took then."""
    fields = read_part(sealed, FIELD)
    return [
        FieldMap(
            station=station.name,
            service=service.name,
            channel=service.channel,
            frequency_mhz=service.frequency_mhz,
            grid=store.area.grid,
            field_dbuv_m=field,
            receive_height_m=rx_height_m,
            sweep_s=float(sealed.about["sweep_s"]),
            provenance=describe(conditions),
        )
        for service, field in zip(station.services, fields, strict=True)
    ]
