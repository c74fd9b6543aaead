"""The receiving side of a relay as the study writes it, turned into aerial, stages and window."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from combe.decibels import thermal_noise_dbm
from combe.errors import RangeError
from combe.project import Feed, FeedStage, InputWindow, Project, SitingService
from combe.reception import (
    AgcWindow,
    Cascade,
    FeedChain,
    ReceiveAerial,
    Stage,
    chain_quality,
    discrimination_db,
    stack_gain_dbi,
    waterfall,
)
from combe.reception import stages as kit
from combe.standards import (
    DIRECTIVITY_CURVES,
    READ_AT_MHZ,
    curve_number,
    feeder_exponent,
    feeder_loss_db,
    same_signal,
)
from combe.stations import Service, Station
from combe.words import tell

_GAIN_KINDS = ("masthead amplifier", "active splitter", "attenuator", "channel filter")


@dataclass(frozen=True)
class ReceivingSide:
    """What stands behind the parent's field, and what is asked of it.

    ``aerial_gain_dbi`` is that towards the parent; ``image_rejection_db`` is None where the study does not
    state it. ``in_full`` tells whether the study lists the stages as built.
    """

    feed: Feed
    aerial_height_m: float
    aerial: ReceiveAerial
    aerial_gain_dbi: float
    window: AgcWindow | None
    bandwidth_mhz: float
    required_cn_db: float
    image_rejection_db: float | None
    intermediate_frequency_mhz: float | None

    @property
    def in_full(self) -> bool:
        """Whether the stages stand in the study one by one."""
        return self.feed.as_built


def receiving_side(
    project: Project, feed: Feed, parent: Station, relay: Station, bearing_deg: float
) -> ReceivingSide:
    """Return the receiving side of a relay whose parent lies on a bearing [degrees from true north].

    Bandwidth and C/N are those of the relay's first service; :func:`side_for` has those of another.

    Raises
    ------
    RangeError
        Where neither the feed nor the system states a C/N.
    """
    aerial = _aerial(feed, parent, bearing_deg)
    towards_db = discrimination_db(aerial, bearing_deg, parent.polarization)
    receiver = feed.stages[-1]
    return ReceivingSide(
        feed=feed,
        aerial_height_m=feed.aerial.height_m,
        aerial=aerial,
        aerial_gain_dbi=stack_gain_dbi(aerial) - towards_db,
        window=_window(feed.window),
        bandwidth_mhz=project.television_of(relay.services[0]).bandwidth_mhz,
        required_cn_db=required_cn_db(project, feed, relay, relay.services[0]),
        image_rejection_db=_image_rejection_db(feed),
        intermediate_frequency_mhz=receiver.intermediate_frequency_mhz,
    )


def side_for(
    project: Project, side: ReceivingSide, relay: Station, radiated: Service, received: Service
) -> ReceivingSide:
    """Return the receiving side with bandwidth and C/N of one service of a relay."""
    bandwidth_mhz = project.television_of(received).bandwidth_mhz
    same = same_signal(project.television_of(received), project.television_of(radiated))
    # What is not received is not judged, and shown beside what the relay's own mode needs.
    required_db = required_cn_db(project, side.feed, relay, received if same else radiated)
    return replace(side, bandwidth_mhz=bandwidth_mhz, required_cn_db=required_db)


def required_cn_db(project: Project, feed: Feed, relay: Station, service: Service) -> float:
    """Return the C/N that the feed of a service needs [dB]: that which the feed states, or that of its mode.

    What the feed of a relay with pictures and multiplexes states is for the pictures, whose planning has no
    C/N of its own.
    """
    system = project.television_of(service)
    for_pictures = any(project.television_of(each).required_cn_db is None for each in relay.services)
    stated_db, own_db = feed.required_cn_db, system.required_cn_db
    required_db = own_db if stated_db is None or (for_pictures and own_db is not None) else stated_db
    if required_db is None:
        raise RangeError("required_cn_db of the feed", "missing", f"a C/N in dB; {system.name} states none")
    return required_db


def sends_all(project: Project, station: Station, services: Iterable[Service | SitingService]) -> bool:
    """Tell whether a station sends every one of some services as they are to be radiated again."""
    sent = {service.name: project.television_of(service) for service in station.services}
    return all(
        each.name in sent and same_signal(sent[each.name], project.television_of(each)) for each in services
    )


def not_received(project: Project, parent: Station, radiated: Service, received: Service) -> tuple[str, ...]:
    """Return that a service is radiated as what the parent does not send, nothing where it is the same."""
    sent, wanted = project.television_of(received), project.television_of(radiated)
    if same_signal(sent, wanted):
        return ()
    return (
        tell(
            "it is radiated as {name}, and {name_2} sends it as {name_3}: what the relay "
            "radiates comes to it some other way, which is not in the study",
            name=wanted.name,
            name_2=parent.name,
            name_3=sent.name,
        ),
    )


def stages_of(feed: Feed, edges_mhz: tuple[float, float]) -> tuple[Stage, ...]:
    """Return the stages that a service on a channel passes, the channel's edges in MHz."""
    names = stage_names(feed.stages)
    return tuple(_stage(each, name, edges_mhz) for each, name in zip(feed.stages, names, strict=True))


