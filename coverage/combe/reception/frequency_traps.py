"""Stations on the image, the oscillator's channel or the beat of the relay's own receiver."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from combe.errors import require_range
from combe.reception.feed_interference import UnwantedSignal, WantedSignal, wanted_field_dbuv_m
from combe.reception.receive_aerial import ReceiveAerial, discrimination_db
from combe.standards.frequency_relations import Conversion, Relation, channel_step, troubled_channels


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
    related = [each for each in troubled_channels(conversion) if each.relation != "adjacent"]
    found = []
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
                found.append(Trap(signal.station, signal.service, step, trouble.relation, over_db, left_db))
    return tuple(sorted(found, key=lambda trap: -trap.unwanted_over_wanted_db))


def _step(wanted: WantedSignal, unwanted: UnwantedSignal, width_mhz: float) -> int:
    lower_edge_mhz = wanted.channel.centre_mhz - wanted.channel.width_mhz / 2.0
    return channel_step(unwanted.channel.centre_mhz - lower_edge_mhz, width_mhz)
