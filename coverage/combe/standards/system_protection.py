"""The protection ratio of one television system against another, by how many channels they are apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

from combe.errors import RangeError
from combe.standards.channels import channel_raster
from combe.standards.cited import Citation, Cited, Confidence
from combe.standards.far_channels import FarRatio, ImageRatio, far_ratio, image_ratio, image_steps
from combe.standards.protection import (
    ChannelStep,
    OffsetRatio,
    TimeKind,
    offset_ratio,
    protection_ratio,
    ratio_db,
)
from combe.standards.systems import TelevisionSystem

_STEPS: Final[dict[int, ChannelStep]] = {-1: "lower adjacent", 0: "co-channel", 1: "upper adjacent"}

OFFSET_KHZ: Final[dict[float, Cited]] = {
    0.0: Cited(45.0, "47 CFR 74.705(d), without carrier offset", "from memory"),
    10.0: Cited(28.0, "47 CFR 74.705(d), with 10 kHz carrier offset", "from memory"),
    20.0: Cited(28.0, "47 CFR 74.705(d), with 20 kHz carrier offset", "from memory"),
}
"""Co-channel ratio [dB] of two 525-line signals by the offset of their carriers [kHz], held within 1 kHz."""


@dataclass(frozen=True)
class CarrierOffset:
    """How far two analogue vision carriers on one channel are apart.

    Parameters
    ----------
    twelfths : int
        625 lines: in twelfths of the line frequency, −12 to 12.
    precision : bool
        625 lines: whether both carriers are held within ±1 Hz.
    khz : float
        525 lines: 0, 10 or 20 kHz, either way.
    """

    twelfths: int = 0
    precision: bool = False
    khz: float = 0.0


NO_OFFSET: Final = CarrierOffset()


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
        Of two analogue carriers on one channel.

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
    if wanted.signal == "analogue 525":
        if abs(offset.khz) not in OFFSET_KHZ:
            raise RangeError("offset in kHz of two 525-line carriers", offset.khz, "0, 10 or 20, either way")
        cited = OFFSET_KHZ[abs(offset.khz)]
        return SystemProtection(0, "co-channel", cited.value, cited.value, cited.reference, cited.confidence)
    row: OffsetRatio = offset_ratio(offset.twelfths, precision=offset.precision)
    return SystemProtection(
        0, "co-channel", row.tropospheric_db, row.continuous_db, row.reference, row.confidence
    )


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
