"""The course on the hill: power, people, readings and distances are those that are worked out."""

from __future__ import annotations

import math

import pytest

import support_course as course
from combe.answers.expected_readings import expected_readings
from combe.answers.output_side import output_side
from combe.answers.visit import sheet_report
from combe.decibels import ratio_from_db, thermal_noise_dbm
from combe.planning import compliance_distance_m, near_field_m, radiated_powers
from combe.standards import PRACTICE, ROUTINE_READINGS, feeder_loss_db, flux_limit_w_m2


def test_planning_a_site():
    page = course.Chapter("hill")
    relay = course.valley().station(course.RELAY)
    feed = course.valley().feeds[course.RELAY]
    side = output_side(course.valley(), relay)
    assert side is not None
    budget = side.services[0].budget
    amplifier, combiner, feeder = budget.points
    page.says(
        "Larkcombe has the one at {:.0f} m, the other at {:.0f} m",
        feed.aerial.height_m,
        relay.aerial_height_m,
    )
    page.says(
        "For Mux A: {:.0f} W are {:.1f} dBW; the combiner loses {:.1f} dB, {:.0f} m of",
        amplifier.power_w,
        amplifier.power_dbm - 30.0,
        combiner.loss_db,
        40,
    )
    page.given("of 7/8-inch feeder")
    page.says(
        "-inch feeder {:.1f} dB; the aerial gains {:.0f} dB. That makes {:.1f} dBW, {:.0f} W",
        feeder.loss_db,
        budget.aerial_gain_dbd,
        budget.erp_dbw,
        budget.erp_w,
    )

    found = {watts: course.newly_served(watts) for watts in course.WATTS}
    page.says(
        "{:,.0f} with {:.0f} W, {:,.0f} with {:.0f} W, {:,.0f} with {:.0f} W and {:,.0f} with {:,.0f} W",
        *(each for watts in (1.0, 10.0, 100.0, 1000.0) for each in (found[watts], watts)),
    )
    page.says("serves {:.0f} % of those whom {:.0f} W serve", 100.0 * found[1.0] / found[100.0], 100)
    page.given("adds some 10 to 20 % more")
    for less in (1.0, 10.0, 100.0):
        assert 1.10 < found[10.0 * less] / found[less] < 1.20
    assert len(course.WATTS) == 7

    thin_db = feeder_loss_db("1/2 in foam", 634.0, 40.0)
    page.says(
        "loses {:.1f} dB a hundred metres at {:.0f} MHz. What ERP is left of the {:.0f} W",
        thin_db * 2.5,
        634,
        amplifier.power_w,
    )
    power_dbw = amplifier.power_dbm - 30.0
    left_dbw = power_dbw - combiner.loss_db - thin_db + budget.aerial_gain_dbd
    page.says(
        "{:.0f} m lose {:.1f} dB. {:.1f} − {:.1f} − {:.1f} + {:.0f} = {:.1f} dBW: {:.0f} W",
        40,
        thin_db,
        power_dbw,
        combiner.loss_db,
        thin_db,
        budget.aerial_gain_dbd,
        left_dbw,
        ratio_from_db(left_dbw),
    )
    assert 1.0 - ratio_from_db(left_dbw) / budget.erp_w == pytest.approx(0.25, abs=0.03)
    half_dbw = budget.erp_dbw - 10.0 * math.log10(2.0)
    page.says(
        "Half the power is {:.0f} dB less: {:.1f} dBW, {:.0f} W",
        10.0 * math.log10(2.0),
        half_dbw,
        ratio_from_db(half_dbw),
    )
    fewer = round(found[100.0]) - round(course.newly_served(50.0))
    page.says(
        "{:,.0f} people are newly served, {:.0f} fewer than with {:.0f} W",
        course.newly_served(50.0),
        fewer,
        100,
    )
    page.says(
        "takes {:.1f} dB for the life of the mast, half the amplifier {:.0f} dB", thin_db - feeder.loss_db, 3
    )
    page.says("more than {:.0f} people are worth", fewer)
    assert page.left_over() == []


def row_of(test_point: str, quantity: str):
    return next(
        each for each in ROUTINE_READINGS if (each.test_point, each.quantity) == (test_point, quantity)
    )


