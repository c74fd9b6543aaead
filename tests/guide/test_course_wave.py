"""The course on the wave: what its chapters say of distance, shadows, sight and edges is worked out."""

from __future__ import annotations

import math

import pytest

import support_course as course
from combe.constants import EARTH_RADIUS_KM
from combe.propagation.p526 import (
    compare_constructions,
    fresnel_parameter,
    fresnel_radius_m,
    knife_edge_loss_db,
    wavelength_m,
)
from combe.standards.rasters import channel_edges_mhz

NEAR_4_3 = 4.0 / 3.0


def free_field_dbuv_m(erp_kw: float, away_km: float) -> float:
    """Return the field of free space by the formula of the page."""
    return 106.9 + 10.0 * math.log10(erp_kw) - 20.0 * math.log10(away_km)


def test_why_so_many_stations():
    page = course.Chapter("stations")
    parent, relay = course.valley().stations
    mux_a, mux_c = parent.services[0], parent.services[2]
    away_km = float(course.path().profile.distance_km[-1])
    house_km = float(course.way_to_house(course.PARENT).profile.distance_km[-1])
    needed = course.least_field_dbuv_m(mux_a.frequency_mhz) + 9.02
    low, high = channel_edges_mhz("8 MHz UHF", 21)[0], channel_edges_mhz("8 MHz UHF", 48)[1]

    page.given("the first of twelve chapters", "channels of 8 MHz", "wavelength [m] = 300 / frequency [MHz]")
    page.says("between {:.0f} and {:.0f} MHz", low, high)
    page.says("On channel {:.0f}, at {:.0f} MHz, that is {:.2f} m", 22, mux_a.frequency_mhz, 300.0 / 482.0)
    assert pytest.approx(wavelength_m(482.0), rel=1e-3) == 300.0 / 482.0
    page.says(
        "{:.0f} dB is twice the power, {:.0f} dB ten times, {:.0f} dB a hundred times",
        10 * math.log10(2),
        10 * math.log10(10),
        10 * math.log10(100),
    )

    page.given("E [dB(µV/m)] = 106.9 + 10 log P [kW] − 20 log d [km]")
    page.says("Twice the distance costs {:.0f} dB", 20.0 * math.log10(2.0))
    page.says("sends Mux A with {:.0f} kW", mux_a.erp_w / 1000.0)
    page.says(
        "At Larkcombe, {:.1f} km away, that makes {:.1f} dB(µV/m)", away_km, free_field_dbuv_m(20.0, away_km)
    )
    predicted = course.path().services[0].field_strength_dbuv_m
    assert free_field_dbuv_m(20.0, away_km) == pytest.approx(predicted, abs=0.1)
    page.says("a roof aerial on channel {:.0f} is content with {:.1f}", 22, needed)
    reach_km = 10.0 ** ((free_field_dbuv_m(20.0, 1.0) - needed) / 20.0)
    page.says("those {:.0f} kW would serve roofs as far as {:,.0f} km away", 20, round(reach_km, -2))
    page.given("a mast of 150 m to a roof aerial of 10 m", "`4.12 (√h1 + √h2)`")
    page.says("the radio horizon is {:.0f} km away", 4.12 * (math.sqrt(150.0) + math.sqrt(10.0)))

    people = course.covered().all_services.people
    ground = (course.covered().all_services.margin_before_db >= 0.0).mean()
    page.says(
        "It is {:.0f} % of the sample's ground, and {:,.0f} of its {:,.0f} people live on it",
        100.0 * ground,
        people.served_before,
        people.total,
    )
    house = course.at_house(course.PARENT).field_strength_dbuv_m
    page.says("at {:.2f}° and {:.2f}°, {:.1f} km from Tarnbeacon", *course.HOUSE_DEG, house_km)
    free = free_field_dbuv_m(20.0, house_km)
    taken_db = 43.4
    assert free - house == pytest.approx(taken_db, abs=0.06)
    page.says(
        "In free space it would have {:.1f} dB(µV/m). The ridge leaves {:.1f}: it takes {:.1f} dB",
        free,
        house,
        taken_db,
    )
    page.says("all but a part in {:,.0f} of the power", round(10.0 ** (taken_db / 10.0), -3))

    page.says(
        "half lack {:.1f} dB of field or more, and one in ten {:.1f} dB",
        course.missing_db(0.5),
        course.missing_db(0.9),
    )
    more = 10.0**1.3
    assert course.missing_db(0.9) == pytest.approx(13.0, abs=0.05)
    page.given("To send 13 dB more")
    page.says("{:.0f} times the power, {:.0f} kW", more, round(20.0 * more, -1))
    page.says(
        "sends {:.0f} W, a {:.0f}th of the parent's power",
        relay.services[0].erp_w,
        mux_a.erp_w / relay.services[0].erp_w,
    )
    page.says(
        "from {:.1f} km away, and the house has {:.1f} dB(µV/m)",
        float(course.way_to_house(course.RELAY).profile.distance_km[-1]),
        course.at_house(course.RELAY).field_strength_dbuv_m,
    )

    page.given("--at -84.34,36.61 --full")
    page.says("sends Mux C with {:.0f} kW", mux_c.erp_w / 1000.0)
    free = free_field_dbuv_m(10.0, house_km)
    page.given("106.9 + 10 log 10 − 20 log 21.7 = 106.9 + 10.0 −")
    page.says("− {:.1f} = {:.1f} dB(µV/m)", 20.0 * math.log10(house_km), free)
    there = course.heard_at_house(course.PARENT, 2).field_dbuv_m
    needed = course.least_field_dbuv_m(mux_c.frequency_mhz) + 9.02
    page.says(
        "The answer has {:.1f} dB(µV/m), so the ridge costs {:.1f} dB",
        there,
        round(free, 1) - round(there, 1),
    )
    assert free - there > taken_db
    page.says("It needs {:.1f} dB(µV/m), so {:.1f} dB are missing", needed, needed - there)
    more = 10.0 ** ((needed - there) / 10.0)
    page.says("That is {:.1f} times the power: {:.0f} kW", more, 10.0 * more)
    assert page.left_over() == []


