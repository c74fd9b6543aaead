"""What else is on a relay's receiving aerial: loads, other stations, own outputs, images, the loop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from combe.answers.emissions import carrier_of
from combe.answers.on_air import OnAir, conversion_of, on_air, signals_of
from combe.answers.relay_site import Arrival, RelaySite
from combe.decibels import power_dbm_from_field
from combe.project import LoopDemands
from combe.reception import (
    FeedSignal,
    LoopResult,
    OwnOutputRow,
    Trap,
    UnwantedSignal,
    WantedSignal,
    discrimination_db,
    find_traps,
    loop_result,
    own_output_rows,
    own_output_signal,
    stack_gain_dbi,
)
from combe.stations import Service
from combe.words import joined, tell

OWN_OUTPUT = "own output"


def loads(site: RelaySite, wanted: Service, rise_db: float = 0.0) -> list[FeedSignal]:
    """Return all signals but the wanted service at the aerial's terminals, medians of time.

    The parent's other services come over the wanted path and rise with it, by ``rise_db``.
    """
    found = [
        signal
        for arrival in site.arrivals
        if not _is_wanted(site, arrival, wanted)
        for signal in _signals(site, arrival, rise_db)
    ]
    width_mhz = site.side.bandwidth_mhz
    return [
        *found,
        *(own_output_signal(output, apart_db, width_mhz) for output, apart_db in site.own_outputs),
    ]


def own_output_rows_of(
    site: RelaySite, signal: FeedSignal, air: OnAir, radiated: Service, fade_db: float
) -> tuple[OwnOutputRow, ...]:
    """Judge each output of the relay against a wanted service in its fade; on one channel it is a loop."""
    found: list[OwnOutputRow] = []
    for (output, apart_db), service in zip(site.own_outputs, site.relay.services, strict=False):
        if service is radiated and keeps_channel(air, radiated):
            continue
        found += own_output_rows(
            signal,
            air.channel,
            [output],
            isolation_db=apart_db,
            required_cn_db=site.side.required_cn_db,
            fade_db=fade_db,
        )
    return tuple(found)


def unwanted_of(
    site: RelaySite, wanted: Service, signal: WantedSignal, rows: Sequence[OwnOutputRow]
) -> list[UnwantedSignal]:
    """Return the services of other stations, and outputs of the relay on the wanted service's own channel."""
    found = [each.signal for each in site.arrivals if not _is_wanted(site, each, wanted)]
    return [*found, *(each for each, row in _own_as_unwanted(site, signal, rows) if row.step == "co-channel")]


def traps_of(
    site: RelaySite,
    air: OnAir,
    wanted: WantedSignal,
    unwanted: Sequence[UnwantedSignal],
    rows: Sequence[OwnOutputRow],
) -> tuple[Trap, ...]:
    """Return what lies on the receiver's image, oscillator and beat, where the study states its rejection."""
    side = site.side
    if side.image_rejection_db is None:
        return ()
    own = [each for each, row in _own_as_unwanted(site, wanted, rows) if row.step != "co-channel"]
    conversion = conversion_of(site.project, air, side.intermediate_frequency_mhz)
    signals = [*unwanted, *own]
    return find_traps(wanted, signals, side.aerial, conversion, image_rejection_db=side.image_rejection_db)


def keeps_channel(air: OnAir, radiated: Service) -> bool:
    """Tell whether a service is radiated on the channel it is received on, so that the relay has a loop."""
    return radiated.channel == air.service.channel


def loop_of(
    site: RelaySite, air: OnAir, radiated: Service, level_dbm: float, fade_db: float
) -> LoopResult | None:
    """Return the loop of a service that keeps its channel, at the gain of its fade.

    None where the channel is shifted, and where the isolation of the aerials is not known: see
    :func:`unknown_own`.
    """
    if not keeps_channel(air, radiated) or not site.own_outputs:
        return None
    demands = site.side.feed.on_channel or LoopDemands()
    output, apart_db = site.own_outputs[site.relay.services.index(radiated)]
    gain_db = output.power_dbm - level_dbm if demands.gain_db is None else demands.gain_db
    return loop_result(
        min(max(gain_db, 0.0), 160.0),
        apart_db,
        fade_db=min(fade_db, 100.0),
        canceller_db=demands.canceller_db,
        required_margin_db=demands.required_margin_db,
    )


def unknown_own(site: RelaySite, air: OnAir) -> tuple[str, ...]:
    """Return what is missing to judge the relay's own outputs on a channel that it receives, or nothing."""
    names = [each.name for each in site.relay.services if each.channel == air.service.channel]
    if not names or site.own_outputs:
        return ()
    return (
        tell(
            "the relay radiates {names} on channel {channel}, which it receives, and"
            " the isolation of its aerials is not known; write isolation_db in a [stations.feed.own_output]"
            " table",
            names=joined(" and ", names),
            channel=air.service.channel,
        ),
    )


def _is_wanted(site: RelaySite, arrival: Arrival, wanted: Service) -> bool:
    return arrival.signal.station == site.parent.name and arrival.service.name == wanted.name


def arrival_dbm(site: RelaySite, arrival: Arrival) -> float:
    """Return the power of another service at the aerial's terminals [dBm], median of time."""
    signal, aerial = arrival.signal, site.side.aerial
    heard_db = discrimination_db(aerial, signal.bearing_deg, signal.polarization)
    gain_dbi = stack_gain_dbi(aerial) - heard_db
    return power_dbm_from_field(signal.median_dbuv_m, arrival.service.frequency_mhz, gain_dbi)


def _signals(site: RelaySite, arrival: Arrival, rise_db: float) -> list[FeedSignal]:
    signal, service = arrival.signal, arrival.service
    level_dbm = arrival_dbm(site, arrival) + (rise_db if signal.fades_alike else 0.0)
    name = (
        service.name
        if signal.station == site.parent.name
        else tell("{station} {name}", station=signal.station, name=service.name)
    )
    return signals_of(site.project, on_air(site.project, service), level_dbm, name)


def _own_as_unwanted(
    site: RelaySite, wanted: WantedSignal, rows: Sequence[OwnOutputRow]
) -> Iterator[tuple[UnwantedSignal, OwnOutputRow]]:
    """Yield the relay's outputs as if they came with the wanted signal, as strong as they are heard."""
    channels = {output.service: output.channel for output, _ in site.own_outputs}
    carriers = {service.name: carrier_of(service) for service in site.relay.services}
    for row in rows:
        field_dbuv_m = min(max(wanted.field_dbuv_m + row.over_wanted_db, -200.0), 200.0)
        place = (wanted.bearing_deg, wanted.polarization, field_dbuv_m, field_dbuv_m)
        yield (
            UnwantedSignal(OWN_OUTPUT, row.service, channels[row.service], *place, carriers[row.service]),
            row,
        )
