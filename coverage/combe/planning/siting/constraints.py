"""Where a mast may stand: rules that a planner has, each with the number of hills that it leaves out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Rule:
    """One rule over the grid: where it allows a mast, shape (rows, columns), and its words."""

    words: str
    allows: Mask


@dataclass(frozen=True)
class Funnel:
    """The cells that all rules allow, and what each rule left of those before it."""

    allowed: Mask
    steps: tuple[tuple[str, int], ...]


def apply_rules(start: Mask, rules: Sequence[Rule]) -> Funnel:
    """Return what is left of some cells, rule by rule.

    Raises
    ------
    RangeError
        For a rule of another shape.
    """
    left, steps = start.copy(), []
    for rule in rules:
        if rule.allows.shape != start.shape:
            raise RangeError(f"shape of rule '{rule.words}'", rule.allows.shape, f"{start.shape}, the grid's")
        left &= rule.allows
        steps.append((rule.words, int(np.count_nonzero(left))))
    return Funnel(left, tuple(steps))


def height_above_valley_m(heights_m: FloatArray, cell_size_m: float, radius_m: float) -> FloatArray:
    """Return how far each cell is above the lowest ground within a square of ±``radius_m`` [m].

    NaN at voids; unknown ground around does not count.

    Raises
    ------
    RangeError
        For a radius outside 50 to 20 000 m.
    """
    from scipy.ndimage import minimum_filter

    require_range("valley_radius_m", radius_m, 50.0, 20_000.0)
    # Unknown ground is as high as can be, so that it is nowhere the valley.
    known = np.where(np.isnan(heights_m), np.inf, heights_m)
    reach = 2 * max(round(radius_m / cell_size_m), 1) + 1
    # Beyond the rim the ground goes on as it is there, so nothing outside is lower than what is known.
    lowest = minimum_filter(known, size=reach, mode="nearest")
    with np.errstate(invalid="ignore"):
        above: FloatArray = heights_m - lowest
    return above


def slope_deg(heights_m: FloatArray, cell_size_m: float) -> FloatArray:
    """Return the steepest slope of each cell [degrees] from its neighbours; NaN beside voids."""
    if min(heights_m.shape) < 2:
        return np.zeros(heights_m.shape)
    down, across = np.gradient(heights_m, cell_size_m)
    slope: FloatArray = np.degrees(np.arctan(np.hypot(down, across)))
    return slope


def away_from(
    rows: int, columns: int, places: Sequence[tuple[float, float]], cell_size_m: float, distance_m: float
) -> Mask:
    """Return which cells are at least ``distance_m`` from all places (row, column) [cells]."""
    row, column = np.arange(rows)[:, None], np.arange(columns)[None, :]
    free = np.ones((rows, columns), dtype=np.bool_)
    for at_row, at_column in places:
        free &= np.hypot(row - at_row, column - at_column) * cell_size_m >= distance_m
    return free


def site_cost(
    count: int, per_site: float, per_km: float, away_m: FloatArray | None
) -> tuple[FloatArray, bool]:
    """Return what each of ``count`` hills costs, and whether costs were given at all.

    Parameters
    ----------
    per_site, per_km
        Of a mast with its house, and of a kilometre of road or line to it, in any one currency.
    away_m
        Distance to the road or line of each hill (n,), None without a layer.

    Raises
    ------
    RangeError
        For costs per kilometre without a layer, or costs below 0, or none for the site.
    """
    if per_site == 0.0 and per_km == 0.0:
        return np.ones(count), False
    require_range("cost of a site", per_site, 0.0, 1e12)
    require_range("cost per km", per_km, 0.0, 1e12)
    if per_km > 0.0 and away_m is None:
        raise RangeError("cost per km", per_km, "0 without a layer of roads or lines", "name siting.access")
    if per_site <= 0.0:
        raise RangeError("cost of a site", per_site, "above 0 where costs are counted")
    road = np.zeros(count) if away_m is None else np.where(np.isfinite(away_m), away_m, 0.0)
    if away_m is not None and per_km > 0.0 and not np.isfinite(away_m).all():
        # No road on the grid: a hill that cannot be reached costs without end.
        road = np.where(np.isfinite(away_m), away_m, math.inf)
    return per_site + per_km * road / 1000.0, True
