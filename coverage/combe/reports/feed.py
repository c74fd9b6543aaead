"""The document of feeds: what each relay receives through its whole chain, and what fails it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from combe.digits import telling
from combe.publishing.document import Document, Facts, Part, Section, Table, Words
from combe.publishing.fields import Mark, as_told
from combe.reports.chain_pictures import waterfall_picture, window_picture
from combe.reports.clearance import clearance_table
from combe.reports.feed_advice import advice_line, advice_parts
from combe.reports.feed_form import FORM
from combe.reports.feed_input import SERVICES, chains, of_service, output, pictures, spoilers, table
from combe.reports.feed_scan import scan_parts
from combe.reports.feed_year import over_the_year
from combe.reports.profile import profile_picture, sight_words
from combe.reports.spectrum import spectrum_section
from combe.reports.study import study_named
from combe.words import joined, tell

if TYPE_CHECKING:
    from combe.answers.feed import FeedReport, RelayFeed
    from combe.answers.feed_service import ServiceFeed

__all__ = ["FORM", "document"]


_SHORT: Final = {
    "name": "service",
    "channel": "ch",
    "field_strength_dbuv_m": "field",
    "receiver_input_dbm": "input",
    "carrier_to_noise_db": "C/N",
    "fade_db": "fade",
    "own_output_cost_db": "own",
    "required_cn_db": "needed",
    "margin_db": "margin",
    "required_margin_db": "asked",
    "verdict": "verdict",
}
_BUDGET: Final = (
    "channel", "radiated_channel", "frequency_mhz", "erp_towards_site_dbw", "distance_km",
    "free_space_loss_db", "diffraction_loss_db", "other_mechanisms_db", "field_strength_dbuv_m",
    "aerial_gain_dbi", "aerial_output_dbm", "feeder_loss_db", "splitter_loss_db", "other_gain_db",
    "receiver_input_dbm", "receiver_input_dbuv", "noise_dbm", "carrier_to_noise_db", "time_percent",
    "fade_db", "field_strength_at_time_dbuv_m", "own_output_cost_db", "carrier_to_noise_at_time_db",
    "required_cn_db", "margin_db", "required_margin_db", "verdict",
)  # fmt: skip
_STRONG: Final = {
    "field_strength_dbuv_m", "receiver_input_dbm", "carrier_to_noise_db", "margin_db", "verdict"
}  # fmt: skip
_OWN_WORDS: Final = "own: what the noise of its own outputs and the echo of its loop take in the fade"


def document(report: FeedReport) -> Document:
    """Return the document of the feeds of a study."""
    return Document(
        form=FORM,
        answer=report,
        title="off-air feed",
        headline=_headline(report),
        parts=tuple(_section(relay) for relay in report.relays),
        study=study_named(report.project, report.provenance),
        verdict=Mark(report.verdict, report.verdict),
        made_by=report.provenance,
    )


def _headline(report: FeedReport) -> tuple[str, ...]:
    """Return what becomes of each relay, bad ones first; what would mend it; why; and what was asked."""
    several = len(report.relays) > 1
    ranked = sorted(report.relays, key=lambda relay: relay.verdict == "passes")
    lines = [_relay_words(relay) for relay in ranked]
    lines += [
        tell(
            "{relay} from {parent}: not judged; {reason}",
            relay=gap.relay,
            parent=gap.parent,
            reason=gap.reason,
        )
        for gap in report.gaps
    ]
    lines += [line for relay in ranked if (line := advice_line(relay, several=several))]
    lines += [
        tell("{name}, {verdict_words}", name=relay.relay.name, verdict_words=_verdict_words(each))
        if several
        else _verdict_words(each)
        for relay in ranked
        for each in relay.services
        if each.verdict != "passes"
    ]
    lines += [line for relay in report.relays for line in _asked_lines(relay, several)]
    return (*lines, *_standing(report.relays))


def _relay_words(relay: RelayFeed) -> str:
    first, worst = relay.services[0], relay.scantiest.budget
    sight = "in line of sight" if first.prediction.line_of_sight else "blocked"
    heard = tell(
        "{name} from {name_2}: {verdict}; {distance_km:.2f} km",
        name=relay.relay.name,
        name_2=relay.parent.name,
        verdict=relay.verdict,
        distance_km=first.budget.distance_km,
    )
    if relay.verdict != "passes":
        return tell("{heard}, {sight}", heard=heard, sight=sight)
    margin = telling(worst.margin_db, worst.required_margin_db, 1)
    return tell(
        "{heard}, {sight}; least margin {margin} dB, {required_margin_db:g} dB asked",
        heard=heard,
        sight=sight,
        margin=margin,
        required_margin_db=worst.required_margin_db,
    )


def _standing(relays: Sequence[RelayFeed]) -> list[str]:
    """Return for which share of the year the feed stands, of several that of the least."""
    if not relays:
        return []
    least = min(relays, key=lambda relay: _share(relay.shortest))
    words = tell("{name} {words}", name=least.relay.name, words=least.shortest.year.words)
    return [words if len(relays) == 1 else tell("least of all, {words}", words=words)]


def _share(service: ServiceFeed) -> float:
    share = service.year.stands_for
    return -math.inf if share is None else share.percent


def _asked_lines(relay: RelayFeed, several: bool) -> Iterable[str]:
    """Return what a scan and a search found, where they were asked for."""
    if relay.bearing_words:
        yield relay.bearing_words
    for words in relay.scan.short_words if relay.scan else ():
        yield tell("{name}: {words}", name=relay.relay.name, words=words) if several else words


def _verdict_words(service: ServiceFeed) -> str:
    return tell(
        "{name} {verdict}: {reason}",
        name=service.received.name,
        verdict=service.verdict,
        reason=service.reason,
    )


def _section(relay: RelayFeed) -> Section:
    worst = relay.scantiest
    told = sorted(relay.services, key=lambda each: ("fails", "not judged", "passes").index(each.verdict))
    parts: list[Part] = [
        Words(tuple(Mark(each.verdict, _verdict_words(each)) for each in told), listed=True),
        *advice_parts(relay),
        _results(relay),
        profile_picture(relay.path, worst.received.name),
        clearance_table(relay.path, (each.received.name for each in relay.services)),
        *over_the_year(relay),
        _budget(relay),
        _aerial(relay),
        waterfall_picture(relay),
        *_points(relay),
        *spectrum_section(relay.spectrum),
        *_window(relay),
        *spoilers(relay),
        *output(relay),
        *pictures(relay),
        *chains(relay),
        *scan_parts(relay.scan),
    ]
    if relay.bearing_words:
        parts.append(Words((relay.bearing_words,), "Best bearing of the receiving aerial"))
    return Section(
        tell("{name} receives {name_2}", name=relay.relay.name, name_2=relay.parent.name),
        tuple(parts),
        verdict=Mark(relay.verdict, relay.verdict),
        note=_way(relay, worst),
    )


def _way(relay: RelayFeed, worst: ServiceFeed) -> str:
    sea = relay.path.sea_fraction
    over_sea = "" if sea is None else tell(", {sea:.0%} of it over sea", sea=sea)
    path = relay.path
    return tell(
        "{distance_km:.2f} km on bearing {bearing_deg:.1f}° from the parent{over_sea}; "
        "its aerial stands {tx_height_m:g} m above ground, the receiving one {rx_height_m:g} m. "
        "{sight_words}",
        distance_km=worst.budget.distance_km,
        bearing_deg=path.bearing_deg,
        over_sea=over_sea,
        tx_height_m=path.tx_height_m,
        rx_height_m=path.rx_height_m,
        sight_words=sight_words(relay.path, worst.received.name),
    )


def _results(relay: RelayFeed) -> Table:
    """Return the results in short; what own outputs take where that is worth a column."""
    keys = [key for key in _SHORT if key != "own_output_cost_db" or relay.own_output_tells]
    fields = tuple(as_told(each, _SHORT[each.key]) for each in SERVICES.only(*keys))
    note = _OWN_WORDS if relay.own_output_tells else ""
    return Table("Results", fields, relay.services, note, brief=True, unless_zero=("fade",))


def _budget(relay: RelayFeed) -> Table:
    """Return every item in the order of the signal's way, a column for each service."""
    keys = [key for key in _BUDGET if key != "own_output_cost_db" or relay.own_output_tells]
    fields = SERVICES.only(*keys)
    methods = dict.fromkeys(service.budget.time_method for service in relay.services)
    return Table(
        "Feed budget",
        fields,
        relay.services,
        tell("Time of the margin: {methods}.", methods=joined("; ", methods)),
        strong=lambda field: field.key in _STRONG,
        across="received.name",
    )


