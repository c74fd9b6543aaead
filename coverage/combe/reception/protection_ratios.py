"""The protection ratio of one signal against another: the one look-up that every judge asks.

By how many decibels a wanted signal must exceed an unwanted one goes by the kinds of the two and by how their
channels lie. On one channel two analogue signals go by the offset of their carriers, and two of ATSC by the
signal-to-noise ratio that noise alone would leave. Beside it the next channels count, and farther away those
that the receiver's image, oscillator or intermediate frequency brings in. The tables are those of
``standards``; nothing of them is repeated here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, get_args

from combe.errors import require_range
from combe.standards import (
    CO_CHANNEL_FORMULA,
    NARROWER_DB,
    NO_OFFSET,
    CarrierOffset,
    ChannelStep,
    Citation,
    Confidence,
    SignalKind,
    TelevisionSystem,
    between_carriers,
    channel_raster,
    co_channel_ratio,
    dvb_by_analogue,
    far_ratio,
    image_ratio,
    image_steps,
    protection_ratio,
    ratio_at_sn_db,
)
from combe.stations import require_choice
from combe.words import tell

Mode = tuple[str, str, str]

Carriers = tuple[CarrierOffset, CarrierOffset]
"""Where the vision carriers of a wanted and an unwanted signal lie about their nominal frequencies."""

NOMINAL: Final[Carriers] = (NO_OFFSET, NO_OFFSET)

_EDGE_MHZ: Final = 1e-6
_FARTHEST: Final = 15
_ANALOGUE: Final = frozenset({"analogue 625", "analogue 525"})
_NEAR: Final[dict[int, ChannelStep]] = {-1: "lower adjacent", 0: "co-channel", 1: "upper adjacent"}


@dataclass(frozen=True)
class Channel:
    """What is on a channel.

    Parameters
    ----------
    kind : SignalKind
    centre_mhz, width_mhz : float
        Centre and width [MHz].
    picture : str
        Row of :data:`combe.standards.analogue.ANALOGUE_SYSTEMS` that an analogue signal is of, from which the
        image channel of its receivers follows; without it no image is looked for.
    mode : (str, str, str)
        System, modulation and code rate of a digital signal, by which it stands pictures on its channel; of
        an unknown one as 64-QAM 2/3 of DVB-T.
    occupied_mhz : float
        Width of a digital signal within its channel [MHz]; 0 for all of it.
    over_middle_mhz : float
        How far the centre lies over the middle of the channel [MHz].

    Raises
    ------
    RangeError
        Naming the field.
    """

    kind: SignalKind
    centre_mhz: float
    width_mhz: float
    picture: str = ""
    mode: Mode = ("", "", "")
    occupied_mhz: float = 0.0
    over_middle_mhz: float = 0.0

    @property
    def middle_mhz(self) -> float:
        """Middle of the channel [MHz]."""
        return self.centre_mhz - self.over_middle_mhz

    def __post_init__(self) -> None:
        require_choice("kind of a signal", self.kind, get_args(SignalKind))
        require_range("centre_mhz of a channel", self.centre_mhz, 30.0, 3000.0)
        require_range("width_mhz of a channel", self.width_mhz, 1.0, 20.0)


class Protection(NamedTuple):
    """Ratio of a wanted to an unwanted signal [dB], ``channel_step`` being unwanted less wanted channel."""

    channel_step: int
    relation: str
    tropospheric_db: float
    continuous_db: float
    reference: str
    confidence: Confidence


class _Receiver(NamedTuple):
    """What the ratios of a wanted signal go by: its kind, picture and mode, and the width of its channels."""

    kind: SignalKind
    picture: str
    width_mhz: float
    mode: Mode


class _Row(NamedTuple):
    """A row of the tables; None where the ratio is the wanted signal's own C/N."""

    relation: str
    tropospheric_db: float | None
    continuous_db: float | None
    reference: str
    confidence: Confidence


def channel_of(system: TelevisionSystem, centre_mhz: float) -> Channel:
    """Return a channel of a television system's raster, with its centre [MHz]."""
    receiver, raster = _receiver(system), channel_raster(system.channel_raster)
    return Channel(
        receiver.kind,
        centre_mhz,
        receiver.width_mhz,
        receiver.picture,
        receiver.mode,
        0.0 if system.analogue_name else min(system.bandwidth_mhz, receiver.width_mhz),
        raster.signal_offset_mhz,
    )


def channel_relation(wanted: Channel, unwanted: Channel) -> ChannelStep | None:
    """Return how an unwanted channel lies to the wanted one; None when neither overlapping nor next to it."""
    steps = _steps_apart(wanted, unwanted)
    return _NEAR.get(steps[0]) if len(steps) == 1 else None


