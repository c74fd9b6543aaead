"""How far a raster of zones agrees with the zones that follow from the sea and the terrain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from combe.terrain import UNKNOWN, StudyGrid, ZoneRaster, cell_centres_m, to_lonlat_deg, zones_or_gaps
from combe.words import joined, tell

MUCH: Final = 0.05
"""Share of places in another zone from which on it is noted: our own choice. A coast that is drawn a cell or
two elsewhere is under it."""

_PLACES_A_SIDE: Final = 400


@dataclass(frozen=True)
class ZoneShare:
    """One zone of the raster: its name, how many places have it, and which share is derived as the same."""

    zone: str
    places: int
    same: float


@dataclass(frozen=True)
class ZoneAgreement:
    """Places on the grid at which both zones are known, and the share of them at which both are the same."""

    places: int
    same: float
    zones: tuple[ZoneShare, ...]


def zone_agreement(given: ZoneRaster, derived: ZoneRaster, grid: StudyGrid) -> ZoneAgreement | None:
    """Hold zones against derived ones at up to 400 x 400 places of a grid; None where no place has both.

    Raises
    ------
    RasterError, RangeError, TableError
        A raster or polygons that cannot be used, or a code that is no zone.
    """
    x, y = (each[:: max(each.size // _PLACES_A_SIDE, 1)] for each in cell_centres_m(grid))
    lon, lat = to_lonlat_deg(grid, *np.meshgrid(x, y))
    one, other = zones_or_gaps(given, lon, lat), zones_or_gaps(derived, lon, lat)
    known = (one != UNKNOWN) & (other != UNKNOWN)
    if not known.any():
        return None
    same = (one == other)[known]
    of_zone = {code: one[known] == code for code in given.names}
    return ZoneAgreement(
        int(known.sum()),
        float(same.mean()),
        tuple(
            ZoneShare(given.names[code], int(cells.sum()), float(same[cells].mean()))
            for code, cells in of_zone.items()
            if cells.any()
        ),
    )


def agreement_notes(found: ZoneAgreement | None) -> Iterator[str]:
    """Yield that a raster of zones differs much from what follows from the sea and the terrain."""
    if found is None or 1.0 - found.same < MUCH:
        return
    yield tell(
        "the raster of zones and the zones derived from the sea and the terrain differ in {share:.0%} of the "
        "study; of the raster, the same are: {zones}",
        share=1.0 - found.same,
        zones=joined(
            ", ", [tell("{zone} {same:.0%}", zone=each.zone, same=each.same) for each in found.zones]
        ),
    )