def test_a_routine_visit(tmp_path):
    page = course.Chapter("routine")
    station = sheet_report(course.valley(), tmp_path / "visits.gpkg").sheets[0]
    page.says(
        "Larkcombe's sheet has {:.0f} readings and {:.0f} checks", len(station.readings), len(station.checks)
    )
    level, ratio, power = (
        row_of("feeder", "level"),
        row_of("receiver", "C/N"),
        row_of("output coupler", "output power"),
    )
    assert level.reference == ratio.reference == power.reference == PRACTICE
    assert row_of("receiver", "level").tolerance == level.tolerance
    assert row_of("receiver", "MER").tolerance == ratio.tolerance
    page.says("| level at the feeder and the receiver | {:.0f} dB |", level.tolerance)
    page.says("| level at a port of the splitter | {:.0f} dB |", row_of("splitter port", "level").tolerance)
    page.says("| C/N and MER | {:.0f} dB less |", ratio.tolerance)
    page.says("| output power | {:.1f} dB |", power.tolerance)
    page.says(
        "| {:.0f} dB at least | | shoulders of the output | {:.0f} dB at least | | MER of the output "
        "| {:.0f} dB at least |",
        *(row_of("output coupler", name).lowest for name in ("return loss", "shoulders", "MER")),
    )
    page.says("it may be off by {:.0f} dB", level.prediction_tolerance)

    judged = course.judged_readings()
    first, last = course.FEEDER_DBM[0], course.FEEDER_DBM[-1]
    page.says("falling from {:.1f} to {:.1f} dBm, half a decibel a year", first, last)
    assert judged.status == "drifting"
    assert judged.trend is not None
    assert judged.trend.slope == pytest.approx(-0.55, abs=0.005)
    record = next(each for each in judged.comparisons if each.against == "commissioning")
    assert record.status == "within tolerance"
    assert "allowed ±3.61 dB; within what the air does" in record.words
    page.says(
        "the last lies {:.1f} dB under the record, and with what the air does {:.1f} dB are allowed",
        -record.difference,
        3.61,
    )
    page.says("by {:.2f} dB a year", -judged.trend.slope)

    fallen = first - last
    values = expected_readings(course.valley()).values
    predicted = {
        (key.test_point, key.quantity): value
        for key, value in values.items()
        if key.service == "Mux A" and key.station == course.RELAY
    }
    off = first - predicted["feeder", "level"]
    port, carrier = predicted["splitter port 1", "level"] + off, predicted["receiver", "C/N"] + off
    page.says("| end of the feeder | {:.1f} dBm | {:.1f} dBm |", first, last)
    page.given(
        "| port 1 of the splitter |", "| AGC voltage | 3.1 V | 3.6 V |", "| output power | 15.0 W | 14.9 W |"
    )
    page.says("of the splitter | {:.1f} dBm | {:.1f} dBm |", port, port - fallen)
    read_db = 52.1
    page.given("| receiver, C/N | 52.1 dB |")
    assert carrier == pytest.approx(read_db, abs=0.2)
    page.says("| {:.1f} dB | | AGC", read_db - fallen)
    page.says("for {:.0f} % of the year, with a fade of {:.1f} dB", 99, course.over_the_year().fade_db(99.0))
    page.says("there are {:.1f} dB, then as now", first - port)
    assert predicted["output coupler", "output power"] == pytest.approx(15.0)
    fade = course.over_the_year().fade_db(99.0)
    page.says(
        "{:.1f} − {:.1f} − {:.0f} = {:.1f} dB, of which {:.0f} are asked",
        read_db - fallen,
        fade,
        20,
        read_db - fallen - fade - 20.0,
        10,
    )
    now = predicted["receiver", "level"] + off - fallen
    window = course.feed().side.window
    assert window is not None
    reserve = now - fade - window.lowest_dbm
    page.says(
        "The receiver has {:.1f} dBm, and {:.1f} in the fade; to {:.0f} there are {:.1f} dB, {:.0f} "
        "years at this rate",
        now,
        now - fade,
        window.lowest_dbm,
        reserve,
        reserve / -judged.trend.slope,
    )
    assert page.left_over() == []


def test_safety():
    page = course.Chapter("safety")
    services = course.valley().station(course.RELAY).services
    erp_w = sum(each.erp_w for each in services)
    powers = radiated_powers(services)
    kept = {
        (audience, factor): compliance_distance_m(
            powers, audience=audience, reflection_factor=factor
        ).distance_m
        for audience in ("public", "occupational")
        for factor in (1.0, 2.56)
    }
    public, work = (flux_limit_w_m2(634.0, audience) for audience in ("public", "occupational"))
    page.given(
        "S [W/m²] = 1.64 · ERP [W] / (4 π d² [m²])",
        "with 1.64 for the dipole",
        "f/200, with f in MHz",
        "f/40",
        "It is only 100 watts",
    )
    assert ratio_from_db(2.15) == pytest.approx(1.64, abs=0.005)
    assert public == pytest.approx(634.0 / 200.0)
    assert work == pytest.approx(634.0 / 40.0)
    page.says("At {:.0f} MHz that is {:.1f} and {:.1f} W/m²", 634, public, work)
    page.says("Larkcombe sends {:.0f} W of ERP in all", erp_w)
    page.says("up to {:.2f} times as much", 2.56)
    page.says(
        "limit at {:.1f} m in free space, under that for trained people at {:.1f} m, and with the "
        "ground's reflection at {:.1f} m and {:.1f} m",
        kept["public", 1.0],
        kept["occupational", 1.0],
        kept["public", 2.56],
        kept["occupational", 2.56],
    )
    page.says("| the public | {:.1f} m | {:.1f} m |", kept["public", 1.0], kept["public", 2.56])
    page.says(
        "| trained people at work | {:.1f} m | {:.1f} m |",
        kept["occupational", 1.0],
        kept["occupational", 2.56],
    )
    page.says(
        "Within some {:.0f} m of an aerial of {:.0f} m length, at {:.0f} MHz",
        near_field_m(2.0, 634.0),
        2,
        634,
    )

    page.given(
        "the flux 10 m from",
        "at 634 MHz is that?",
        "1 000 W in all",
        "work 1 m below",
        "1.64 · 250 / (4 π · 100) =",
    )
    page.says("= {:.2f} W/m², a tenth of {:.1f} W/m²", course.flux_w_m2(10.0), public)
    assert course.flux_w_m2(10.0) / public == pytest.approx(0.1, abs=0.005)
    page.says("twice {:.1f} m, {:.1f} m", kept["public", 2.56], 2.0 * kept["public", 2.56])
    page.says(
        "All services together have {:.0f} W; he would be within the distance of {:.1f} m",
        erp_w,
        kept["occupational", 1.0],
    )
    assert page.left_over() == []


