"""Stations that the receiver's own frequencies bring in: its image, its oscillator's channel, its beat."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from combe.errors import require_range
from combe.reception.feed_interference import UnwantedSignal, WantedAt, WantedSignal, wanted_field_dbuv_m
from combe.reception.receive_aerial import ReceiveAerial, discrimination_db
from combe.standards import Conversion, Relation, channel_step, troubled_channels


class Trap(NamedTuple):
    """An unwanted station that the receiver's own frequencies bring in.

    ``unwanted_over_wanted_db`` is its 1 % field over the median of the wanted one at the aerial's terminals,
    or its median over the wanted one in its fade if that is more; ``wanted_at`` says which. For an image
    ``carrier_to_interference_db`` is what is left behind the receiver's image rejection; for the other
    relations it is None, for there the receiver's screening decides and the level is a caution only.
    """

    station: str
    service: str
    channel_step: int
    relation: Relation
    unwanted_over_wanted_db: float
    carrier_to_interference_db: float | None
    wanted_at: WantedAt = "median"


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
    # Neighbours have protection ratios of their own and are judged by those.
    related = [channel for channel in troubled_channels(conversion) if channel.relation != "adjacent"]
    traps = []
    for signal in unwanted:
        step = _step(wanted, signal, conversion.channel_width_mhz)
        over_db, wanted_at = _over_wanted(wanted, signal, aerial)
        for trouble in related:
            if trouble.channel_step == step:
                image = trouble.relation.startswith("image")
                left_db = image_rejection_db - over_db if image else None
                place = (signal.station, signal.service, step, trouble.relation)
                traps.append(Trap(*place, over_db, left_db, wanted_at))
    return tuple(sorted(traps, key=lambda trap: -trap.unwanted_over_wanted_db))


def _over_wanted(
    wanted: WantedSignal, unwanted: UnwantedSignal, aerial: ReceiveAerial
) -> tuple[float, WantedAt]:
    """Return how far an unwanted signal is over the wanted one at most [dB], and at what of that."""
    aerial_db = discrimination_db(aerial, unwanted.bearing_deg, unwanted.polarization)
    wanted_dbuv_m = wanted_field_dbuv_m(wanted, aerial) + aerial_db
    falls_db = 0.0 if unwanted.fades_alike else wanted.fade_db
    usual_db = unwanted.one_percent_dbuv_m - wanted_dbuv_m
    faded_db = unwanted.median_dbuv_m - (wanted_dbuv_m - falls_db)
    return (faded_db, "fade") if faded_db > usual_db else (usual_db, "median")


def _step(wanted: WantedSignal, unwanted: UnwantedSignal, width_mhz: float) -> int:
    # The frequencies of a conversion count from the lower edge of the wanted channel.
    lower_edge_mhz = wanted.channel.centre_mhz - wanted.channel.width_mhz / 2.0
    return channel_step(unwanted.channel.centre_mhz - lower_edge_mhz, width_mhz)
