"""What ``combe feed`` prints: budgets first, then the chain, then what else is on the input."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import click

from combe.cli.output import print_table, say

if TYPE_CHECKING:
    from combe.answers.feed import FeedReport, RelayFeed
    from combe.answers.feed_service import ServiceFeed
    from combe.answers.scan import HeightScan
    from combe.reception.feed_interference import BearingChoice
    from combe.reception.own_output import LoopResult

_HEADS: Final = (
    "service", "ch", "MHz", "ERP dBW", "free space dB", "diffraction dB", "other dB", "field dBµV/m",
    "input dBm", "C/N dB", "fade dB", "needed dB", "margin dB", "verdict",
)  # fmt: skip

_MAY_LACK: Final = ("other dB", "fade dB")
_AFTER: Final = _HEADS.index("fade dB") + 1


def print_feed(report: FeedReport) -> None:
    """Print each relay: the budgets, the reason of each verdict, and what the study states beyond them."""
    for relay in report.relays:
        first = relay.services[0]
        sight = "in line of sight" if first.prediction.line_of_sight else "blocked"
        sea = relay.path.sea_fraction
        over_sea = "" if sea is None else f", {sea:.0%} over sea"
        say(
            f"{relay.relay.name} from {relay.parent.name}: {relay.verdict}; "
            f"{first.budget.distance_km:.2f} km, {sight}{over_sea}"
        )
        _print_budgets(relay)
        for service in relay.services:
            say(f"  {service.received.name} {service.verdict}: {service.reason}")
        say(f"  time of the margin: {first.budget.time_method}")
        _print_points(relay)
        _print_window(relay)
        _print_interference(relay)
        _print_own_output(relay)
        _print_output(relay)
        _print_pictures(relay)
        _print_chains(relay)


def print_scan(scan: HeightScan) -> None:
    """Print the field at each height, and how it goes at the planned one."""
    from combe.answers.scan import NO_REFLECTION, course_words

    say(f"\n{scan.relay}: field by height of the receiving aerial, median of time")
    heads = ("height m", *(f"{each.service.name} dBµV/m" for each in scan.services))
    rows = [
        (height, *(each.field_dbuv_m[number] for each in scan.services))
        for number, height in enumerate(scan.height_m)
    ]
    print_table(heads, rows)
    for each in scan.services:
        say(f"  {course_words(scan, each)}")
    if scan.null_spacing_m is not None:
        say(f"  {NO_REFLECTION} {scan.null_spacing_m:.1f} m apart")


def print_bearing(relay: RelayFeed, choice: BearingChoice | None) -> None:
    """Print where to turn the receiving aerial."""
    parent_deg = relay.site.way.arrival_deg
    if choice is None:
        say(f"\n{relay.relay.name}: nothing disturbs it; look at the parent, {parent_deg:.1f}°")
        return
    say(
        f"\n{relay.relay.name}: best bearing {choice.bearing_deg:.1f}°, the parent is on {parent_deg:.1f}°; "
        f"margin over interference {choice.margin_db:+.1f} dB against {choice.margin_at_parent_db:+.1f} dB, "
        f"wanted field {choice.wanted_loss_db:.1f} dB less"
    )


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
        service.verdict,
    )


def _print_budgets(relay: RelayFeed) -> None:
    """Print the budgets, with what the relay's own outputs take where that is worth a column."""
    heads: tuple[str, ...] = _HEADS
    rows = [_row(service) for service in relay.services]
    if relay.own_output_tells:
        heads = (*heads[:_AFTER], "own dB", *heads[_AFTER:])
        costs_db = [service.budget.own_output_cost_db for service in relay.services]
        rows = [(*row[:_AFTER], cost_db, *row[_AFTER:]) for row, cost_db in zip(rows, costs_db, strict=True)]
    print_table(heads, rows, unless_zero=_MAY_LACK)
    if relay.own_output_tells:
        say("  own dB: what the noise of its own outputs and the echo of its loop take in the fade")


def _print_points(relay: RelayFeed) -> None:
    """Print the chain point by point where the study lists its stages."""
    if not relay.side.in_full:
        return
    from combe.reception.cascade import waterfall

    say("\n  Levels at every point, median of time; headroom with all signals present")
    heads = (
        "service", "point", "step dB", "dBm", "dBµV 50 Ω", "dBµV 75 Ω", "noise dBm", "C/N dB", "all dBm",
        "headroom dB",
    )  # fmt: skip
    rows = [
        (
            service.received.name,
            level.point,
            level.step_db,
            level.level_dbm,
            level.level_dbuv_50,
            level.level_dbuv_75,
            level.noise_dbm,
            level.carrier_to_noise_db,
            load.total_dbm,
            load.headroom_db,
        )
        for service in relay.services
        for level, load in zip(
            waterfall(service.cascade, service.received.name), service.cascade.loads, strict=True
        )
    ]
    print_table(heads, rows)


def _print_window(relay: RelayFeed) -> None:
    window = relay.side.window
    places = [service.window for service in relay.services if service.window is not None]
    if window is None:
        return
    percent = relay.services[0].budget.time_percent
    known = all(place.enhanced_dbm is not None for place in places)
    times = f"50 %, {percent:g} % and 1 % of time" if known else "the median of time, of which alone is known"
    say(
        f"\n  Receiver's window {window.lowest_dbm:g} to {window.highest_dbm:g} dBm, muted under "
        f"{window.mute_dbm:g} dBm; levels for {times}"
    )
    heads = (
        "service", "median dBm", "faded dBm", "enhanced dBm", "reserve dB", "to mute dB", "headroom dB",
        "output",
    )  # fmt: skip
    rows = [
        (
            place.service,
            place.median_dbm,
            place.faded_dbm,
            place.enhanced_dbm,
            place.reserve_db,
            place.mute_reserve_db,
            place.headroom_db,
            place.state,
        )
        for place in places
    ]
    print_table(heads, rows)


