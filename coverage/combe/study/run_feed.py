"""Works out the off-air feed of every relay: path, budget and verdict for each service it re-radiates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from combe.errors import StudyError
from combe.prediction.path import PathPrediction
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
    return FeedReport(study, relays, _worst([relay.verdict for relay in relays]), provenance(scene))


def _relay(scene: Scene, relay: Station, feed: FeedSection) -> RelayFeed:
    parent, chain = station_named(scene, feed.from_), feed_chain(scene, feed)
    path = predict_between(scene, parent, relay, chain.aerial_height_m)
    by_name = {each.service.name: each for each in path.services}
    services = tuple(_service(by_name[radiated.name], radiated, chain) for radiated in relay.services)
    verdict = _worst([service.budget.verdict for service in services])
    return RelayFeed(relay, parent, chain, path, services, verdict)


def _service(path: PathService, radiated: Service, chain: FeedChain) -> ServiceFeed:
    budget = feed_budget(
        erp_towards_site_dbw=path.erp_towards_dbw,
        distance_km=path.prediction.distance_km,
        frequency_mhz=path.service.frequency_mhz,
        free_space_loss_db=path.prediction.free_space_loss_db,
        diffraction_loss_db=path.prediction.diffraction_loss_db,
        chain=chain,
    )
    return ServiceFeed(path.service, radiated, path.prediction, budget)


def _worst(verdicts: list[Verdict]) -> Verdict:
    return "fails" if "fails" in verdicts else "passes"
