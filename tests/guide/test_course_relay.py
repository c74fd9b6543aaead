"""The course on the relay: levels, gain and loop, window and noise are those that are worked out."""

from __future__ import annotations

import math

import pytest

import support_course as course
from combe.decibels import dbuv_from_dbm, power_dbm_from_field, power_sum_db, thermal_noise_dbm
from combe.reception import cascade_noise, echo_ci_db, passive
from combe.reception.cascade import NoisyGain
from combe.standards import feeder_loss_db
from combe.standards.channels import DIGITAL_IF_MHZ

FEEDER = "1/2 in foam"


def steps_of(number: int) -> dict[str, tuple[float, float]]:
    """Return what each point of the chain adds, and the level there, of a service."""
    rows = course.levels(number)
    before = [rows[0].level_dbm, *(row.level_dbm for row in rows)]
    return {row.point: (row.level_dbm - last, row.level_dbm) for row, last in zip(rows, before, strict=False)}


def test_from_the_aerial_to_the_splitter():
    page = course.Chapter("levels")
    feed = course.feed()
    first, last = feed.services[0], feed.services[2]
    mux_a, mux_c = steps_of(0), steps_of(2)
    gain_dbi = 8.0
    input_dbm = mux_a["aerial terminals"][1]

    page.given(
        "P [dBm] = E [dB(µV/m)] − 20 log f [MHz] + G [dBi] − 77.2",
        "the aerial has 8 dBi",
        "95.4 − 53.7 + 8 − 77.2",
    )
    assert power_dbm_from_field(0.0, 1.0, 0.0) == pytest.approx(-77.2, abs=0.05)
    page.says("it is {:.2f} dB less: *dBd*", 2.15)
    page.says(
        "the field of Mux A is {:.1f} dB(µV/m) at {:.0f} MHz",
        course.path().services[0].field_strength_dbuv_m,
        482,
    )
    assert 20.0 * math.log10(482.0) == pytest.approx(53.7, abs=0.05)
    page.says("= {:.1f} dBm. Some meters", input_dbm)
    assert power_dbm_from_field(
        course.path().services[0].field_strength_dbuv_m, 482.0, gain_dbi
    ) == pytest.approx(input_dbm, abs=0.01)
    page.says(
        "On a feeder of {:.0f} Ω that is {:.1f} more than the dBm, here {:.1f} dBµV; at {:.0f} Ω it "
        "is {:.1f} more",
        75,
        dbuv_from_dbm(0.0, 75.0),
        dbuv_from_dbm(input_dbm, 75.0),
        50,
        dbuv_from_dbm(0.0, 50.0),
    )
    page.says(
        "A difference of {:.1f} dB between two visits", dbuv_from_dbm(0.0, 75.0) - dbuv_from_dbm(0.0, 50.0)
    )

    page.says("| aerial | catches the field | | {:.1f} |", input_dbm)
    for point, row in {
        "feeder": "| feeder | {:.0f} m of half-inch foam cable | {:.1f} | {:.1f} |",
        "attenuator": "| attenuator | takes some on purpose | {:.1f} | {:.1f} |",
        "passive splitter": "| splitter | parts it by four | {:.1f} | {:.1f} |",
        "channel filter": "| channel filter | lets one channel through | {:.1f} | {:.1f} |",
    }.items():
        page.says(row, *([25.0] if point == "feeder" else []), *mux_a[point])
    page.says("| receiver | | | {:.1f} |", mux_a["receiver"][1])

    low, high = (feeder_loss_db(FEEDER, mhz, 100.0) for mhz in (482.0, 530.0))
    page.given("its loss for 100 m")
    page.says(
        "loses {:.1f} dB a hundred metres on channel {:.0f} and {:.1f} on channel {:.0f}, so {:.0f} "
        "m lose {:.1f} to {:.1f}.",
        low,
        22,
        high,
        28,
        25,
        low / 4.0,
        high / 4.0,
    )
    page.says(
        "{:.0f} log {:.0f} = {:.1f} dB less, and half a decibel for the splitter itself",
        10,
        4,
        10.0 * math.log10(4.0),
    )
    assert -mux_a["passive splitter"][0] == pytest.approx(10.0 * math.log10(4.0) + 0.5, abs=0.01)
    noise = course.levels()[-1].noise_dbm
    page.says(
        "from {:.1f} dBm at the aerial to {:.1f} dBm at the receiver for Mux A",
        input_dbm,
        mux_a["receiver"][1],
    )
    page.given("some 50 dB below")
    assert 47.0 < mux_a["receiver"][1] - noise < 53.0

    page.says("two equal signals make {:.0f} dB more than one", power_sum_db(0.0, 0.0))
    inputs = [steps_of(number)["aerial terminals"][1] for number in range(3)]
    page.says("of {:.1f}, {:.1f} and {:.1f} dBm come to {:.1f} dBm", *inputs, power_sum_db(*inputs))
    own = [row.level_dbm for row in first.own_outputs or ()]
    page.says("hears as well, to {:.1f} dBm", power_sum_db(*inputs, *own))
    page.says(
        "The receiver bears {:.0f} dBm. Its filter leaves it one service, {:.1f} dBm, so {:.1f} dB of room",
        -15.0,
        mux_a["receiver"][1],
        -15.0 - mux_a["receiver"][1],
    )

    field = course.path().services[2].field_strength_dbuv_m
    page.says("Mux C has {:.1f} dB(µV/m) at {:.0f} MHz", field, 530)
    page.says("on channel {:.0f} the feeder loses {:.1f} dB", 28, high)
    page.given(
        "At its port of the splitter you measure −52 dBm",
        "92.4 − 54.5 + 8 − 77.2",
        "Less 1.4, 10, 6.5 and 1.5 dB",
        "−31.3 − 1.4 − 10 − 6.5",
    )
    assert 20.0 * math.log10(530.0) == pytest.approx(54.5, abs=0.05)
    losses = [-mux_c[point][0] for point in ("feeder", "attenuator", "passive splitter", "channel filter")]
    assert losses == pytest.approx([1.4, 10.0, 6.5, 1.5], abs=0.05)
    page.says("= {:.1f} dBm at the terminals", mux_c["aerial terminals"][1])
    page.says("{:.1f} dBm at the receiver.", last.budget.receiver_input_dbm)
    port = mux_c["passive splitter"][1]
    page.says("= {:.1f} dBm; {:.1f} dB are missing", port, port + 52.0)
    assert first.budget.receiver_input_dbm == pytest.approx(mux_a["receiver"][1])
    assert page.left_over() == []