def protection(
    wanted: Channel,
    unwanted: Channel,
    required_cn_db: float,
    *,
    carriers: Carriers = NOMINAL,
    signal_to_noise_db: float | None = None,
) -> Protection | None:
    """Return the protection ratio of a wanted against an unwanted signal.

    Parameters
    ----------
    wanted, unwanted : Channel
        Of two widths too: those that overlap or touch, and what lies on the image.
    required_cn_db : float
        Of the wanted signal's mode [dB]; the ratio of a digital signal against its own kind on its channel.
    carriers : (CarrierOffset, CarrierOffset)
        Of both vision carriers, when they are analogue.
    signal_to_noise_db : float or None
        What noise alone leaves the wanted signal [dB], by which the co-channel ratio of ATSC goes; NaN where
        it is not known, for the greatest ratio. None where noise is added to the interference as a power,
        which asks for the ratio beside it.

    Returns
    -------
    Protection or None
        None where the tables have nothing so far away, and the unwanted signal does not count.

    Raises
    ------
    RangeError
        For a pair of signals that the tables do not have, or an offset of their carriers.
    """
    steps = _steps_apart(wanted, unwanted)
    # OET 69 lets the co-channel ratio rise as noise uses up the allowance; where noise is summed as a
    # power, that would count it twice.
    if steps == (0,) and signal_to_noise_db is not None and wanted.kind == unwanted.kind == "ATSC":
        asked_db = ratio_at_sn_db(signal_to_noise_db)
        return Protection(0, _NEAR[0], asked_db, asked_db, CO_CHANNEL_FORMULA, "from memory")
    receiver = _Receiver(wanted.kind, wanted.picture, wanted.width_mhz, wanted.mode)
    found = [
        _asked(step, _row(receiver, unwanted.kind, unwanted.width_mhz, step, carriers), required_cn_db)
        for step in steps
    ]
    row = max(
        (each for each in found if each is not None), key=lambda each: each.tropospheric_db, default=None
    )
    return row if row is None or row.channel_step else _lowered(row, receiver, wanted, unwanted)


@cache
def protections(
    system: TelevisionSystem, unwanted: TelevisionSystem | None = None
) -> Mapping[int, Protection]:
    """Return the protection ratios of a system against itself, or another, by unwanted less wanted channel.

    On one channel that of analogue carriers without offset.
    """
    receiver, own_db = _receiver(system), system.required_cn_db or 0.0
    other = receiver if unwanted is None else _receiver(unwanted)
    # Images lie farthest out, twice the intermediate frequency away.
    farthest = max(*image_steps(receiver.picture or None, receiver.width_mhz), _FARTHEST)
    rows = {
        steps: _asked(steps, _row(receiver, other.kind, other.width_mhz, steps, NOMINAL), own_db)
        for steps in range(-farthest, farthest + 1)
    }
    return MappingProxyType({steps: row for steps, row in rows.items() if row is not None})


def protection_citation(row: Protection) -> Citation:
    """Return where a ratio is from, for print."""
    return Citation(tell("{relation} ratio", relation=row.relation), row.reference, row.confidence)


def _receiver(system: TelevisionSystem) -> _Receiver:
    width_mhz = channel_raster(system.channel_raster).width_mhz
    mode = (system.name.partition(" ")[0], system.modulation, system.code_rate)
    return _Receiver(system.signal, system.analogue_name or "", width_mhz, mode)


def _steps_apart(wanted: Channel, unwanted: Channel) -> tuple[int, ...]:
    """Return the unwanted less the wanted channel; 0 where they overlap.

    Channels that do not keep to one raster count by what they touch. Far away a channel of another width may
    lie on two of the wanted one's raster, and is on both then.
    """
    apart_mhz = unwanted.middle_mhz - wanted.middle_mhz
    touching_mhz = (wanted.width_mhz + unwanted.width_mhz) / 2.0
    if abs(apart_mhz) < touching_mhz - _EDGE_MHZ:
        return (0,)
    # A channel that begins less than one width beyond the edge is next to it, whatever raster it is of.
    if abs(apart_mhz) < touching_mhz + min(wanted.width_mhz, unwanted.width_mhz) - _EDGE_MHZ:
        return (1,) if apart_mhz > 0.0 else (-1,)
    if wanted.width_mhz == unwanted.width_mhz:
        return (round(apart_mhz / wanted.width_mhz),)
    first = math.floor((apart_mhz - touching_mhz + _EDGE_MHZ) / wanted.width_mhz) + 1
    last = math.ceil((apart_mhz + touching_mhz - _EDGE_MHZ) / wanted.width_mhz) - 1
    return tuple(step for step in range(first, last + 1) if step not in _NEAR)


