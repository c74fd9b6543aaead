"""The feed chain worked out: level, noise and headroom of every service at every point of it.

Noise of stages one behind another is that of Friis' formula. A waterfall is read from what is worked out: the
points in the order of the signal's way, with what is lost from each to the next. The noise that the aerial
collects is that of T0 = 290 K, as planning at UHF has it, or so much more as each signal says.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Final, NamedTuple

from combe.decibels import (
    db_from_ratio,
    dbuv_from_dbm,
    power_sum_db,
    ratio_from_db,
    thermal_noise_dbm,
)
from combe.errors import RangeError, require_range
from combe.reception.stages import Stage, stage_gain_db, stage_noise_figure_db
from combe.stations import LONGEST_SIGNAL_NAME, require_distinct, require_name


class NoisyGain(NamedTuple):
    """Gain and noise figure of a stage, or of several together [dB]."""

    gain_db: float
    noise_figure_db: float


NOTHING: Final = NoisyGain(0.0, 0.0)
"""A plain connection: no gain, no noise."""


def passive(loss_db: float) -> NoisyGain:
    """Return a passive stage at T0 = 290 K: its noise figure is its loss [dB]."""
    # At T0 a passive piece lets out as much noise as comes in, and the signal is less by its loss: that is F
    # = L.
    return NoisyGain(-loss_db, loss_db)


def behind(first: NoisyGain, second: NoisyGain) -> NoisyGain:
    """Return two stages as one: F = F1 + (F2 − 1)/G1.

    Examples
    --------
    >>> round(behind(NoisyGain(20.0, 2.0), passive(7.0)).noise_figure_db, 3)
    2.109
    """
    # What a stage adds counts at the input of the chain, so the gain before it divides it.
    factor = (
        ratio_from_db(first.noise_figure_db)
        + (ratio_from_db(second.noise_figure_db) - 1.0) / ratio_from_db(first.gain_db)
    )  # fmt: skip
    return NoisyGain(first.gain_db + second.gain_db, db_from_ratio(factor))


def cascade_noise(stages: Iterable[NoisyGain]) -> NoisyGain:
    """Return a chain of stages as one, in the order of the signal's way; nothing for an empty chain.

    Examples
    --------
    >>> round(cascade_noise([passive(3.0), passive(4.0), NoisyGain(0.0, 6.0)]).noise_figure_db, 2)
    13.0
    """
    return reduce(behind, stages, NOTHING)


AERIAL_POINT: Final = "aerial terminals"
"""Name of the first point of every chain."""


@dataclass(frozen=True)
class FeedSignal:
    """One signal at the terminals of the receive aerial.

    Parameters
    ----------
    name : str
    frequency_mhz : float
        Centre of a digital channel, vision carrier of an analogue one [MHz], 30 to 3000.
    level_dbm : float
        Mean power of a digital signal, power at peak sync of an analogue one [dBm], −200 to 60.
    bandwidth_mhz : float
        In which its noise counts [MHz], 0.1 to 20.
    external_noise_db : float
        Noise that the aerial collects there, over kT0B [dB], 0 to 100.

    Raises
    ------
    RangeError
        Naming the signal and the field.
    """

    name: str
    frequency_mhz: float
    level_dbm: float
    bandwidth_mhz: float
    external_noise_db: float = 0.0

    def __post_init__(self) -> None:
        require_name("name of a feed signal", self.name, LONGEST_SIGNAL_NAME)
        of = f"of feed signal {self.name!r}"
        require_range(f"frequency_mhz {of}", self.frequency_mhz, 30.0, 3000.0)
        require_range(f"level_dbm {of}", self.level_dbm, -200.0, 60.0)
        require_range(f"bandwidth_mhz {of}", self.bandwidth_mhz, 0.1, 20.0)
        require_range(f"external_noise_db {of}", self.external_noise_db, 0.0, 100.0)


class ServiceLevel(NamedTuple):
    """One service at one point.

    ``step_db`` is the gain of the stage just passed (negative for a loss), ``gain_db`` and
    ``noise_figure_db`` are those from the aerial's terminals to here, ``noise_step_db`` is how much C/N the
    stage cost.
    """

    point: str
    service: str
    step_db: float
    gain_db: float
    level_dbm: float
    level_dbuv_50: float
    level_dbuv_75: float
    noise_dbm: float
    noise_figure_db: float
    carrier_to_noise_db: float
    noise_step_db: float


class PointLoad(NamedTuple):
    """All services together at one point.

    ``strongest`` is the signal with most power there. ``limit_dbm`` is the tightest limit there, the output
    limit of the stage before or the input limit of the stage behind, ``limited_by`` the stage's name; both
    and ``headroom_db`` are None where there is none.
    """

    point: str
    total_dbm: float
    strongest: str
    limit_dbm: float | None
    limited_by: str | None
    headroom_db: float | None


@dataclass(frozen=True)
class Cascade:
    """A chain worked out: ``levels[i][j]`` is service j at point i, ``loads[i]`` all of them there."""

    points: tuple[str, ...]
    services: tuple[str, ...]
    levels: tuple[tuple[ServiceLevel, ...], ...]
    loads: tuple[PointLoad, ...]


def work_out(
    stages: Sequence[Stage], signals: Sequence[FeedSignal], *, others: Sequence[FeedSignal] = ()
) -> Cascade:
    """Work out a chain for all its services.

    Parameters
    ----------
    stages : sequence of Stage, (n,)
        In the order of the signal's way, the receiver last; at least one, names each once.
    signals : sequence of FeedSignal, (m,)
        The services at the aerial's terminals; at least one, names each once.
    others : sequence of FeedSignal
        What else is on the aerial (other stations, the relay's own output); it loads the stages only.

    Returns
    -------
    Cascade
        With n + 1 points: the aerial's terminals, and behind each stage.

    Raises
    ------
    RangeError
        For an empty chain, no service, a name that comes twice, or a receiver that is not the last stage.
    """
    _check_chain(stages, signals)
    points = (AERIAL_POINT, *(stage.name for stage in stages))
    by_service = [_levels_of(signal, stages) for signal in signals]
    carried = [*by_service, *(_levels_of(signal, stages) for signal in others)]
    return Cascade(
        points=points,
        services=tuple(signal.name for signal in signals),
        levels=tuple(zip(*by_service, strict=True)),
        loads=tuple(_load_at(index, stages, carried) for index in range(len(points))),
    )


def waterfall(cascade: Cascade, service: str) -> tuple[ServiceLevel, ...]:
    """Return one service at all points in order, or raise :class:`RangeError` naming the services."""
    if service not in cascade.services:
        raise RangeError("service of the cascade", repr(service), ", ".join(cascade.services))
    column = cascade.services.index(service)
    return tuple(row[column] for row in cascade.levels)


def receiver_input(cascade: Cascade, service: str) -> ServiceLevel:
    """Return one service at the input of the last stage, without that stage's own noise."""
    # The receiver is the last stage, and the point before it is its input.
    return waterfall(cascade, service)[-2]


def chain_quality(cascade: Cascade, service: str) -> ServiceLevel:
    """Return one service behind the last stage: its C/N is that of the whole chain."""
    return waterfall(cascade, service)[-1]


def least_headroom(cascade: Cascade) -> PointLoad | None:
    """Return the point nearest to overload, or None when no stage has a limit."""
    limited = [(load.headroom_db, load) for load in cascade.loads if load.headroom_db is not None]
    return min(limited, key=lambda pair: pair[0])[1] if limited else None


def noisiest_stage(cascade: Cascade, service: str) -> ServiceLevel:
    """Return the point behind the stage that costs a service most C/N."""
    return max(waterfall(cascade, service), key=lambda row: row.noise_step_db)


def _levels_of(signal: FeedSignal, stages: Sequence[Stage]) -> tuple[ServiceLevel, ...]:
    parts = [
        NoisyGain(
            stage_gain_db(stage, signal.frequency_mhz), stage_noise_figure_db(stage, signal.frequency_mhz)
        )
        for stage in stages
    ]
    # The aerial is the first stage: of no gain, and as noisy as its surroundings are over T0.
    aerial = NoisyGain(0.0, signal.external_noise_db)
    sums = list(itertools.accumulate(parts, behind, initial=aerial))
    names = (AERIAL_POINT, *(stage.name for stage in stages))
    befores = (NOTHING, *sums)
    return tuple(
        _level(name, signal, so_far, before)
        for name, so_far, before in zip(names, sums, befores[:-1], strict=True)
    )


def _level(point: str, signal: FeedSignal, so_far: NoisyGain, before: NoisyGain) -> ServiceLevel:
    level_dbm = signal.level_dbm + so_far.gain_db
    # k·T0·B at the aerial, carried along with the gain, and F times as much by what the stages have added.
    noise_dbm = thermal_noise_dbm(signal.bandwidth_mhz) + so_far.gain_db + so_far.noise_figure_db
    return ServiceLevel(
        point=point,
        service=signal.name,
        step_db=so_far.gain_db - before.gain_db,
        gain_db=so_far.gain_db,
        level_dbm=level_dbm,
        level_dbuv_50=dbuv_from_dbm(level_dbm, 50.0),
        level_dbuv_75=dbuv_from_dbm(level_dbm, 75.0),
        noise_dbm=noise_dbm,
        noise_figure_db=so_far.noise_figure_db,
        carrier_to_noise_db=level_dbm - noise_dbm,
        noise_step_db=so_far.noise_figure_db - before.noise_figure_db,
    )


def _load_at(index: int, stages: Sequence[Stage], carried: Sequence[tuple[ServiceLevel, ...]]) -> PointLoad:
    total_dbm = power_sum_db(*(rows[index].level_dbm for rows in carried))
    point = carried[0][index].point
    strongest = max((rows[index] for rows in carried), key=lambda row: row.level_dbm).service
    limit_dbm, name = _limit_at(index, stages)
    if limit_dbm is None:
        return PointLoad(point, total_dbm, strongest, None, None, None)
    return PointLoad(point, total_dbm, strongest, limit_dbm, name, limit_dbm - total_dbm)


def _limit_at(index: int, stages: Sequence[Stage]) -> tuple[float | None, str | None]:
    """Give the lower of the output limit before the point and the input limit behind it."""
    limits = []
    if index > 0:
        limits.append((stages[index - 1].output_limit_dbm, stages[index - 1].name))
    if index < len(stages):
        limits.append((stages[index].input_limit_dbm, stages[index].name))
    known = [(limit, name) for limit, name in limits if limit is not None]
    return min(known) if known else (None, None)


def _check_chain(stages: Sequence[Stage], signals: Sequence[FeedSignal]) -> None:
    if not stages:
        raise RangeError("number of stages of the feed chain", 0, "at least the receiver")
    if not signals:
        raise RangeError("number of services in the feed chain", 0, "at least one")
    require_distinct("stage name of the feed chain", (AERIAL_POINT, *(stage.name for stage in stages)))
    require_distinct("service name in the feed chain", (signal.name for signal in signals))
    early = [stage.name for stage in stages[:-1] if stage.kind == "receiver"]
    if early or stages[-1].kind != "receiver":
        last = repr((early or [stages[-1].name])[0])
        advice = "list the stages from the aerial to one receiver"
        raise RangeError("last stage of the feed chain", last, "the receiver", advice)