def test_reading_an_analyser():
    page = course.Chapter("analyser")
    width_mhz = course.valley().television.bandwidth_mhz
    narrow_db = 10.0 * math.log10(width_mhz / 0.03)
    page.says("It fills {:.2f} of the {:.0f} MHz of its channel", width_mhz, 8)
    page.given(
        "10 log( width",
        "With 30 kHz a block",
        "With 100 kHz it",
        "a noise figure of 25 dB, in 30 kHz",
        "Put in 10 dB",
        "reads 10 dB or so",
    )
    page.says("a block of {:.2f} MHz stands {:.1f} dB lower", width_mhz, narrow_db)
    values = expected_readings(course.valley()).values
    predicted = {
        key.test_point: value
        for key, value in values.items()
        if key.service == "Mux A" and key.quantity == "level"
    }
    page.says(
        "Mux A has {:.1f} dBm; the top of its block stands at {:.1f} dBm",
        predicted["feeder"],
        predicted["feeder"] - narrow_db,
    )
    page.says("it stands {:.1f} dB higher", 10.0 * math.log10(100.0 / 30.0))
    page.says("{:.1f} dBm. What lies below", thermal_noise_dbm(0.03) + 25.0)

    screen = course.screen_at_feeder().screens[0]
    tops = [each.level_dbm for each in screen.signals]
    assert [each.whose for each in screen.signals] == ["wanted"] * 3 + ["own output"] * 3
    page.says(
        "in {:.0f} kHz, {:.0f} to {:.0f} MHz: three blocks",
        30,
        screen.screen.start_mhz,
        screen.screen.stop_mhz,
    )
    page.says("tops at {:.1f}, {:.1f} and {:.1f} dBm", *tops[:3])
    page.says(
        "own output at {:.1f} dBm and less, and a flat floor at {:.0f} dBm",
        max(tops[3:]),
        screen.screen.noise_dbm,
    )

    page.given(
        "spacing [MHz] = 300 / L [m]", "A hill 1.5 km behind the aerial", "goes at 0.88 of the speed of light"
    )
    page.says("makes a way {:.0f} km longer, and crests every {:.1f} MHz", 2 * 1.5, 300.0 / 3000.0)
    feeder_m = course.valley().feeds[course.RELAY].stages[0].length_m
    there_and_back = 2.0 * feeder_m / 0.88
    page.says("both ends of {:.0f} m of feeder", feeder_m)
    page.says("crests come every {:.1f} MHz", 300.0 / there_and_back)
    loop = course.on_channel().services[0].loop
    assert loop is not None
    page.says(
        "would show {:.1f} dB from crest to trough, for an echo {:.1f} dB down",
        loop.ripple_db,
        loop.echo_ci_db,
    )
    page.says("as shoulders. {:.0f} dB under the block", row_of("output coupler", "shoulders").lowest)
    assert row_of("output coupler", "shoulders").reference == PRACTICE

    page.given(
        "with 30 kHz of resolution",
        "At port 1 of the splitter the flat top of Mux A stands at −69.3 dBm",
        "ripples of 1 dB, with 2 MHz",
        "shoulders of Mux B lie 33 dB under its block",
        "for 37,",
    )
    page.says("output of {:.0f} W", 15)
    page.given("−69.3 + 24.0 =", "300 / 2 =", "4 dB are wanted, and each decibel of drive brings 2 dB")
    page.says("= {:.1f} dBm. The sheet predicts {:.1f} dBm", -69.3 + narrow_db, predicted["splitter port 1"])
    page.says("= {:.0f} m in air", 300.0 / 2.0)
    page.says("{:.0f} m behind the aerial, or {:.0f} m to its side", 150.0 / 2.0, 150.0)
    page.says(
        "Between {:.0f} m of feeder and its ends it cannot be: those crests lie {:.1f} MHz apart",
        feeder_m,
        300.0 / there_and_back,
    )
    less_db = (37.0 - 33.0) / 2.0
    page.says(
        "brings {:.0f} dB: {:.0f} dB less drive. The output falls to {:.1f} W",
        2,
        less_db,
        15.0 * 10.0 ** (-less_db / 10.0),
    )
    assert page.left_over() == []
