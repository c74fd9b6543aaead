"""The course on the viewers: ratios, fields, people, fades and margins are those that are worked out."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

import support_course as course
from combe.prediction import YEAR_MINUTES
from combe.project import itemised_field
from combe.reception import channel_of, location_probability, protection
from combe.standards import (
    digital_conversion,
    directivity_db,
    image_channels,
    oscillator_channel,
    steps_of,
    troubled_channels,
)
from combe.standards.channels import DIGITAL_IF_MHZ
from combe.standards.protection import offset_ratio


def ratio_db(step: int) -> float:
    """Return the protection ratio of the sample's system against itself, so many channels above."""
    television = course.valley().television
    found = protection(
        channel_of(television, course.channel_mhz(22)),
        channel_of(television, course.channel_mhz(22 + step)),
        television.required_cn_db,
    )
    assert found is not None
    assert found.confidence == "from memory"
    return found.tropospheric_db


def test_channels_and_their_neighbours():
    page = course.Chapter("neighbours")
    parent, relay = course.valley().stations
    page.given(
        "the sample's channels are 8 MHz wide",
        "middle of channel n [MHz] = 306 + 8 n",
        "n ± 1, n ± 5 and n + 9",
        "| on the image channel, n + 9 |",
        "Why is the image at n + 9?",
    )
    assert [course.channel_mhz(n) for n in (21, 48)] == [306.0 + 8.0 * n for n in (21, 48)]
    page.says(
        "Channel {:.0f} is {:.0f} MHz, channel {:.0f} {:.0f} MHz",
        22,
        course.channel_mhz(22),
        41,
        course.channel_mhz(41),
    )
    page.says(
        "hears {:.0f}, {:.0f} and {:.0f}, and sends on {:.0f}, {:.0f} and {:.0f}",
        *(each.channel for station in (parent, relay) for each in station.services),
    )
    page.says("| on the same channel | {:.0f} |", ratio_db(0))
    page.says(
        "| on the next channel, either side | {:.0f} | may be {:.0f} dB stronger |", ratio_db(1), -ratio_db(1)
    )
    assert ratio_db(-1) == ratio_db(1)
    page.says("| {:.0f} | may be {:.0f} dB stronger; differs from", ratio_db(9), -ratio_db(9))
    page.says("up to {:.0f} dB for what comes from the side or behind", -directivity_db(90.0))
    house = course.heard_at_house(course.RELAY).field_dbuv_m
    nuisance = 40.0 + ratio_db(0) + directivity_db(180.0)
    page.given(
        "on channel 41 who reaches the house",
        "with 40 dB(µV/m) on rare days: 40 + 20 − 16 =",
        "exceeds for 1 % of the time",
    )
    page.says(
        "= {:.0f} dB(µV/m). Larkcombe's {:.1f} stand {:.1f} dB over that", nuisance, house, house - nuisance
    )

    conversion = digital_conversion(8.0)
    low = course.channel_mhz(22) - 4.0
    oscillator = low + oscillator_channel(conversion).over_edge_mhz
    image = low + image_channels(conversion)[0].over_edge_mhz
    page.says(
        "mixes channel {:.0f} with its oscillator, {:.3f} MHz above it, at {:.3f} MHz",
        22,
        DIGITAL_IF_MHZ,
        oscillator,
    )
    page.says(
        "{:.3f} + {:.3f} = {:.2f} MHz, in channel {:.0f}",
        oscillator,
        DIGITAL_IF_MHZ,
        image,
        22 + image_channels(conversion)[0].channel_step,
    )
    page.says("oscillator itself lies in channel {:.0f}", 22 + oscillator_channel(conversion).channel_step)
    troubled = set(steps_of(troubled_channels(conversion)))
    assert troubled == {-5, -1, 1, 5, 9}
    page.says("Channels {:.0f} to {:.0f} in four rows", 21, 48)
    page.says("the outputs {:.0f}, {:.0f} and {:.0f} lie beyond", *(each.channel for each in relay.services))
    heard = [each.channel for each in parent.services]
    bad = set(heard) | {channel + step for channel in heard for step in troubled}
    page.says(
        "Out of {:.0f} channels from {:.0f} to {:.0f} this leaves few below {:.0f}", 48 - 21 + 1, 21, 48, 38
    )
    assert sorted(set(range(21, 38)) - bad) == [32, 35, 36]

    plain, offset, precise = (
        offset_ratio(twelfths, precision=held).tropospheric_db
        for twelfths, held in ((0, False), (8, False), (8, True))
    )
    page.says(
        "needs {:.0f} dB over the other, with two thirds of a line {:.0f}, and {:.0f} where both",
        plain,
        offset,
        precise,
    )

    page.given(
        "May Larkcombe send on channel 31, 33, 34 or 37?",
        "the lowest channel above 28",
        "A stranger on channel 40 reaches the house with 60 dB(µV/m)",
    )
    page.says("disturb Mux A on channel {:.0f}, of {:.1f} dB(µV/m)? And if he were on {:.0f}?", 41, house, 41)
    image_step = image_channels(conversion)[0].channel_step
    page.says(
        "{:.0f} is the image of {:.0f}, {:.0f} of {:.0f}, {:.0f} of {:.0f}, each nine above",
        *(each for channel in heard for each in (channel + image_step, channel)),
    )
    page.says("{:.0f} is five above {:.0f}: oscillator", 28 + 5, 28)
    lowest = min(channel for channel in range(29, 49) if channel not in bad)
    page.says(
        "{:.0f}. Channel {:.0f} is next to {:.0f}, {:.0f} is five above {:.0f}, and {:.0f} is an image",
        lowest,
        29,
        28,
        30,
        25,
        31,
    )
    page.says("lists {:.0f} first of all", lowest)
    page.given("On channel 40 he is next door: 60 − 30 =", "On 41 it is 60 + 20 =")
    page.says(
        "= {:.0f} dB(µV/m), {:.1f} dB under Larkcombe", 60.0 + ratio_db(-1), house - 60.0 - ratio_db(-1)
    )
    page.says("= {:.0f}: only {:.1f} dB are left", 60.0 + ratio_db(0), house - 60.0 - ratio_db(0))
    assert page.left_over() == []


