"""The output side of a relay: from the amplifier through losses and the aerial to the ERP of a service."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from combe.constants import DIPOLE_GAIN_DBI
from combe.decibels import dbw_from_watt, ratio_from_db
from combe.errors import RangeError, require_distinct, require_name, require_range

HIGHEST_AMPLIFIER_W: Final = 1e5
LOSS_RANGE_DB: Final = (0.0, 40.0)
GAIN_RANGE_DBD: Final = (-20.0, 30.0)


@dataclass(frozen=True)
class OutputStage:
    """A passive piece between amplifier and aerial: combiner, filter, feeder, connectors.

    Parameters
    ----------
    name : str
    loss_db : float
        At the service's frequency [dB], 0 to 40.
    """

    name: str
    loss_db: float

    def __post_init__(self) -> None:
        require_name("name of an output stage", self.name)
        require_range(f"loss_db of output stage {self.name!r}", self.loss_db, *LOSS_RANGE_DB)


@dataclass(frozen=True)
class OutputPoint:
    """The power at a place of the chain: at the amplifier, and behind each stage."""

    name: str
    loss_db: float
    """Of the stage before this place; 0 at the amplifier."""
    power_w: float
    power_dbm: float


@dataclass(frozen=True)
class OutputBudget:
    """The output of one service, item by item, in the order of the chain.

    Mean power for a digital service; power at peak sync for an analogue one.
    """

    service: str
    frequency_mhz: float
    points: tuple[OutputPoint, ...]
    total_loss_db: float
    aerial_input_w: float
    aerial_gain_dbd: float
    aerial_gain_dbi: float
    erp_w: float
    """Towards the maximum of the aerial's pattern."""
    erp_dbw: float
    eirp_w: float
    eirp_dbw: float


def output_budget(
    service: str,
    frequency_mhz: float,
    amplifier_w: float,
    stages: Sequence[OutputStage],
    aerial_gain_dbd: float,
) -> OutputBudget:
    """Follow the power of a service from its amplifier to the ERP.

    ERP [dBW] = amplifier [dBW] − Σ losses [dB] + gain [dBd]; e.i.r.p. is 2.15 dB more. Reflections are left
    out: every stage is taken as matched.

    Parameters
    ----------
    service : str
    frequency_mhz : float
        30 to 3000.
    amplifier_w : float
        Power of this service alone [W], over 0 to 100 000.
    stages : sequence of OutputStage
        In order from the amplifier; may be empty, names each once.
    aerial_gain_dbd : float
        Towards the pattern's maximum, harness included [dBd], −20 to 30.

    Raises
    ------
    RangeError
        Naming the field.

    Examples
    --------
    >>> budget = output_budget("Mux 1", 578.0, 10.0, [OutputStage("feeder", 1.0)], 11.0)
    >>> round(budget.erp_w, 3)
    100.0
    """
    require_name("name of a service", service)
    of = f"of service {service!r}"
    require_range(f"frequency_mhz {of}", frequency_mhz, 30.0, 3000.0)
    _require_power(f"amplifier_w {of}", amplifier_w)
    require_range(f"aerial_gain_dbd {of}", aerial_gain_dbd, *GAIN_RANGE_DBD)
    require_distinct(f"output stage {of}", (stage.name for stage in stages))
    points = _points(amplifier_w, stages)
    erp_dbw = dbw_from_watt(points[-1].power_w) + aerial_gain_dbd
    return OutputBudget(
        service=service,
        frequency_mhz=float(frequency_mhz),
        points=points,
        # Exactly rounded: the order of the stages does not show in the last digit.
        total_loss_db=math.fsum(stage.loss_db for stage in stages),
        aerial_input_w=points[-1].power_w,
        aerial_gain_dbd=float(aerial_gain_dbd),
        aerial_gain_dbi=aerial_gain_dbd + DIPOLE_GAIN_DBI,
        erp_w=ratio_from_db(erp_dbw),
        erp_dbw=erp_dbw,
        eirp_w=ratio_from_db(erp_dbw + DIPOLE_GAIN_DBI),
        eirp_dbw=erp_dbw + DIPOLE_GAIN_DBI,
    )


def amplifier_power_for_erp_w(erp_w: float, stages: Sequence[OutputStage], aerial_gain_dbd: float) -> float:
    """Return the amplifier power [W] that gives an ERP [W] through the stages; the budget turned round.

    Raises
    ------
    RangeError
        For an ERP that is not over 0 up to 10 MW, or a gain out of range.
    """
    require_range("aerial_gain_dbd", aerial_gain_dbd, *GAIN_RANGE_DBD)
    _require_power("erp_w", erp_w, 1e7)
    return erp_w * ratio_from_db(math.fsum(stage.loss_db for stage in stages) - aerial_gain_dbd)


def _points(amplifier_w: float, stages: Sequence[OutputStage]) -> tuple[OutputPoint, ...]:
    level_dbw = dbw_from_watt(float(amplifier_w))
    points = [_point("amplifier", 0.0, level_dbw)]
    for stage in stages:
        level_dbw -= stage.loss_db
        points.append(_point(f"behind {stage.name}", float(stage.loss_db), level_dbw))
    return tuple(points)


def _point(name: str, loss_db: float, level_dbw: float) -> OutputPoint:
    return OutputPoint(name, loss_db, ratio_from_db(level_dbw), level_dbw + 30.0)


def _require_power(field: str, power_w: float, highest_w: float = HIGHEST_AMPLIFIER_W) -> None:
    allowed = f"more than 0, up to {highest_w:g} W"
    try:
        require_range(field, power_w, 0.0, highest_w)
    except RangeError as error:
        raise RangeError(field, error.given, allowed) from None
    if power_w == 0.0:
        raise RangeError(field, power_w, allowed, "leave a silent service out")