def test_line_of_sight():
    page = course.Chapter("sight")
    found = course.path().services[0].clearance
    assert found is not None
    clear, rare = found.median, found.exceeded_99_9
    away_km, mhz = float(course.path().profile.distance_km[-1]), 482.0
    k = clear.effective_radius_km / EARTH_RADIUS_KM
    to_relay_km = away_km - clear.distance_km

    page.says("The sample has k = {:.2f}", k)
    assert k == pytest.approx(NEAR_4_3, abs=0.02)
    page.given("near the usual 4/3", "bulge [m] = d1 [km] · d2 [km] / (12.74 k)")
    assert pytest.approx(2.0 * EARTH_RADIUS_KM / 1000.0, abs=0.005) == 12.74
    page.says("Halfway from Tarnbeacon to Larkcombe it is {:.1f} m", (away_km / 2.0) ** 2 / (12.74 * k))
    page.given("Over 60 km")
    page.says("it would be {:.0f} m", 30.0**2 / (12.74 * k))
    page.given("r [m] = 548 √( d1 [km] · d2 [km] / (f [MHz] · d [km]) )")
    page.says("comes nearest at {:.2f} km, {:.2f} km before the relay", clear.distance_km, to_relay_km)
    radius = 548.0 * math.sqrt(clear.distance_km * to_relay_km / (mhz * away_km))
    assert radius == pytest.approx(fresnel_radius_m(clear.distance_km, to_relay_km, mhz), rel=2e-3)
    page.says("the radius is {:.0f} m on channel {:.0f}", clear.first_fresnel_m, 22)
    page.says("passes {:.0f} m over the nearest edge at {:.1f} km", clear.clearance_m, clear.distance_km)
    page.given(
        "0.6 of the Fresnel zone is clear", "shows 0.6 of the radius", "where 0.6 of the first Fresnel radius"
    )
    page.says(
        "passes that edge {:.0f} m higher: {:.1f} radii",
        clear.clearance_m,
        clear.clearance_m / clear.first_fresnel_m,
    )
    page.given("For all but 0.1 % of the year")
    assert rare.time_percent == 99.9
    page.says(
        "k stays over {:.2f} here; then {:.0f} m are still clear",
        math.floor(100.0 * rare.effective_radius_km / EARTH_RADIUS_KM) / 100.0,
        rare.clearance_m,
    )

    page.given(
        "is −√2 times", "J [dB] = 6.9 + 20 log( √((ν − 0.1)² + 1) + ν − 0.1 )", "where ν is under −0.78"
    )
    assert knife_edge_loss_db(-0.79) == 0.0 < knife_edge_loss_db(-0.76)
    page.says("has ν = {:.0f} and loses {:.1f} dB", 0, knife_edge_loss_db(0.0))
    assert 10.0 ** (-knife_edge_loss_db(0.0) / 10.0) == pytest.approx(0.25, abs=0.005)
    one, two = (knife_edge_loss_db(radii * math.sqrt(2.0)) for radii in (1.0, 2.0))
    page.says("one radius into the line costs {:.1f} dB, and two radii {:.1f}", one, two)
    page.given("nothing from 0.6 on")
    page.says("{:.0f} dB where the line touches, {:.0f} dB two radii deep", knife_edge_loss_db(0.0), two)

    way = course.way_to_house(course.PARENT)
    far_km = float(way.profile.distance_km[-1])
    blocked = course.clearance_to_house()
    edge = knife_edge_loss_db(
        fresnel_parameter(-blocked.clearance_m, blocked.distance_km, far_km - blocked.distance_km, mhz)
    )
    page.says(
        "is blocked by {:.0f} m, {:.1f} radii",
        -blocked.clearance_m,
        -blocked.clearance_m / blocked.first_fresnel_m,
    )
    page.says(
        "would cost {:.1f} dB. The prediction has {:.1f}",
        edge,
        course.at_house(course.PARENT).prediction.diffraction_loss_db,
    )
    constructed = compare_constructions(
        way.profile.distance_km, way.profile.height_m, tx_height_m=150.0, rx_height_m=10.0, frequency_mhz=mhz
    )
    assert constructed[0].loss_db == pytest.approx(edge, abs=0.1)

    services = course.feed().services
    page.says("Its margin is {:.1f} dB", services[0].budget.margin_db)
    page.given("trees grow 20 m high", "a hall of 40 m", "with 20 m of trees", "36.1 − 20", "36.1 − 40")
    page.says("On the controlling edge of the feed, {:.0f} m under the line", clear.clearance_m)
    assert clear.clearance_m == pytest.approx(36.1, abs=0.06)

    def over(metres: float) -> float:
        return float(fresnel_parameter(metres - clear.clearance_m, clear.distance_km, to_relay_km, mhz))

    page.says(
        "= {:.1f} m stay clear. That is {:.2f} radii, so ν = {:.3f}, a hair below",
        clear.clearance_m - 20.0,
        (clear.clearance_m - 20.0) / clear.first_fresnel_m,
        -math.sqrt(2.0) * 16.1 / clear.first_fresnel_m,
    )
    page.given("below −0.78")
    assert knife_edge_loss_db(over(20.0)) == 0.0
    assert knife_edge_loss_db(over(22.0)) > 0.05
    lost = knife_edge_loss_db(over(40.0))
    page.says(
        "= {:.1f} m: the line is blocked by {:.2f} radii. So ν = {:.2f} and J = {:.1f} dB",
        clear.clearance_m - 40.0,
        (40.0 - clear.clearance_m) / clear.first_fresnel_m,
        over(40.0),
        lost,
    )
    page.says("a hall of {:.0f} m at {:.1f} dB", 40, lost)
    margin = services[0].budget.margin_db
    page.says("falls from {:.1f} to {:.1f} dB", margin, margin - lost)
    page.says("find the level {:.1f} dB lower", lost)
    assert page.left_over() == []
