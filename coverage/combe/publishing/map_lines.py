"""Points, lines and areas of a map page: by kind, with names, packed into a short text.

Their places come in metres of the study grid's own system. The page holds them in eighths of a pixel of its
lattice, as the differences from one corner to the next: most take one byte or two.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.geodesy import turned
from combe.publishing.map_grid import EARTH_TURN_M, MercatorLattice, to_mercator_m
from combe.publishing.text import plain

if TYPE_CHECKING:
    from combe.terrain import StudyGrid

Places = npt.NDArray[np.float64]

CONTEXT_MARKS: Final = ("place", "road", "water", "border", "other")
FORMS: Final = ("point", "line", "area")
STEPS_A_PIXEL: Final = 8


@dataclass(frozen=True)
class ShapeMark:
    """What is drawn in one stroke: its name, and its parts (n, 2) [m of the grid's system]."""

    name: str
    form: Literal["point", "line", "area"]
    parts: tuple[Places, ...]


@dataclass(frozen=True)
class ContextMarks:
    """Places, roads, waters, borders or others of one source, the most important first."""

    kind: str
    shapes: tuple[ShapeMark, ...]

    def __post_init__(self) -> None:
        """Check the kind."""
        if self.kind not in CONTEXT_MARKS:
            raise RangeError("kind of context", repr(self.kind), ", ".join(CONTEXT_MARKS))


@dataclass(frozen=True)
class ContourLevel:
    """The contour lines at one height [m]; ``index`` ones are stronger and bear it."""

    height_m: float
    index: bool
    lines: tuple[Places, ...]


@dataclass(frozen=True)
class ContourMarks:
    """The contour lines of a map, ``interval_m`` apart."""

    interval_m: float
    levels: tuple[ContourLevel, ...]


def context_data(
    layers: Sequence[ContextMarks], grid: StudyGrid, lattice: MercatorLattice
) -> list[dict[str, Any]]:
    """Return layers of context for the page's script."""
    return [
        {
            "kind": each.kind,
            "shapes": [
                [plain(shape.name), FORMS.index(shape.form), len(shape.parts)] for shape in each.shapes
            ],
            "packed": pack_lines((part for shape in each.shapes for part in shape.parts), grid, lattice),
        }
        for each in layers
    ]


def contour_data(
    contours: ContourMarks | None, grid: StudyGrid, lattice: MercatorLattice
) -> dict[str, Any] | None:
    """Return contour lines for the page's script; None without any."""
    if contours is None or not contours.levels:
        return None
    return {
        "interval_m": contours.interval_m,
        "levels": [[level.height_m, level.index, len(level.lines)] for level in contours.levels],
        "packed": pack_lines((line for level in contours.levels for line in level.lines), grid, lattice),
    }


def pack_lines(lines: Iterable[Places], grid: StudyGrid, lattice: MercatorLattice) -> str:
    """Return lines as base64 of numbers: of each its corners, then the steps from corner to corner.

    Numbers are zigzag (0, −1, 1, −2 … as 0, 1, 2, 3 …) in groups of seven bits, the lowest first, with the
    eighth bit set on all groups but the last. The first corner counts from the lattice's north-west.
    """
    numbers = [np.empty(0, dtype=np.int64)]
    for line in lines:
        corners = _in_steps(line, grid, lattice)
        steps = np.diff(corners, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
        numbers += [np.array([len(line)], dtype=np.int64), steps.ravel()]
    folded = np.concatenate(numbers)
    return base64.b64encode(_in_sevens((folded << 1) ^ (folded >> 63))).decode("ascii")


def _in_steps(line: Places, grid: StudyGrid, lattice: MercatorLattice) -> npt.NDArray[np.int64]:
    """Return places as whole steps of the lattice from its north-west corner, (n, 2)."""
    x_m, y_m = to_mercator_m(grid, line[:, 0], line[:, 1])
    middle_m = lattice.west_m + 0.5 * lattice.columns * lattice.pixel_m
    # On a map across the antimeridian a place may come out a turn away.
    right = turned(x_m, middle_m, EARTH_TURN_M) - lattice.west_m
    steps = np.column_stack([right, lattice.north_m - y_m]) * (STEPS_A_PIXEL / lattice.pixel_m)
    return np.round(steps).astype(np.int64)


def _in_sevens(numbers: npt.NDArray[np.int64]) -> bytes:
    """Return numbers of 0 or more in groups of seven bits."""
    groups = [numbers & 0x7F]
    more = [numbers >> 7]
    while more[-1].any():
        groups.append(more[-1] & 0x7F)
        more.append(more[-1] >> 7)
    table = np.stack(groups, axis=1)
    further = np.stack(more, axis=1) > 0
    used = np.concatenate([np.ones((len(numbers), 1), dtype=np.bool_), further[:, :-1]], axis=1)
    return bytes((table | np.where(further, 0x80, 0)).astype(np.uint8)[used])