def _ratio_words(relay: RelayFeed) -> str:
    """Return where the protection ratios of the table are from, and which are from memory."""
    found = [row.reference for service in relay.services for row in service.interference.rows]
    words = f"protection ratios of {'; '.join(dict.fromkeys(found))}"
    return click.wrap_text(words, width=96, initial_indent="  ", subsequent_indent="  ")


def _print_interference(relay: RelayFeed) -> None:
    rows = [
        (
            service.received.name,
            f"{row.station} {row.service}",
            row.step,
            row.time,
            row.unwanted_dbuv_m,
            row.discrimination_db,
            row.protection_db,
            row.nuisance_dbuv_m,
            row.margin_db,
        )
        for service in relay.services
        for row in service.interference.rows
    ]
    if rows:
        say("\n  Other stations at the receiving aerial, tropospheric for 1 % of time")
        heads = (
            "service", "from", "channel", "time", "field dBµV/m", "aerial dB", "protection dB",
            "nuisance dBµV/m", "margin dB",
        )  # fmt: skip
        print_table(heads, rows)
        say(_ratio_words(relay))
    traps = [(service.received.name, trap) for service in relay.services for trap in service.traps]
    if traps:
        say("\n  On the receiver's own frequencies: image judged, the others a caution")
        print_table(
            ("service", "from", "channels off", "relation", "over wanted dB", "C/I dB"),
            [
                (
                    name,
                    f"{trap.station} {trap.service}",
                    f"{trap.channel_step:+d}",
                    trap.relation,
                    trap.unwanted_over_wanted_db,
                    trap.carrier_to_interference_db,
                )
                for name, trap in traps
            ],
        )


def _print_own_output(relay: RelayFeed) -> None:
    from combe.answers.output_side import isolation_words

    own = relay.side.feed.own_output
    if own is None:
        return
    say(f"\n  The relay's own outputs at the receiving aerial. {isolation_words(own)}")
    rows = [
        (
            service.received.name,
            row.service,
            row.step or "elsewhere",
            row.level_dbm,
            row.over_wanted_db,
            row.margin_db,
            row.carrier_to_noise_db,
        )
        for service in relay.services
        for row in service.own_outputs
    ]
    heads = ("service", "output", "channel", "dBm", "over wanted dB", "margin dB", "C/N of its noise dB")
    if rows:
        print_table(heads, rows)
    for service in relay.services:
        if service.loop is not None:
            say(f"  {service.received.name} loop: {service.loop.reason}{_echo_words(service.loop)}")


def _echo_words(loop: LoopResult) -> str:
    """Return what a loop does to the response; one that oscillates has no ripple and no ratio."""
    if loop.gain_margin_db <= 0.0:
        return ""
    return f"; ripple {loop.ripple_db:.2f} dB, echoes {loop.echo_ci_db:.1f} dB under"


def _print_output(relay: RelayFeed) -> None:
    if relay.output is None:
        return
    say("\n  Output side: power, losses and gain to the ERP, against the ERP that the study states")
    rows = [
        (
            each.budget.service,
            each.budget.points[0].power_w,
            each.budget.total_loss_db,
            each.budget.aerial_input_w,
            each.budget.aerial_gain_dbd,
            each.budget.erp_w,
            each.erp_difference_db,
            each.products.worst_relative_db if each.products and each.products.worst else None,
        )
        for each in relay.output.services
    ]
    heads = (
        "service", "amplifier W", "losses dB", "at aerial W", "gain dBd", "ERP W", "over stated dB",
        "third order dB",
    )  # fmt: skip
    print_table(heads, rows)


def _print_pictures(relay: RelayFeed) -> None:
    rows = [
        (
            service.received.name,
            service.picture.carrier_to_noise_db,
            service.picture.unweighted_sn_db,
            service.picture.weighted_sn_db,
            service.picture_at_time.unweighted_sn_db,
            service.sound.vision_to_sound_db,
        )
        for service in relay.services
        if service.picture and service.picture_at_time and service.sound
    ]
    if rows:
        percent = relay.services[0].budget.time_percent
        say("\n  Pictures: video S/N from blanking to white; levels are those at peak sync")
        heads = (
            "service", "C/N dB", "S/N unweighted dB", "S/N weighted dB", f"unweighted, {percent:g} % dB",
            "vision to sound dB",
        )  # fmt: skip
        print_table(heads, rows)


def _print_chains(relay: RelayFeed) -> None:
    for service in relay.services:
        if service.hops is None:
            say(f"  {service.received.name} chain of relays not judged: not every ratio in it is known")
    chained = [(service, service.chain) for service in relay.services if service.chain is not None]
    if not chained:
        return
    say("\n  Chain of relays: ratio received and sent, and what the end would gain without each hop")
    heads = ("service", "hop", "received dB", "sent dB", "costs dB")
    rows = [
        (
            service.received.name,
            row.name,
            *(_finite(each) for each in (row.received_db, row.sent_db)),
            _finite(row.cost_db),
        )
        for service, chain in chained
        for row in chain.hops
    ]
    print_table(heads, rows)
    for service, chain in chained:
        say(f"  {service.received.name} chain {chain.verdict}: {chain.reason}")


def _finite(ratio_db: float) -> float | None:
    return None if abs(ratio_db) == float("inf") else ratio_db
