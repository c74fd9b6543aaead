"""The pictures of a feed: levels through the chain, the receiver's window, the field by height."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from combe.digits import true_minus
from combe.publishing.document import Picture
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import RelayFeed
    from combe.answers.scan import HeightScan
    from combe.reception import WindowPlace


def waterfall_picture(relay: RelayFeed) -> Picture:
    """Return level and noise of each service at every point of the chain."""
    first = relay.services[0]
    return Picture(
        lambda: _waterfall(relay),
        tell("Level and noise of each service at {points}.", points=joined(", ", first.cascade.points)),
        "Levels through the chain",
        tell(
            "Marks: level of each service; dashes: its noise; between them its carrier-to-noise ratio. "
            "Numbers are those of {name}.",
            name=first.received.name,
        ),
    )


def _waterfall(relay: RelayFeed) -> str:
    from combe.publishing.chain_diagrams import Waterfall, WaterfallLine, waterfall_svg
    from combe.reception import waterfall

    lines = []
    for service in relay.services:
        rows = waterfall(service.cascade, service.received.name)
        levels, noises = (row.level_dbm for row in rows), (row.noise_dbm for row in rows)
        lines.append(WaterfallLine(service.received.name, tuple(levels), tuple(noises)))
    cascade = relay.services[0].cascade
    limits = tuple(load.limit_dbm for load in cascade.loads)
    return waterfall_svg(Waterfall(cascade.points, tuple(lines), limits))


def window_picture(relay: RelayFeed, places: Sequence[WindowPlace]) -> Picture:
    """Return where each service sits in the receiver's window."""
    words = true_minus(
        joined(
            "; ",
            (tell("{service}: {reason}", service=place.service, reason=place.reason) for place in places),
        )
    )
    return Picture(
        lambda: _window(relay, places),
        tell("Where each service sits. {words}.", words=words),
        "The receiver's window",
        tell("{words}.", words=words),
    )


def _window(relay: RelayFeed, places: Sequence[WindowPlace]) -> str:
    from combe.publishing.chain_diagrams import WindowBar, WindowPicture, window_svg

    window = relay.side.window
    assert window is not None, "asked for only where there is one"
    bars = (WindowBar(each.service, each.faded_dbm, each.median_dbm, each.enhanced_dbm) for each in places)
    percent = relay.services[0].budget.time_percent
    edges = (window.lowest_dbm, window.highest_dbm, window.mute_dbm)
    rare = relay.services[0].year.rare_percent
    return window_svg(WindowPicture(*edges, percent, tuple(bars), rare))


def height_picture(scan: HeightScan, words: Sequence[str]) -> Picture:
    """Return the field against the height of the receiving aerial."""
    return Picture(
        lambda: _heights(scan),
        tell("Field strength against height of the receiving aerial. {words}.", words=joined(". ", words)),
        "Field by height of the receiving aerial",
    )


def _heights(scan: HeightScan) -> str:
    from combe.publishing.chain_diagrams import HeightGain, HeightLine, height_gain_svg

    nulls_m = {each.service: each.null_height_m for each in scan.ground_rays if each.ray.expected}
    lines = (
        HeightLine(name, each.field_dbuv_m, each.field_at_time_dbuv_m, nulls_m.get(name, ()))
        for each in scan.services
        for name in (each.service.name,)
    )
    return height_gain_svg(HeightGain(scan.height_m, tuple(lines), scan.planned_height_m, scan.time_percent))