def stage_names(stages: Sequence[FeedStage]) -> list[str]:
    """Return a name for each stage: its own, or its kind, numbered where that would come twice."""
    taken = Counter(stage.name for stage in stages if stage.name)
    names = []
    for stage in stages:
        if stage.name is None:
            taken[stage.kind] += 1
            count = taken[stage.kind]
            names.append(stage.kind if count == 1 else tell("{kind} {count}", kind=stage.kind, count=count))
        else:
            names.append(stage.name)
    return names


def budget_chain(side: ReceivingSide, stages: Sequence[Stage], cascade: Cascade, service: str) -> FeedChain:
    """Return a worked-out chain as the lumps of a budget: feeders, splitters, the rest, and the noise."""
    rows = waterfall(cascade, service)
    steps = list(zip(stages[:-1], (row.step_db for row in rows[1:-1]), strict=True))
    noise_dbm = chain_quality(cascade, service).noise_dbm - stages[-1].gain_db
    own_db = stages[-1].noise_figure_db or 0.0
    return FeedChain(
        aerial_height_m=side.aerial_height_m,
        aerial_gain_dbi=side.aerial_gain_dbi,
        feeder_loss_db=-sum(step for stage, step in steps if stage.kind == "feeder"),
        splitter_loss_db=-sum(step for stage, step in steps if stage.kind == "passive splitter"),
        noise_figure_db=own_db,
        bandwidth_mhz=side.bandwidth_mhz,
        required_cn_db=side.required_cn_db,
        required_margin_db=side.feed.required_margin_db,
        other_gain_db=sum(step for stage, step in steps if stage.kind in _GAIN_KINDS),
        noise_ahead_db=max(0.0, noise_dbm - thermal_noise_dbm(side.bandwidth_mhz) - own_db),
    )


def _aerial(feed: Feed, parent: Station, bearing_deg: float) -> ReceiveAerial:
    given = feed.aerial
    return ReceiveAerial(
        gain_dbi=given.gain_dbi,
        bearing_deg=bearing_deg % 360.0 if given.bearing_deg is None else given.bearing_deg,
        polarization=given.polarization or parent.polarization,
        count=given.count,
        stacking_loss_db=given.stacking_loss_db,
        pattern=given.pattern,
        cross_polar_db=given.cross_polar_db,
        curve=DIRECTIVITY_CURVES[curve_number(parent.services[0].frequency_mhz)],
    )


def _window(window: InputWindow | None) -> AgcWindow | None:
    if window is None:
        return None
    return AgcWindow(window.lowest_dbm, window.highest_dbm, window.mute_dbm)


def _image_rejection_db(feed: Feed) -> float | None:
    """Return the receiver's image rejection with that of the filters before it [dB], at most 150."""
    if feed.stages[-1].image_rejection_db is None:
        return None
    filters_db = sum(stage.rejection_db or 0.0 for stage in feed.stages)
    return min(150.0, feed.stages[-1].image_rejection_db + filters_db)


def _stage(stage: FeedStage, name: str, edges_mhz: tuple[float, float]) -> Stage:
    match stage.kind:
        case "feeder":
            return _feeder(stage, name, edges_mhz)
        case "passive splitter":
            if stage.ways is None:
                return Stage(name, "passive splitter", -_given("loss_db", stage.loss_db))
            return kit.passive_splitter(name, stage.ways, excess_loss_db=stage.excess_loss_db or 0.0)
        case "attenuator":
            return kit.attenuator(name, _given("loss_db", stage.loss_db))
        case "channel filter":
            return kit.channel_filter(
                name,
                _given("loss_db", stage.loss_db),
                passband_mhz=edges_mhz if stage.passband == "channel" else stage.passband_mhz,
                rejection_db=stage.rejection_db or 0.0,
            )
        case _:
            return _noisy(stage, name)


def _noisy(stage: FeedStage, name: str) -> Stage:
    noise_figure_db = _given("noise_figure_db", stage.noise_figure_db)
    if stage.kind == "receiver":
        return kit.receiver(name, noise_figure_db=noise_figure_db, input_limit_dbm=stage.input_limit_dbm)
    make = kit.masthead_amplifier if stage.kind == "masthead amplifier" else kit.active_splitter
    return make(
        name,
        gain_db=_given("gain_db", stage.gain_db),
        noise_figure_db=noise_figure_db,
        output_limit_dbm=stage.output_limit_dbm,
    )


def _feeder(stage: FeedStage, name: str, edges_mhz: tuple[float, float]) -> Stage:
    if stage.size is None:
        return kit.feeder(name, _given("loss_db", stage.loss_db), at_mhz=stage.at_mhz)
    at_mhz = READ_AT_MHZ[0]
    loss_db = feeder_loss_db(stage.size, at_mhz, _given("length_m", stage.length_m))
    return kit.feeder(name, loss_db, at_mhz=at_mhz, exponent=feeder_exponent(stage.size, edges_mhz[0]))


def _given(key: str, value: float | None) -> float:
    """Return a value that the check of the study has made sure of."""
    if value is None:
        raise RangeError(f"{key} of the feed", "missing", "a number", "see combe check")
    return value
