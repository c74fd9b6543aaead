"""Packs a grid of numbers into a short text that a page's script can unpack."""

from __future__ import annotations

import base64
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError

_MOST_STEPS: Final = 65_000

_LEVEL: Final = 7
"""Of zlib: 9 makes pages a fiftieth shorter in five times the time."""


@dataclass(frozen=True)
class StepGrid:
    """A grid in whole steps: value = (code − 1 + base) / steps_per_unit; code 0 is no value.

    ``codes`` has the grid's shape, 16 bits each.
    """

    codes: npt.NDArray[np.uint16]
    base: int
    steps_per_unit: int


def in_steps(values: npt.NDArray[np.floating], steps_per_unit: int) -> StepGrid:
    """Round values **down** to 1/steps_per_unit; NaN stays apart.

    Rounding down keeps a promise: what the page shows as over a threshold is over it.

    Raises
    ------
    RangeError
        The values span more steps than 16 bits can count.
    """
    exact = np.asarray(values, dtype=np.float64) * steps_per_unit
    known = np.isfinite(exact)
    steps = np.floor(np.where(known, exact, 0.0)).astype(np.int64)
    base, top = (int(steps[known].min()), int(steps[known].max())) if known.any() else (0, 0)
    if top - base > _MOST_STEPS:
        raise RangeError("span of a grid", f"{top - base} steps", f"up to {_MOST_STEPS}", "use coarser steps")
    return StepGrid(np.where(known, steps - base + 1, 0).astype(np.uint16), base, steps_per_unit)


def pack(grid: StepGrid, like: StepGrid | None = None) -> str:
    """Return the codes as base64 of a zlib stream.

    The stream holds two planes of bytes (low, high) of the zigzag differences of the codes from the cell to
    the left (in the first column, from the cell above). With ``like``, the codes of that grid are taken off
    first: fields of one station on neighbouring channels are nearly alike and pack to a third.
    """
    codes = grid.codes if like is None else grid.codes - like.codes
    before = np.zeros_like(codes)
    before[:, 1:] = codes[:, :-1]
    before[1:, 0] = codes[:-1, 0]
    difference = (codes - before).view(np.int16)
    folded = ((difference << 1) ^ (difference >> 15)).view(np.uint16)
    planes = np.stack([folded & 0xFF, folded >> 8]).astype(np.uint8)
    return base64.b64encode(zlib.compress(planes.tobytes(), _LEVEL)).decode("ascii")


def pack_alike(grids: Mapping[str, StepGrid]) -> list[dict[str, Any]]:
    """Pack grids of one shape for the page, each against the earlier one that it is most like, if any.

    Returns
    -------
    list of dict
        ``key, packed, base, steps_per_unit, like`` (a key further up in the list, or None), ready for JSON.
    """
    packed: list[dict[str, Any]] = []
    for key, grid in grids.items():
        like = _most_alike(grid, {one["key"]: grids[one["key"]] for one in packed})
        text = pack(grid, None if like is None else grids[like])
        steps = {"base": grid.base, "steps_per_unit": grid.steps_per_unit}
        packed.append({"key": key, "packed": text, **steps, "like": like})
    return packed


def _most_alike(grid: StepGrid, earlier: Mapping[str, StepGrid]) -> str | None:
    """Return the key of the grid whose difference needs the fewest bits, None when the grid alone does."""
    bits: dict[str | None, float] = {None: _bits(grid.codes)}
    bits.update((key, _bits(grid.codes - one.codes)) for key, one in earlier.items())
    return min(bits, key=lambda key: bits[key])


def _bits(codes: npt.NDArray[np.uint16]) -> float:
    """Estimate the bits of a row-wise difference from a part of the rows."""
    steps = np.diff(codes[::4], axis=1).view(np.int16).astype(np.float64)
    return float(np.log2(1.0 + np.abs(steps)).sum())


def pack_floats(values: npt.NDArray[np.floating]) -> str:
    """Return numbers as base64 of little-endian 32-bit floats."""
    return base64.b64encode(np.ascontiguousarray(values, dtype="<f4").tobytes()).decode("ascii")
