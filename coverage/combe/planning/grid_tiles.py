"""Tiles of the study grid: some rows of it, with the fields of every station there, read from their files.

However many stations a network has, no more of them than one tile's rows is in memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.prediction.field_store import FIELD
from combe.prediction.sealed_file import SealedFile, read_rows
from combe.stations.transmitter import Service, Station
from combe.terrain.grid import StudyGrid, cell_centres_m

TILE_BYTES: Final = 32 << 20
"""How much the fields of one tile may take as read; whoever judges them needs some times that."""

_FIELD_BYTES: Final = 4


class StationService(NamedTuple):
    """One service of one station."""

    station: Station
    service: Service


class Layer(NamedTuple):
    """Where the field of one service of one station lies: a file, and which of its services.

    ``offset_db`` is added to the field as it is read: a correction from measurements, say.
    """

    sealed: SealedFile
    service: int
    offset_db: float = 0.0


@dataclass(frozen=True)
class Tile:
    """Rows ``first_row`` to before ``last_row`` of the study grid, in all its columns.

    ``radiated`` has every service of every station, in their order, and for each of the conditions that were
    predicted (percentages of time, say) ``layers`` has a row with their fields in the same order.
    """

    grid: StudyGrid
    first_row: int
    last_row: int
    radiated: tuple[StationService, ...]
    layers: tuple[tuple[Layer, ...], ...]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.last_row - self.first_row, self.grid.columns


def services_of(stations: Sequence[Station]) -> tuple[StationService, ...]:
    """Return every service of every station, in their order."""
    return tuple(StationService(station, each) for station in stations for each in station.services)


def rows_a_tile(grid: StudyGrid, fields: int, tile_bytes: int = TILE_BYTES) -> int:
    """Return how many rows of the grid a tile has, so that so many fields of it take ``tile_bytes``.

    At least one row, whatever it takes.

    Raises
    ------
    RangeError
        For less than one byte or one field.
    """
    for name, number in (("tile_bytes", tile_bytes), ("number of fields", fields)):
        if number < 1:
            raise RangeError(name, number, "1 or more")
    return min(max(tile_bytes // (fields * grid.columns * _FIELD_BYTES), 1), grid.rows)


def row_ranges(grid: StudyGrid, rows: int) -> list[tuple[int, int]]:
    """Return the rows of each tile, first to before last, from north to south."""
    return [(first, min(first + rows, grid.rows)) for first in range(0, grid.rows, rows)]


def tile_fields(
    tile: Tile, *, condition: int = 0, wanted: Sequence[int] | None = None
) -> npt.NDArray[np.float32]:
    """Read field strengths over a tile [dB(µV/m)].

    Parameters
    ----------
    tile
        The tile.
    condition
        Which of the conditions that were predicted.
    wanted
        Indices into ``tile.radiated``; all of them if not given.

    Returns
    -------
    float32 array (wanted, rows, columns)
        NaN where there is no prediction.

    Raises
    ------
    StoreError
        A file of fields that was removed meanwhile.
    """
    layers = tile.layers[condition]
    chosen = range(len(layers)) if wanted is None else wanted
    fields = np.empty((len(chosen), *tile.shape), dtype=np.float32)
    for place, index in enumerate(chosen):
        layer = layers[index]
        fields[place] = read_rows(layer.sealed, FIELD, layer.service, tile.first_row, tile.last_row)
        if layer.offset_db:
            fields[place] += np.float32(layer.offset_db)
    return fields


def tile_centres_m(tile: Tile) -> tuple[FloatArray, FloatArray]:
    """Return x (columns,) and y (rows,) of the tile's cell centres [m], as of the grid."""
    x, y = cell_centres_m(tile.grid)
    return x, y[tile.first_row : tile.last_row]
