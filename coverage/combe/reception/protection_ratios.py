"""The protection ratio of one signal against another: the one look-up that every judge asks.

By how many decibels a wanted signal must exceed an unwanted one goes by the kinds of the two and by how their
channels lie. On one channel two analogue signals go by the offset of their carriers, and two of ATSC by the
signal-to-noise ratio that noise alone would leave. Beside it the next channels count, and farther away those
that the receiver's image, oscillator or intermediate frequency brings in. The tables are those of
``standards``; nothing of them is repeated here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, get_args

from combe.errors import require_range
from combe.standards import (
    CO_CHANNEL_FORMULA,
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
    far_ratio,
    image_ratio,
    image_steps,
    protection_ratio,
    ratio_at_sn_db,
)
from combe.stations import require_choice

Carriers = tuple[CarrierOffset, CarrierOffset]
"""Where the vision carriers of a wanted and an unwanted signal lie about their nominal frequencies."""

NOMINAL: Final[Carriers] = (NO_OFFSET, NO_OFFSET)

_EDGE_MHZ: Final = 1e-6
_FARTHEST: Final = 15
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

    Raises
    ------
    RangeError
        Naming the field.
    """

    kind: SignalKind
    centre_mhz: float
    width_mhz: float
    picture: str = ""

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
    """What the far channels of a wanted signal go by: its kind, its picture, the width of its channels."""

    kind: SignalKind
    picture: str
    width_mhz: float


class _Row(NamedTuple):
    """A row of the tables; None where the ratio is the wanted signal's own C/N."""

    relation: str
    tropospheric_db: float | None
    continuous_db: float | None
    reference: str
    confidence: Confidence


def channel_of(system: TelevisionSystem, centre_mhz: float) -> Channel:
    """Return a channel of a television system's raster, with its centre [MHz]."""
    receiver = _receiver(system)
    return Channel(receiver.kind, centre_mhz, receiver.width_mhz, receiver.picture)


def channel_relation(wanted: Channel, unwanted: Channel) -> ChannelStep | None:
    """Return how an unwanted channel lies to the wanted one; None when neither overlapping nor next to it."""
    steps = _steps_apart(wanted, unwanted)
    return None if steps is None else _NEAR.get(steps)


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
        Of two widths only those that overlap or touch count.
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
    if steps is None:
        return None
    # OET 69 lets the co-channel ratio rise as noise uses up the allowance; where noise is summed as a
    # power, that would count it twice.
    if steps == 0 and signal_to_noise_db is not None and wanted.kind == unwanted.kind == "ATSC":
        asked_db = ratio_at_sn_db(signal_to_noise_db)
        return Protection(0, _NEAR[0], asked_db, asked_db, CO_CHANNEL_FORMULA, "from memory")
    receiver = _Receiver(wanted.kind, wanted.picture, wanted.width_mhz)
    return _asked(steps, _row(receiver, unwanted.kind, steps, carriers), required_cn_db)


@cache
def protections(
    system: TelevisionSystem, unwanted: TelevisionSystem | None = None
) -> Mapping[int, Protection]:
    """Return the protection ratios of a system against itself, or another, by unwanted less wanted channel.

    On one channel that of analogue carriers without offset.
    """
    receiver, own_db = _receiver(system), system.required_cn_db or 0.0
    kind = receiver.kind if unwanted is None else unwanted.signal
    # Images lie farthest out, twice the intermediate frequency away.
    farthest = max(*image_steps(receiver.picture or None, receiver.width_mhz), _FARTHEST)
    rows = {
        steps: _asked(steps, _row(receiver, kind, steps, NOMINAL), own_db)
        for steps in range(-farthest, farthest + 1)
    }
    return MappingProxyType({steps: row for steps, row in rows.items() if row is not None})


def protection_citation(row: Protection) -> Citation:
    """Return where a ratio is from, for print."""
    return Citation(f"{row.relation} ratio", row.reference, row.confidence)


def _receiver(system: TelevisionSystem) -> _Receiver:
    width_mhz = channel_raster(system.channel_raster).width_mhz
    return _Receiver(system.signal, system.analogue_name or "", width_mhz)


def _steps_apart(wanted: Channel, unwanted: Channel) -> int | None:
    """Return the unwanted less the wanted channel; 0 where they overlap, None far away on another raster.

    Channels that do not keep to one raster count by what they touch: so much as a corner of the wanted
    channel makes an unwanted one co-channel, for the tables have nothing between.
    """
    apart_mhz = unwanted.centre_mhz - wanted.centre_mhz
    touching_mhz = (wanted.width_mhz + unwanted.width_mhz) / 2.0
    if abs(apart_mhz) < touching_mhz - _EDGE_MHZ:
        return 0
    # A channel that begins less than one width beyond the edge is next to it, whatever raster it is of.
    if abs(apart_mhz) < touching_mhz + min(wanted.width_mhz, unwanted.width_mhz) - _EDGE_MHZ:
        return 1 if apart_mhz > 0.0 else -1
    return round(apart_mhz / wanted.width_mhz) if wanted.width_mhz == unwanted.width_mhz else None


@cache
def _row(wanted: _Receiver, unwanted: SignalKind, steps: int, carriers: Carriers) -> _Row | None:
    if steps == 0 and wanted.kind == unwanted and wanted.kind in ("analogue 625", "analogue 525"):
        ratios = co_channel_ratio(wanted.kind == "analogue 525", between_carriers(*carriers))
        return _Row(_NEAR[0], *ratios)
    if steps in _NEAR:
        near = protection_ratio(wanted.kind, unwanted, _NEAR[steps])
        return _Row(near.step, near.tropospheric_db, near.continuous_db, near.reference, near.confidence)
    return _far_row(wanted, unwanted, steps)


def _far_row(wanted: _Receiver, unwanted: SignalKind, steps: int) -> _Row | None:
    far = far_ratio(wanted.kind, unwanted, steps)
    if far is not None:
        return _Row(far.relation, far.ratio_db, far.ratio_db, far.reference, far.confidence)
    image = image_ratio(wanted.kind, unwanted)
    if image is None or (wanted.kind.startswith("analogue") and not wanted.picture):
        return None
    if steps not in image_steps(wanted.picture or None, wanted.width_mhz):
        return None
    return _Row("image", image.tropospheric_db, image.continuous_db, image.reference, image.confidence)


def _asked(steps: int, row: _Row | None, required_cn_db: float) -> Protection | None:
    if row is None:
        return None
    tropospheric, continuous = (
        required_cn_db if each is None else each for each in (row.tropospheric_db, row.continuous_db)
    )
    return Protection(steps, row.relation, tropospheric, continuous, row.reference, row.confidence)
