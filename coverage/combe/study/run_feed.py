"""Works out the off-air feed of every relay: path, budget and verdict for each service it re-radiates."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from combe.errors import StudyError
from combe.prediction.conditions import MEDIAN_PERCENT
from combe.prediction.path import PathPrediction, predict_path
from combe.prediction.time import beyond_median, mirrored_percent
from combe.propagation.p1812.zones import INLAND
from combe.reception.budget import FeedBudget, feed_budget
from combe.reception.chain import FeedChain
from combe.stations.transmitter import Service, Station
from combe.study.file import Study
from combe.study.provenance import provenance
from combe.study.resolve import Scene, feed_chain, feeds, resolve, station_named
from combe.study.run_path import PathReport, PathService, predict_between
from combe.study.schema import FeedSection

Verdict = Literal["passes", "fails"]


@dataclass(frozen=True)
class ServiceFeed:
    """One service as the relay receives it; ``received`` is the parent's, ``radiated`` the relay's own."""

    received: Service
    radiated: Service
    prediction: PathPrediction
    budget: FeedBudget


@dataclass(frozen=True)
class RelayFeed:
    """The feed of one relay; it fails when any of its services fails."""

    relay: Station
    parent: Station
    chain: FeedChain
    path: PathReport
    services: tuple[ServiceFeed, ...]
    verdict: Verdict


@dataclass(frozen=True)
class FeedReport:
    """The feeds of all relays; the verdict fails when any of them fails."""

    study: Study
    relays: tuple[RelayFeed, ...]
    verdict: Verdict
    provenance: dict[str, str]


def feed_report(study: Study) -> FeedReport:
    """Work out the feeds of a study.

    Raises
    ------
    StudyError
        No relay in the study.
    TerrainGapError, RasterError
        Ground missing on the way, or terrain that cannot be used.
    """
    scene = resolve(study)
    relays = tuple(_relay(scene, relay, feed) for relay, feed in feeds(scene))
    if not relays:
        raise StudyError(study.path, ['stations: no relay is there to feed; add one with role = "relay"'])
    verdict = _worst([relay.verdict for relay in relays])
    return FeedReport(study, relays, verdict, _provenance(scene, relays))


def _provenance(scene: Scene, relays: tuple[RelayFeed, ...]) -> dict[str, str]:
    """Return what made the feeds, with how the time of the margin is come by."""
    methods = [service.budget.time_method for relay in relays for service in relay.services]
    made = provenance(_at_time(scene, MEDIAN_PERCENT))
    return made | {"time of the margin": "; ".join(dict.fromkeys(methods))}


def _relay(scene: Scene, relay: Station, feed: FeedSection) -> RelayFeed:
    parent, chain = station_named(scene, feed.from_), feed_chain(scene, feed)
    path = predict_between(_at_time(scene, MEDIAN_PERCENT), parent, relay, chain.aerial_height_m)
    by_name = {each.service.name: each for each in path.services}
    services = tuple(
        _service(path, by_name[radiated.name], radiated, chain, feed.time_percent)
        for radiated in relay.services
    )
    verdict = _worst([service.budget.verdict for service in services])
    return RelayFeed(relay, parent, chain, path, services, verdict)


def _at_time(scene: Scene, time_percent: float) -> Scene:
    """Return the scene with fields exceeded for another percentage of time [%]."""
    return replace(scene, conditions=replace(scene.conditions, time_percent=time_percent))


def _service(
    path: PathReport, received: PathService, radiated: Service, chain: FeedChain, time_percent: float
) -> ServiceFeed:
    median = received.prediction
    later = beyond_median(median, _mirrored(path, received, time_percent), time_percent)
    budget = feed_budget(
        erp_towards_site_dbw=received.erp_towards_dbw,
        distance_km=median.distance_km,
        frequency_mhz=received.service.frequency_mhz,
        free_space_loss_db=median.free_space_loss_db,
        diffraction_loss_db=median.diffraction_loss_db,
        other_mechanisms_db=median.other_mechanisms_db,
        chain=chain,
        time_percent=later.time_percent,
        fade_db=later.fade_db,
        time_method=later.method,
    )
    return ServiceFeed(received.service, radiated, median, budget)


def _mirrored(path: PathReport, received: PathService, time_percent: float) -> PathPrediction:
    """Predict the path for the time that is mirrored; a model without statistics of time gives its median."""
    conditions = received.prediction.conditions
    if conditions.model != "p1812":
        return received.prediction
    return predict_path(
        path.profile,
        tx_height_m=path.tx_height_m,
        rx_height_m=path.rx_height_m,
        frequency_mhz=received.service.frequency_mhz,
        polarization=path.from_station.polarization,
        conditions=replace(conditions, time_percent=mirrored_percent(time_percent)),
        clutter_height_m=path.clutter_height_m,
        zone=INLAND if path.zone is None else path.zone,
    )


def _worst(verdicts: list[Verdict]) -> Verdict:
    return "fails" if "fails" in verdicts else "passes"
