"""Lists the settlements that a coverage leaves unserved, with their size and what they are short of."""

from __future__ import annotations

from functools import partial

import numpy as np

from combe.answers.network import Network
from combe.answers.people_places import lonlat_of_cells
from combe.planning.settlements import UnservedSettlement, group_cells, units_of, unserved_settlements
from combe.terrain.grid import StudyGrid
from combe.terrain.people_points import PeoplePoints, values_at_points
from combe.terrain.people_raster import People, area_mean


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