def _lowered(row: Protection, receiver: _Receiver, wanted: Channel, unwanted: Channel) -> Protection:
    """Return the co-channel ratio of two digital signals that overlap in part, as much lower as they do less.

    GE06, Annex 2 (from memory): by the overlapping part of the wanted signal's width, and not under the ratio
    of the next channel.
    """
    if _ANALOGUE & {wanted.kind, unwanted.kind}:
        return row
    widths = [each.occupied_mhz or each.width_mhz for each in (wanted, unwanted)]
    apart_mhz = unwanted.centre_mhz - wanted.centre_mhz
    overlap_mhz = min(sum(widths) / 2.0 - abs(apart_mhz), *widths)
    if overlap_mhz > widths[0] - _EDGE_MHZ:
        return row
    side = _row(receiver, unwanted.kind, unwanted.width_mhz, -1 if apart_mhz < 0.0 else 1, NOMINAL)
    lower_db = 10.0 * math.log10(overlap_mhz / widths[0]) if overlap_mhz > 0.0 else -math.inf
    assert side is not None and side.tropospheric_db is not None and side.continuous_db is not None
    return row._replace(
        relation="overlapping",
        tropospheric_db=max(row.tropospheric_db + lower_db, side.tropospheric_db),
        continuous_db=max(row.continuous_db + lower_db, side.continuous_db),
        reference=f"{row.reference}; overlap by GE06 Annex 2",
        confidence="from memory",
    )


@cache
def _row(
    wanted: _Receiver, unwanted: SignalKind, unwanted_mhz: float, steps: int, carriers: Carriers
) -> _Row | None:
    """Return the row of a pair of signals, the unwanted one in channels of a width [MHz]."""
    if steps == 0 and wanted.kind == unwanted and wanted.kind in _ANALOGUE:
        ratios = co_channel_ratio(wanted.kind == "analogue 525", between_carriers(*carriers))
        return _Row(_NEAR[0], *ratios)
    if steps not in _NEAR:
        return _far_row(wanted, unwanted, steps)
    if (wanted.kind, unwanted) == ("DVB", "analogue 625") and (found := _of_mode(wanted.mode, steps)):
        return found
    near = protection_ratio(wanted.kind, unwanted, _NEAR[steps])
    row = _Row(near.step, near.tropospheric_db, near.continuous_db, near.reference, near.confidence)
    if (wanted.kind, unwanted, steps, unwanted_mhz) != ("analogue 625", "DVB", 0, 7.0):
        return row
    assert near.tropospheric_db is not None and near.continuous_db is not None, "a picture has no C/N"
    return row._replace(
        tropospheric_db=near.tropospheric_db + NARROWER_DB.value,
        continuous_db=near.continuous_db + NARROWER_DB.value,
        reference=NARROWER_DB.reference,
    )


def _of_mode(mode: Mode, steps: int) -> _Row | None:
    """Return what a mode of DVB stands of a picture; None for a mode that is not known."""
    ratios = dvb_by_analogue(mode[0] == "DVB-T2", *mode[1:])
    if ratios is None:
        return None
    ratio_db = {0: ratios.co_channel_db, -1: ratios.lower_adjacent_db, 1: ratios.upper_adjacent_db}[steps]
    return _Row(_NEAR[steps], ratio_db, ratio_db, ratios.reference, ratios.confidence)


def _far_row(wanted: _Receiver, unwanted: SignalKind, steps: int) -> _Row | None:
    far = far_ratio(wanted.kind, unwanted, steps)
    if far is not None:
        return _Row(far.relation, far.ratio_db, far.ratio_db, far.reference, far.confidence)
    image = image_ratio(wanted.kind, unwanted)
    if wanted.kind in _ANALOGUE and not wanted.picture:
        return None
    if steps not in image_steps(wanted.picture or None, wanted.width_mhz):
        return None
    if image is None:
        # Nothing is told of the image; of two signals of which nothing is told at all, this raises.
        _require_known(wanted.kind, unwanted)
        return None
    return _Row("image", image.tropospheric_db, image.continuous_db, image.reference, image.confidence)


def _require_known(wanted: SignalKind, unwanted: SignalKind) -> None:
    if wanted != unwanted:
        protection_ratio(wanted, unwanted, "co-channel")


def _asked(steps: int, row: _Row | None, required_cn_db: float) -> Protection | None:
    if row is None:
        return None
    tropospheric, continuous = (
        required_cn_db if each is None else each for each in (row.tropospheric_db, row.continuous_db)
    )
    return Protection(steps, row.relation, tropospheric, continuous, row.reference, row.confidence)
