"""The receiving side of a relay as the study writes it, turned into aerial, stages and window."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from combe.decibels import thermal_noise_dbm
from combe.errors import RangeError
from combe.reception import stages as kit
from combe.reception.budget import FeedChain
from combe.reception.cascade import Cascade, chain_quality, waterfall
from combe.reception.receive_aerial import ReceiveAerial, discrimination_db, stack_gain_dbi
from combe.reception.stages import Stage
from combe.reception.window import AgcWindow
from combe.standards.feeders import READ_AT_MHZ, feeder_exponent, feeder_loss_db
from combe.stations.pattern import Pattern
from combe.stations.transmitter import Station
from combe.study.feed_schema import FeedSection, ReceiveAerialSection, StageSection, WindowSection
from combe.study.resolve import Scene, resolve_pattern

_GAIN_KINDS = ("masthead amplifier", "active splitter", "attenuator", "channel filter")


@dataclass(frozen=True)
class ReceivingSide:
    """What stands behind the parent's field, and what is asked of it.

    ``aerial_gain_dbi`` is that towards the parent; ``image_rejection_db`` is None where the study does not
    state it. ``in_full`` tells whether the study lists the stages as built.
    """

    section: FeedSection
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
        return bool(self.section.stages)


def receiving_height_m(feed: FeedSection) -> float:
    """Return the height of the receiving aerial above ground [m]."""
    height_m = feed.aerial.height_m if feed.aerial else feed.aerial_height_m
    return _given("aerial_height_m", height_m)


def receiving_side(scene: Scene, feed: FeedSection, parent: Station, bearing_deg: float) -> ReceivingSide:
    """Return the receiving side of a relay whose parent lies on a bearing [degrees from true north].

    Raises
    ------
    RangeError
        Where neither the feed nor the system states a C/N.
    """
    aerial = _aerial(scene, feed, parent, bearing_deg)
    towards_db = discrimination_db(aerial, bearing_deg, parent.polarization)
    last = feed.stages[-1] if feed.stages else None
    return ReceivingSide(
        section=feed,
        aerial_height_m=receiving_height_m(feed),
        aerial=aerial,
        aerial_gain_dbi=stack_gain_dbi(aerial) - towards_db,
        window=_window(feed.window),
        bandwidth_mhz=scene.television.bandwidth_mhz,
        required_cn_db=required_cn_db(scene, feed),
        image_rejection_db=_image_rejection_db(feed),
        intermediate_frequency_mhz=last.intermediate_frequency_mhz if last else None,
    )


def required_cn_db(scene: Scene, feed: FeedSection) -> float:
    """Return the C/N that a feed needs [dB]: its own, or that of the television mode."""
    required_db = scene.television.required_cn_db if feed.required_cn_db is None else feed.required_cn_db
    if required_db is None:
        name = scene.television.name
        raise RangeError("required_cn_db of the feed", "missing", f"a C/N in dB; {name} states none")
    return required_db


def stages_of(feed: FeedSection, edges_mhz: tuple[float, float]) -> tuple[Stage, ...]:
    """Return the stages that a service on a channel passes, the channel's edges in MHz."""
    if not feed.stages:
        return _flat_stages(feed)
    names = stage_names(feed.stages)
    return tuple(_stage(each, name, edges_mhz) for each, name in zip(feed.stages, names, strict=True))


def stage_names(stages: Sequence[StageSection]) -> list[str]:
    """Return a name for each stage: its own, or its kind, numbered where that would come twice."""
    taken = Counter(stage.name for stage in stages if stage.name)
    names = []
    for stage in stages:
        if stage.name is None:
            taken[stage.kind] += 1
            count = taken[stage.kind]
            names.append(stage.kind if count == 1 else f"{stage.kind} {count}")
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
        required_margin_db=side.section.required_margin_db,
        other_gain_db=sum(step for stage, step in steps if stage.kind in _GAIN_KINDS),
        noise_ahead_db=max(0.0, noise_dbm - thermal_noise_dbm(side.bandwidth_mhz) - own_db),
    )


