"""A field map: the predicted field strength of one service over the study grid, with what made it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from combe.terrain.grid import StudyGrid


@dataclass(frozen=True)
class FieldMap:
    """Field strength [dB(µV/m)], shape (rows, columns), float32; NaN where there is no prediction."""

    station: str
    service: str
    channel: int
    frequency_mhz: float
    grid: StudyGrid
    field_dbuv_m: npt.NDArray[np.float32]
    receive_height_m: float
    sweep_s: float
    """Time [s] of the sweep that made it, shared by the services of one station."""
    provenance: Mapping[str, str] = field(default_factory=dict)

    @property
    def cells(self) -> int:
        """Number of cells with a prediction."""
        return int(np.isfinite(self.field_dbuv_m).sum())
