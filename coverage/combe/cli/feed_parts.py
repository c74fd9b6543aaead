"""The pictures and tables of the feed page below its budgets."""

from __future__ import annotations

import math

from combe.answers.feed import RelayFeed, ServiceFeed
from combe.answers.output_side import isolation_words
from combe.answers.scan import NO_REFLECTION, HeightScan, course_words
from combe.digits import true_minus
from combe.publishing.feed_page import FeedPicture, FeedTable
from combe.publishing.height_gain_diagram import HeightGain, HeightLine, height_gain_svg
from combe.publishing.waterfall_diagram import Waterfall, WaterfallLine, waterfall_svg
from combe.publishing.window_diagram import WindowBar, WindowPicture, window_svg
from combe.reception.cascade import waterfall

Part = FeedTable | FeedPicture


def chain_parts(relay: RelayFeed) -> list[Part]:
    """Return the waterfall with its table, and the window, where the study states them."""
    found: list[Part] = [_waterfall(relay)]
    if relay.side.in_full:
        found.append(_points(relay))
    if relay.side.window is not None:
        found += [_window(relay)]
    return found


def spoiler_parts(relay: RelayFeed) -> list[Part]:
    """Return the tables of what else is on the input, of the output side, of pictures and of chains."""
    tables = (_interference, _own_frequencies, _own_output, _loops, _output, _pictures, _chains)
    return [table for make in tables if (table := make(relay)) is not None and table.rows]


def scan_part(scan: HeightScan) -> FeedPicture:
    """Return the height-gain diagram with what it shows in words."""
    lines = tuple(HeightLine(each.service.name, each.field_dbuv_m) for each in scan.services)
    courses = ". ".join(course_words(scan, each) for each in scan.services)
    caution = (
        f" {NO_REFLECTION} {scan.null_spacing_m:.1f} m apart." if scan.null_spacing_m is not None else ""
    )
    return FeedPicture(
        "Field by height of the receiving aerial",
        height_gain_svg(HeightGain(scan.height_m, lines, scan.planned_height_m)),
        f"Field strength against height of the receiving aerial. {courses}.",
        f"{courses}.{caution}",
    )


def _waterfall(relay: RelayFeed) -> FeedPicture:
    first = relay.services[0]
    lines = []
    for service in relay.services:
        rows = waterfall(service.cascade, service.received.name)
        levels, noises = (row.level_dbm for row in rows), (row.noise_dbm for row in rows)
        lines.append(WaterfallLine(service.received.name, tuple(levels), tuple(noises)))
    limits = tuple(load.limit_dbm for load in first.cascade.loads)
    return FeedPicture(
        "Levels through the chain",
        waterfall_svg(Waterfall(first.cascade.points, tuple(lines), limits)),
        f"Level and noise of each service at {', '.join(first.cascade.points)}.",
        "Marks: level of each service; dashes: its noise; between them its carrier-to-noise ratio. "
        f"Numbers are those of {first.received.name}.",
    )


def _points(relay: RelayFeed) -> FeedTable:
    heads = (
        "Service", "Point", "Step dB", "Level dBm", "dBµV, 50 Ω", "dBµV, 75 Ω", "Noise dBm", "C/N dB",
        "All signals dBm", "Headroom dB",
    )  # fmt: skip
    rows = tuple(
        (
            service.received.name if at == 0 else "",
            level.point,
            None if at == 0 else level.step_db,
            level.level_dbm,
            level.level_dbuv_50,
            level.level_dbuv_75,
            level.noise_dbm,
            level.carrier_to_noise_db,
            load.total_dbm,
            load.headroom_db,
        )
        for service in relay.services
        for at, (level, load) in enumerate(
            zip(waterfall(service.cascade, service.received.name), service.cascade.loads, strict=True)
        )
    )
    note = "Medians of time; headroom to the tightest limit of a stage, all signals on the aerial counted."
    return FeedTable("Every point of the chain", heads, rows, note)


def _window(relay: RelayFeed) -> FeedPicture:
    window, places = relay.side.window, [each.window for each in relay.services if each.window]
    assert window is not None, "asked for only where there is one"
    bars = tuple(
        WindowBar(place.service, place.faded_dbm, place.median_dbm, place.enhanced_dbm) for place in places
    )
    percent = relay.services[0].budget.time_percent
    picture = WindowPicture(window.lowest_dbm, window.highest_dbm, window.mute_dbm, percent, bars)
    words = true_minus("; ".join(f"{place.service}: {place.reason}" for place in places))
    return FeedPicture(
        "The receiver's window", window_svg(picture), f"Where each service sits. {words}.", f"{words}."
    )