def _aerial(scene: Scene, feed: FeedSection, parent: Station, bearing_deg: float) -> ReceiveAerial:
    section = feed.aerial
    if section is None:
        gain_dbi = _given("aerial_gain_dbi", feed.aerial_gain_dbi)
        return ReceiveAerial(gain_dbi, bearing_deg % 360.0, parent.polarization)
    return ReceiveAerial(
        gain_dbi=section.gain_dbi,
        bearing_deg=bearing_deg % 360.0 if section.bearing_deg is None else section.bearing_deg,
        polarization=section.polarization or parent.polarization,
        count=section.count,
        stacking_loss_db=section.stacking_loss_db,
        pattern=_pattern(scene, section),
        cross_polar_db=section.cross_polar_db,
    )


def _pattern(scene: Scene, section: ReceiveAerialSection) -> Pattern | None:
    return None if section.pattern is None else resolve_pattern(scene.study, section.pattern, "horizontal")


def _window(section: WindowSection | None) -> AgcWindow | None:
    if section is None:
        return None
    return AgcWindow(section.lowest_dbm, section.highest_dbm, section.mute_dbm)


def _image_rejection_db(feed: FeedSection) -> float | None:
    """Return the receiver's image rejection with that of the filters before it [dB], at most 150."""
    if not feed.stages or feed.stages[-1].image_rejection_db is None:
        return None
    filters_db = sum(stage.rejection_db or 0.0 for stage in feed.stages)
    return min(150.0, feed.stages[-1].image_rejection_db + filters_db)


def _flat_stages(feed: FeedSection) -> tuple[Stage, ...]:
    found = [kit.feeder("feeder", _given("feeder_loss_db", feed.feeder_loss_db))]
    if feed.splitter_loss_db:
        found.append(Stage("splitter", "passive splitter", -feed.splitter_loss_db))
    noise_figure_db = _given("noise_figure_db", feed.noise_figure_db)
    return (*found, kit.receiver("receiver", noise_figure_db=noise_figure_db))


def _stage(section: StageSection, name: str, edges_mhz: tuple[float, float]) -> Stage:
    match section.kind:
        case "feeder":
            return _feeder(section, name)
        case "passive splitter":
            excess_db = section.excess_loss_db or 0.0
            return kit.passive_splitter(name, int(_given("ways", section.ways)), excess_loss_db=excess_db)
        case "attenuator":
            return kit.attenuator(name, _given("loss_db", section.loss_db))
        case "channel filter":
            return kit.channel_filter(
                name,
                _given("loss_db", section.loss_db),
                passband_mhz=edges_mhz if section.passband == "channel" else section.passband_mhz,
                rejection_db=section.rejection_db or 0.0,
            )
        case _:
            return _noisy(section, name)


def _noisy(section: StageSection, name: str) -> Stage:
    noise_figure_db = _given("noise_figure_db", section.noise_figure_db)
    if section.kind == "receiver":
        return kit.receiver(name, noise_figure_db=noise_figure_db, input_limit_dbm=section.input_limit_dbm)
    make = kit.masthead_amplifier if section.kind == "masthead amplifier" else kit.active_splitter
    return make(
        name,
        gain_db=_given("gain_db", section.gain_db),
        noise_figure_db=noise_figure_db,
        output_limit_dbm=section.output_limit_dbm,
    )


def _feeder(section: StageSection, name: str) -> Stage:
    if section.size is None:
        return kit.feeder(name, _given("loss_db", section.loss_db), at_mhz=section.at_mhz)
    at_mhz = READ_AT_MHZ[0]
    loss_db = feeder_loss_db(section.size, at_mhz, _given("length_m", section.length_m))
    return kit.feeder(name, loss_db, at_mhz=at_mhz, exponent=feeder_exponent(section.size))


def _given(key: str, value: float | None) -> float:
    """Return a value that the check of the study has made sure of."""
    if value is None:
        raise RangeError(f"{key} of the feed", "missing", "a number", "see combe check")
    return value
