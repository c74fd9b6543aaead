"""A relay's receiving site: what all of its services share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from combe.answers.arrivals import Arrival, Way, arrivals, way_of
from combe.answers.on_air import conversion_of, on_air
from combe.answers.output_side import OutputSide, output_side, own_outputs
from combe.answers.path import PathReport, predict_between
from combe.answers.receiving import ReceivingSide, receiving_side
from combe.project import Feed, Project
from combe.reception.own_output import OwnOutput
from combe.reception.protection_ratios import channel_relation
from combe.standards.frequency_relations import troubled_channels
from combe.stations.transmitter import Service, Station


@dataclass(frozen=True)
class RelaySite:
    """A relay with its parent, the path between them, its receiving side, and all else on its aerial.

    ``project`` predicts medians of time. ``own_outputs`` holds the relay's outputs with the isolation [dB] to
    each, empty where the study states none.
    """

    project: Project
    relay: Station
    parent: Station
    path: PathReport
    way: Way
    side: ReceivingSide
    output: OutputSide | None
    arrivals: tuple[Arrival, ...]
    own_outputs: tuple[tuple[OwnOutput, float], ...]


def relay_site(project: Project, relay: Station, feed: Feed) -> RelaySite:
    """Gather a relay's site; ``project`` has to predict medians of time."""
    parent, height_m = project.station(feed.parent), feed.aerial.height_m
    path = predict_between(project, parent, relay, height_m)
    way = way_of(path, relay)
    output = output_side(project, relay)
    side = receiving_side(project, feed, parent, way.arrival_deg)
    return RelaySite(
        project=project,
        relay=relay,
        parent=parent,
        path=path,
        way=way,
        side=side,
        output=output,
        arrivals=arrivals(project, relay, way, height_m, _concerns(project, relay, parent, side)),
        own_outputs=tuple(own_outputs(project, relay, output, feed.own_output)) if feed.own_output else (),
    )


def _concerns(
    project: Project, relay: Station, parent: Station, side: ReceivingSide
) -> Callable[[Service], bool]:
    """Return whether a service lies on, beside, or on a troubled channel of one that the relay receives."""
    names = {service.name for service in relay.services}
    wanted = [on_air(project, service) for service in parent.services if service.name in names]
    steps: set[int] = set()
    if side.image_rejection_db is not None:
        conversion = conversion_of(project, wanted[0], side.intermediate_frequency_mhz)
        steps = {each.channel_step for each in troubled_channels(conversion)}

    def counts(service: Service) -> bool:
        channel = on_air(project, service).channel
        return any(
            channel_relation(each.channel, channel) is not None
            or service.channel - each.service.channel in steps
            for each in wanted
        )

    return counts
