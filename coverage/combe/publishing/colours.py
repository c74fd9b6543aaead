"""Colours of a map: classes of field strength, marks of what is served, and the shaded relief."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

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
    "lost": "#a3455e",
}
"""Blue against orange, told apart by every common colour vision; each mark has its own shape as well."""

AREA_COLOURS: Final = {
    "served before": SERVED_BEFORE,
    "newly served": NEWLY_SERVED,
    "lost": "#a3455e",
    "unserved": "#d9d3cb",
    "no prediction": MARK_COLOURS["no prediction"],
    "served, before not known": "#d3d6ae",
}
"""Colours of areas by what is said of them: those of the map page, and of what only files tell apart."""

VERDICT_COLOURS: Final = {
    "passes": MARK_COLOURS["served before"],
    "fails": MARK_COLOURS["newly served"],
    "not judged": MARK_COLOURS["no prediction"],
}
"""Colours of feed paths; those that do not pass are dashed as well."""

GROUND_DARK: Final = "#686258"
GROUND_LIGHT: Final = "#fcf9f1"
GROUND_POWER: Final = 0.8
"""The relief of a map page runs from dark to light by its shading, 0 to 1, raised to this power."""

HILL_SHARES: Final = (0.0, 0.1, 0.25, 0.5, 0.75, 0.9)
"""Lower edge of each class of hills, as a share of the best one's worth (our own choice)."""

HILL_COLOURS: Final = ("#d3f09b", "#ffba1b", "#ec593f", "#a5437e", "#6f20a4", "#140a3c")
HILL_OF_NO_WORTH: Final = "#5f9bd3"
HILL_OPAQUE: Final = 217
"""Colours of the classes of hills, from the least worth (light) to the most (dark), of the hatching of those
of no worth, and how opaque they lie over the relief, of 255. Any two, each over the relief in any light, and
each beside bare relief in any light, are 10 or more apart by CIEDE2000 for eyes of all kinds (our own search;
``tests/publishing/test_colours.py`` works it out)."""

_GOLDEN: Final = 0.6180339887498949


def station_colours(count: int) -> tuple[str, ...]:
    """Return a colour for each of so many stations, neighbours in their order well apart.

    Steps of the golden ratio along the ramp never come near the one before, however many there are.
    """
    return tuple(ramp_colour("batlow", (0.15 + _GOLDEN * number) % 1.0) for number in range(count))


def rgb_of(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue, 0 to 255, of a colour as ``#rrggbb``.

    >>> rgb_of("#14505c")
    (20, 80, 92)
    """
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return red, green, blue


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


FloatArray = npt.NDArray[np.float64]

_LIGHTS: Final = ((315.0, 0.50), (270.0, 0.18), (0.0, 0.18), (225.0, 0.14))
"""Azimuth of each light [degrees from grid north] and its share; north-west leads, as map readers expect."""

_ALTITUDE_DEG: Final = 42.0


def hillshade(
    heights_m: npt.NDArray[np.floating], cell_size_m: float, *, exaggeration: float = 1.6
) -> npt.NDArray[np.uint8]:
    """Return the shading of a terrain: 1 (dark) to 255 (bright), 0 where the height is not known.

    Parameters
    ----------
    heights_m
        Heights [m], shape (rows, columns), row 0 north, NaN for voids.
    cell_size_m
        Side of a cell [m].
    exaggeration
        Factor on the slopes.

    Notes
    -----
    Lambert's cosine law on the central-difference slope, a weighted mean of four lights (our own choice).
    """
    heights = np.asarray(heights_m, dtype=np.float64)
    known = np.isfinite(heights)
    if not known.any():
        return np.zeros(heights.shape, dtype=np.uint8)
    # Voids are filled with the mean while slopes are worked out, so that no cliff down to 0 m casts a light.
    east, north = _slopes(np.where(known, heights, heights[known].mean()), cell_size_m)
    light = _light(east * exaggeration, north * exaggeration)
    return np.where(known, 1 + np.round(254 * np.clip(light, 0.0, 1.0)), 0).astype(np.uint8)


def _slopes(heights_m: FloatArray, cell_size_m: float) -> tuple[FloatArray, FloatArray]:
    """Return the rise per metre towards the east and towards the north."""
    padded = np.pad(heights_m, 1, mode="edge")
    east = (padded[1:-1, 2:] - padded[1:-1, :-2]) / (2 * cell_size_m)
    north = (padded[:-2, 1:-1] - padded[2:, 1:-1]) / (2 * cell_size_m)
    return east, north


def _light(east: FloatArray, north: FloatArray) -> FloatArray:
    """Return the light, 0 to 1, on a surface of the given slopes."""
    low, high = np.cos(np.radians(_ALTITUDE_DEG)), np.sin(np.radians(_ALTITUDE_DEG))
    length = np.sqrt(1.0 + east**2 + north**2)
    total = np.zeros_like(east)
    for azimuth_deg, share in _LIGHTS:
        towards_east, towards_north = np.sin(np.radians(azimuth_deg)), np.cos(np.radians(azimuth_deg))
        facing = high - low * (towards_east * east + towards_north * north)
        total += share * np.clip(facing / length, 0.0, 1.0)
    return total
