"""Gathers the people of a study into places for a map, each with what the prediction says of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyproj

from combe.answers.network import Network
from combe.decibels import FloatArray
from combe.geodesy import turned
from combe.planning.people_count import newly_served
from combe.reception.service import predicted_mask, served_mask
from combe.terrain.grid import StudyGrid
from combe.terrain.people_raster import People, covered_fraction

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
    by_state = _people_by_state(people, grid, network)
    block = 1
    while np.count_nonzero(in_blocks(by_state, block).sum(axis=0)) > most:
        block += 1
    rows, columns = np.indices(people.counts.shape, dtype=np.float64)
    total = by_state.sum(axis=0)
    summed = in_blocks(np.stack([*by_state, total * (rows + 0.5), total * (columns + 0.5)]), block)
    counts = summed[: len(STATES)]
    heads = counts.sum(axis=0)
    inhabited = heads > 0.0
    down, across = summed[-2][inhabited] / heads[inhabited], summed[-1][inhabited] / heads[inhabited]
    lon, lat = _lonlat_deg(people, across, down)
    state = np.argmax(counts[:, inhabited], axis=0)
    rows_of = zip(turned(lon).tolist(), lat.tolist(), heads[inhabited].tolist(), state.tolist(), strict=True)
    return [PeoplePlace(x, y, head, STATES[index]) for x, y, head, index in rows_of]


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
