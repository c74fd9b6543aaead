"""Other stations on the receive aerial: protection ratios, over time, and where to turn the aerial.

Stations on the channel and next to it are held against their protection ratios. The aerial that protects best
does not always look at the parent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.decibels import power_sum_db
from combe.errors import RangeError, require_range
from combe.reception.protection_ratios import Channel, Protection, channel_relation, protection
from combe.reception.receive_aerial import Polarization, ReceiveAerial, discrimination_db
from combe.standards import (
    NO_OFFSET,
    CarrierOffset,
    ChannelStep,
    SignalKind,
    TimeKind,
    describe,
)
from combe.stations import require_name
from combe.words import tell

_FIELDS_DBUV_M: Final = (-200.0, 200.0)
_ROUNDING_DB: Final = 1e-9

WantedAt = Literal["median", "fade"]
"""What of the wanted signal an unwanted one is held against."""


@dataclass(frozen=True)
class WantedSignal:
    """A service of the parent at the receive aerial.

    Parameters
    ----------
    name : str
    channel : Channel
    bearing_deg : float
        From the aerial to the parent [degrees from true north].
    polarization : {"horizontal", "vertical"}
    field_dbuv_m : float
        To be protected, usually the median [dB(µV/m)].
    required_cn_db : float
        Of its mode [dB]; the ratio against another digital signal of its own kind on the same channel.
    carrier : CarrierOffset
        Of its vision carrier, when it is analogue.
    signal_to_noise_db : float
        Of the receiver without other stations [dB], median of time, by which the co-channel ratio of ATSC
        goes; NaN where it is not known, and then the greatest ratio is taken.
    fade_db : float
        How far it falls under that field in the fade that is judged [dB].
    """

    name: str
    channel: Channel
    bearing_deg: float
    polarization: Polarization
    field_dbuv_m: float
    required_cn_db: float
    carrier: CarrierOffset = NO_OFFSET
    signal_to_noise_db: float = math.nan
    fade_db: float = 0.0

    def __post_init__(self) -> None:
        require_name("name of a wanted signal", self.name)
        require_range(f"fade_db of {self.name!r}", self.fade_db, 0.0, 100.0)
        require_range(f"field_dbuv_m of {self.name!r}", self.field_dbuv_m, *_FIELDS_DBUV_M)
        require_range(f"required_cn_db of {self.name!r}", self.required_cn_db, -10.0, 60.0)


@dataclass(frozen=True)
class UnwantedSignal:
    """A service of another station at the receive aerial.

    Parameters
    ----------
    station, service : str
    channel : Channel
    bearing_deg : float
        From the aerial to the station [degrees from true north].
    polarization : {"horizontal", "vertical"}
    median_dbuv_m, one_percent_dbuv_m : float
        Field exceeded for 50 % and for 1 % of time [dB(µV/m)]; the second is not less than the first.
    carrier : CarrierOffset
        Of its vision carrier, when it is analogue.
    fades_alike : bool
        Whether it comes over the wanted signal's own path, and is down by as much in the fade.
    """

    station: str
    service: str
    channel: Channel
    bearing_deg: float
    polarization: Polarization
    median_dbuv_m: float
    one_percent_dbuv_m: float
    carrier: CarrierOffset = NO_OFFSET
    fades_alike: bool = False

    def __post_init__(self) -> None:
        of = f"of {self.station} {self.service}"
        require_range(f"median_dbuv_m {of}", self.median_dbuv_m, *_FIELDS_DBUV_M)
        require_range(f"one_percent_dbuv_m {of}", self.one_percent_dbuv_m, *_FIELDS_DBUV_M)
        if self.one_percent_dbuv_m < self.median_dbuv_m:
            raise RangeError(f"one_percent_dbuv_m {of}", self.one_percent_dbuv_m,
                             f"{self.median_dbuv_m:g} or more, the median")  # fmt: skip


class InterferenceRow(NamedTuple):
    """One unwanted signal judged, at that of two times which leaves less margin.

    Either the wanted signal is at its median and the nuisance field the greater of E(1 %) + tropospheric
    ratio and E(50 %) + continuous ratio, or the wanted one is in its fade and the nuisance E(50 %) +
    continuous ratio; all less the aerial's discrimination. ``time`` says which ratio counted,
    ``protection_db`` is that, and ``wanted_at`` what of the wanted signal. ``wanted_dbuv_m`` is the wanted
    field then, less what the aerial takes of it off its axis; ``margin_db`` is how far that is over the
    nuisance field, and ``carrier_to_interference_db`` the ratio at the aerial's terminals.
    """

    station: str
    service: str
    step: ChannelStep
    time: TimeKind
    unwanted_dbuv_m: float
    discrimination_db: float
    protection_db: float
    nuisance_dbuv_m: float
    wanted_dbuv_m: float
    carrier_to_interference_db: float
    margin_db: float
    reference: str
    wanted_at: WantedAt = "median"


@dataclass(frozen=True)
class InterferenceReport:
    """All unwanted signals of one service, worst first, and their sum by power.

    The sum is that of the time which leaves less margin, as with one signal, and ``wanted_at`` says which.
    With no unwanted signal the nuisance is −inf and the margin inf.
    """

    wanted: str
    rows: tuple[InterferenceRow, ...]
    nuisance_dbuv_m: float
    margin_db: float
    verdict: Literal["passes", "fails"]
    reason: str
    wanted_at: WantedAt = "median"


class _Times(NamedTuple):
    """One unwanted signal with the wanted one at its median, and in its fade."""

    usual: InterferenceRow
    faded: InterferenceRow

    @property
    def worse(self) -> InterferenceRow:
        """That which leaves less margin."""
        return self.faded if _is_worse(self.faded.margin_db, self.usual.margin_db) else self.usual


def interference(
    wanted: WantedSignal, unwanted: Iterable[UnwantedSignal], aerial: ReceiveAerial
) -> InterferenceReport:
    """Judge a service of the parent against other stations.

    Parameters
    ----------
    wanted : WantedSignal
    unwanted : iterable of UnwantedSignal
        Those neither on the channel nor next to it are left out; see the frequency relations for those.
    aerial : ReceiveAerial

    Returns
    -------
    InterferenceReport
        Nuisance fields are summed by power; it passes when the wanted field reaches the sum. Fades and
        interference from afar do not come at the same time: the median of the wanted field stands against
        rare interference, and its fade against the usual one.

    Raises
    ------
    RangeError
        For a pair of signals without a protection ratio.
    """
    found = [times for signal in unwanted if (times := _both_times(wanted, signal, aerial)) is not None]
    rows = sorted((times.worse for times in found), key=lambda row: row.margin_db)
    usual = _sum_of([times.usual for times in found])
    faded = _sum_of([times.faded for times in found])
    wanted_at: WantedAt = "fade" if _is_worse(faded.margin_db, usual.margin_db) else "median"
    worst = faded if wanted_at == "fade" else usual
    return InterferenceReport(
        wanted=wanted.name,
        rows=tuple(rows),
        nuisance_dbuv_m=worst.nuisance_dbuv_m,
        margin_db=worst.margin_db,
        verdict="passes" if worst.margin_db >= 0.0 else "fails",
        reason=_reason(worst.first, worst.margin_db, wanted_at),
        wanted_at=wanted_at,
    )


def _is_worse(faded_db: float, usual_db: float) -> bool:
    """Tell whether a margin in the fade is less; signals that fade alike leave both the same, to rounding."""
    return faded_db < usual_db - _ROUNDING_DB


class _Sum(NamedTuple):
    """All unwanted signals at one time: the sum of their nuisance fields, and the worst of them."""

    nuisance_dbuv_m: float
    margin_db: float
    first: InterferenceRow | None


def _sum_of(rows: Sequence[InterferenceRow]) -> _Sum:
    if not rows:
        return _Sum(-math.inf, math.inf, None)
    nuisance_dbuv_m = power_sum_db(*(row.nuisance_dbuv_m for row in rows))
    first = min(rows, key=lambda row: row.margin_db)
    return _Sum(nuisance_dbuv_m, first.wanted_dbuv_m - nuisance_dbuv_m, first)


def interference_row(
    wanted: WantedSignal, unwanted: UnwantedSignal, aerial: ReceiveAerial
) -> InterferenceRow | None:
    """Judge one unwanted signal; None when its channel does not touch the wanted one."""
    times = _both_times(wanted, unwanted, aerial)
    return None if times is None else times.worse


def _both_times(wanted: WantedSignal, unwanted: UnwantedSignal, aerial: ReceiveAerial) -> _Times | None:
    """Judge one unwanted signal with the wanted one at its median, and in its fade."""
    step = channel_relation(wanted.channel, unwanted.channel)
    usual = None if step is None else _protection(wanted, unwanted, "median")
    faded = None if step is None else _protection(wanted, unwanted, "fade")
    if step is None or usual is None or faded is None:
        return None
    time = _time_that_counts(usual, unwanted)
    return _Times(
        _row(wanted, unwanted, aerial, step, usual, time, "median"),
        _row(wanted, unwanted, aerial, step, faded, "continuous", "fade"),
    )


def _row(
    wanted: WantedSignal,
    unwanted: UnwantedSignal,
    aerial: ReceiveAerial,
    step: ChannelStep,
    ratio: Protection,
    time: TimeKind,
    wanted_at: WantedAt,
) -> InterferenceRow:
    aerial_db = discrimination_db(aerial, unwanted.bearing_deg, unwanted.polarization)
    fade_db = wanted.fade_db if wanted_at == "fade" else 0.0
    field_dbuv_m = unwanted.one_percent_dbuv_m if time == "tropospheric" else unwanted.median_dbuv_m
    field_dbuv_m -= fade_db if unwanted.fades_alike else 0.0
    protection_db = ratio.tropospheric_db if time == "tropospheric" else ratio.continuous_db
    wanted_dbuv_m = wanted_field_dbuv_m(wanted, aerial) - fade_db
    heard_dbuv_m = field_dbuv_m - aerial_db
    return InterferenceRow(
        station=unwanted.station,
        service=unwanted.service,
        step=step,
        time=time,
        unwanted_dbuv_m=field_dbuv_m,
        discrimination_db=aerial_db,
        protection_db=protection_db,
        nuisance_dbuv_m=heard_dbuv_m + protection_db,
        wanted_dbuv_m=wanted_dbuv_m,
        carrier_to_interference_db=wanted_dbuv_m - heard_dbuv_m,
        margin_db=wanted_dbuv_m - heard_dbuv_m - protection_db,
        reference=describe(ratio.reference, ratio.confidence),
        wanted_at=wanted_at,
    )


def co_channel_ratio_db(kind: SignalKind, required_cn_db: float, signal_to_noise_db: float) -> float:
    """Return what a signal asks against its own kind on its channel, tropospheric, without offset [dB]."""
    channel = Channel(kind, 600.0, 8.0)
    row = protection(channel, channel, required_cn_db, signal_to_noise_db=signal_to_noise_db)
    assert row is not None, "every signal has a ratio on its own channel"
    return row.tropospheric_db


def wanted_field_dbuv_m(wanted: WantedSignal, aerial: ReceiveAerial) -> float:
    """Return the wanted field less the aerial's discrimination towards the parent [dB(µV/m)]."""
    return wanted.field_dbuv_m - discrimination_db(aerial, wanted.bearing_deg, wanted.polarization)


