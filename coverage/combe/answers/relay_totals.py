"""What the relays of a study come to together: least feed margin, harm, power, cost; None for the unknown."""

from __future__ import annotations

import math

from combe.answers.cover import CoverReport
from combe.answers.feed import RelayFeed
from combe.project import Project


def least_feed(report: CoverReport) -> tuple[RelayFeed, float] | None:
    """Return the relay whose feed has the least margin; None without any, or where one is not known."""
    if report.feeds is None or not report.feeds.relays or report.feeds.gaps:
        return None
    found = [(each, least_margin_db(each)) for each in report.feeds.relays]
    known = [(each, margin_db) for each, margin_db in found if margin_db is not None]
    return min(known, key=lambda pair: pair[1]) if len(known) == len(found) else None


def least_margin_db(relay: RelayFeed) -> float | None:
    """Return the least margin of a relay's services; None where one is not known."""
    margins_db = [each.budget.margin_db for each in relay.services]
    return min(margins_db) if margins_db and all(map(math.isfinite, margins_db)) else None


def harm_to_others(report: CoverReport) -> float | None:
    """Return the people whom the relays of a study take a service from; None where it is not looked at."""
    if report.interference is None or report.people is None:
        return None
    return math.fsum(each.fall_below or 0.0 for each in report.harm)


def erp_of_relays_w(project: Project) -> float:
    """Return the power that all relays of a study radiate [W], each service by its maximum."""
    return math.fsum(service.erp_w for relay in project.relays for service in relay.services)


def cost_of_relays(project: Project) -> float | None:
    """Return what the relays of a study cost in a year; None where the study does not tell it of each."""
    known = [project.running_costs.get(each.name) for each in project.relays]
    told = [each for each in known if each is not None]
    return math.fsum(told) if known and len(told) == len(known) else None
