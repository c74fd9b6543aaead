"""What ``combe site --json`` prints."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from combe.digits import for_terminal

if TYPE_CHECKING:
    from combe.answers.site_candidates import Candidate, FeedRow
    from combe.answers.site_report import SiteReport
    from combe.answers.site_sets import ChosenSite
    from combe.cli.site_content import SiteFiles
    from combe.planning.siting.best_set import SiteSet


def site_json(report: SiteReport, files: SiteFiles) -> dict[str, Any]:
    """Return the report as one JSON object."""
    from combe.publishing.cautions import CAUTIONS

    work = report.work
    about, search, run = work.project, work.search, work.search.run
    counted = search.harm_counted
    return {
        "study": work.project.key,
        "title": about.title,
        "invented": about.invented,
        "hills": int(search.hills.size),
        "targets": int(search.problem.targets.row.size),
        "seconds": search.seconds,
        "hills_per_second": report.hills_per_second,
        "people_unserved": work.unserved.total,
        "funnel": [{"rule": words, "cells_left": left} for words, left in work.funnel.steps],
        "list": [
            _candidate(each, page, counted=counted, costs=search.has_costs)
            for each, page in zip(report.candidates, files.hill_pages, strict=True)
        ],
        "sets": [
            {
                "sites": row.size,
                "people": row.exact.people,
                "people_harmed": row.exact.harmed if counted else None,
                "score": row.exact.score,
                "score_greedy": row.greedy.score,
                "bound": row.exact.bound,
                "gap_fraction": row.exact.gap_fraction,
            }
            for row in report.sets.rows
        ],
        "chosen": [_chosen(each) for each in report.sets.sites],
        "for_share": _share(report.sets.for_share, counted=counted, costs=search.has_costs),
        "further": [asdict(each) | ({} if counted else {"harmed": None}) for each in report.sets.further],
        "own_relays": [
            {
                "name": each.name,
                "people": each.people,
                "better_hills": each.better,
                "words": for_terminal(each.words),
            }
            for each in report.own
        ],
        "failures": [asdict(each) for each in run.failures] if run else [],
        "map": files.map_page.resolve(),
        "vector": files.vector.resolve(),
        "comparison": files.comparison[0].resolve() if files.comparison else None,
        "provenance": {name: for_terminal(words) for name, words in report.provenance.items()},
        "cautions": CAUTIONS,
    }


def _feed(row: FeedRow) -> dict[str, Any]:
    return {
        "service": row.service,
        "input_dbm": row.input_dbm,
        "carrier_to_noise_db": row.carrier_to_noise_db,
        "search_margin_db": row.margin_db,
    }


def _candidate(each: Candidate, page: Any, *, counted: bool, costs: bool) -> dict[str, Any]:
    return {
        "rank": each.rank,
        "longitude_deg": each.station.longitude_deg,
        "latitude_deg": each.station.latitude_deg,
        "ground_m": each.ground_m,
        "above_valley_m": each.above_valley_m,
        "slope_deg": each.slope_deg,
        "access_m": each.access_m,
        "parent": each.parent,
        "parent_km": each.parent_km,
        "search_margin_db": each.feed_margin_db,
        "feed": [_feed(row) for row in each.feed],
        "judged_margin_db": each.whole_feed.margin_db,
        "feed_verdict": each.whole_feed.verdict,
        "feed_causes": each.whole_feed.causes,
        "feed_not_judged": each.whole_feed.not_judged,
        "people": each.people,
        "people_counted": each.counted,
        "people_alone": each.alone,
        "people_harmed": each.harmed if counted else None,
        "score": each.worth,
        "pattern": each.option,
        "azimuth_deg": each.azimuth_deg,
        "services": [
            {"name": service.name, "channel": service.channel, "erp_w": service.erp_w}
            for service in each.station.services
        ],
        "exposure_m": each.exposure.distance_m if each.exposure else None,
        "cost": each.cost if costs else None,
        "reasons": [for_terminal(words) for words in each.reasons],
        "page": page.resolve(),
    }


def _chosen(each: ChosenSite) -> dict[str, Any]:
    return {
        "longitude_deg": each.station.longitude_deg,
        "latitude_deg": each.station.latitude_deg,
        "adds": each.adds,
        "pattern": each.option,
        "azimuth_deg": each.azimuth_deg,
        "erp_w": each.erp_w,
        "down_db": each.direction.down_db if each.direction else None,
        "radiated_db": each.direction.radiated_db if each.direction else None,
        "spill_db": each.direction.spill_db if each.direction else None,
    }


def _share(found: SiteSet | None, *, counted: bool, costs: bool) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "sites": len(found.hills),
        "people": found.people,
        "people_harmed": found.harmed if counted else None,
        "cost": found.cost if costs else None,
        "gap_fraction": found.gap_fraction,
    }
