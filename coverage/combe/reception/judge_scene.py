"""The arrays that the kernels of judging share: emissions, one tile of fields, and the maps to be written.

Levels are natural logarithms of power (1 dB = ln(10)/10).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.reception.summing import SumSettings

FloatArray = npt.NDArray[np.float64]
Layers = npt.NDArray[np.float32]
Indices = npt.NDArray[np.int16]


class Scene(NamedTuple):
    """The emissions as the kernels see them; one entry each, and their partners one after the other.

    ``minimum``, ``sigma`` and ``load`` are levels; ``cut_db`` is how far under a minimum an interferer is
    left out; see :class:`combe.reception.emission.Partners` for the pairs.
    """

    x_m: FloatArray
    y_m: FloatArray
    minimum: FloatArray
    sigma: FloatArray
    load: FloatArray
    cut_db: FloatArray
    start: npt.NDArray[np.int64]
    partner: npt.NDArray[np.int64]
    tropospheric_db: FloatArray
    continuous_db: FloatArray
    crossed: npt.NDArray[np.bool_]
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


class Scratch(NamedTuple):
    """Room for the signals of one place."""

    means: FloatArray
    sigmas: FloatArray
    loads: FloatArray


class Maps(NamedTuple):
    """What is written for each cell, arrays (rows, columns); see the Judgement of judge_cells."""

    server: Indices
    second: Indices
    serving: Indices
    margin: Layers
    second_margin: Layers
    noise_margin: Layers
    usable: Layers
    share: Layers
    noise_share: Layers
    worst: Indices
    unknown: Indices