def _points(relay: RelayFeed) -> list[Table]:
    """Return the chain point by point where the study lists its stages."""
    if not relay.side.in_full:
        return []
    columns = of_service("points").only(
        "point", "step_db", "level_dbm", "level_dbuv_50", "level_dbuv_75", "noise_dbm", "carrier_to_noise_db",
        "total_dbm", "headroom_db", "enhanced_headroom_db",
    )  # fmt: skip
    rare = relay.services[0].year.rare_percent
    note = tell(
        "Medians of time; headroom to the tightest limit of a stage, all signals on the aerial counted, at"
        " the median and with the parent's signals enhanced, {rare:g} % of time.",
        rare=rare,
    )
    found = table(relay, "points", "Levels at every point of the chain", columns, note)
    return [replace(each, group="service.received.name") for each in found]


def _window(relay: RelayFeed) -> list[Part]:
    window, places = relay.side.window, [each.window for each in relay.services if each.window]
    if window is None:
        return []
    percent, rare = relay.services[0].budget.time_percent, relay.services[0].year.rare_percent
    times = tell("50 %, {percent:g} % and {rare:g} % of time", percent=percent, rare=rare)
    note = tell(
        "Receiver's window {lowest_dbm:g} to {highest_dbm:g} dBm, muted under "
        "{mute_dbm:g} dBm; levels for {times}.",
        lowest_dbm=window.lowest_dbm,
        highest_dbm=window.highest_dbm,
        mute_dbm=window.mute_dbm,
        times=times,
    )
    columns = of_service("window").only(
        "service", "median_dbm", "faded_dbm", "enhanced_dbm", "reserve_db", "mute_reserve_db", "headroom_db",
        "state",
    )  # fmt: skip
    return [
        window_picture(relay, places),
        *table(relay, "window", "Levels in the receiver's window", columns, note),
    ]


def _aerial(relay: RelayFeed) -> Facts:
    height = FORM["relays.receiving_height_m"]
    return Facts((height, *FORM["relays.receiving_aerial"].fields), relay, "The receiving aerial")
