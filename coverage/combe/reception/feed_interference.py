"""Other stations on the receive aerial: protection ratios, frequencies of the receiver, where to turn.

Stations on the channel and next to it are held against their protection ratios; farther ones may lie on the
image, the oscillator's channel or the beat of the receiver. The aerial that protects best does not always
look at the parent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

from combe.decibels import power_sum_db
from combe.errors import RangeError, require_range
from combe.reception.protection_ratios import Channel, Protection, channel_relation, protection
from combe.reception.receive_aerial import Polarization, ReceiveAerial, discrimination_db
from combe.standards import (
    NO_OFFSET,
    CarrierOffset,
    ChannelStep,
    Conversion,
    Relation,
    SignalKind,
    TimeKind,
    channel_step,
    describe,
    troubled_channels,
)
from combe.stations import require_name

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
    rows = [row for signal in unwanted if (row := interference_row(wanted, signal, aerial)) is not None]
    rows.sort(key=lambda row: row.margin_db)
    nuisance_dbuv_m = power_sum_db(*(row.nuisance_dbuv_m for row in rows)) if rows else -math.inf
    # Every nuisance field has its protection ratio in it already, so their sum is what the wanted field must
    # reach.
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
    row = protection(channel, channel, required_cn_db, signal_to_noise_db=signal_to_noise_db)
    assert row is not None, "every signal has a ratio on its own channel"
    return row.tropospheric_db


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


class Trap(NamedTuple):
    """An unwanted station that the receiver's own frequencies bring in.

    ``unwanted_over_wanted_db`` is its 1 % field over the wanted one at the aerial's terminals. For an image
    ``carrier_to_interference_db`` is what is left behind the receiver's image rejection; for the other
    relations it is None, for there the receiver's screening decides and the level is a caution only.
    """

    station: str
    service: str
    channel_step: int
    relation: Relation
    unwanted_over_wanted_db: float
    carrier_to_interference_db: float | None


def find_traps(
    wanted: WantedSignal,
    unwanted: Iterable[UnwantedSignal],
    aerial: ReceiveAerial,
    conversion: Conversion,
    *,
    image_rejection_db: float,
) -> tuple[Trap, ...]:
    """Find the stations that lie on a troubled channel of the receiver, the strongest first.

    Parameters
    ----------
    wanted : WantedSignal
    unwanted : iterable of UnwantedSignal
    aerial : ReceiveAerial
    conversion : Conversion
        Of the receiver on the wanted channel; its raster is that of all the signals.
    image_rejection_db : float
        Of the receiver, its channel filter included [dB], 0 to 150.

    Returns
    -------
    tuple of Trap
        One row for each relation. Adjacent channels have protection ratios and are not repeated here.

    Raises
    ------
    RangeError
        For a rejection out of range.
    """
    require_range("image_rejection_db of the receiver", image_rejection_db, 0.0, 150.0)
    wanted_dbuv_m = wanted_field_dbuv_m(wanted, aerial)
    # Neighbours have protection ratios of their own and are judged by those.
    related = [channel for channel in troubled_channels(conversion) if channel.relation != "adjacent"]
    traps = []
    for signal in unwanted:
        step = _step(wanted, signal, conversion.channel_width_mhz)
        heard_db = signal.one_percent_dbuv_m - discrimination_db(
            aerial, signal.bearing_deg, signal.polarization
        )
        over_db = heard_db - wanted_dbuv_m
        for trouble in related:
            if trouble.channel_step == step:
                image = trouble.relation.startswith("image")
                left_db = image_rejection_db - over_db if image else None
                traps.append(Trap(signal.station, signal.service, step, trouble.relation, over_db, left_db))
    return tuple(sorted(traps, key=lambda trap: -trap.unwanted_over_wanted_db))


def _step(wanted: WantedSignal, unwanted: UnwantedSignal, width_mhz: float) -> int:
    # The frequencies of a conversion count from the lower edge of the wanted channel.
    lower_edge_mhz = wanted.channel.centre_mhz - wanted.channel.width_mhz / 2.0
    return channel_step(unwanted.channel.centre_mhz - lower_edge_mhz, width_mhz)


class BearingChoice(NamedTuple):
    """The best bearing, and what it gains against looking at the parent.

    ``margin_db`` is the scantiest service's margin over all interference; ``wanted_loss_db`` the most that
    any service's wanted field loses by the turning.
    """

    bearing_deg: float
    margin_db: float
    margin_at_parent_db: float
    wanted_loss_db: float


def best_bearing(
    wanted: Sequence[WantedSignal],
    unwanted: Sequence[UnwantedSignal],
    aerial: ReceiveAerial,
    *,
    most_loss_db: float = 3.0,
    step_deg: float = 1.0,
) -> BearingChoice:
    """Search the bearing that protects the scantiest service best.

    Parameters
    ----------
    wanted : sequence of WantedSignal, (n,)
        Services of the parent, at least one; its bearing is that of the first.
    unwanted : sequence of UnwantedSignal
    aerial : ReceiveAerial
        Its own bearing is not looked at.
    most_loss_db : float
        How much of the wanted field the turning may cost [dB], 0 to 20.
    step_deg : float
        Of the search [degrees], 0.1 to 30.

    Returns
    -------
    BearingChoice
        Of equal margins the bearing nearest to the parent.

    Raises
    ------
    RangeError
        Outside those ranges.
    """
    require_range("number of wanted signals", len(wanted), 1, 1000)
    require_range("most_loss_db of the search", most_loss_db, 0.0, 20.0)
    require_range("step_deg of the search", step_deg, 0.1, 30.0)
    parent_deg = wanted[0].bearing_deg % 360.0
    at_parent = replace(aerial, bearing_deg=parent_deg)
    best = (_scantiest_db(wanted, unwanted, at_parent), 0.0, parent_deg)
    margin_at_parent_db, turns = best[0], math.floor(180.0 / step_deg)
    # From the parent outwards, and only what is better replaces: of bearings as good, the nearest to it is
    # taken.
    for turn in sorted(range(-turns, turns + 1), key=abs):
        turned = replace(aerial, bearing_deg=(parent_deg + turn * step_deg) % 360.0)
        loss_db = max(
            wanted_field_dbuv_m(each, at_parent) - wanted_field_dbuv_m(each, turned) for each in wanted
        )
        if loss_db > most_loss_db:
            continue
        margin_db = _scantiest_db(wanted, unwanted, turned)
        if margin_db > best[0] + 1e-9:
            best = (margin_db, loss_db, turned.bearing_deg)
    return BearingChoice(best[2], best[0], margin_at_parent_db, best[1])


def _scantiest_db(
    wanted: Sequence[WantedSignal], unwanted: Sequence[UnwantedSignal], aerial: ReceiveAerial
) -> float:
    return min(interference(each, unwanted, aerial).margin_db for each in wanted)
