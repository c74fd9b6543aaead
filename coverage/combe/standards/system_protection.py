"""The protection ratio of one television system against another, by how many channels they are apart."""

from __future__ import annotations

from typing import Final, NamedTuple

from combe.errors import RangeError
from combe.standards.carrier_offset import NO_OFFSET, CarrierOffset, co_channel_ratio
from combe.standards.channels import channel_raster
from combe.standards.cited import Citation, Confidence
from combe.standards.far_channels import FarRatio, ImageRatio, far_ratio, image_ratio, image_steps
from combe.standards.protection import (
    ChannelStep,
    TimeKind,
    protection_ratio,
    ratio_db,
)
from combe.standards.systems import TelevisionSystem

_STEPS: Final[dict[int, ChannelStep]] = {-1: "lower adjacent", 0: "co-channel", 1: "upper adjacent"}


class SystemProtection(NamedTuple):
    """Ratio of a wanted to an unwanted signal [dB], ``channel_step`` being unwanted less wanted channel."""

    channel_step: int
    relation: str
    tropospheric_db: float
    continuous_db: float
    reference: str
    confidence: Confidence


def protection_between(
    wanted: TelevisionSystem,
    unwanted: TelevisionSystem,
    channel_step: int,
    offset: CarrierOffset = NO_OFFSET,
) -> SystemProtection | None:
    """Return the protection ratio of a pair of systems.

    Parameters
    ----------
    wanted, unwanted : TelevisionSystem
        On channels of one width; a digital signal against its own kind on its own channel takes the wanted
        mode's required C/N.
    channel_step : int
        Channel of the unwanted signal less that of the wanted one.
    offset : CarrierOffset
        How far two analogue carriers on one channel are apart.

    Returns
    -------
    SystemProtection or None
        None where the tables have nothing so far away, and the unwanted signal does not count.

    Raises
    ------
    RangeError
        For a pair without a ratio, channels of two widths, or an offset out of range.
    """
    _require_one_width(wanted, unwanted)
    if channel_step == 0 and wanted.signal == unwanted.signal and wanted.analogue_name is not None:
        return _offset_protection(wanted, offset)
    if channel_step in _STEPS:
        row = protection_ratio(wanted.signal, unwanted.signal, _STEPS[channel_step])
        own_db = wanted.required_cn_db or 0.0
        tropospheric, continuous = (ratio_db(row, time, own_db) for time in _TIMES)
        return SystemProtection(
            channel_step, row.step, tropospheric, continuous, row.reference, row.confidence
        )
    return _far_protection(wanted, unwanted, channel_step)


def interfering_steps(wanted: TelevisionSystem, unwanted: TelevisionSystem) -> tuple[int, ...]:
    """Return the channel steps at which a pair of systems has a ratio, lowest first; errors as above."""
    width = channel_raster(wanted.channel_raster).width_mhz
    farthest = max(*image_steps(wanted.analogue_name, width), _FARTHEST)
    steps = range(-farthest, farthest + 1)
    return tuple(step for step in steps if protection_between(wanted, unwanted, step) is not None)


def protection_citation(protection: SystemProtection) -> Citation:
    """Return where a ratio is from, for print."""
    return Citation(f"{protection.relation} ratio", protection.reference, protection.confidence)


_TIMES: Final[tuple[TimeKind, TimeKind]] = ("tropospheric", "continuous")
_FARTHEST: Final = 15


def _require_one_width(wanted: TelevisionSystem, unwanted: TelevisionSystem) -> None:
    width, other = (channel_raster(each.channel_raster).width_mhz for each in (wanted, unwanted))
    if width != other:
        raise RangeError(
            f"channel width of {unwanted.name} against {wanted.name}", f"{other:g} MHz", f"{width:g} MHz"
        )


def _offset_protection(wanted: TelevisionSystem, offset: CarrierOffset) -> SystemProtection:
    return SystemProtection(0, "co-channel", *co_channel_ratio(wanted.signal == "analogue 525", offset))


def _far_protection(
    wanted: TelevisionSystem, unwanted: TelevisionSystem, channel_step: int
) -> SystemProtection | None:
    far: FarRatio | None = far_ratio(wanted.signal, unwanted.signal, channel_step)
    if far is not None:
        return SystemProtection(
            channel_step, far.relation, far.ratio_db, far.ratio_db, far.reference, far.confidence
        )
    row: ImageRatio | None = image_ratio(wanted.signal, unwanted.signal)
    width = channel_raster(wanted.channel_raster).width_mhz
    if row is None or channel_step not in image_steps(wanted.analogue_name, width):
        return None
    return SystemProtection(
        channel_step, "image", row.tropospheric_db, row.continuous_db, row.reference, row.confidence
    )