def test_who_counts_as_served():
    page = course.Chapter("served")
    item = {each.name: each.value for each in itemised_field(course.valley(), 482.0).chain}
    television = course.valley().television
    sigma, asked = television.sigma_db, television.location_percent
    least = course.least_field_dbuv_m(482.0)
    correction = item["location correction Cl"]

    page.says(
        "| noise of the receiver, {:.2f} MHz and {:.0f} dB | {:.1f} dBW |",
        item["noise bandwidth B"],
        item["receiver noise figure F"],
        item["receiver noise power Pn"],
    )
    page.says("| C/N that the mode needs | {:.1f} dB |", item["required C/N"])
    page.says("| so the least power at its input | {:.1f} dBW |", item["minimum receiver input Ps"])
    page.says(
        "| area of a roof aerial of {:.0f} dBd | {:.1f} dB(m²) |",
        item["aerial gain G"],
        item["effective aperture Aa"],
    )
    page.says("| loss of its feeder | {:.1f} dB |", item["feeder loss Lf"])
    page.says("| **{:.1f} dB(µV/m)** |", least)
    page.given(
        "On channel 22, for the sample's mode", "median needed = least field + 1.64 · 5.5 dB = 42.6 + 9.0"
    )
    page.says("{:.1f} dB(µV/m) on channel {:.0f}", course.least_field_dbuv_m(634.0), 41)
    page.says("a standard deviation of {:.1f} dB", sigma)
    page.says(
        "To serve {:.0f} % of them the median must lie over the least field by {:.2f} deviations",
        asked,
        item["location factor μ"],
    )
    assert item["location factor μ"] * sigma == pytest.approx(correction)
    page.says("= {:.1f} dB(µV/m)`", least + correction)
    there = course.heard_at_house(course.PARENT).field_dbuv_m
    share = 100.0 * float(location_probability(there, least, sigma))
    page.given("from none to all within 25 dB")
    assert float(location_probability(least - 12.5, least, sigma)) < 0.02
    page.says(
        "Tarnbeacon on channel {:.0f} lies at {:.0f} %, under the line of {:.0f} %, the house "
        "by Larkcombe on channel {:.0f}",
        22,
        share,
        asked,
        41,
    )
    page.says(
        "has a median of {:.1f} from Tarnbeacon. That is nearly {:.0f} dB short",
        there,
        least + correction - there,
    )
    assert 1.5 < least + correction - there < 2.0
    page.says("since {:.0f} % are asked", asked)
    page.given("70 % is called", "what they exceed for 1 % of the time")
    assert television.interferer_time_percent == 1.0

    people, mux_a = course.covered().all_services.people, course.covered().services[0].people
    page.says(
        "Of {:,.0f} people {:,.0f} are served before and {:,.0f} with Larkcombe; so it newly serves "
        "{:,.0f}, and {:,.0f} are left",
        people.total,
        people.served_before,
        people.served,
        people.newly_served,
        people.unserved,
    )
    page.says("Mux A alone has {:,.0f}", mux_a.served)
    ranges = course.covered().all_services.ranges
    assert ranges is not None
    page.says("between {:,.0f} and {:,.0f}", ranges.served.low, ranges.served.high)

    least_c = course.least_field_dbuv_m(530.0)
    there_c = course.heard_at_house(course.PARENT, 2).field_dbuv_m
    by_relay = course.heard_at_house(course.RELAY, 2)
    page.says("What median does channel {:.0f} need, if its least field is {:.1f} dB(µV/m)", 28, least_c)
    page.says("has a median of {:.1f} dB(µV/m) at the house", there_c)
    page.says(
        "gives the house {:.1f} dB(µV/m) of Mux C, where {:.1f} are needed",
        by_relay.field_dbuv_m,
        by_relay.needed_dbuv_m,
    )
    page.says("{:.1f} + {:.1f} = {:.1f} dB(µV/m)", least_c, correction, least_c + correction)
    over = (there_c - least_c) / sigma
    page.says("{:.1f} − {:.1f} = {:.1f} dB, or {:.2f} deviations", there_c, least_c, there_c - least_c, over)
    page.says("has {:.0f} % for that", 100.0 * NormalDist().cdf(over))
    page.says(
        "By {:.1f} dB, from {:.0f} W to {:.2f} W",
        by_relay.margin_db,
        50,
        50.0 * 10.0 ** (-by_relay.margin_db / 10.0),
    )
    assert page.left_over() == []


