"""The people of a project as places: for a map, to be predicted one by one, and those left unserved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import pyproj

from combe.answers.network import Network
from combe.decibels import FloatArray
from combe.geodesy import turned
from combe.planning import UnservedSettlement, group_cells, newly_served, units_of, unserved_settlements
from combe.prediction import Area
from combe.reception import predicted_mask, served_mask
from combe.terrain import (
    People,
    PeoplePoints,
    StudyGrid,
    area_mean,
    covered_fraction,
    in_grid,
    sample_heights,
    to_grid_m,
    values_at_points,
)

STATES: Final = ("served before", "newly served", "unserved", "no prediction")
"""What can be said of a place, in the order of the rows that :func:`_people_by_state` returns."""


@dataclass(frozen=True)
class PeoplePlace:
    """People of one or several population cells, at their centre of gravity, by the state of most."""

    longitude_deg: float
    latitude_deg: float
    people: float
    state: str


def people_places(
    people: People, grid: StudyGrid, network: Network, *, most: int = 1500
) -> list[PeoplePlace]:
    """Return at most ``most`` places with people inside the grid.

    Where there are more population cells with people, square blocks of them are put together.
    """
    return places_by_state(people, _people_by_state(people, grid, network), STATES, most)


def places_by_state(
    people: People, by_state: FloatArray, states: Sequence[str], most: int
) -> list[PeoplePlace]:
    """Return at most ``most`` places of people who are told by state (states, r, c), each that of most."""
    block = _block_of(by_state, most)
    rows, columns = np.indices(people.counts.shape, dtype=np.float64)
    total = by_state.sum(axis=0)
    summed = in_blocks(np.stack([*by_state, total * (rows + 0.5), total * (columns + 0.5)]), block)
    counts = summed[: len(states)]
    heads = counts.sum(axis=0)
    inhabited = heads > 0.0
    down, across = summed[-2][inhabited] / heads[inhabited], summed[-1][inhabited] / heads[inhabited]
    lon, lat = _lonlat_deg(people, across, down)
    state = np.argmax(counts[:, inhabited], axis=0)
    rows_of = zip(turned(lon).tolist(), lat.tolist(), heads[inhabited].tolist(), state.tolist(), strict=True)
    return [PeoplePlace(x, y, head, states[index]) for x, y, head, index in rows_of]


def _block_of(by_state: FloatArray, most: int) -> int:
    """Return the side of the smallest blocks of population cells of which at most ``most`` have people."""
    block = 1
    while np.count_nonzero(in_blocks(by_state, block).sum(axis=0)) > most:
        block += 1
    return block


def numbered_places(
    people: People, grid: StudyGrid, network: Network, *, most: int = 1500
) -> npt.NDArray[np.intp]:
    """Return for each population cell which of :func:`people_places` it belongs to; −1 for none."""
    by_state = _people_by_state(people, grid, network)
    block = _block_of(by_state, most)
    inhabited = in_blocks(by_state, block).sum(axis=0) > 0.0
    numbers = np.where(inhabited, np.cumsum(inhabited).reshape(inhabited.shape) - 1, -1)
    rows, columns = np.indices(people.counts.shape)
    found: npt.NDArray[np.intp] = numbers[rows // block, columns // block]
    return found


def lonlat_of_cells(people: People) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of the centre of each population cell, shape of the counts.

    Longitudes run on past 180 where the cells cross the antimeridian, so that they may be averaged.
    """
    rows, columns = np.indices(people.counts.shape, dtype=np.float64) + 0.5
    return _lonlat_deg(people, columns, rows)


def _people_by_state(people: People, grid: StudyGrid, network: Network) -> FloatArray:
    """Return people (states, r, c) of each population cell, split by the covered fractions."""
    inside = covered_fraction(np.ones((grid.rows, grid.columns), dtype=np.bool_), grid, people)
    served = covered_fraction(served_mask(network.margin_db, 0.0), grid, people)
    new = covered_fraction(newly_served(network.margin_db, network.margin_before_db), grid, people)
    known = covered_fraction(predicted_mask(network.margin_db), grid, people)
    fractions = np.stack([served - new, new, known - served, inside - known])
    return np.clip(fractions, 0.0, 1.0) * people.counts


def in_blocks(layers: FloatArray, block: int) -> FloatArray:
    """Return the sums over square blocks of cells of layers (n, r, c)."""
    count, rows, columns = layers.shape
    down, across = -rows % block, -columns % block
    padded = np.pad(layers, ((0, 0), (0, down), (0, across)))
    shape = (count, (rows + down) // block, block, (columns + across) // block, block)
    summed: FloatArray = padded.reshape(shape).sum(axis=(2, 4))
    return summed


def _lonlat_deg(people: People, column: FloatArray, row: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude [degrees] of places on the population raster, running on past 180."""
    a, b, c, d, e, f = people.transform
    x, y = a * column + b * row + c, d * column + e * row + f
    lon, lat = pyproj.Transformer.from_crs(people.crs, "EPSG:4326", always_xy=True).transform(x, y)
    lon = np.asarray(lon)
    known = lon[np.isfinite(lon)]
    return turned(lon, float(known[0])) if known.size else lon, np.asarray(lat)


MOST_TARGETS: Final = 4000
"""Places at most; where more population cells hold people, square blocks of them stand at their centre."""


class PeopleTargets(NamedTuple):
    """Places (n,) [degrees] with people on the grid; ``left_out`` are people on voids of the terrain."""

    longitude_deg: FloatArray
    latitude_deg: FloatArray
    people: FloatArray
    left_out: float


def people_targets(people: People, area: Area, most: int = MOST_TARGETS) -> PeopleTargets:
    """Return where people live, as at most so many places on the grid."""
    lon, lat = lonlat_of_cells(people)
    counts = np.where(in_grid(area.grid, *to_grid_m(area.grid, lon, lat)), people.counts, 0.0)
    block = 1
    while np.count_nonzero(in_blocks(counts[None], block)) > most:
        block += 1
    heads, east, north = in_blocks(np.stack([counts, counts * lon, counts * lat]), block)
    some = heads > 0.0
    places = east[some] / heads[some], north[some] / heads[some]
    known = ~np.isnan(sample_heights(area.terrain, *places)) & in_grid(
        area.grid, *to_grid_m(area.grid, *places)
    )
    return PeopleTargets(
        places[0][known], places[1][known], heads[some][known], float(heads[some][~known].sum())
    )


def unserved_of(
    network: Network, grid: StudyGrid, people: People, points: PeoplePoints | None
) -> tuple[UnservedSettlement, ...]:
    """List settlements with people who are known to be unserved, the most unserved people first.

    Parameters
    ----------
    network
        Of one service or of all, as counted.
    people, points
        With points each is a settlement of its own name; else those are groups of touching cells with people.
    """
    if points is not None:
        units = units_of(
            network.margin_db,
            points.people,
            points.longitude_deg,
            points.latitude_deg,
            lambda layer: values_at_points(layer, grid, points),
        )
        return unserved_settlements(units, names=points.names)
    lon, lat = lonlat_of_cells(people)
    carry = partial(area_mean, grid=grid, people=people)
    units = units_of(
        network.margin_db, people.counts, lon, lat, lambda layer: carry(layer.astype(np.float32))
    )
    return unserved_settlements(units, group_cells(people.counts))
