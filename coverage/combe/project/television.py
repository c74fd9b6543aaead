"""How a service is radiated and planned: its television system, its channels, the places to be served."""

from __future__ import annotations

from dataclasses import dataclass

from combe.errors import RangeError, require_range
from combe.standards import CHANNEL_RASTERS, TelevisionSystem


@dataclass(frozen=True)
class Television:
    """A television system in its mode with what the planning of a service goes by.

    Parameters
    ----------
    system : TelevisionSystem
    channel_raster : str
        Empty for that of the system.
    location_percent : float
        Places to be served [%], 50 to 99; 0 for what the system's planning serves.

    Raises
    ------
    RangeError
        Naming the value.
    """

    system: TelevisionSystem
    channel_raster: str = ""
    location_percent: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "channel_raster", self.channel_raster or self.system.channel_raster)
        percent = self.location_percent or self.system.location_percent
        object.__setattr__(self, "location_percent", percent)
        if self.channel_raster not in CHANNEL_RASTERS:
            raise RangeError("channel_raster", repr(self.channel_raster), ", ".join(CHANNEL_RASTERS))
        require_range("location_percent", self.location_percent, 50.0, 99.0)