def test_fades_and_margins():
    page = course.Chapter("fades")
    page.given("minutes = 525 960 · (100 − share in %) / 100")
    page.says("An average year has {:,.0f} minutes", YEAR_MINUTES)
    page.says("| {:.0f} % | {:,.0f} minutes, {:.0f} hours |", 99, YEAR_MINUTES / 100.0, YEAR_MINUTES / 6000.0)
    page.says(
        "| {:.1f} % | {:,.0f} minutes, {:.0f} hours |", 99.9, YEAR_MINUTES / 1000.0, YEAR_MINUTES / 60000.0
    )
    page.says("| {:.2f} % | {:,.0f} minutes |", 99.99, YEAR_MINUTES / 10000.0)
    fades = [course.over_the_year().fade_db(share) for share in (90.0, 99.0, 99.9, 99.99)]
    page.says(
        "{:.1f} dB for {:.0f} % of the year, {:.1f} dB for {:.0f} %, {:.1f} dB for {:.1f} % and "
        "{:.1f} dB for {:.2f} %",
        *(each for pair in zip(fades, (90.0, 99.0, 99.9, 99.99), strict=True) for each in pair),
    )
    page.says("Larkcombe's path of {:.1f} km", float(course.path().profile.distance_km[-1]))
    page.says(
        "Over {:.0f} km the same share of {:.2f} % takes {:.0f} dB",
        60,
        99.99,
        told_by_the_year(60, "99.99 %"),
    )

    first, last = course.feed().services[0], course.feed().services[2]
    ratio = first.budget.carrier_to_noise_db
    needed, asked = course.valley().television.required_cn_db, 10.0
    page.says("For Mux A and {:.0f} % of the year", 99)
    page.says("| C/N of the median | {:.1f} |", ratio)
    page.says("| fade | {:.1f} |", -fades[1])
    page.says("| needed | {:.1f} |", -needed)
    page.says("| **margin** | **{:.1f}** |", first.budget.margin_db)
    page.says("The study asks {:.0f} dB, so {:.1f} dB are over", asked, first.budget.margin_db - asked)
    page.says("for {:.0f} % of the time Mux A is {:.1f} dB stronger", 1, first.enhancement_db)
    page.says("{:.1f} % and {:.1f} % make {:.1f} %", 99.9, 99.9, 99.9 * 99.9 / 100.0)

    deepest = [each.year.shares[-1] for each in (first, last)]
    assert [each.time_percent for each in deepest] == [99.99, 99.99]
    page.says(
        "For {:.2f} % of the year, what is the margin of Mux A, and of Mux C, whose C/N is {:.1f} dB "
        "and whose fade is {:.1f} dB",
        99.99,
        last.budget.carrier_to_noise_db,
        deepest[1].fade_db,
    )
    page.given("stands for 99 % of the year. Larkcombe's stands for 99.999 %.", "99.999 % and less")
    page.says("{:.1f} − {:.1f} − {:.0f} = {:.1f} dB", ratio, deepest[0].fade_db, needed, deepest[0].margin_db)
    page.says(
        "{:.1f} − {:.1f} − {:.0f} = {:.1f} dB",
        last.budget.carrier_to_noise_db,
        deepest[1].fade_db,
        needed,
        deepest[1].margin_db,
    )
    page.says(
        "{:.1f} − {:.0f} = {:.1f} dB",
        last.budget.carrier_to_noise_db,
        needed,
        last.budget.carrier_to_noise_db - needed,
    )
    assert last.year.stands_for.percent == 99.999
    assert last.year.stands_for.bounded
    both = 99.0 * 0.99999
    hours = YEAR_MINUTES / 60.0
    page.given("0.99 · 0.99999 =")
    page.says(
        "= {:.3f} %; {:.3f} % of {:,.0f} hours are {:.1f} hours",
        both,
        100.0 - both,
        hours,
        (100.0 - both) / 100.0 * hours,
    )
    assert math.isclose(YEAR_MINUTES * 0.00001, 5.0, abs_tol=0.4)
    assert page.left_over() == []


def told_by_the_year(away_km: int, share: str) -> float:
    """Return the fade that the table of the page on the year has for a temperate climate."""
    lines = [line for line in course.guide_page("year").markdown.splitlines() if line.startswith("|")]
    head = next([cell.strip() for cell in line.strip("|").split("|")] for line in lines if "climate" in line)
    row = next(
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in lines
        if line.startswith(f"| temperate | {away_km} |")
    )
    return float(row[head.index(share)])
