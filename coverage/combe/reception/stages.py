"""The stages of a feed chain, from the aerial's terminals to the receiver: gain, noise and limits of each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

from combe.errors import RangeError, require_range
from combe.stations import require_choice, require_name

StageKind = Literal[
    "feeder", "masthead amplifier", "passive splitter", "active splitter", "attenuator", "channel filter",
    "receiver",
]  # fmt: skip

_RANGES: Final = {
    "gain_db": (-100.0, 100.0),
    "noise_figure_db": (0.0, 100.0),
    "rejection_db": (0.0, 150.0),
    "exponent": (0.0, 2.0),
}
_LIMIT_RANGE_DBM: Final = (-100.0, 60.0)
MOST_WAYS: Final = 64

FEEDER_EXPONENT: Final = 0.5
"""A feeder's loss grows about as the square root of the frequency: common practice, no source."""


@dataclass(frozen=True)
class Stage:
    """One stage of the chain; the functions of this file make each kind.

    Parameters
    ----------
    name : str
    kind : str
        One of :data:`StageKind`.
    gain_db : float
        Power gain [dB], negative for a loss, −100 to 100.
    noise_figure_db : float or None
        [dB]; None for a passive stage at T0, whose noise figure is its loss.
    input_limit_dbm, output_limit_dbm : float or None
        Greatest total power at its input or output [dBm]; None where it has no such limit.
    reference_mhz : float or None
        Where the gain holds [MHz]; elsewhere its decibels go as (f / reference)^``exponent``. None: all over.
    exponent : float
    passband_mhz : (float, float) or None
        Lower and upper edge [MHz]; outside it the gain is less by ``rejection_db``.
    rejection_db : float

    Raises
    ------
    RangeError
        Naming the stage and the field.
    """

    name: str
    kind: StageKind
    gain_db: float
    noise_figure_db: float | None = None
    input_limit_dbm: float | None = None
    output_limit_dbm: float | None = None
    reference_mhz: float | None = None
    exponent: float = 0.0
    passband_mhz: tuple[float, float] | None = None
    rejection_db: float = 0.0

    def __post_init__(self) -> None:
        require_name("name of a stage", self.name)
        of = f"of stage {self.name!r}"
        require_choice(f"kind {of}", self.kind, get_args(StageKind))
        for field, (low, high) in _RANGES.items():
            value = getattr(self, field)
            if value is not None:
                require_range(f"{field} {of}", value, low, high)
        _check_limits(self)
        _check_frequencies(self)
        if self.noise_figure_db is None and self.gain_db > 0.0:
            raise RangeError(f"gain_db {of}", self.gain_db, "0 or less without a noise figure")


def feeder(
    name: str, loss_db: float, *, at_mhz: float | None = None, exponent: float = FEEDER_EXPONENT
) -> Stage:
    """Return a feeder of ``loss_db`` [dB], at all frequencies or only at ``at_mhz`` [MHz].

    In the second case its decibels go as (f / ``at_mhz``)^``exponent``, as a feeder's do.
    """
    _require_loss(name, loss_db)
    return Stage(name, "feeder", -loss_db, reference_mhz=at_mhz, exponent=0.0 if at_mhz is None else exponent)


def passive_splitter(name: str, ways: int, *, excess_loss_db: float = 0.0) -> Stage:
    """Return a splitter into ``ways`` equal parts: the ideal division and its excess [dB].

    Examples
    --------
    >>> round(passive_splitter("splitter", 4, excess_loss_db=0.5).gain_db, 2)
    -6.52
    """
    _require_loss(name, excess_loss_db)
    return Stage(name, "passive splitter", -division_loss_db(ways) - excess_loss_db)


def active_splitter(
    name: str, *, gain_db: float, noise_figure_db: float, output_limit_dbm: float | None = None
) -> Stage:
    """Return a splitter with an amplifier; gain [dB] and limit [dBm] are from the input to one output."""
    return Stage(name, "active splitter", gain_db, noise_figure_db, output_limit_dbm=output_limit_dbm)


def masthead_amplifier(
    name: str, *, gain_db: float, noise_figure_db: float, output_limit_dbm: float | None = None
) -> Stage:
    """Return an amplifier at the aerial: gain and noise figure [dB], greatest total output [dBm]."""
    return Stage(name, "masthead amplifier", gain_db, noise_figure_db, output_limit_dbm=output_limit_dbm)


def attenuator(name: str, loss_db: float) -> Stage:
    """Return a resistive attenuator of ``loss_db`` [dB], the same at all frequencies."""
    _require_loss(name, loss_db)
    return Stage(name, "attenuator", -loss_db)


def channel_filter(
    name: str, loss_db: float, *, passband_mhz: tuple[float, float] | None = None, rejection_db: float = 0.0
) -> Stage:
    """Return a filter: its loss in the band [dB], and how much more it takes beyond the edges [MHz]."""
    _require_loss(name, loss_db)
    return Stage(name, "channel filter", -loss_db, passband_mhz=passband_mhz, rejection_db=rejection_db)


def receiver(
    name: str, *, noise_figure_db: float, input_limit_dbm: float | None = None, gain_db: float = 0.0
) -> Stage:
    """Return the receiver that ends the chain: noise figure [dB], greatest total input [dBm].

    With the gain left at 0 dB, levels behind it are those referred to its input.
    """
    return Stage(name, "receiver", gain_db, noise_figure_db, input_limit_dbm=input_limit_dbm)


def division_loss_db(ways: int) -> float:
    """Return the loss of ideal division into equal parts [dB]: 10 log ``ways``."""
    if not (isinstance(ways, int) and 1 <= ways <= MOST_WAYS):
        raise RangeError("ways of a splitter", ways, f"a whole number, 1 to {MOST_WAYS}")
    return 10.0 * math.log10(ways)


def stage_gain_db(stage: Stage, frequency_mhz: float) -> float:
    """Return the gain of a stage at a frequency [dB]."""
    gain_db = stage.gain_db
    if stage.reference_mhz is not None:
        # The decibels themselves grow so, with the root of the frequency where the skin of the conductors
        # loses most.
        gain_db *= (frequency_mhz / stage.reference_mhz) ** stage.exponent
    if stage.passband_mhz is None or stage.passband_mhz[0] <= frequency_mhz <= stage.passband_mhz[1]:
        return gain_db
    return gain_db - stage.rejection_db


def stage_noise_figure_db(stage: Stage, frequency_mhz: float) -> float:
    """Return the noise figure of a stage at a frequency [dB]: its own, or its loss when passive (at T0)."""
    if stage.noise_figure_db is not None:
        return stage.noise_figure_db
    return -stage_gain_db(stage, frequency_mhz)


def _require_loss(name: str, loss_db: float) -> None:
    require_range(f"loss_db of stage {name!r}", loss_db, 0.0, -_RANGES["gain_db"][0])


def _check_limits(stage: Stage) -> None:
    for field in ("input_limit_dbm", "output_limit_dbm"):
        value = getattr(stage, field)
        if value is not None:
            require_range(f"{field} of stage {stage.name!r}", value, *_LIMIT_RANGE_DBM)


def _check_frequencies(stage: Stage) -> None:
    of = f"of stage {stage.name!r}"
    if stage.reference_mhz is not None:
        require_range(f"reference_mhz {of}", stage.reference_mhz, 30.0, 3000.0)
    if stage.passband_mhz is not None:
        low, high = stage.passband_mhz
        if not 0.0 < low < high:
            raise RangeError(
                f"passband_mhz {of}", f"{low:g} to {high:g}", "a lower and a higher edge, over 0"
            )
