"""Other stations on the receive aerial, against the protection ratios of co-channel and adjacent channels."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from combe.decibels import power_sum_db
from combe.errors import RangeError, require_range
from combe.reception.protection import Channel, Protection, channel_relation, protection
from combe.reception.receive_aerial import Polarization, ReceiveAerial, discrimination_db
from combe.standards.carrier_offset import NO_OFFSET, CarrierOffset
from combe.standards.cited import describe
from combe.standards.protection import ChannelStep, SignalKind, TimeKind
from combe.stations.checks import require_name

_FIELDS_DBUV_M: Final = (-200.0, 200.0)


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
        Of the receiver without other stations [dB], by which the co-channel ratio of ATSC goes; NaN where it
        is not known, and then the greatest ratio is taken.
    """

    name: str
    channel: Channel
    bearing_deg: float
    polarization: Polarization
    field_dbuv_m: float
    required_cn_db: float
    carrier: CarrierOffset = NO_OFFSET
    signal_to_noise_db: float = math.nan

    def __post_init__(self) -> None:
        require_name("name of a wanted signal", self.name)
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
    """

    station: str
    service: str
    channel: Channel
    bearing_deg: float
    polarization: Polarization
    median_dbuv_m: float
    one_percent_dbuv_m: float
    carrier: CarrierOffset = NO_OFFSET

    def __post_init__(self) -> None:
        of = f"of {self.station} {self.service}"
        require_range(f"median_dbuv_m {of}", self.median_dbuv_m, *_FIELDS_DBUV_M)
        require_range(f"one_percent_dbuv_m {of}", self.one_percent_dbuv_m, *_FIELDS_DBUV_M)
        if self.one_percent_dbuv_m < self.median_dbuv_m:
            raise RangeError(f"one_percent_dbuv_m {of}", self.one_percent_dbuv_m,
                             f"{self.median_dbuv_m:g} or more, the median")  # fmt: skip


class InterferenceRow(NamedTuple):
    """One unwanted signal judged.

    ``nuisance_dbuv_m`` is the greater of E(1 %) + tropospheric ratio and E(50 %) + continuous ratio, less the
    aerial's discrimination; ``time`` says which counted, ``protection_db`` is its ratio. ``wanted_dbuv_m`` is
    the wanted field less what the aerial takes of it off its axis; ``margin_db`` is how far it is over the
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


@dataclass(frozen=True)
class InterferenceReport:
    """All unwanted signals of one service, worst first, and their sum by power.

    With no unwanted signal the nuisance is −inf and the margin inf.
    """

    wanted: str
    rows: tuple[InterferenceRow, ...]
    nuisance_dbuv_m: float
    margin_db: float
    verdict: Literal["passes", "fails"]
    reason: str


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
        Nuisance fields are summed by power; it passes when the wanted field reaches the sum.

    Raises
    ------
    RangeError
        For a pair of signals without a protection ratio.
    """
    rows = [row for each in unwanted if (row := interference_row(wanted, each, aerial)) is not None]
    rows.sort(key=lambda row: row.margin_db)
    nuisance_dbuv_m = power_sum_db(*(row.nuisance_dbuv_m for row in rows)) if rows else -math.inf
    margin_db = wanted_field_dbuv_m(wanted, aerial) - nuisance_dbuv_m
    return InterferenceReport(
        wanted=wanted.name,
        rows=tuple(rows),
        nuisance_dbuv_m=nuisance_dbuv_m,
        margin_db=margin_db,
        verdict="passes" if margin_db >= 0.0 else "fails",
        reason=_reason(rows, margin_db),
    )


def interference_row(
    wanted: WantedSignal, unwanted: UnwantedSignal, aerial: ReceiveAerial
) -> InterferenceRow | None:
    """Judge one unwanted signal; None when its channel does not touch the wanted one."""
    step = channel_relation(wanted.channel, unwanted.channel)
    ratio = None if step is None else _protection(wanted, unwanted)
    if step is None or ratio is None:
        return None
    aerial_db = discrimination_db(aerial, unwanted.bearing_deg, unwanted.polarization)
    time = _time_that_counts(ratio, unwanted)
    field_dbuv_m = unwanted.one_percent_dbuv_m if time == "tropospheric" else unwanted.median_dbuv_m
    protection_db = ratio.tropospheric_db if time == "tropospheric" else ratio.continuous_db
    wanted_dbuv_m = wanted_field_dbuv_m(wanted, aerial)
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
    )


def co_channel_ratio_db(kind: SignalKind, required_cn_db: float, signal_to_noise_db: float) -> float:
    """Return what a signal asks against its own kind on its channel, tropospheric, without offset [dB]."""
    channel = Channel(kind, 600.0, 8.0)
    found = protection(channel, channel, required_cn_db, signal_to_noise_db=signal_to_noise_db)
    assert found is not None, "every signal has a ratio on its own channel"
    return found.tropospheric_db


def wanted_field_dbuv_m(wanted: WantedSignal, aerial: ReceiveAerial) -> float:
    """Return the wanted field less the aerial's discrimination towards the parent [dB(µV/m)]."""
    return wanted.field_dbuv_m - discrimination_db(aerial, wanted.bearing_deg, wanted.polarization)


def _protection(wanted: WantedSignal, unwanted: UnwantedSignal) -> Protection | None:
    return protection(
        wanted.channel,
        unwanted.channel,
        wanted.required_cn_db,
        carriers=(wanted.carrier, unwanted.carrier),
        signal_to_noise_db=wanted.signal_to_noise_db,
    )


def _time_that_counts(ratio: Protection, unwanted: UnwantedSignal) -> TimeKind:
    """Give the kind of time with the greater nuisance field (practice of ITU-R BT.655)."""
    tropospheric = unwanted.one_percent_dbuv_m + ratio.tropospheric_db
    continuous = unwanted.median_dbuv_m + ratio.continuous_db
    return "continuous" if continuous > tropospheric else "tropospheric"


def _reason(rows: Sequence[InterferenceRow], margin_db: float) -> str:
    if not rows:
        return "no other station is on the channel or next to it"
    worst = rows[0]
    by = f"{worst.station} {worst.service} ({worst.step}, {worst.time})"
    if margin_db >= 0.0:
        return f"the wanted field is {margin_db:.1f} dB over all interference; most is from {by}"
    return f"the wanted field is {-margin_db:.1f} dB under what the interference asks; most is from {by}"