def _interference(relay: RelayFeed) -> FeedTable:
    heads = (
        "Service", "From", "Channel", "Time", "Field dB(µV/m)", "Aerial takes dB", "Protection dB",
        "Nuisance dB(µV/m)", "C/I dB", "Margin dB", "Reference",
    )  # fmt: skip
    rows = tuple(
        (
            service.received.name,
            f"{row.station} {row.service}",
            row.step,
            row.time,
            row.unwanted_dbuv_m,
            row.discrimination_db,
            row.protection_db,
            row.nuisance_dbuv_m,
            row.carrier_to_interference_db,
            row.margin_db,
            row.reference,
        )
        for service in relay.services
        for row in service.interference.rows
    )
    note = "Tropospheric: field for 1 % of time; continuous: the median. The wanted field is the median."
    return FeedTable("Other stations at the receiving aerial", heads, rows, note)


def _own_frequencies(relay: RelayFeed) -> FeedTable:
    heads = (
        "Service",
        "From",
        "Channels off",
        "Relation",
        "Over the wanted dB",
        "C/I behind the rejection dB",
    )
    rows = tuple(
        (
            service.received.name,
            f"{trap.station} {trap.service}",
            f"{trap.channel_step:+d}".replace("-", "−"),
            trap.relation,
            trap.unwanted_over_wanted_db,
            trap.carrier_to_interference_db,
        )
        for service in relay.services
        for trap in service.traps
    )
    note = "The image is judged; oscillator and beat depend on the receiver's screening and are a caution."
    return FeedTable("On the receiver's own frequencies", heads, rows, note)


def _own_output(relay: RelayFeed) -> FeedTable | None:
    own = relay.side.feed.own_output
    if own is None:
        return None
    heads = (
        "Service", "Output", "Channel", "Level dBm", "Over the wanted dB", "Protection dB", "Margin dB",
        "C/N of its noise dB",
    )  # fmt: skip
    rows = tuple(
        (
            service.received.name,
            row.service,
            row.step or "elsewhere",
            row.level_dbm,
            row.over_wanted_db,
            row.protection_db,
            row.margin_db,
            row.carrier_to_noise_db,
        )
        for service in relay.services
        for row in service.own_outputs
    )
    return FeedTable("The relay's own outputs", heads, rows, f"{true_minus(isolation_words(own))}.")


def _loops(relay: RelayFeed) -> FeedTable:
    """Return the loops of services that keep their channel; one that oscillates has no ripple and no echo."""
    heads = (
        "Service", "Gain dB", "of it by the fade dB", "Isolation dB", "Canceller dB", "Gain margin dB",
        "Asked dB", "Ripple dB", "Carrier over echoes dB",
    )  # fmt: skip
    looped = [(service.received.name, service.loop) for service in relay.services if service.loop]
    rows = tuple(
        (
            name,
            loop.gain_db,
            loop.fade_db,
            loop.isolation_db,
            loop.canceller_db,
            loop.gain_margin_db,
            loop.required_margin_db,
            _finite(loop.ripple_db),
            _finite(loop.echo_ci_db),
        )
        for name, loop in looped
    )
    words = true_minus("; ".join(f"{name}: {loop.reason}" for name, loop in looped))
    return FeedTable("The loop on a channel that is kept", heads, rows, f"{words}.")


def _output(relay: RelayFeed) -> FeedTable | None:
    if relay.output is None:
        return None
    heads = (
        "Service", "Amplifier W", "Losses dB", "At the aerial W", "Gain dBd", "ERP W", "Over the stated dB",
        "Third order dB",
    )  # fmt: skip
    rows = tuple(
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
    )
    note = "Third order: the strongest product in the service's channel, relative to its power."
    return FeedTable("Output side", heads, rows, note)


def _pictures(relay: RelayFeed) -> FeedTable:
    percent = relay.services[0].budget.time_percent
    heads = (
        "Service", "C/N dB", "S/N unweighted dB", "S/N weighted dB", f"Unweighted, {percent:g} % of time dB",
        "Vision to sound dB",
    )  # fmt: skip
    rows = tuple(row for service in relay.services if (row := _picture(service)) is not None)
    note = "Video signal from blanking to white over r.m.s. noise; levels are those at peak sync."
    return FeedTable("Pictures", heads, rows, note)


def _picture(service: ServiceFeed) -> tuple[str, float, float, float, float, float] | None:
    if service.picture is None or service.picture_at_time is None or service.sound is None:
        return None
    return (
        service.received.name,
        service.picture.carrier_to_noise_db,
        service.picture.unweighted_sn_db,
        service.picture.weighted_sn_db,
        service.picture_at_time.unweighted_sn_db,
        service.sound.vision_to_sound_db,
    )


def _chains(relay: RelayFeed) -> FeedTable:
    chained = [(service, service.chain) for service in relay.services if service.chain is not None]
    heads = ("Service", "Hop", "Received dB", "Sent dB", "Costs the end dB")
    rows = tuple(
        (
            service.received.name,
            row.name,
            _finite(row.received_db),
            _finite(row.sent_db),
            _finite(row.cost_db),
        )
        for service, chain in chained
        for row in chain.hops
    )
    words = true_minus("; ".join(f"{service.received.name}: {chain.reason}" for service, chain in chained))
    return FeedTable("Chain of relays", heads, rows, f"{words}.")


def _finite(ratio_db: float) -> float | None:
    return ratio_db if math.isfinite(ratio_db) else None
