"""Coverage of a station from the store of fields where it is kept, else predicted and kept."""

from __future__ import annotations

from dataclasses import dataclass

from combe.prediction.conditions import Conditions, describe
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_key import field_key
from combe.prediction.field_map import FieldMap
from combe.prediction.field_store import FIELD, FieldStore, find_fields, keep_fields
from combe.prediction.losses import Progress
from combe.prediction.sealed_file import SealedFile, read_rows
from combe.stations.transmitter import Station
from combe.terrain.grid import StudyGrid


@dataclass(frozen=True)
class StationFields:
    """The file that holds the fields of a station's services; ``from_cache``: it was there before."""

    sealed: SealedFile
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
