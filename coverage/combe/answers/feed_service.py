"""One service of a relay's feed, worked out through the whole chain, over time, and judged.

What meets the wanted signal in its fade is judged at the fade: noise, own outputs, the loop, other stations
with their medians. What meets it enhanced is judged at the enhancement: the window's top, and overload.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from combe.answers.emissions import carrier_of
from combe.answers.feed_spoilers import (
    loads,
    loop_of,
    own_output_rows_of,
    traps_of,
    unknown_own,
    unwanted_of,
)
from combe.answers.feed_time import FeedYear, Times, feed_year, times_of
from combe.answers.on_air import OnAir, on_air, picture_system, signals_of
from combe.answers.path import PathService
from combe.answers.receiving import budget_chain, not_received, side_for, stages_of
from combe.answers.relay_site import RelaySite
from combe.decibels import power_dbm_from_field
from combe.prediction import PathPrediction
from combe.reception import (
    Cascade,
    Cause,
    Demands,
    FeedBudget,
    FeedSignal,
    FeedVerdict,
    Hop,
    InterferenceReport,
    LoopResult,
    OwnOutputRow,
    PictureQuality,
    ProductVerdict,
    RelayChain,
    SoundRatio,
    Stage,
    Trap,
    Verdict,
    WantedSignal,
    WindowPlace,
    chain_quality,
    co_channel_ratio_db,
    faded_carrier_to_noise_db,
    feed_budget,
    interference,
    judge_chain,
    judge_feed,
    picture_quality,
    place_in_window,
    receiver_input,
    sound_ratio,
    stage_gain_db,
    total_carrier_to_noise_db,
    work_out,
)
from combe.standards import VISION_TO_SOUND_DB
from combe.stations import Service
from combe.words import joined, shaped, tell

_RATIOS_DB: Final = (-30.0, 120.0)
"""What a hop of a relay chain takes."""


@dataclass(frozen=True)
class ServiceFeed:
    """One service as the relay receives it; ``received`` is the parent's, ``radiated`` the relay's own.

    ``cascade`` holds the service at every point, medians of time, and ``enhanced`` the same with the parent's
    signals as much over them as they rise for a time as rare as the fade. ``hops`` are those from the head of
    the chain to this relay, None where one of them is not known; ``chain`` is their judgement, None then, and
    where there is but one hop of perfect equipment. ``picture``, ``picture_at_time`` and ``sound`` are None
    for a digital service, the pictures too where C/N is not known. What a study does not state is None, and
    is not judged.
    """

    received: Service
    radiated: Service
    prediction: PathPrediction
    budget: FeedBudget
    cascade: Cascade
    enhanced: Cascade
    enhancement_db: float
    year: FeedYear
    window: WindowPlace | None
    interference: InterferenceReport
    traps: tuple[Trap, ...] | None
    own_outputs: tuple[OwnOutputRow, ...] | None
    loop: LoopResult | None
    products: ProductVerdict | None
    picture: PictureQuality | None
    picture_at_time: PictureQuality | None
    sound: SoundRatio | None
    hops: tuple[Hop, ...] | None
    chain: RelayChain | None
    judged: FeedVerdict

    @property
    def verdict(self) -> Verdict:
        """Verdict over everything that is known of the feed."""
        return self.judged.verdict

    @property
    def causes(self) -> tuple[Cause, ...]:
        """What fails the feed."""
        return self.judged.causes

    @property
    def mer_at_time_db(self) -> float | None:
        """Modulation error ratio at the receiver for the stated time [dB].

        None for an analogue service, and where the ratio of a hop is not known.
        """
        if self.hops is None or self.picture is not None:
            return None
        if self.chain is not None:
            return self.chain.hops[-1].received_db
        return self.judged.faded_carrier_to_noise_db

    @property
    def reason(self) -> str:
        """Why it passes, or each cause of its failure, in words."""
        if not self.causes:
            return joined("; ", self.judged.not_judged) or self.budget.reason
        found = {each.cause: each.text for each in reversed(self.judged.findings)}
        if self.budget.verdict == "fails" and "noise" in found and "loop" not in self.causes:
            most = shaped(found["noise"], _last_clause)
            found["noise"] = tell("{reason}; {most}", reason=self.budget.reason, most=most)
        failing = [tell("{cause}: {found}", cause=cause, found=found[cause]) for cause in self.causes]
        return joined(
            "; ", [*failing, *(tell("not judged: {words}", words=words) for words in self.judged.not_judged)]
        )


def service_feed(
    site: RelaySite, radiated: Service, received: PathService, before: Sequence[Hop] | None
) -> ServiceFeed:
    """Work out one service of a relay; ``before`` are the hops that bring it to the parent, it included.

    None for ``before`` says that one of these is not known.
    """
    project, service = site.project, received.service
    side = side_for(project, site.side, site.relay, radiated, service)
    site = replace(site, side=side)
    air, times = on_air(project, service), times_of(site, received)
    level_dbm = power_dbm_from_field(
        received.field_strength_dbuv_m, service.frequency_mhz, side.aerial_gain_dbi
    )
    signal, *sound = signals_of(project, air, level_dbm, service.name)
    stages = stages_of(side.feed, air.edges_mhz)
    cascade = _worked_out(site, service, air, stages, level_dbm)
    enhanced = _worked_out(site, service, air, stages, level_dbm, times.enhancement_db)
    rows = own_output_rows_of(site, signal, air, radiated, times.fade_db)
    # As far as it is known: ratios of other stations go by it even where the relay's own part is not.
    known_cn_db = total_carrier_to_noise_db(cascade, service.name, rows)
    wanted = WantedSignal(
        service.name,
        air.channel,
        site.way.arrival_deg,
        site.parent.polarization,
        received.field_strength_dbuv_m,
        side.required_cn_db,
        carrier_of(service),
        known_cn_db,
        times.fade_db,
    )
    unwanted = unwanted_of(site, service, wanted, rows)
    report = interference(wanted, unwanted, side.aerial)
    traps = traps_of(site, air, wanted, unwanted, rows)
    otherwise_fed = not_received(project, site.parent, radiated, service)
    unknown = otherwise_fed or unknown_own(site, air)
    total_cn_db = math.nan if unknown else known_cn_db
    loop = loop_of(site, air, radiated, level_dbm, times.fade_db)

    def in_fade_db(fade_db: float) -> float:
        in_fade = loop_of(site, air, radiated, level_dbm, fade_db)
        return faded_carrier_to_noise_db(total_cn_db, fade_db, in_fade)

    def holds(fade_db: float) -> bool:
        in_fade = loop_of(site, air, radiated, level_dbm, fade_db)
        return in_fade is None or in_fade.verdict == "passes"

    year = feed_year(
        times,
        side.feed,
        field_dbuv_m=received.field_strength_dbuv_m,
        required_cn_db=side.required_cn_db,
        faded_cn_db=in_fade_db,
        holds=holds,
    )
    faded_cn_db = in_fade_db(times.fade_db)
    hops = None if unknown or before is None else (*before, _hop(site, faded_cn_db, report, year))
    chain = None if hops is None else _chain(site, hops)
    place = _window(site, cascade, service, times)
    products = None
    if site.output is not None:
        products = site.output.services[site.relay.services.index(radiated)].products
    demands = Demands(
        side.required_cn_db,
        side.feed.required_margin_db,
        times.fade_db,
        image_ratio_db=co_channel_ratio_db(air.channel.kind, side.required_cn_db, known_cn_db),
        faded_image_ratio_db=co_channel_ratio_db(
            air.channel.kind, side.required_cn_db, known_cn_db - times.fade_db
        ),
    )
    judged = judge_feed(
        cascade,
        service.name,
        demands,
        enhanced=enhanced,
        place=place,
        interference=report,
        traps=traps,
        own_outputs=rows,
        loop=loop,
        products=products,
        chain=chain,
        unknown_own=unknown,
        unknown_before=_unknown_before(site) if before is None else (),
    )
    if otherwise_fed:
        # Whatever is wrong with what comes from there, it is not what the relay radiates.
        judged = replace(
            judged, causes=(), not_judged=otherwise_fed, verdict="not judged", reason=otherwise_fed[0]
        )
    own_cost_db = None
    if unknown or loop is not None or any(row.carrier_to_noise_db is not None for row in rows):
        own_cost_db = _own_cost_db(cascade, service.name, times, faded_cn_db)
    picture, picture_at_time = _pictures(site, service, judged.carrier_to_noise_db, faded_cn_db)
    return ServiceFeed(
        received=service,
        radiated=radiated,
        prediction=received.prediction,
        budget=_budget(site, received, stages, cascade, times, own_cost_db),
        cascade=cascade,
        enhanced=enhanced,
        enhancement_db=times.enhancement_db,
        year=year,
        window=place,
        interference=report,
        traps=None if side.image_rejection_db is None else traps,
        own_outputs=None if side.feed.own_output is None else rows,
        loop=loop,
        products=products,
        picture=picture,
        picture_at_time=picture_at_time,
        sound=_sound(stages, signal, sound),
        hops=hops,
        chain=chain,
        judged=judged,
    )


def _worked_out(
    site: RelaySite,
    service: Service,
    air: OnAir,
    stages: Sequence[Stage],
    level_dbm: float,
    rise_db: float = 0.0,
) -> Cascade:
    """Work out the chain with all that is on the aerial; what the parent sends rises together."""
    signal, *sound = signals_of(site.project, air, level_dbm + rise_db, service.name)
    return work_out(stages, [signal], others=[*sound, *loads(site, service, rise_db)])


def _budget(
    site: RelaySite,
    received: PathService,
    stages: Sequence[Stage],
    cascade: Cascade,
    times: Times,
    own_cost_db: float | None,
) -> FeedBudget:
    median = received.prediction
    return feed_budget(
        erp_towards_site_dbw=received.erp_towards_dbw,
        distance_km=median.distance_km,
        frequency_mhz=received.service.frequency_mhz,
        free_space_loss_db=median.free_space_loss_db,
        diffraction_loss_db=median.diffraction_loss_db,
        other_mechanisms_db=median.other_mechanisms_db,
        chain=budget_chain(site.side, stages, cascade, received.service.name),
        time_percent=times.time_percent,
        fade_db=times.fade_db,
        time_method=times.method,
        own_output_cost_db=own_cost_db,
    )


def _own_cost_db(cascade: Cascade, service: str, times: Times, faded_cn_db: float) -> float:
    """Return what own outputs and the loop take from the chain's C/N in the fade [dB]; NaN if not known."""
    cost_db = chain_quality(cascade, service).carrier_to_noise_db - times.fade_db - faded_cn_db
    return cost_db if math.isnan(cost_db) else max(cost_db, 0.0)


