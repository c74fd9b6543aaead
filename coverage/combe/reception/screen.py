"""What an analyser makes of signals: levels in its resolution bandwidth, its noise, the line that it shows.

Powers are means, as its detector for root mean squares shows them over many sweeps. A block of power P over a
bandwidth B stands at P − 10 log(B/RBW), a carrier at its own power.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from combe.decibels import FloatArray, db_from_ratio, power_sum_db, ratio_from_db, thermal_noise_dbm
from combe.errors import require_range

DIVISIONS: Final = 10
DIVISION_DB: Final = 10.0
"""Squares of the screen each way, and how much one is worth upwards: as is usual (common practice)."""

SPANS_MHZ: Final = (10.0, 20.0, 50.0, 100.0, 200.0, 300.0, 500.0, 1000.0)
ROOM: Final = 1.1
"""By how much the span is wider than what it has to show."""

POINTS: Final = 501
BAND_GAP_MHZ: Final = 120.0
"""Signals farther apart than this stand on screens of their own (our own choice)."""

_HEADROOM_DB: Final = 3.0


@dataclass(frozen=True)
class Analyser:
    """An analyser: its resolution bandwidth [kHz], 1 to 1000, and its noise figure [dB], 0 to 60.

    The usual values are common practice, no source: 100 kHz, and the noise of a portable one with some
    attenuation at its input.
    """

    resolution_khz: float = 100.0
    noise_figure_db: float = 25.0

    def __post_init__(self) -> None:
        require_range("resolution_khz of the analyser", self.resolution_khz, 1.0, 1000.0)
        require_range("noise_figure_db of the analyser", self.noise_figure_db, 0.0, 60.0)

    @property
    def resolution_mhz(self) -> float:
        """Resolution bandwidth [MHz]."""
        return self.resolution_khz / 1000.0

    @property
    def noise_dbm(self) -> float:
        """Its own noise in the resolution bandwidth: k·T0·B and the noise figure [dBm]."""
        return thermal_noise_dbm(self.resolution_mhz) + self.noise_figure_db


USUAL_ANALYSER: Final = Analyser()


class Shape(NamedTuple):
    """A carrier (width 0) or a block: its middle and width [MHz], and its power [dBm]."""

    frequency_mhz: float
    width_mhz: float
    power_dbm: float


class Screen(NamedTuple):
    """What the screen shows: its edges [MHz], its upper edge and its noise [dBm], and the line."""

    start_mhz: float
    stop_mhz: float
    reference_dbm: float
    noise_dbm: float
    frequency_mhz: tuple[float, ...]
    level_dbm: tuple[float, ...]


def shown_dbm(shape: Shape, analyser: Analyser) -> float:
    """Return at which level a shape stands on the screen [dBm].

    Examples
    --------
    >>> shown_dbm(Shape(482.0, 8.0, -30.0), Analyser(resolution_khz=80.0))
    -50.0
    """
    if shape.width_mhz <= analyser.resolution_mhz:
        return shape.power_dbm
    return shape.power_dbm - 10.0 * math.log10(shape.width_mhz / analyser.resolution_mhz)


def by_band(shapes: Sequence[Shape]) -> list[list[int]]:
    """Return the places of shapes by the screens on which they stand, from low to high frequencies."""
    order = sorted(range(len(shapes)), key=lambda at: shapes[at].frequency_mhz)
    groups: list[list[int]] = []
    for at in order:
        before = groups[-1][-1] if groups else None
        apart = None if before is None else shapes[at].frequency_mhz - shapes[before].frequency_mhz
        if apart is None or apart > BAND_GAP_MHZ:
            groups.append([])
        groups[-1].append(at)
    return groups


def screen_of(shapes: Sequence[Shape], analyser: Analyser, noise_dbm: float) -> Screen:
    """Return the screen on which shapes stand together, over noise in the resolution bandwidth [dBm]."""
    low = min(each.frequency_mhz - each.width_mhz / 2.0 for each in shapes)
    high = max(each.frequency_mhz + each.width_mhz / 2.0 for each in shapes)
    span = next((each for each in SPANS_MHZ if each >= ROOM * (high - low)), SPANS_MHZ[-1])
    round_mhz = 5.0 if span >= 100.0 else 1.0
    start = round((low + high) / 2.0 / round_mhz) * round_mhz - span / 2.0
    frequency = np.linspace(start, start + span, POINTS)
    level = _line_dbm(frequency, shapes, analyser, noise_dbm)
    reference = DIVISION_DB * math.ceil((float(level.max()) + _HEADROOM_DB) / DIVISION_DB)
    return Screen(start, start + span, reference, noise_dbm, tuple(frequency.tolist()), tuple(level.tolist()))


def _line_dbm(
    frequency_mhz: FloatArray, shapes: Sequence[Shape], analyser: Analyser, noise_dbm: float
) -> FloatArray:
    """Return the line: the sum of all powers that fall into the resolution bandwidth at each point."""
    step = float(frequency_mhz[1] - frequency_mhz[0])
    total = np.full(frequency_mhz.shape, ratio_from_db(noise_dbm))
    for shape in shapes:
        off = np.abs(frequency_mhz - shape.frequency_mhz)
        level = ratio_from_db(shown_dbm(shape, analyser))
        if shape.width_mhz > analyser.resolution_mhz:
            total += np.where(off <= shape.width_mhz / 2.0, level, 0.0)
            continue
        # A point stands for all frequencies about it; beyond these the filter falls off, as that of Gauss,
        # 3 dB down at half the resolution bandwidth.
        beyond = np.maximum(off - step / 2.0, 0.0)
        total += level * 0.5 ** ((2.0 * beyond / analyser.resolution_mhz) ** 2)
    found: FloatArray = db_from_ratio(total)
    return found


def noise_at_dbm(chain_dbm: float | None, analyser: Analyser) -> float:
    """Return the noise on the screen [dBm]: that of the chain there, if known, and the analyser's own."""
    return analyser.noise_dbm if chain_dbm is None else float(power_sum_db(chain_dbm, analyser.noise_dbm))
