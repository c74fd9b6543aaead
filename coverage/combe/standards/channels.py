"""Channels that trouble a receiver for what it makes itself.

Oscillator, image, beat and neighbours all follow from the intermediate frequency and the channel raster by
one rule. With the local oscillator above the wanted channel (LO = carrier + IF), the image of a frequency f
is 2·LO − f, and a frequency lies in channel n + k when it is k whole channel widths and a part above the
lower edge of the wanted channel n.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from combe.errors import RangeError, require_range
from combe.standards.analogue import AnalogueSystem
from combe.standards.cited import Confidence

Relation = Literal[
    "co-channel", "adjacent", "oscillator", "image of vision", "image of sound", "image", "beat at the IF",
    "intermodulation",
]  # fmt: skip
"""How an unwanted channel reaches a wanted one."""

DIGITAL_IF_MHZ: Final = 36.125
"""Usual centre of the intermediate frequency of 8 MHz digital receivers (from memory)."""

_EDGE_TOLERANCE: Final = 1e-9


CarrierName = Literal["vision", "sound", "centre"]


class Carrier(NamedTuple):
    """A carrier of the wanted channel over its lower edge [MHz]."""

    name: CarrierName
    over_edge_mhz: float


@dataclass(frozen=True)
class Conversion:
    """A receiver's frequency change, seen from the lower edge of the wanted channel.

    Parameters
    ----------
    channel_width_mhz : float
        Of the raster [MHz], 1 to 20.
    carriers : tuple of Carrier
        What is in the channel; for a digital channel its centre alone.
    oscillator_over_edge_mhz : float
        Local oscillator over the lower edge [MHz]; negative when it is below.

    Raises
    ------
    RangeError
        Naming the field.
    """

    channel_width_mhz: float
    carriers: tuple[Carrier, ...]
    oscillator_over_edge_mhz: float

    def __post_init__(self) -> None:
        require_range("channel_width_mhz of the conversion", self.channel_width_mhz, 1.0, 20.0)
        if not self.carriers:
            raise RangeError("carriers of the conversion", "none", "at least one")
        require_range("oscillator_over_edge_mhz of the conversion", self.oscillator_over_edge_mhz, -300, 300)


class TroubledChannel(NamedTuple):
    """A channel related to the wanted channel n.

    ``channel_step`` is k of channel n + k; ``over_edge_mhz`` is where the trouble lies over the lower edge of
    the wanted channel [MHz].
    """

    channel_step: int
    relation: Relation
    over_edge_mhz: float


def analogue_conversion(system: AnalogueSystem) -> Conversion:
    """Return the conversion of a receiver with the system's usual intermediate frequencies, LO above."""
    vision = system.vision_over_edge_mhz
    sound = vision + (system.vision_if_mhz - system.sound_if_mhz)
    carriers = (Carrier("vision", vision), Carrier("sound", sound))
    return Conversion(system.channel_width_mhz, carriers, vision + system.vision_if_mhz)


def digital_conversion(channel_width_mhz: float, centre_if_mhz: float = DIGITAL_IF_MHZ) -> Conversion:
    """Return the conversion of a digital receiver that turns the channel's centre to ``centre_if_mhz``."""
    centre = channel_width_mhz / 2.0
    return Conversion(channel_width_mhz, (Carrier("centre", centre),), centre + centre_if_mhz)


def channel_step(over_edge_mhz: float, channel_width_mhz: float) -> int:
    """Return k of the channel n + k that holds a frequency over the lower edge of channel n [MHz].

    Examples
    --------
    >>> channel_step(40.75, 8.0)
    5
    """
    # A frequency on an edge belongs to the channel above, whatever rounding makes of the quotient.
    return math.floor(over_edge_mhz / channel_width_mhz + _EDGE_TOLERANCE)


def image_over_edge_mhz(conversion: Conversion, over_edge_mhz: float) -> float:
    """Return the image of a frequency, both over the lower edge of the wanted channel [MHz]."""
    return 2.0 * conversion.oscillator_over_edge_mhz - over_edge_mhz


def image_band_steps(conversion: Conversion) -> Mapping[int, float]:
    """Return which channels the image of the whole wanted channel covers, and what share of it each holds.

    Returns
    -------
    mapping of int to float
        Step k → share [fraction], summing to 1; one or two channels.
    """
    width = conversion.channel_width_mhz
    # An image is mirrored: the upper edge of the wanted channel makes its lower edge.
    low = image_over_edge_mhz(conversion, width)
    step = channel_step(low, width)
    above = (low - step * width) / width
    shares = {step: 1.0 - above, step + 1: above}
    return MappingProxyType({k: share for k, share in shares.items() if share > _EDGE_TOLERANCE})


