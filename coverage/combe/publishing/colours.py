"""Colours of a map: classes of field strength, and the marks of what is served before and after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from combe.errors import RangeError

_BATLOW: Final = (
    (1, 25, 89), (11, 47, 93), (19, 69, 96), (35, 92, 96), (62, 108, 85), (93, 120, 68), (129, 130, 51),
    (170, 140, 47), (213, 148, 72), (244, 158, 113), (253, 172, 158), (253, 188, 204), (250, 204, 250),
)  # fmt: skip
"""Thirteen equally spaced colours of batlow (Fabio Crameri, Scientific colour maps, MIT licence,
doi:10.5281/zenodo.1243862), dark to light; colours between them are interpolated."""

RAMPS: Final = ("batlow", "viridis", "cividis")
"""Colour ramps to choose from: all keep their order in grey and for colour-blind eyes."""

CLASS_STEPS_DB: Final = (0.0, 6.0, 12.0, 20.0, 30.0)
"""Lower edge of each class of served field, in dB over the planning minimum (our own choice)."""

SHORT_STEP_DB: Final = -10.0
"""Lower edge of the class that just misses the minimum."""

SERVED_BEFORE: Final = "#a3cad0"
NEWLY_SERVED: Final = "#fdcd98"
NEWLY_SERVED_STRIPE: Final = "#ef9c48"
SHORT_OF_MINIMUM: Final = "#8d7b74"
MARK_COLOURS: Final = {
    "served before": "#14505c",
    "newly served": "#b4520f",
    "unserved": "#3b2230",
    "no prediction": "#6d6a64",
}
"""Blue against orange, told apart by every common colour vision; each mark has its own shape as well."""


def class_colours(ramp: str = "batlow", count: int = len(CLASS_STEPS_DB)) -> tuple[str, ...]:
    """Return ``count`` colours as ``#rrggbb``, from the weakest (light) to the strongest field (dark).

    Raises
    ------
    RangeError
        The ramp is not one of RAMPS.
    """
    return tuple(ramp_colour(ramp, float(place)) for place in np.linspace(0.9, 0.17, count))


def ramp_colour(ramp: str, place: float) -> str:
    """Return the colour of a ramp at ``place``, 0 (dark) to 1 (light), as ``#rrggbb``.

    Raises
    ------
    RangeError
        The ramp is not one of RAMPS.
    """
    if ramp not in RAMPS:
        raise RangeError("colour ramp", ramp, ", ".join(RAMPS))
    if ramp == "batlow":
        table = np.array(_BATLOW, dtype=np.float64)
        at = place * (len(table) - 1)
        return _hex([float(np.interp(at, np.arange(len(table)), table[:, band])) for band in range(3)])
    from matplotlib import colormaps

    return _hex([float(255 * part) for part in colormaps[ramp](place)[:3]])


def _hex(colour: Sequence[float]) -> str:
    """Return the colour as ``#rrggbb``."""
    return "#" + "".join(f"{round(part):02x}" for part in colour)
