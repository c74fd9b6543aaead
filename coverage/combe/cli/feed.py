"""``combe feed``: works out whether each relay hears its parent well enough."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option, out_option, study_argument
from combe.cli.output import default_out, print_cautions, print_json, print_table

if TYPE_CHECKING:
    from combe.study.run_feed import FeedReport, RelayFeed, ServiceFeed

VERDICT_NEGATIVE = 1

_HEADS = (
    "service",
    "ch",
    "MHz",
    "ERP dBW",
    "free space dB",
    "diffraction dB",
    "other dB",
    "field dBµV/m",
    "input dBm",
    "C/N dB",
    "fade dB",
    "needed dB",
    "margin dB",
    "verdict",
)

_MAY_LACK = ("other dB", "fade dB")


@click.command("feed")
@study_argument
@out_option
@json_option
def command(study: Path, out: Path | None, as_json: bool) -> int:
    r"""Work out the off-air feed of each relay: path, budget, margin, verdict.

    Writes feed.html. Leaves with 1 when any service of any relay fails. Field, levels and C/N are medians
    of time; the margin is judged for the time that the study asks, after the fade.

    \b
    JSON: study, title, verdict (passes or fails), page (path), provenance{}, cautions[],
      relays[]{name, parent, verdict, distance_km, bearing_deg, receiving_height_m,
        services[]{name, channel (received), radiated_channel, frequency_mhz,
          erp_towards_site_dbw, distance_km, line_of_sight, controlling_km,
          free_space_loss_db, diffraction_loss_db, other_mechanisms_db, field_strength_dbuv_m
          (median of time), time_percent, fade_db, field_strength_at_time_dbuv_m, time_method,
          aerial_gain_dbi, aerial_output_dbm, feeder_loss_db, splitter_loss_db,
          receiver_input_dbm, receiver_input_dbuv, noise_dbm, carrier_to_noise_db (median),
          carrier_to_noise_at_time_db, required_cn_db, margin_db (at that time),
          required_margin_db, verdict, reason}}
    """
    from combe.cli.feed_content import write_feed_page
    from combe.publishing.files import ensure_folder
    from combe.study.file import load_study
    from combe.study.run_feed import feed_report

    loaded = load_study(study)
    folder = ensure_folder(out or default_out(study))
    report = feed_report(loaded)
    page = write_feed_page(report, folder / "feed.html")
    if as_json:
        print_json(feed_json(report, page))
    else:
        print_feed(report)
        click.echo(f"\nwritten: {page}")
        print_cautions()
    return 0 if report.verdict == "passes" else VERDICT_NEGATIVE


def feed_json(report: FeedReport, page: Path) -> dict[str, Any]:
    """Return what ``combe feed --json`` prints."""
    from combe.publishing.cautions import CAUTIONS

    return {
        "study": report.study.path.resolve(),
        "title": report.study.content.study.title,
        "verdict": report.verdict,
        "relays": [_relay_json(relay) for relay in report.relays],
        "page": page.resolve(),
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _relay_json(relay: RelayFeed) -> dict[str, Any]:
    return {
        "name": relay.relay.name,
        "parent": relay.parent.name,
        "verdict": relay.verdict,
        "distance_km": relay.services[0].budget.distance_km,
        "bearing_deg": relay.path.bearing_deg,
        "receiving_height_m": relay.side.aerial_height_m,
        "services": [_service_json(service) for service in relay.services],
    }


def _service_json(service: ServiceFeed) -> dict[str, Any]:
    return {
        "name": service.received.name,
        "channel": service.received.channel,
        "radiated_channel": service.radiated.channel,
        **asdict(service.budget),
        "line_of_sight": service.prediction.line_of_sight,
        "controlling_km": service.prediction.controlling_km,
    }


def print_feed(report: FeedReport) -> None:
    """Print one table for each relay, and the reason of each verdict."""
    for relay in report.relays:
        first = relay.services[0]
        sight = "in line of sight" if first.prediction.line_of_sight else "blocked"
        click.echo(
            f"{relay.relay.name} from {relay.parent.name}: {relay.verdict}; "
            f"{first.budget.distance_km:.2f} km, {sight}"
        )
        print_table(_HEADS, [_row(service) for service in relay.services], unless_zero=_MAY_LACK)
        for service in relay.services:
            click.echo(f"  {service.received.name} {service.budget.verdict}: {service.budget.reason}")
        click.echo(f"  time of the margin: {first.budget.time_method}")


def _row(service: ServiceFeed) -> tuple[object, ...]:
    budget = service.budget
    return (
        service.received.name,
        service.received.channel,
        budget.frequency_mhz,
        budget.erp_towards_site_dbw,
        budget.free_space_loss_db,
        budget.diffraction_loss_db,
        budget.other_mechanisms_db,
        budget.field_strength_dbuv_m,
        budget.receiver_input_dbm,
        budget.carrier_to_noise_db,
        budget.fade_db,
        budget.required_cn_db,
        budget.margin_db,
        budget.verdict,
    )