def oscillator_channel(conversion: Conversion) -> TroubledChannel:
    """Return the channel in which the receiver's own oscillator lies; its leak troubles receivers of it."""
    place = conversion.oscillator_over_edge_mhz
    return TroubledChannel(channel_step(place, conversion.channel_width_mhz), "oscillator", place)


def image_channels(conversion: Conversion) -> tuple[TroubledChannel, ...]:
    """Return the channels in which the images of the carriers lie, in the order of the carriers."""
    images = []
    for carrier in conversion.carriers:
        place = image_over_edge_mhz(conversion, carrier.over_edge_mhz)
        step = channel_step(place, conversion.channel_width_mhz)
        images.append(TroubledChannel(step, _IMAGES[carrier.name], place))
    return tuple(images)


def beat_channels(conversion: Conversion) -> tuple[TroubledChannel, ...]:
    """Return the steps k at which a carrier of channel n + k and one of channel n differ by the IF.

    The difference counts when it lies between the intermediate frequencies of the wanted carriers, both
    included; with one carrier (digital) when it lies within half a channel of it.
    """
    low, high = _intermediate_band_mhz(conversion)
    width = conversion.channel_width_mhz
    offsets = sorted(
        {b.over_edge_mhz - a.over_edge_mhz for a in conversion.carriers for b in conversion.carriers}
    )
    steps = range(channel_step(low - offsets[-1], width), channel_step(high - offsets[0], width) + 1)
    inside = [
        (k, k * width + offset) for k in steps for offset in offsets if low <= k * width + offset <= high
    ]
    # Where several offsets fall on one step the lowest stays, since it is written last.
    nearest = dict(reversed(inside))
    return tuple(TroubledChannel(k, "beat at the IF", nearest[k]) for k in sorted(nearest))


def troubled_channels(conversion: Conversion) -> tuple[TroubledChannel, ...]:
    """Return every channel step that the rule finds, lowest step first.

    Adjacent (±1); on the oscillator's channel (receivers of n leak into n + k, those of n − k into n); at the
    images; and apart by the IF, where two channels beat (either side). A step found twice stands with each of
    its relations.
    """
    width = conversion.channel_width_mhz
    both = (oscillator_channel(conversion), *beat_channels(conversion))
    mirrored = [
        TroubledChannel(-trouble.channel_step, trouble.relation, -trouble.over_edge_mhz) for trouble in both
    ]
    adjacent = [TroubledChannel(k, "adjacent", k * width) for k in (-1, 1)]
    return tuple(sorted([*adjacent, *both, *mirrored, *image_channels(conversion)]))


def steps_of(channels: Iterable[TroubledChannel], *relations: Relation) -> tuple[int, ...]:
    """Return the distinct steps of some relations (all when none is named), lowest first."""
    return tuple(
        sorted(
            {channel.channel_step for channel in channels if not relations or channel.relation in relations}
        )
    )


def _intermediate_band_mhz(conversion: Conversion) -> tuple[float, float]:
    places = [
        abs(conversion.oscillator_over_edge_mhz - carrier.over_edge_mhz) for carrier in conversion.carriers
    ]
    half = conversion.channel_width_mhz / 2.0 if len(places) == 1 else 0.0
    return min(places) - half, max(places) + half


_IMAGES: Final[Mapping[CarrierName, Relation]] = MappingProxyType(
    {"vision": "image of vision", "sound": "image of sound", "centre": "image"}
)


class PublishedSpacing(NamedTuple):
    """Least distance [km] between stations whose channels differ by any of ``channel_steps``."""

    relation: Relation
    channel_steps: tuple[int, ...]
    distance_km: float
    reference: str
    confidence: Confidence


_TABLE_II: Final = "47 CFR 73.698 Table II"

PUBLISHED_SPACINGS: Final = (
    PublishedSpacing("beat at the IF", (-8, 8), 31.4, _TABLE_II, "read"),
    PublishedSpacing("intermodulation", (-5, -4, -3, -2, 2, 3, 4, 5), 31.4, _TABLE_II, "read"),
    PublishedSpacing("adjacent", (-1, 1), 87.7, _TABLE_II, "read"),
    PublishedSpacing("oscillator", (-7, 7), 95.7, _TABLE_II, "read"),
    PublishedSpacing("image of sound", (14,), 95.7, _TABLE_II, "read"),
    PublishedSpacing("image of vision", (15,), 119.9, _TABLE_II, "read"),
)
"""UHF analogue stations of the 6 MHz raster; a step is listed under the relation that asks most of it."""