def _protection(wanted: WantedSignal, unwanted: UnwantedSignal, at: WantedAt) -> Protection | None:
    """Return the ratio that a pair asks; where it goes by noise, noise gains on a wanted one that fades."""
    fade_db = wanted.fade_db if at == "fade" else 0.0
    return protection(
        wanted.channel,
        unwanted.channel,
        wanted.required_cn_db,
        carriers=(wanted.carrier, unwanted.carrier),
        signal_to_noise_db=wanted.signal_to_noise_db - fade_db,
    )


def _time_that_counts(ratio: Protection, unwanted: UnwantedSignal) -> TimeKind:
    """Give the kind of time with the greater nuisance field (practice of ITU-R BT.655)."""
    tropospheric = unwanted.one_percent_dbuv_m + ratio.tropospheric_db
    continuous = unwanted.median_dbuv_m + ratio.continuous_db
    return "continuous" if continuous > tropospheric else "tropospheric"


def _reason(worst: InterferenceRow | None, margin_db: float, wanted_at: WantedAt) -> str:
    if worst is None:
        return "no other station is on the channel or next to it"
    by = tell(
        "{station} {service} ({step}, {time})",
        station=worst.station,
        service=worst.service,
        step=worst.step,
        time=worst.time,
    )
    field = "the faded wanted field" if wanted_at == "fade" else "the wanted field"
    if margin_db >= 0.0:
        return tell(
            "{field} is {margin_db:.1f} dB over all interference; most is from {by}",
            field=field,
            margin_db=margin_db,
            by=by,
        )
    return tell(
        "{field} is {margin_db:.1f} dB under what the interference asks; most is from {by}",
        field=field,
        margin_db=-margin_db,
        by=by,
    )
