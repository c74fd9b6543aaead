"""Gathers what the feed page shows, and writes it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from combe.answers.feed import FeedReport, RelayFeed, ServiceFeed
from combe.answers.scan import HeightScan
from combe.cli.feed_parts import chain_parts, scan_part, spoiler_parts
from combe.digits import true_minus
from combe.publishing.feed_page import BudgetRow, FeedPage, FeedRelay, FeedService, render_feed_page
from combe.publishing.files import write_text_atomically
from combe.publishing.profile_diagram import profile_svg
from combe.reception.budget import FeedBudget

_ROWS: Final = (
    ("frequency_mhz", "Frequency", "MHz"),
    ("erp_towards_site_dbw", "ERP towards the site", "dBW"),
    ("distance_km", "Distance", "km"),
    ("free_space_loss_db", "Free-space loss", "dB"),
    ("diffraction_loss_db", "Diffraction loss", "dB"),
    ("other_mechanisms_db", "Other mechanisms", "dB"),
    ("field_strength_dbuv_m", "Field strength, median of time", "dB(µV/m)"),
    ("aerial_gain_dbi", "Receiving aerial gain", "dBi"),
    ("feeder_loss_db", "Feeder loss", "dB"),
    ("splitter_loss_db", "Splitter loss", "dB"),
    ("other_gain_db", "Amplifiers less filters and attenuators", "dB"),
    ("receiver_input_dbm", "Receiver input", "dBm"),
    ("receiver_input_dbuv", "Receiver input, 75 Ω", "dBµV"),
    ("noise_dbm", "Noise at the input, k·T0·B and noise figure", "dBm"),
    ("carrier_to_noise_db", "C/N, median of time", "dB"),
    ("time_percent", "Time for which the margin has to stand", "%"),
    ("fade_db", "Fade from the median to that time{how}", "dB"),
    ("field_strength_at_time_dbuv_m", "Field strength at that time", "dB(µV/m)"),
    ("own_output_cost_db", "Its own outputs' noise and the loop's echo at that time", "dB"),
    ("carrier_to_noise_at_time_db", "C/N at that time", "dB"),
    ("required_cn_db", "Required C/N", "dB"),
    ("margin_db", "Margin at that time", "dB"),
    ("required_margin_db", "Margin asked", "dB"),
)
_STRONG: Final = {"field_strength_dbuv_m", "receiver_input_dbm", "carrier_to_noise_db", "margin_db"}


def write_feed_page(report: FeedReport, path: Path, scans: Mapping[str, HeightScan] | None = None) -> Path:
    """Write the feed page, whole or not at all, and return its path; raises OutputError."""
    write_text_atomically(path, render_feed_page(feed_content(report, scans)))
    return path


def feed_content(report: FeedReport, scans: Mapping[str, HeightScan] | None = None) -> FeedPage:
    """Return the page of a feed report, with the height scans by relay where there are any."""
    known = scans or {}
    about = report.project
    return FeedPage(
        title=f"{about.title}: off-air feed",
        subtitle=about.note,
        relays=tuple(_relay(relay, known.get(relay.relay.name)) for relay in report.relays),
        provenance=tuple(f"{name}: {words}" for name, words in report.provenance.items()),
        invented_note=report.provenance.get("invented", ""),
    )


def _relay(relay: RelayFeed, scan: HeightScan | None) -> FeedRelay:
    worst = relay.scantiest
    return FeedRelay(
        relay=relay.relay.name,
        parent=relay.parent.name,
        services=tuple(_service(service, relay.own_output_tells) for service in relay.services),
        diagrams=((_diagram(relay, worst), _described(relay, worst)),),
        summary=_summary(relay, worst),
        parts=(*chain_parts(relay), *spoiler_parts(relay), *([scan_part(scan)] if scan else [])),
    )


def _service(service: ServiceFeed, own_output_tells: bool) -> FeedService:
    return FeedService(
        name=service.received.name,
        channel=service.received.channel,
        rows=budget_rows(service.budget, own_output_tells),
        verdict=service.verdict,
        reason=true_minus(service.reason),
    )


def budget_rows(budget: FeedBudget, own_output_tells: bool = False) -> tuple[BudgetRow, ...]:
    """Return the lines of a budget in the order of the signal's way, with that of own outputs if it tells."""
    how = ", by construction" if budget.fade_db else ""
    return tuple(
        BudgetRow(label.format(how=how), _shown(getattr(budget, name)), unit, strong=name in _STRONG)
        for name, label, unit in _ROWS
        if own_output_tells or name != "own_output_cost_db"
    )


def _shown(value: float | None) -> float:
    """Return what a line shows: NaN, a dash, for what is not stated."""
    return math.nan if value is None else value


def _diagram(relay: RelayFeed, worst: ServiceFeed) -> str:
    profile = relay.path.profile
    return profile_svg(
        profile.distance_km,
        profile.height_m,
        tx_height_amsl_m=float(profile.height_m[0]) + relay.path.tx_height_m,
        rx_height_amsl_m=float(profile.height_m[-1]) + relay.path.rx_height_m,
        frequency_mhz=worst.received.frequency_mhz,
        effective_radius_km=worst.prediction.conditions.effective_radius_km,
        edge_index=worst.prediction.controlling_index,
        tx_name=relay.parent.name,
        rx_name=relay.relay.name,
        cover_height_m=relay.path.clutter_height_m,
    )


def _described(relay: RelayFeed, worst: ServiceFeed) -> str:
    """Return the diagram in words, for those who cannot see it."""
    cover = "" if relay.path.clutter_height_m is None else " and its cover"
    return (
        f"Profile of the ground{cover} from {relay.parent.name} to {relay.relay.name} with the line of sight "
        f"and 0.6 of the first Fresnel zone at {worst.received.frequency_mhz:g} MHz. {_sight(worst)}"
    )


def _summary(relay: RelayFeed, worst: ServiceFeed) -> str:
    return (
        f"{worst.budget.distance_km:.2f} km on bearing {relay.path.bearing_deg:.1f}° from the parent; its "
        f"aerial stands {relay.path.tx_height_m:g} m above ground, the receiving one "
        f"{relay.path.rx_height_m:g} m. {_sight(worst)}"
    )


def _sight(worst: ServiceFeed) -> str:
    """Say whether the ends see one another, and where the ground matters most."""
    sight = "The ends see one another" if worst.prediction.line_of_sight else "The ground hides the ends"
    at_km = worst.prediction.controlling_km
    return (
        f"{sight}."
        if at_km is None
        else f"{sight}; the controlling edge lies {at_km:.2f} km from the parent."
    )
