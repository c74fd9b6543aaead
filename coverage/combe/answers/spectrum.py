"""What an analyser should show at the test points of a relay: every signal predicted there, and the noise.

At the feeder and at the splitter's ports these are the wanted services, all else that arrives on the
receiving aerial, and the relay's own outputs through the isolation of its aerials; at the output coupler what
the relay sends. Levels are medians of time, those of the feed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

from combe.answers.feed import FeedReport, RelayFeed
from combe.answers.feed_service import ServiceFeed
from combe.answers.feed_spoilers import arrival_dbm
from combe.answers.measuring_points import feeder_end, splitters, stage_kinds
from combe.answers.on_air import on_air, picture_system
from combe.answers.output_side import OutputSide, output_side
from combe.answers.receiving import stages_of
from combe.project import Project, feed_noise_db
from combe.reception import (
    Analyser,
    FeedSignal,
    Screen,
    Shape,
    Stage,
    by_band,
    noise_at_dbm,
    screen_of,
    shown_dbm,
    stage_gain_db,
    work_out,
)
from combe.standards import SpectrumPart, analogue_parts, digital_parts
from combe.stations import Service, Station
from combe.words import tell

Whose = Literal["wanted", "other station", "own output"]


class SpectrumSignal(NamedTuple):
    """One part of one signal on a screen.

    ``width_mhz`` is None for a carrier. ``power_dbm`` is that of the part, ``level_dbm`` where it stands in
    the resolution bandwidth, over ``noise_dbm``. ``peak_sync`` tells whether the power is that at peak sync.
    """

    signal: str
    part: str
    whose: Whose
    frequency_mhz: float
    width_mhz: float | None
    power_dbm: float
    level_dbm: float
    noise_dbm: float | None
    peak_sync: bool

    @property
    def over_noise_db(self) -> float | None:
        """How far it stands over the noise [dB]; None where that is not known."""
        return None if self.noise_dbm is None else self.level_dbm - self.noise_dbm


@dataclass(frozen=True)
class SpectrumScreen:
    """The signals of one band at a test point, as a screen shows them, from low to high frequencies."""

    screen: Screen
    signals: tuple[SpectrumSignal, ...]


@dataclass(frozen=True)
class PointSpectrum:
    """What stands at a test point; ``left_out`` says what is there and is not known."""

    test_point: str
    analyser: Analyser
    screens: tuple[SpectrumScreen, ...]
    left_out: str = ""


class _Sent(NamedTuple):
    """A service with its power at a point [dBm], and the gain that brought it there, by frequency."""

    name: str
    whose: Whose
    service: Service
    power_dbm: float


def with_spectra(report: FeedReport, analyser: Analyser) -> FeedReport:
    """Return a report of feeds with what an analyser should show at the test points of each relay."""
    relays = tuple(
        replace(relay, spectrum=spectra_of(report.project, relay.relay, relay, analyser))
        for relay in report.relays
    )
    return replace(report, relays=relays)


def spectra_of(
    project: Project, station: Station, feed: RelayFeed | None, analyser: Analyser
) -> tuple[PointSpectrum, ...]:
    """Return what an analyser should show at the test points of a station; ``feed`` is that of a relay."""
    side = output_side(project, station)
    received = () if feed is None else _received(project, feed, analyser)
    return (*received, *_radiated(project, side, analyser))


def _received(project: Project, feed: RelayFeed, analyser: Analyser) -> Iterator[PointSpectrum]:
    kinds = stage_kinds(feed.side.feed)
    missing = "" if feed.site.own_outputs else (
        "The relay's own outputs are left out: the isolation of its aerials is not known."
    )  # fmt: skip
    first = feed.services[0]
    yield _at(project, feed, first, "feeder", feeder_end(kinds), analyser, missing)
    if not splitters(kinds):
        return
    end, count = splitters(kinds)[-1] + 1, len(feed.services)
    if "channel filter" not in kinds[:end] or count == 1:
        # Every port has the same, as long as nothing before the splitter is of one channel.
        name = "splitter port 1" if count == 1 else tell("splitter ports 1 to {count}", count=count)
        yield _at(project, feed, first, name, end, analyser, missing)
        return
    for number, service in enumerate(feed.services, start=1):
        yield _at(
            project, feed, service, tell("splitter port {number}", number=number), end, analyser, missing
        )


def _at(
    project: Project, feed: RelayFeed, of: ServiceFeed, name: str, end: int, analyser: Analyser, missing: str
) -> PointSpectrum:
    """Return what stands at a point of the chain behind so many stages, those that a service passes."""
    stages = stages_of(feed.side.feed, on_air(project, of.received).edges_mhz)
    noises: dict[float, float] = {}

    def noise_dbm(frequency_mhz: float) -> float:
        if frequency_mhz not in noises:
            noises[frequency_mhz] = _chain_noise_dbm(project, stages, end, frequency_mhz, analyser)
        return noises[frequency_mhz]

    parts: list[SpectrumSignal] = []
    for sent in _on_the_aerial(feed):
        own = stages if sent.whose != "wanted" or "channel filter" in stage_kinds(feed.side.feed)[:end] else (
            stages_of(feed.side.feed, on_air(project, sent.service).edges_mhz)
        )  # fmt: skip
        for part, frequency_mhz in _parts(project, sent.service):
            gain_db = sum(stage_gain_db(stage, frequency_mhz) for stage in own[:end])
            power_dbm = sent.power_dbm + part.level_db + gain_db
            parts.append(_signal(sent, part, frequency_mhz, power_dbm, noise_dbm(frequency_mhz), analyser))
    return PointSpectrum(name, analyser, _screens(parts, analyser), missing)


def _on_the_aerial(feed: RelayFeed) -> Iterator[_Sent]:
    """Yield all services at the receiving aerial's terminals with their powers."""
    site, names = feed.site, {service.received.name for service in feed.services}
    for service in feed.services:
        level_dbm = service.cascade.levels[0][0].level_dbm
        yield _Sent(service.received.name, "wanted", service.received, level_dbm)
    for arrival in site.arrivals:
        station, heard = arrival.signal.station, arrival.service
        if station != feed.parent.name or heard.name not in names:
            yield _Sent(
                tell("{station} {name}", station=station, name=heard.name),
                "other station",
                heard,
                arrival_dbm(site, arrival),
            )
    for (output, apart_db), sent in zip(site.own_outputs, site.relay.services, strict=False):
        yield _Sent(
            tell("{name} {name_2}", name=site.relay.name, name_2=sent.name),
            "own output",
            sent,
            output.power_dbm - apart_db,
        )


