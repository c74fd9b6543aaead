"""What speaks against each output channel of a relay before anybody is counted: its inputs, and its site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from combe.answers.channel_signals import Field
from combe.answers.on_air import conversion_of, on_air
from combe.planning.channels.relations import SOURCE, groups_of, input_troubles, needs_another_aerial
from combe.prediction.targets import find_targets, predict_targets
from combe.project import minimum_field_dbuv_m
from combe.standards.channels import centre_frequency_mhz
from combe.standards.frequency_relations import Conversion
from combe.stations.transmitter import Service, Station


@dataclass(frozen=True)
class Verdicts:
    """By channel why it is rejected, and for the others what has to be borne in mind."""

    rejected: dict[int, tuple[str, ...]]
    cautions: dict[int, tuple[str, ...]]


@dataclass(frozen=True)
class Arriving:
    """A service of a settled station at the relay's receiving aerial, with its median field [dB(µV/m)]."""

    station: str
    service: Service
    field_dbuv_m: float


def inputs_of(field: Field, relay: Station) -> tuple[Service, ...]:
    """Return the services of the parent that the relay receives."""
    parent = field.project.station(str(relay.parent))
    names = {service.name for service in relay.services}
    return tuple(service for service in parent.services if service.name in names)


def judge_relay(
    field: Field, relay: Station, settled: Sequence[Station], channels: Sequence[int]
) -> Verdicts:
    """Return what is wrong with each of some channels for a relay.

    Raises
    ------
    RangeError, TerrainGapError
        As the prediction of the receive site.
    """
    received = inputs_of(field, relay)
    arriving = arriving_at(field, relay, settled)
    conversion = conversion_at(field, received)
    rejected, cautions = {}, {}
    for channel in channels:
        reasons = input_troubles(conversion, [each.channel for each in received], channel)
        reasons += _occupied(field, arriving, channel)
        if reasons:
            rejected[channel] = reasons
        else:
            cautions[channel] = _aerial_cautions(field, received, channel)
    return Verdicts(rejected, {channel: told for channel, told in cautions.items() if told})


def conversion_at(field: Field, received: Sequence[Service]) -> Conversion:
    """Return the frequency change of the relay's receiver, the usual one of the system."""
    return conversion_of(field.project, on_air(field.project, received[0]), None)


def arriving_at(field: Field, relay: Station, settled: Sequence[Station]) -> list[Arriving]:
    """Return the fields of the settled stations at the relay's receiving aerial, omnidirectional."""
    feed = next(each for station, each in field.project.fed if station.name == relay.name)
    place = find_targets(field.area, [relay.longitude_deg], [relay.latitude_deg])
    found = []
    for station in settled:
        levels = predict_targets(
            field.area,
            station,
            place,
            conditions=field.project.conditions,
            rx_height_m=feed.aerial.height_m,
        )
        pairs = zip(station.services, levels[:, 0].tolist(), strict=True)
        found += [Arriving(station.name, service, level) for service, level in pairs]
    return found


def _occupied(field: Field, arriving: Sequence[Arriving], channel: int) -> tuple[str, ...]:
    """Say who is received at the site on a channel; a channel is free where nobody reaches the minimum."""
    frequency_mhz = centre_frequency_mhz(field.project.channel_raster, channel)
    minimum = minimum_field_dbuv_m(field.project, frequency_mhz)
    return tuple(
        f"not free at the receive site: {each.station} arrives with {each.field_dbuv_m:.0f} dB(µV/m)"
        for each in arriving
        if each.service.channel == channel and each.field_dbuv_m >= minimum
    )


def _aerial_cautions(field: Field, received: Sequence[Service], channel: int) -> tuple[str, ...]:
    present = [each.frequency_mhz for each in received]
    frequency_mhz = centre_frequency_mhz(field.project.channel_raster, channel)
    if not needs_another_aerial(present, frequency_mhz):
        return ()
    names = " or ".join(group.name for group in groups_of(present))
    return (f"outside the aerial group of the present services, {names} ({SOURCE})",)
