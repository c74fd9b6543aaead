"""Notes on what a study says and hardly any place has: things to look at again, never refusals.

The bounds are our own choice: well beyond what is usual, so that a note is worth reading.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.digits import spoken
from combe.project import PeopleGiven, PeopleSource
from combe.stations import Station
from combe.terrain import (
    People,
    StudyGrid,
    Terrain,
    cell_centres_m,
    in_grid,
    overlaps,
    points_in_grid,
    sample_heights,
    to_lonlat,
    to_lonlat_deg,
    transformer,
)
from combe.words import tell

HIGHEST_AERIAL_M: Final = 350.0
HIGHEST_GROUND_M: Final = 4800.0
"""Ground on which people live [m]; feet that were taken for metres come out over three times too high."""

DENSEST_PER_KM2: Final = 100_000.0
"""People per square kilometre of a whole cell, beyond the densest quarters of cities."""

DENSE_HALF_PER_KM2: Final = 10_000.0
"""The same for the median of all cells that have people: a raster of heights is as dense everywhere."""

FEWEST_CELLS_A_TILE_CELL: Final = 3.0
_KM_A_DEGREE: Final = 111.2
_SAMPLES_A_SIDE: Final = 100
_FEWEST_OUTSIDE: Final = 0.5
_FEWEST_COMPARED: Final = 20
_AS_HIGH: Final = 0.1
"""By how much of itself a height of the ground may differ from a count that was taken from it."""

MOST_OVERLAPS: Final = 3
"""Pairs of districts that overlap that are named; of more, only how many there are."""


def station_notes(stations: Sequence[Station], heights_m: Sequence[float | None]) -> Iterator[str]:
    """Yield what is unlikely of stations; ``heights_m`` is the ground under each."""
    by_name = {station.name: station for station in stations}
    for station, ground_m in zip(stations, heights_m, strict=True):
        if ground_m is not None and ground_m > HIGHEST_GROUND_M:
            yield tell(
                "the ground under {name} is {ground_m:.0f} m high; are the heights in feet?",
                name=station.name,
                ground_m=ground_m,
            )
        yield from _power_notes(station, by_name.get(station.parent or ""))
        yield from _turn_notes(station)


def aerial_notes(heights_m: Mapping[str, float]) -> Iterator[str]:
    """Yield which aerials stand higher than masts; ``heights_m`` above ground by what the aerial is."""
    for name, height_m in heights_m.items():
        if height_m > HIGHEST_AERIAL_M:
            yield (
                tell(
                    "the {name} stands {height_m:g} m above ground, higher than"
                    " nearly every mast; it is counted from the ground, not from the sea",
                    name=name,
                    height_m=height_m,
                )
            )


def _turn_notes(station: Station) -> Iterator[str]:
    """Yield what is turned of a pattern that the station has not, so that the turn changes nothing."""
    for plane, key in (("horizontal", "bearing_deg"), ("vertical", "tilt_deg")):
        turn_deg = getattr(station, key)
        # A full turn is none.
        if turn_deg % 360.0 and getattr(station, f"{plane}_pattern") is None:
            yield (
                tell(
                    "{key} {turn_deg:g} of {name} turns nothing, for {plane}_pattern is omni;"
                    " name a pattern, or take {key} out",
                    key=key,
                    turn_deg=turn_deg,
                    name=station.name,
                    plane=plane,
                )
            )


def _power_notes(relay: Station, parent: Station | None) -> Iterator[str]:
    """Yield the services that a relay radiates with more power than the station that it receives."""
    powers_w = {} if parent is None else {service.name: service.erp_w for service in parent.services}
    for service in relay.services:
        received_w = powers_w.get(service.name, math.inf)
        if service.erp_w > received_w and parent is not None:
            yield (
                tell(
                    "{name} radiates {name_2} with {erp_w:g} W ERP, its parent {name_3}"
                    " with {received_w:g} W; is the parent's in kilowatts?",
                    name=relay.name,
                    name_2=service.name,
                    erp_w=service.erp_w,
                    name_3=parent.name,
                    received_w=received_w,
                )
            )


def grid_notes(grid: StudyGrid, terrain: Terrain) -> Iterator[str]:
    """Yield whether the grid pretends to more detail than the terrain has."""
    if grid.cell_size_m * FEWEST_CELLS_A_TILE_CELL < terrain.cell_size_m:
        yield (
            tell(
                "the grid has cells of {cell_size_m:g} m and the terrain of {cell_size_m_2:.0f} m:"
                " heights between are interpolated, and the detail is not real",
                cell_size_m=grid.cell_size_m,
                cell_size_m_2=terrain.cell_size_m,
            )
        )
    highest_m = _highest_m(grid, terrain)
    if highest_m > HIGHEST_GROUND_M:
        yield tell(
            "the ground of the grid reaches {highest_m:.0f} m; are the heights in feet?", highest_m=highest_m
        )


def _highest_m(grid: StudyGrid, terrain: Terrain) -> float:
    """Return about the highest ground [m] of the grid, by samples over it; NaN without any."""
    rows, columns = (
        np.arange(0, count, max(1, count // _SAMPLES_A_SIDE)) for count in (grid.rows, grid.columns)
    )
    x, y = cell_centres_m(grid)
    lon, lat = to_lonlat_deg(grid, *np.meshgrid(x[columns], y[rows]))
    heights_m = sample_heights(terrain, lon.ravel(), lat.ravel())
    return float(np.fmax.reduce(heights_m, initial=math.nan))


def people_notes(
    source: PeopleSource, grid: StudyGrid, terrain: Terrain, given: PeopleGiven
) -> Iterator[str]:
    """Yield what is unlikely of the people, and who of them lives off the grid.

    ``given`` is what they were read from, of which only the part around the grid was read.
    """
    if source.points is not None:
        outside = points_in_grid(source.points, grid)[0] < 0
        if outside.any():
            yield (
                tell(
                    "{sum} people at {sum_2} places lie outside the grid and are not counted",
                    sum=spoken(float(source.points.people[outside].sum())),
                    sum_2=int(outside.sum()),
                )
            )
        return
    yield from _outside_notes(source.people, grid, given)
    yield from _density_notes(source)
    yield from _height_notes(source.people, terrain)


def _height_notes(people: People, terrain: Terrain) -> Iterator[str]:
    """Yield whether most cells hold as many people as the ground is high, cells too large to be dense too."""
    row, column = np.nonzero(people.counts)
    step = max(1, row.size // _SAMPLES_A_SIDE**2)
    row, column = row[::step], column[::step]
    wide, _, west, _, high, north = people.transform
    lon, lat = to_lonlat(people.crs, west + (column + 0.5) * wide, north + (row + 0.5) * high)
    there = np.isfinite(lon) & np.isfinite(lat)
    counts, heights_m = people.counts[row, column][there], sample_heights(terrain, lon[there], lat[there])
    known = np.isfinite(heights_m)
    alike = np.abs(counts - heights_m)[known] <= _AS_HIGH * np.abs(heights_m[known])
    if alike.size >= _FEWEST_COMPARED and alike.mean() > 0.5:
        yield "most cells with people hold as many as the ground there is high in metres: are these heights?"


def _outside_notes(people: People, grid: StudyGrid, given: PeopleGiven) -> Iterator[str]:
    """Yield how many people of a raster live in cells whose middle is off the grid."""
    name, total = given.everybody(people)
    if total is None:
        yield tell("{name} goes beyond the grid; who lives there is not counted", name=name)
        return
    row, column = np.nonzero(people.counts)
    wide, _, west, _, high, north = people.transform
    x_m, y_m = transformer(people.crs, grid.crs).transform(
        west + (column + 0.5) * wide, north + (row + 0.5) * high
    )
    inside = in_grid(grid, x_m, y_m)
    outside = total - float(people.counts[row[inside], column[inside]].sum())
    if outside >= _FEWEST_OUTSIDE:
        yield tell("about {outside} people lie outside the grid and are not counted", outside=spoken(outside))


def _density_notes(source: PeopleSource) -> Iterator[str]:
    """Yield whether the people live denser than anywhere."""
    density = _densities_per_km2(source.people)
    if density.size and float(np.median(density)) > DENSE_HALF_PER_KM2:
        yield (
            tell(
                "half of the cells with people hold more than {median} to the km²:"
                " does the raster hold heights, or people per km² in place of counts?",
                median=spoken(float(np.median(density))),
            )
        )
    elif density.size and float(density.max()) > DENSEST_PER_KM2:
        yield tell("a cell has {max} people per km², more than any city", max=spoken(float(density.max())))


def _densities_per_km2(people: People) -> FloatArray:
    """Return the people per square kilometre (n,) of the cells that have people."""
    wide, high, north = people.transform[0], people.transform[4], people.transform[5]
    rows = np.arange(people.counts.shape[0]) + 0.5
    unit_km2 = np.full(rows.size, 1e-6)
    if people.crs.is_geographic:
        unit_km2 = _KM_A_DEGREE**2 * np.cos(np.radians(north + rows * high))
    counted = people.counts > 0.0
    areas_km2 = abs(wide * high) * np.maximum(unit_km2, 1e-12)
    density: FloatArray = people.counts[counted] / np.broadcast_to(areas_km2[:, None], counted.shape)[counted]
    return density


def overlap_notes(source: PeopleSource) -> list[str]:
    """Say which districts claim the same place, the worst first."""
    if source.drawn is None:
        return []
    compared = overlaps(source.drawn)
    found = compared.pairs
    notes = [
        tell(
            "the districts {first} and {second} overlap by {share:.0%} of the smaller; "
            "who lives there counts for the first",
            first=each.first,
            second=each.second,
            share=each.share,
        )
        for each in found[:MOST_OVERLAPS]
    ]
    if len(found) > MOST_OVERLAPS:
        notes.append(tell("{found} more pairs of districts overlap", found=len(found) - MOST_OVERLAPS))
    if compared.not_compared:
        more = "" if compared.counted_all else "more than "
        notes.append(
            tell(
                "{more}{not_compared} further pairs of districts that may overlap were not compared:"
                " too many",
                more=more,
                not_compared=compared.not_compared,
            )
        )
    return notes