def _unknown_before(site: RelaySite) -> tuple[str, ...]:
    """Return that the quality of what is received is not known."""
    return (
        tell(
            "the quality of what {name} sends is not known, nor is all of its own feed", name=site.parent.name
        ),
    )


def _window(site: RelaySite, cascade: Cascade, service: Service, times: Times) -> WindowPlace | None:
    if site.side.window is None:
        return None
    return place_in_window(
        site.side.window,
        service.name,
        receiver_input(cascade, service.name).level_dbm,
        fade_db=times.fade_db,
        enhancement_db=times.enhancement_db,
    )


def _hop(site: RelaySite, carrier_to_noise_db: float, report: InterferenceReport, year: FeedYear) -> Hop:
    """Return the relay as a hop: its C/N at the stated time, and co-channel interference as for noise."""
    shared = [row.carrier_to_interference_db for row in report.rows if row.step == "co-channel"]
    output = site.output.output if site.output else None
    return Hop(
        site.relay.name,
        _within(carrier_to_noise_db),
        output.equipment_db if output else None,
        _within(min(shared)) if shared else None,
        regenerates=output.regenerates if output else False,
        stands_for=year.stands_for,
    )


def _last_clause(words: str) -> str:
    return words.rpartition("; ")[2]


def _within(ratio_db: float) -> float:
    return min(max(ratio_db, _RATIOS_DB[0]), _RATIOS_DB[1])


