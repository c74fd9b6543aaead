"""The arrays that the kernels of judging share: emissions, one tile of fields, and the cells to be written.

Levels are natural logarithms of power (1 dB = ln(10)/10). Tables are arrays of records: a call between
kernels passes every array as seven words, so a few arrays of records cost much less than many of numbers.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.reception.summing import SumSettings

FloatArray = npt.NDArray[np.float64]
Layers = npt.NDArray[np.float32]
Indices = npt.NDArray[np.int16]
Records = npt.NDArray[Any]

EMISSION: Final = np.dtype(
    [
        ("x_m", "f8"),
        ("y_m", "f8"),
        ("minimum", "f8"),
        ("noise", "f8"),
        ("sigma", "f8"),
        ("load", "f8"),
        ("cut_db", "f8"),
        ("first_pair", "i8"),
        ("end_pair", "i8"),
    ]
)
"""An emission: place, levels (minimum, and noise beside interference), its scatter, how far under the noise
it is left out as an interferer, and its pairs."""

PAIR: Final = np.dtype(
    [("partner", "i8"), ("tropospheric_db", "f8"), ("continuous_db", "f8"), ("crossed", "?")]
)
"""An interferer of an emission; see :class:`combe.reception.emission.Partners`."""

HEARD: Final = np.dtype([("median", "f8"), ("at_time", "f8")])
"""Fields of an emission at a place [dB(µV/m)]; −inf when it is off air."""

CELL: Final = np.dtype(
    [
        ("server", "i2"),
        ("second", "i2"),
        ("serving", "i2"),
        ("worst", "i2"),
        ("unknown", "i2"),
        ("margin", "f4"),
        ("second_margin", "f4"),
        ("noise_margin", "f4"),
        ("usable", "f4"),
        ("share", "f4"),
        ("noise_share", "f4"),
    ]
)
"""What is written for a cell; see the Judgement of judge_cells."""


class Scene(NamedTuple):
    """Emissions, their pairs one after the other, the corners of the aerial, and the table of pair sums."""

    emissions: Records
    pairs: Records
    corners: FloatArray
    table: FloatArray


class Tile(NamedTuple):
    """Places and fields: x (columns,), y (rows,) [m]; fields [dB(µV/m)] (emissions, rows, columns)."""

    x_m: FloatArray
    y_m: FloatArray
    median: Layers
    at_time: Layers
    on_air: npt.NDArray[np.bool_]


class Share(NamedTuple):
    """The share of places to be served, as the factor μ of the normal distribution, and the way to sum."""

    factor: float
    summing: SumSettings


class Place(NamedTuple):
    """One cell: where it is [m], and what is heard there of every emission."""

    x_m: float
    y_m: float
    heard: Records
