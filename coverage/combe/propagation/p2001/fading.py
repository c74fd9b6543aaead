"""Clear air and rain together, for which share of time a fade is exceeded: ITU-R P.2001-4 §4.1 and §4.3."""

from __future__ import annotations

from typing import Final, NamedTuple

from combe.compiling import also_in_kernels
from combe.propagation.p2001.clear_air import scatter_chance_percent, surface_chance_percent
from combe.propagation.p2001.rain import Rain, joined_percent

NO_MULTIPATH: Final = -1.0
"""Stands for a leg of scatter, which has no fading in clear air."""


class Fading(NamedTuple):
    """What fades come of: near the surface, or with :data:`NO_MULTIPATH` on a leg of scatter."""

    multipath_percent: float
    rain: Rain


@also_in_kernels
def fading_percent(fade_db: float, fading: Fading) -> float:
    """Return for which percentage of time a fade [dB] is exceeded (4.1.3, 4.3.5)."""
    if fading.multipath_percent == NO_MULTIPATH:
        clear_air_percent = scatter_chance_percent(fade_db)
    else:
        clear_air_percent = surface_chance_percent(fade_db, fading.multipath_percent)
    return joined_percent(fade_db, fading.rain, clear_air_percent)
