"""People whom a relay on a hill would harm: served before, and not against its co-channel field.

Only services of stations on air on the very channel of an output are looked at. The relay's field for 1 %
of time (its median for models without time) stands against the wanted median, without discrimination by the
receiving aerial, and the required C/N is the ratio asked: all on the safe side. Adjacent channels are not
judged here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from combe.decibels import FloatArray
from combe.planning.population import Mask, people_served
from combe.prediction.coverage import predict_coverage
from combe.stations.transmitter import Station
from combe.study.run_site import SiteWork
from combe.terrain.people_raster import covered_fraction

_RARE_PERCENT: Final = 1.0
_SAME_CHANNEL_MHZ: Final = 0.5

NONE_SHARED: Final = "no station on air shares an output channel, so nobody can be harmed on it"
HOW: Final = (
    "people served before whose carrier-to-interference ratio falls under the C/N asked, the relay's field "
    "for 1 % of time, without discrimination by the receiving aerial; adjacent channels not judged"
)


@dataclass(frozen=True)
class Shared:
    """A service on air on the channel of an output: whom it serves before, and with what field."""

    station: str
    service: str
    channel: int
    output: int
    field_dbuv_m: FloatArray
    served: Mask


def shared_channels(work: SiteWork) -> tuple[Shared, ...]:
    """Return the services on air that share a channel with an output of the relay."""
    names = {station.name for station in work.on_air}
    found = []
    for covered in work.cover.stations:
        if covered.station.name not in names:
            continue
        for each in covered.services:
            for number, output in enumerate(work.template.services):
                if abs(output.frequency_mhz - each.frequency_mhz) < _SAME_CHANNEL_MHZ:
                    field = each.field_map.field_dbuv_m.astype(np.float64)
                    found.append(
                        Shared(covered.station.name, each.service, each.channel, number, field, each.served)
                    )
    return tuple(found)


def people_harmed(work: SiteWork, station: Station, shared: tuple[Shared, ...]) -> float:
    """Return the people harmed by a relay, each counted once."""
    if not shared:
        return 0.0
    cover = work.cover
    assert cover.people is not None, "a siting has people"
    conditions = work.scene.conditions
    if conditions.model == "p1812":
        conditions = replace(conditions, time_percent=_RARE_PERCENT)
    maps = predict_coverage(
        work.area,
        station,
        conditions=conditions,
        rx_height_m=work.scene.study.content.television.receive_height_m,
    )
    harmed = np.zeros(work.area.heights_m.shape, dtype=np.bool_)
    for each in shared:
        ratio = each.field_dbuv_m - maps[each.output].field_dbuv_m
        harmed |= each.served & (ratio < work.question.chain.required_cn_db)
    return people_served(cover.people.counts, covered_fraction(harmed, cover.grid, cover.people))
