"""What a relay's channels have to do with one another, with its inputs, and with the public's aerials.

Taboos: a channel that troubles the relay's own receiver, two outputs that cannot stand on one mast, and
products of the set that fall on an input. Groups: which parts of the bands an aerial of one kind takes in.
Their division is common practice, with no source here: aerials of Bands I and III are made for those, at UHF
for the lower, the middle or the upper part, or wide for all of it. Edges at UHF are those of channels 21 to
69 of the 8 MHz raster.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from combe.reception import Protection, ToneCarrier, third_order_products
from combe.standards import Conversion, curve_number, troubled_channels
from combe.words import tell

_ANY_INTERCEPT_DBM = 0.0


SOURCE: Final = "common practice, no source"


class Hit(NamedTuple):
    """A third-order product of some outputs (by channel) that falls on an input channel."""

    outputs: frozenset[int]
    on_channel: int


Apart = Callable[[int, int], int]
"""How many channels an unwanted channel lies above a wanted one, by their numbers in that order."""


def by_number(wanted: int, unwanted: int) -> int:
    """Return how far two channels of a raster without gaps lie apart."""
    return unwanted - wanted


def input_troubles(
    conversion: Conversion, inputs: Sequence[int], channel: int, *, apart: Apart = by_number
) -> tuple[str, ...]:
    """Say how an output channel troubles the relay's own receiver on its input channels; nothing if not.

    The receiver hears its own output far stronger than its input: the same and the next channel, and those
    that its oscillator, its image or a beat at the intermediate frequency brings in.
    """
    troubles = []
    for received in inputs:
        if channel == received:
            troubles.append(tell("its own input {received}", received=received))
        relations = [
            trouble.relation
            for trouble in troubled_channels(conversion)
            if trouble.channel_step == apart(received, channel)
        ]
        troubles += [
            tell("{get} its input {received}", get=_RELATIONS.get(each, each), received=received)
            for each in dict.fromkeys(relations)
        ]
    return tuple(troubles)


_RELATIONS: Mapping[str, str] = {
    "adjacent": "next to",
    "oscillator": "oscillator shared with",
    "image": "image of",
    "image of vision": "image (vision) of",
    "image of sound": "image (sound) of",
    "beat at the IF": "beat at the intermediate frequency with",
}


def output_conflict(
    ratios: Mapping[int, Protection],
    conversion: Conversion,
    one: tuple[int, float],
    other: tuple[int, float],
    *,
    analogue: bool,
    apart: Apart = by_number,
    back: Mapping[int, Protection] | None = None,
) -> str:
    """Say why two outputs of one mast cannot stand together; nothing where they can.

    Parameters
    ----------
    ratios
        Protection ratios of the one against the other, by unwanted less wanted channel.
    one, other : (channel, ERP in dBW)
        Their fields are in the ratio of their ERP everywhere, for all of the time.
    analogue
        Whether receivers' oscillators and beats are to be kept clear of too, which no ratio tells of.
    apart
        How far two channels lie apart in the raster.
    back
        Ratios of the other against the one, where they are of two systems.
    """
    # Each in turn as the wanted one, for ratios differ with the side on which the other lies.
    turns = ((one, other, ratios), (other, one, ratios if back is None else back))
    for (channel, erp_dbw), (unwanted, other_dbw), asked in turns:
        step = apart(channel, unwanted)
        if step == 0:
            same = tell("both on channel {channel}", channel=channel)
            return (
                same
                if channel == unwanted
                else tell("channel {unwanted} overlaps channel {channel}", unwanted=unwanted, channel=channel)
            )
        # From one mast both come and go together, always: the continuous ratio.
        asked_db = asked[step].continuous_db if step in asked else -math.inf
        if erp_dbw - other_dbw < asked_db:
            return tell(
                "channel {unwanted} breaks the protection ratio of {channel} ({asked_db:g} dB)",
                unwanted=unwanted,
                channel=channel,
                asked_db=asked_db,
            )
        if analogue:
            for trouble in troubled_channels(conversion):
                if trouble.channel_step == step and trouble.relation != "adjacent":
                    relation = _RELATIONS.get(trouble.relation, trouble.relation)
                    return tell(
                        "channel {unwanted}: {relation} {channel}",
                        unwanted=unwanted,
                        relation=relation,
                        channel=channel,
                    )
    return ""


def product_hits(
    outputs: Sequence[int], inputs: Sequence[int], frequencies_mhz: Mapping[int, float], width_mhz: float
) -> tuple[Hit, ...]:
    """Return the third-order products of outputs in one amplifier whose centre falls in an input channel."""
    if len(outputs) < 2:
        return ()
    carriers = [ToneCarrier(str(output), frequencies_mhz[output], 0.0) for output in outputs]
    hits = []
    for product in third_order_products(carriers, _ANY_INTERCEPT_DBM):
        for received in inputs:
            if abs(product.frequency_mhz - frequencies_mhz[received]) < width_mhz / 2.0:
                hits.append(Hit(frozenset(int(name) for name in product.made_of), received))
    return tuple(dict.fromkeys(hits))


class AerialGroup(NamedTuple):
    """The part of the bands that an aerial takes in [MHz]."""

    name: str
    low_mhz: float
    high_mhz: float


AERIAL_GROUPS: Final = (
    AerialGroup("Band I", 47.0, 108.0),
    AerialGroup("Band III", 162.0, 230.0),
    AerialGroup("lower UHF", 470.0, 606.0),
    AerialGroup("middle UHF", 582.0, 734.0),
    AerialGroup("upper UHF", 686.0, 862.0),
)


def groups_of(frequencies_mhz: Iterable[float]) -> tuple[AerialGroup, ...]:
    """Return the groups that take in all of some frequencies [MHz]; none where only a wide aerial does.

    Examples
    --------
    >>> [group.name for group in groups_of([490.0, 594.0])]
    ['lower UHF']
    """
    asked = list(frequencies_mhz)
    return tuple(
        group for group in AERIAL_GROUPS if all(group.low_mhz <= each <= group.high_mhz for each in asked)
    )


def needs_another_aerial(present_mhz: Iterable[float], frequency_mhz: float) -> bool:
    """Tell whether no aerial group that takes in the present services takes in a new frequency too [MHz].

    Where the present services need a wide aerial, or there are none, no new channel of their bands needs
    another one.
    """
    present = list(present_mhz)
    # However wide, an aerial is made for one of Band I, Band III and UHF, or has a part for each of them.
    if present and curve_number(frequency_mhz) not in {curve_number(each) for each in present}:
        return True
    return bool(present and groups_of(present)) and not groups_of([*present, frequency_mhz])
