"""A relay's receiving site: what all of its services share."""

from __future__ import annotations

from dataclasses import dataclass

from combe.reception.own_output import OwnOutput
from combe.stations.transmitter import Station
from combe.study.arrivals import Arrival, Way, arrivals, way_of
from combe.study.feed_schema import FeedSection
from combe.study.output_side import OutputSide, output_side, own_outputs
from combe.study.receiving import ReceivingSide, receiving_height_m, receiving_side
from combe.study.resolve import Scene, station_named
from combe.study.run_path import PathReport, predict_between


@dataclass(frozen=True)
class RelaySite:
    """A relay with its parent, the path between them, its receiving side, and all else on its aerial.

    ``scene`` predicts medians of time. ``own_outputs`` holds the relay's outputs with the isolation [dB] to
    each, empty where the study states none.
    """

    scene: Scene
    relay: Station
    parent: Station
    path: PathReport
    way: Way
    side: ReceivingSide
    output: OutputSide | None
    arrivals: tuple[Arrival, ...]
    own_outputs: tuple[tuple[OwnOutput, float], ...]


def relay_site(scene: Scene, relay: Station, feed: FeedSection) -> RelaySite:
    """Gather a relay's site; ``scene`` has to predict medians of time."""
    parent, height_m = station_named(scene, feed.from_), receiving_height_m(feed)
    path = predict_between(scene, parent, relay, height_m)
    way = way_of(path, relay)
    output = output_side(scene, relay)
    return RelaySite(
        scene=scene,
        relay=relay,
        parent=parent,
        path=path,
        way=way,
        side=receiving_side(scene, feed, parent, way.arrival_deg),
        output=output,
        arrivals=arrivals(scene, relay, way, height_m),
        own_outputs=tuple(own_outputs(scene, relay, output, feed.own_output)) if feed.own_output else (),
    )