def _chain(site: RelaySite, hops: Sequence[Hop]) -> RelayChain | None:
    """Judge the whole chain: what its end sends has to stand the last relay's C/N with its margin."""
    if len(hops) < 3 and all(hop.equipment_db is None for hop in hops):
        return None
    side = site.side
    return judge_chain(
        hops,
        required_db=side.required_cn_db + side.feed.required_margin_db,
        regeneration_required_db=side.required_cn_db,
    )


def _pictures(
    site: RelaySite, service: Service, carrier_to_noise_db: float, faded_carrier_to_noise_db: float
) -> tuple[PictureQuality | None, PictureQuality | None]:
    system = picture_system(site.project, service)
    if system is None or math.isnan(carrier_to_noise_db):
        return None, None
    return picture_quality(system, carrier_to_noise_db), picture_quality(system, faded_carrier_to_noise_db)


def _sound(stages: Sequence[Stage], vision: FeedSignal, sounds: Sequence[FeedSignal]) -> SoundRatio | None:
    """Return vision over sound at the receiver's input; unlike where a filter's edge takes of one."""
    if not sounds:
        return None
    vision_dbm, sound_dbm = (
        each.level_dbm + sum(stage_gain_db(stage, each.frequency_mhz) for stage in stages[:-1])
        for each in (vision, sounds[0])
    )
    return sound_ratio(vision_dbm, sound_dbm, VISION_TO_SOUND_DB.value)
