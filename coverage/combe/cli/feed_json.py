"""What ``combe feed --json`` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from combe.answers.feed import FeedReport, RelayFeed
    from combe.answers.feed_service import ServiceFeed
    from combe.answers.output_side import OutputSide
    from combe.answers.receiving import ReceivingSide
    from combe.answers.scan import HeightScan
    from combe.reception.cascade import Cascade
    from combe.reception.feed_interference import BearingChoice, Trap
    from combe.reception.own_output import OwnOutputRow


def feed_json(
    report: FeedReport,
    page: Path,
    scans: Mapping[str, HeightScan] | None = None,
    bearings: Mapping[str, BearingChoice | None] | None = None,
) -> dict[str, Any]:
    """Return the report, with scans and searches by relay where they were asked for."""
    from combe.publishing.cautions import CAUTIONS

    relays = []
    for relay in report.relays:
        extra: dict[str, Any] = {}
        if scans is not None:
            extra["height_scan"] = _scan_json(scans[relay.relay.name])
        if bearings is not None:
            choice = bearings[relay.relay.name]
            extra["best_bearing"] = None if choice is None else choice._asdict()
        relays.append(_relay_json(relay) | extra)
    return {
        "study": report.project.key,
        "title": report.project.title,
        "verdict": report.verdict,
        "relays": relays,
        "page": page.resolve(),
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _relay_json(relay: RelayFeed) -> dict[str, Any]:
    aerial = relay.side.aerial
    return {
        "name": relay.relay.name,
        "parent": relay.parent.name,
        "verdict": relay.verdict,
        "distance_km": relay.services[0].budget.distance_km,
        "bearing_deg": relay.path.bearing_deg,
        "sea_fraction": relay.path.sea_fraction,
        "receiving_height_m": relay.side.aerial_height_m,
        "receiving_aerial": {
            "bearing_deg": aerial.bearing_deg,
            "bearing_to_parent_deg": relay.site.way.arrival_deg,
            "polarization": aerial.polarization,
            "count": aerial.count,
            "gain_towards_parent_dbi": relay.side.aerial_gain_dbi,
        },
        "services": [_service_json(service, relay.side) for service in relay.services],
        "output": None if relay.output is None else _output_json(relay.output),
    }


def _service_json(service: ServiceFeed, side: ReceivingSide) -> dict[str, Any]:
    budget = {key: value for key, value in asdict(service.budget).items() if key not in ("verdict", "reason")}
    return {
        "name": service.received.name,
        "channel": service.received.channel,
        "radiated_channel": service.radiated.channel,
        **budget,
        "verdict": service.verdict,
        "reason": service.reason,
        "causes": service.causes,
        "not_judged": service.judged.not_judged,
        "findings": [each._asdict() for each in service.judged.findings],
        "line_of_sight": service.prediction.line_of_sight,
        "controlling_km": service.prediction.controlling_km,
        "enhancement_db": service.enhancement_db,
        "carrier_to_noise_with_own_output_db": service.judged.carrier_to_noise_db,
        "mer_at_time_db": service.mer_at_time_db,
        "points": points_json(service.cascade, service.received.name),
        **_spoilers_json(service, side),
        "picture": _named(service.picture),
        "picture_at_time": _named(service.picture_at_time),
        "sound": _named(service.sound),
        "relay_chain": _chain_json(service),
    }


def points_json(cascade: Cascade, name: str) -> list[dict[str, Any]]:
    """Return one service at every point, with what all signals together make there."""
    from combe.reception.cascade import waterfall

    found = []
    for level, load in zip(waterfall(cascade, name), cascade.loads, strict=True):
        row = {key: value for key, value in level._asdict().items() if key != "service"}
        found.append(row | {key: value for key, value in load._asdict().items() if key != "point"})
    return found


def _spoilers_json(service: ServiceFeed, side: ReceivingSide) -> dict[str, Any]:
    report, loop = service.interference, service.loop
    return {
        "window": None if service.window is None else asdict(service.window),
        "interference": [row._asdict() for row in report.rows],
        "interference_margin_db": report.margin_db,
        "image_and_oscillator": _rows_json(service.traps, stated=side.image_rejection_db is not None),
        "own_output": _rows_json(service.own_outputs, stated=side.feed.own_output is not None),
        "loop": None if loop is None else asdict(loop),
        "intermodulation": _products_json(service),
    }


def _rows_json(rows: Sequence[Trap | OwnOutputRow], *, stated: bool) -> list[dict[str, Any]] | None:
    """Return the rows, and null where the study does not state what it takes to judge any."""
    return [row._asdict() for row in rows] if stated else None


def _products_json(service: ServiceFeed) -> dict[str, Any] | None:
    found = service.products
    if found is None:
        return None
    return {
        "worst": _named(found.worst),
        "worst_relative_db": found.worst_relative_db,
        "sum_db": found.sum_db,
        "limit_db": found.limit_db,
        "margin_db": found.margin_db,
        "products": len(found.products),
    }


def _chain_json(service: ServiceFeed) -> dict[str, Any] | None:
    chain = service.chain
    if chain is None:
        return None
    hops = [row._asdict() for row in chain.hops]
    return {
        "hops": hops,
        "end_db": chain.end_db,
        "required_db": chain.required_db,
        "margin_db": chain.margin_db,
        "degradation_db": chain.degradation_db,
        "costliest": chain.costliest,
        "broken_at": chain.broken_at,
        "verdict": chain.verdict,
        "reason": chain.reason,
    }


def _output_json(output: OutputSide) -> list[dict[str, Any]]:
    return [
        {
            "name": each.budget.service,
            "frequency_mhz": each.budget.frequency_mhz,
            "points": [asdict(point) for point in each.budget.points],
            "aerial_gain_dbd": each.budget.aerial_gain_dbd,
            "erp_w": each.budget.erp_w,
            "erp_difference_db": each.erp_difference_db,
        }
        for each in output.services
    ]


def _scan_json(scan: HeightScan) -> dict[str, Any]:
    return {
        "height_m": scan.height_m,
        "planned_height_m": scan.planned_height_m,
        "null_spacing_m": scan.null_spacing_m,
        "services": [
            {
                "name": each.service.name,
                "field_strength_dbuv_m": each.field_dbuv_m,
                "slope_db_per_m": each.slope_db_per_m,
                "course": each.course,
                "best_height_m": each.best_height_m,
                "best_gain_db": each.best_gain_db,
            }
            for each in scan.services
        ],
    }


def _named(value: Any) -> dict[str, Any] | None:
    return None if value is None else dict(value._asdict())
