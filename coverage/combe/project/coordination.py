"""Where, at what height and for what time an agreement with a neighbour asks for the field of stations."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from combe.errors import RangeError, require_range
from combe.project.given import Given
from combe.standards import TriggerBand
from combe.terrain import Features, PlaceAlong, places_along

TIME_RANGE_PERCENT: Final = (1.0, 50.0)
HEIGHT_RANGE_M: Final = (1.0, 3000.0)


@dataclass(frozen=True)
class Coordination:
    """Test points or a border, and the field asked for there.

    Parameters
    ----------
    layers : tuple of Given[Features]
        Points, lines and polygons, whose outlines count; read when asked.
    places_deg : tuple of (longitude, latitude)
        Further places [degrees].
    spacing_km : float
        From one place of a line to the next [km].
    time_percent : float
        Time for which the field is exceeded [%], 1 to 50.
    height_m : float
        Of the receiving aerial above ground [m].
    triggers : tuple of TriggerBand
        Values over which coordination is asked for; without them fields are told and held against nothing.
    stations : tuple of str
        Names of the stations meant; all where there is none.

    Raises
    ------
    RangeError
        A number out of range, nothing to ask at, or bands that overlap.
    """

    layers: tuple[Given[Features], ...] = ()
    places_deg: tuple[tuple[float, float], ...] = ()
    spacing_km: float = 1.0
    time_percent: float = 1.0
    height_m: float = 10.0
    triggers: tuple[TriggerBand, ...] = ()
    stations: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require_range("spacing_km", self.spacing_km, 0.01, 100.0)
        require_range("time_percent of coordination", self.time_percent, *TIME_RANGE_PERCENT)
        require_range("height_m of coordination", self.height_m, *HEIGHT_RANGE_M)
        for longitude_deg, latitude_deg in self.places_deg:
            require_range("longitude_deg of a place", longitude_deg, -180.0, 180.0)
            require_range("latitude_deg of a place", latitude_deg, -90.0, 90.0)
        if not self.layers and not self.places_deg:
            raise RangeError("places of coordination", "none", "a layer of points or lines, or places")
        _require_apart(self.triggers)

    def places(self) -> tuple[PlaceAlong, ...]:
        """Return every place at which the field is asked for, in the order given.

        Raises
        ------
        TableError, RangeError
            A layer that cannot be read; more places than are allowed.
        """
        own = tuple(PlaceAlong(f"{lon:.5f}, {lat:.5f}", lon, lat) for lon, lat in self.places_deg)
        drawn = (places_along(each.read(), self.spacing_km, _stem(each.name)) for each in self.layers)
        return (*own, *(place for layer in drawn for place in layer))


def of_stations(asked: Coordination | None, names: Collection[str]) -> Coordination | None:
    """Return what is asked of the stations that are left; None where none of those meant is."""
    if asked is None or not asked.stations:
        return asked
    there = {name.casefold() for name in names}
    left = tuple(name for name in asked.stations if name.casefold() in there)
    return replace(asked, stations=left) if left else None


def _stem(name: str) -> str:
    """Return the name of a file without folder and ending."""
    return name.replace("\\", "/").rpartition("/")[2].partition(".")[0]


def _require_apart(bands: Sequence[TriggerBand]) -> None:
    """Raise RangeError where a frequency would have two triggers."""
    for band, after in pairwise(sorted(bands, key=lambda each: each.from_mhz)):
        if after.from_mhz < band.to_mhz:
            given = f"{band.from_mhz:g} to {band.to_mhz:g} and {after.from_mhz:g} to {after.to_mhz:g} MHz"
            raise RangeError("bands of triggers", given, "bands that do not overlap")