def test_what_a_relay_does():
    page = course.Chapter("relays")
    relay = course.valley().station(course.RELAY)
    parent = course.valley().station(course.PARENT)
    heard, sent = ([each.frequency_mhz for each in station.services] for station in (parent, relay))
    up_mhz = sent[0] - heard[0]
    assert [after - before for before, after in zip(heard, sent, strict=True)] == [up_mhz] * 3
    page.says(
        "from {:.0f} to {:.0f} MHz, channel {:.0f} to {:.0f}: {:.0f} MHz up",
        heard[0],
        sent[0],
        22,
        41,
        up_mhz,
    )
    page.says(
        "by the same {:.0f} MHz, from {:.0f} to {:.0f} and from {:.0f} to {:.0f} MHz",
        up_mhz,
        heard[1],
        sent[1],
        heard[2],
        sent[2],
    )
    page.says("some {:.0f} MHz in digital equipment ({:.3f} MHz here", DIGITAL_IF_MHZ, DIGITAL_IF_MHZ)
    page.says("{:.0f} + {:.3f} = {:.3f} MHz", heard[0], DIGITAL_IF_MHZ, heard[0] + DIGITAL_IF_MHZ)

    incoming, outgoing = course.levels()[0].level_dbm, course.output_dbm()
    gain = outgoing - incoming
    isolation = 80.0
    page.says(
        "Mux A comes in with {:.1f} dBm. To the transmitting aerial go {:.1f} dBm, which is {:.1f} "
        "W. The gain between the two is {:.1f} dB",
        incoming,
        outgoing,
        10.0 ** (outgoing / 10.0 - 3.0),
        gain,
    )
    assert 4.0e6 < 10.0 ** (gain / 10.0) < 5.0e6
    own = course.feed().services[0].own_outputs
    assert own is not None
    page.says(
        "Larkcombe has {:.0f} dB. Its own output on channel {:.0f} comes back with {:.1f} − {:.0f} = "
        "{:.1f} dBm, {:.1f} dB below the parent",
        isolation,
        41,
        outgoing,
        isolation,
        own[0].level_dbm,
        -own[0].over_wanted_db,
    )
    assert outgoing - isolation == pytest.approx(own[0].level_dbm, abs=0.01)
    page.says(
        "At Larkcombe that is {:.0f} dB under the output, behind its filter: {:.1f} − {:.0f} − "
        "{:.0f} = {:.1f} dBm",
        105,
        outgoing,
        isolation,
        105,
        outgoing - isolation - 105,
    )
    assert own[0].noise_dbm == pytest.approx(outgoing - isolation - 105.0, abs=0.01)

    loop = course.on_channel().services[0].loop
    assert loop is not None
    page.given(
        "m = 10^(−M/20)",
        "C/I [dB] = −10 log( m² / (1 − m²) )",
        "ripple [dB] = 20 log( (1 + m) / (1 − m) )",
        "10 dB are usually asked for",
        "Larkcombe on channel 22",
    )
    m = 10.0 ** (-loop.gain_margin_db / 20.0)
    assert loop.echo_ci_db == pytest.approx(-10.0 * math.log10(m**2 / (1.0 - m**2)), abs=0.001)
    assert loop.ripple_db == pytest.approx(20.0 * math.log10((1.0 + m) / (1.0 - m)), abs=0.001)
    page.says(
        "the echo is {:.0f} dB down at a margin of {:.0f} dB and {:.0f} dB at {:.0f}",
        echo_ci_db(10.0),
        10,
        echo_ci_db(20.0),
        20,
    )
    needed = course.valley().television.required_cn_db
    page.says(
        "would stand at {:.1f} dB, where the receivers' need of {:.0f} dB is not met",
        loop.gain_margin_db,
        needed,
    )
    page.says(
        "In a fade its gain control lifts the gain to {:.1f} dB, so of the {:.0f} dB of isolation "
        "{:.1f} dB are left",
        loop.gain_db,
        isolation,
        loop.gain_margin_db,
    )
    page.says(
        "its echo lies only {:.1f} dB under the signal, and the receivers need {:.0f}",
        loop.echo_ci_db,
        needed,
    )
    page.says("To keep an echo {:.0f} dB down takes {:.0f} dB of margin", needed, margin_for(needed))
    page.given("which takes up to 20 or 30 dB off")
    assert course.on_channel().verdict == "fails"

    watts = course.output_dbm(2)
    page.says(
        "{:.1f} dBm, to the transmitting aerial, {:.2f} W",
        course.levels(2)[0].level_dbm,
        10.0 ** (watts / 10.0 - 3.0),
    )
    page.given("on-channel relay in its place whose echo of Mux A lies 25 dB down", "All you find is 90 dB")
    page.says("{:.2f} W are {:.0f} log {:.0f} = {:.1f} dBm", 3.93, 10, 3930, watts)
    page.says(
        "The gain is {:.1f} + {:.1f} = {:.1f} dB",
        watts,
        -course.levels(2)[0].level_dbm,
        watts - course.levels(2)[0].level_dbm,
    )
    assert round(watts, 1) - round(course.levels(2)[0].level_dbm, 1) == pytest.approx(67.2)
    margin = margin_for(25.0)
    page.says(
        "An echo {:.0f} dB down takes a margin of {:.1f} dB. With a gain of {:.1f} dB that is {:.1f} "
        "dB of isolation, {:.0f} more",
        25,
        margin,
        loop.gain_db,
        loop.gain_db + margin,
        loop.gain_db + margin - isolation,
    )
    less = loop.gain_db - (90.0 - margin)
    page.says(
        "{:.1f} − ({:.0f} − {:.1f}) = {:.1f} dB less gain, and so {:.1f} dB less output: of {:.1f} W "
        "are left {:.1f} W",
        loop.gain_db,
        90,
        margin,
        less,
        less,
        10.0 ** (outgoing / 10.0 - 3.0),
        10.0 ** ((outgoing - less) / 10.0 - 3.0),
    )
    assert page.left_over() == []


