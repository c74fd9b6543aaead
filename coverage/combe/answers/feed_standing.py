"""How the feeds of relays stand whose coverage is shown: relays count as fed, and this says if they are."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from combe.answers.feed import FeedReport, RelayFeed, feed_report
from combe.project import Project
from combe.reception.feed_verdict import Verdict


@dataclass(frozen=True)
class ServiceStanding:
    """The verdict on one service of a feed, by the name under which the relay radiates it, and why."""

    service: str
    verdict: Verdict
    reason: str


@dataclass(frozen=True)
class FeedStanding:
    """The verdict on the feed of a relay, and on each of its services; none where nothing is predicted."""

    relay: str
    parent: str
    verdict: Verdict
    services: tuple[ServiceStanding, ...]
    reason: str = ""

    @property
    def words(self) -> str:
        """What has to be borne in mind of the coverage; nothing where the feed passes."""
        if self.verdict == "passes":
            return ""
        told = [f"{each.service} {each.verdict}: {each.reason}" for each in self._failing]
        why = "; ".join(told) if told else self.reason
        return f"the feed of {self.relay} {_said(self.verdict)}, and it counts as if it passed ({why})"

    @property
    def _failing(self) -> list[ServiceStanding]:
        return [each for each in self.services if each.verdict != "passes"]

    def verdict_of(self, service: str) -> Verdict:
        """Return the verdict on one service of the relay."""
        found = [each.verdict for each in self.services if each.service == service]
        return found[0] if found else self.verdict

    def words_of(self, service: str) -> str:
        """Return what has to be borne in mind of a service of the relay; nothing where its feed passes."""
        for each in self.services:
            if each.service == service:
                return _service_words(self.relay, each)
        return self.words


def feed_standings(report: FeedReport) -> tuple[FeedStanding, ...]:
    """Return how each feed of a report stands, those that cannot be predicted last and not judged."""
    unknown = (FeedStanding(each.relay, each.parent, "not judged", (), each.reason) for each in report.gaps)
    return (*(_standing(relay) for relay in report.relays), *unknown)


def standings_of(project: Project, relays: Collection[str]) -> dict[str, FeedStanding]:
    """Return how the feeds of some relays stand, by relay."""
    if not relays:
        return {}
    found = feed_standings(feed_report(project, only=relays, over_gaps=True))
    return {each.relay: each for each in found if each.relay in relays}


def _standing(feed: RelayFeed) -> FeedStanding:
    services = tuple(ServiceStanding(each.radiated.name, each.verdict, each.reason) for each in feed.services)
    return FeedStanding(feed.relay.name, feed.parent.name, feed.verdict, services)


def _service_words(relay: str, found: ServiceStanding) -> str:
    if found.verdict == "passes":
        return ""
    said = _said(found.verdict)
    return f"{relay}'s own feed of {found.service} {said}, and it counts as if it passed: {found.reason}"


def _said(verdict: Verdict) -> str:
    return f"is {verdict}" if verdict == "not judged" else verdict
