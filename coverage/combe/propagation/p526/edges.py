"""Chooses the knife edges of a terrain profile: the points a string stretched between the aerials touches.

The string runs over the effective Earth: heights are raised by the bulge c·x·(d − x), c = 500/ae, so that the
ray is straight. Its corners are the upper convex hull of the profile and lie above the line of sight. Corners
that follow each other closely are one obstacle, which stands as a single edge where the ray that comes in and
the ray that leaves would cross; the string keeps its straight pieces.

Where the line of sight is clear there is no corner. The point of largest ν is then the only edge, if it comes
near enough to the line to cost anything (P.526-16 §4.1: ν above −0.78).
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.propagation.p526.knife_edge import CLEAR_PARAMETER
from combe.propagation.summary import largest_fresnel

FloatArray = npt.NDArray[np.float64]

ONE_OBSTACLE_KM: Final = 0.25
"""Corners of the string no further apart are one obstacle (P.526-16 §4.4, from memory)."""


class Point(NamedTuple):
    """A point of the ray: distance [km] from the transmitter, height [m] with the Earth's bulge added."""

    distance_km: float
    height_m: float


class Way(NamedTuple):
    """The ray over the ground: the two aerials and the edges between them, in order."""

    tx: Point
    edges: tuple[Point, ...]
    rx: Point


def find_way(
    distance_km: FloatArray,
    height_m: FloatArray,
    tx_height_m: float,
    rx_height_m: float,
    curvature: float,
    wavelength: float,
) -> Way:
    """Return the ray over a profile.

    ``distance_km``, ``height_m`` (n,) ground above sea level; aerials above ground [m]; ``curvature`` 500/ae
    [m/km²]; ``wavelength`` [m].
    """
    tx = Point(0.0, float(height_m[0]) + tx_height_m)
    rx = Point(float(distance_km[-1]), float(height_m[-1]) + rx_height_m)
    bulged = height_m + curvature * distance_km * (rx.distance_km - distance_km)
    ground = [Point(float(x), float(y)) for x, y in zip(distance_km[1:-1], bulged[1:-1], strict=True)]
    corners = string_corners([tx, *ground, rx])
    if corners:
        return Way(tx, tuple(_obstacles(tx, corners, rx)), rx)
    # Without a corner the line is clear; the ground may still reach into the Fresnel zone.
    fresnel, index = largest_fresnel(distance_km, height_m, tx.height_m, rx.height_m, curvature)
    # Index 0 means that there was no point between the ends at all.
    near = index > 0 and fresnel * math.sqrt(0.002 / wavelength) > CLEAR_PARAMETER
    return Way(tx, (ground[index - 1],) if near else (), rx)


def string_corners(points: list[Point]) -> list[Point]:
    """Return the corners between the ends of a string stretched over the points from above."""
    string: list[Point] = []
    for point in points:
        # From left to right, a point under the line from the one before it to the next cannot touch the
        # string, and with it gone the one before may not either.
        while len(string) > 1 and not is_over(string[-2], string[-1], point):
            string.pop()
        string.append(point)
    return string[1:-1]


def is_over(left: Point, middle: Point, right: Point) -> bool:
    """Return whether the middle point lies above the line through the others, by more than rounding."""
    return height_over_line_m(left, middle, right) > 1e-9


def height_over_line_m(left: Point, middle: Point, right: Point) -> float:
    """Return the height [m] of the middle point over the line through the others."""
    share = (middle.distance_km - left.distance_km) / (right.distance_km - left.distance_km)
    return middle.height_m - left.height_m - share * (right.height_m - left.height_m)


def _obstacles(tx: Point, corners: list[Point], rx: Point) -> list[Point]:
    """Return one edge for each run of corners that follow each other closely."""
    runs: list[list[Point]] = []
    for corner in corners:
        if runs and corner.distance_km - runs[-1][-1].distance_km <= ONE_OBSTACLE_KM:
            runs[-1].append(corner)
        else:
            runs.append([corner])
    # The ray comes to an obstacle from the last corner of the one before, and leaves for the first of the
    # next.
    before = [tx, *(run[-1] for run in runs[:-1])]
    after = [*(run[0] for run in runs[1:]), rx]
    return [
        _crossing(left, run[0], run[-1], right) for left, run, right in zip(before, runs, after, strict=True)
    ]


def _crossing(left: Point, first: Point, last: Point, right: Point) -> Point:
    """Return where the ray from ``left`` over ``first`` meets the one from ``right`` over ``last``."""
    if first is last:
        return first
    rising = (first.height_m - left.height_m) / (first.distance_km - left.distance_km)
    falling = (right.height_m - last.height_m) / (right.distance_km - last.distance_km)
    # Both rays as heights over the first corner: rising·x = gap + falling·x, so x = gap/(rising - falling).
    gap_m = last.height_m - first.height_m - falling * (last.distance_km - first.distance_km)
    step_km = gap_m / (rising - falling)
    return Point(first.distance_km + step_km, first.height_m + rising * step_km)