def margin_for(echo_db: float) -> float:
    """Return the margin of a loop whose echo lies so far down: the other way round of the formula."""
    return 10.0 * math.log10(10.0 ** (echo_db / 10.0) + 1.0)


def test_the_margin_for_an_echo_is_right():
    assert echo_ci_db(margin_for(25.0)) == pytest.approx(25.0)


def test_the_window_and_the_noise():
    page = course.Chapter("window")
    service = course.feed().services[0]
    place, window = service.window, course.feed().side.window
    assert place is not None
    assert window is not None
    assert place.enhanced_dbm is not None
    low, high, mute = window.lowest_dbm, window.highest_dbm, window.mute_dbm

    page.says("| over {:.0f} |", high)
    page.says("| {:.0f} to {:.0f} | the window, {:.0f} dB wide", high, low, high - low)
    page.says("| {:.0f} to {:.0f} | the gain", low, mute)
    page.says("| under {:.0f} |", mute)
    page.says(
        "window of {:.0f} to {:.0f} dBm: each bar lies in the middle, from its level in the {:.0f} % "
        "fade to that of the strongest {:.0f} % of the time, far from the mute at {:.0f}",
        low,
        high,
        99,
        1,
        mute,
    )
    page.says(
        "Mux A comes with {:.1f} dBm, and the middle of the window is {:.0f}",
        place.median_dbm,
        (low + high) / 2.0,
    )
    page.says(
        "On the best {:.0f} % of the time it has {:.1f} dBm, and it is at {:.1f} dBm or more for "
        "{:.0f} % of the year",
        1,
        place.enhanced_dbm,
        place.faded_dbm,
        99,
    )
    page.says("the attenuator of {:.0f} dB is there", 10)

    page.given("N [dBm] = −114.0 + 10 log B [MHz] + F [dB]", "k·T·B at 290 K")
    assert thermal_noise_dbm(1.0) == pytest.approx(-114.0, abs=0.05)
    noise = course.levels()[-1].noise_dbm
    page.says(
        "in the {:.2f} MHz of a DVB-T2 signal {:.1f} dBm".replace("DVB-T2", "######"),
        7.61,
        thermal_noise_dbm(7.61),
    )
    page.says("Larkcombe's has {:.0f} dB, so its noise is {:.1f} dBm", 6, noise)
    ratio = service.budget.carrier_to_noise_db
    page.says("C/N = {:.1f} + {:.1f} = {:.1f} dB", place.median_dbm, -noise, ratio)
    page.says("needs {:.0f} dB (", course.valley().television.required_cn_db)
    lost = course.levels()[0].level_dbm - course.levels()[-1].level_dbm
    page.says("From aerial to receiver Larkcombe loses {:.1f} dB", lost)

    page.given(
        "F = F1 + (F2 − 1)/G1 + (F3 − 1)/(G1 G2) + …",
        "feeder 3 dB, splitter 4 dB, receiver 6 dB",
        "a mast amplifier of 20 dB and 2 dB",
    )
    plain = [passive(3.0), passive(4.0), NoisyGain(0.0, 6.0)]
    without, behind = (
        cascade_noise(plain).noise_figure_db,
        cascade_noise([NoisyGain(20.0, 2.0), *plain]).noise_figure_db,
    )
    page.says("receiver {:.0f} dB | {:.1f} dB |", 6, without)
    page.says("{:.0f} dB and {:.0f} dB | {:.1f} dB |", 20, 2, behind)
    page.says("That gains {:.1f} dB", without - behind)

    page.given(
        "takes out Larkcombe's pad of 10 dB",
        "the best 1 % of the time, and how much room",
        "the field is 20 dB weaker",
        "for 99 % of the year, and what",
    )
    page.says("C/N rises by {:.0f} dB to {:.1f} dB", 10, ratio + 10.0)
    page.says("{:.0f} are needed", course.valley().television.required_cn_db)
    page.says(
        "The strongest {:.0f} % comes to {:.1f} dBm; {:.1f} dB are left to the upper end, where {:.1f} were",
        1,
        place.enhanced_dbm + 10.0,
        place.headroom_db - 10.0,
        place.headroom_db,
    )
    median, faded = place.median_dbm - 20.0, place.faded_dbm - 20.0
    page.says(
        "The median is {:.1f} dBm, and in the fade {:.1f} dBm. That is under {:.0f}", median, faded, low
    )
    page.says(
        "the output falls by {:.1f} dB in the fade, and {:.1f} dB on an ordinary day, though the C/N "
        "of {:.1f} dB",
        low - faded,
        low - median,
        ratio - 20.0,
    )
    page.says(
        "at {:.1f} dBm the faded signal is inside the window again, with {:.1f} dB to spare",
        faded + 10.0,
        faded + 10.0 - low,
    )
    assert page.left_over() == []