def _radiated(project: Project, side: OutputSide | None, analyser: Analyser) -> Iterator[PointSpectrum]:
    """Yield what stands at the output coupler; nothing where the study has no output side."""
    if side is None:
        return
    parts = []
    for each in side.services:
        sent = _Sent(each.air.service.name, "own output", each.air.service, each.budget.points[0].power_dbm)
        for part, frequency_mhz in _parts(project, each.air.service):
            power_dbm = sent.power_dbm + part.level_db
            parts.append(_signal(sent, part, frequency_mhz, power_dbm, None, analyser))
    yield PointSpectrum("output coupler", analyser, _screens(parts, analyser), _COUPLER)


_COUPLER: Final = (
    "Powers at the amplifier's output; an analyser behind a coupler shows them less by what that takes off."
    " The noise there is not known: shoulders and products are limits of the sheet."
)


def _parts(project: Project, service: Service) -> Iterator[tuple[SpectrumPart, float]]:
    """Yield the parts of a service with their frequencies [MHz]."""
    air, analogue = on_air(project, service), picture_system(project, service)
    television = project.television_of(service)
    width_mhz = air.edges_mhz[1] - air.edges_mhz[0]
    parts = (
        digital_parts(television.signal, television.bandwidth_mhz, width_mhz)
        if analogue is None
        else analogue_parts(analogue)
    )
    for part in parts:
        yield part, air.carrier_mhz + part.offset_mhz


def _signal(
    sent: _Sent,
    part: SpectrumPart,
    frequency_mhz: float,
    power_dbm: float,
    noise_dbm: float | None,
    analyser: Analyser,
) -> SpectrumSignal:
    shape = Shape(frequency_mhz, part.width_mhz, power_dbm)
    return SpectrumSignal(
        sent.name,
        part.name,
        sent.whose,
        frequency_mhz,
        part.width_mhz or None,
        power_dbm,
        shown_dbm(shape, analyser),
        noise_dbm,
        part.name == "vision",
    )


def _chain_noise_dbm(
    project: Project, stages: Sequence[Stage], end: int, frequency_mhz: float, analyser: Analyser
) -> float:
    """Return the noise on the screen at a frequency: that which the chain brings, and the analyser's."""
    noise_db = feed_noise_db(project, frequency_mhz)
    probe = FeedSignal("noise", frequency_mhz, 0.0, 1.0, noise_db)
    in_1_mhz_dbm = work_out(stages, [probe]).levels[end][0].noise_dbm
    return noise_at_dbm(in_1_mhz_dbm + 10.0 * math.log10(analyser.resolution_mhz), analyser)


def _screens(parts: Sequence[SpectrumSignal], analyser: Analyser) -> tuple[SpectrumScreen, ...]:
    shapes = [Shape(each.frequency_mhz, each.width_mhz or 0.0, each.power_dbm) for each in parts]
    found = []
    for places in by_band(shapes):
        here = [parts[at] for at in places]
        noises = [each.noise_dbm for each in here if each.noise_dbm is not None]
        # A line of noise is drawn where it is lowest; what stands under it is hidden all over.
        floor_dbm = min(noises, default=analyser.noise_dbm)
        screen = screen_of([shapes[at] for at in places], analyser, floor_dbm)
        found.append(SpectrumScreen(screen, tuple(here)))
    return tuple(found)
