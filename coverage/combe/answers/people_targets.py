"""The people of a study as places to be predicted one by one, put together where there are too many."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from combe.answers.people_places import in_blocks, lonlat_of_cells
from combe.decibels import FloatArray
from combe.prediction.area import Area
from combe.terrain.grid import in_grid, to_grid_m
from combe.terrain.people_raster import People
from combe.terrain.sampling import sample_heights

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
