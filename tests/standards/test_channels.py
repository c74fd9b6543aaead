"""Checks of the channel rasters, and of the channels that trouble a receiver, by rule and by list."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import ChannelError, RangeError
from combe.evidence.channels import CONVERSIONS
from combe.standards.analogue import ANALOGUE_SYSTEMS, analogue_system
from combe.standards.channels import (
    CHANNEL_RASTERS,
    DIGITAL_IF_MHZ,
    PUBLISHED_SPACINGS,
    Carrier,
    ChannelRaster,
    Conversion,
    analogue_conversion,
    beat_channels,
    centre_frequency_mhz,
    channel_edges_mhz,
    channel_step,
    digital_conversion,
    image_band_steps,
    image_channels,
    image_over_edge_mhz,
    oscillator_channel,
    steps_of,
    troubled_channels,
)


# From memory but for channel 39 of 6 MHz (620 to 626 MHz, read in a public listing): 8 MHz raster of Bands IV
# and V (GE06), 306 + 8n; 6 MHz: 47 CFR 73.603, 389 + 6n; 7 MHz: Australia, channel 28 526 to 533 MHz.
@pytest.mark.parametrize(
    ("raster", "channel", "lower_mhz", "centre_mhz", "upper_mhz"),
    [
        ("8 MHz UHF", 21, 470.0, 474.0, 478.0),
        ("8 MHz UHF", 34, 574.0, 578.0, 582.0),
        ("8 MHz UHF", 48, 686.0, 690.0, 694.0),
        ("8 MHz UHF", 69, 854.0, 858.0, 862.0),
        ("6 MHz UHF", 14, 470.0, 473.0, 476.0),
        ("6 MHz UHF", 36, 602.0, 605.0, 608.0),
        ("6 MHz UHF", 39, 620.0, 623.0, 626.0),
        ("6 MHz UHF", 51, 692.0, 695.0, 698.0),
        ("6 MHz UHF", 69, 800.0, 803.0, 806.0),
        ("7 MHz UHF", 28, 526.0, 529.5, 533.0),
    ],
)
def test_channel(raster: str, channel: int, lower_mhz: float, centre_mhz: float, upper_mhz: float) -> None:
    assert centre_frequency_mhz(raster, channel) == centre_mhz
    assert channel_edges_mhz(raster, channel) == (lower_mhz, upper_mhz)


def test_the_table_is_the_one_tested() -> None:
    extent = {
        name: (row.width_mhz, row.first_channel, row.last_channel) for name, row in CHANNEL_RASTERS.items()
    }
    assert extent == {
        "8 MHz UHF": (8.0, 21, 69),
        "7 MHz UHF": (7.0, 28, 69),
        "6 MHz UHF": (6.0, 14, 69),
        "6 MHz UHF ISDB-T": (6.0, 14, 69),
        "6 MHz UHF ISDB-T Japan": (6.0, 13, 62),
    }
    assert {row.confidence for row in CHANNEL_RASTERS.values()} == {"from memory"}
    shifted = [name for name, row in CHANNEL_RASTERS.items() if row.signal_offset_mhz]
    assert shifted == ["6 MHz UHF ISDB-T", "6 MHz UHF ISDB-T Japan"]


@pytest.mark.parametrize("channel", [20, 70, -1, 10**6])
def test_unknown_channel(channel: int) -> None:
    with pytest.raises(
        ChannelError, match=rf"^channel {channel} is unknown; allowed: 21 to 69 \(8 MHz UHF\)$"
    ):
        centre_frequency_mhz("8 MHz UHF", channel)


@pytest.mark.parametrize("channel", ["21", 21.0, True, None])
def test_channel_that_is_no_whole_number(channel: object) -> None:
    with pytest.raises(ChannelError, match=r"is unknown; allowed: 21 to 69"):
        centre_frequency_mhz("8 MHz UHF", channel)  # type: ignore[arg-type]


def test_unknown_raster() -> None:
    with pytest.raises(
        RangeError, match="channel raster is '5 MHz'; allowed: 8 MHz UHF, 7 MHz UHF, 6 MHz UHF"
    ):
        centre_frequency_mhz("5 MHz", 21)


@given(st.sampled_from(sorted(CHANNEL_RASTERS)), st.data())
def test_a_channel_begins_where_the_one_under_it_ends(name: str, data: st.DataObject) -> None:
    raster = CHANNEL_RASTERS[name]
    channel = data.draw(st.integers(raster.first_channel + 1, raster.last_channel))
    lower_mhz, upper_mhz = channel_edges_mhz(name, channel)
    assert channel_edges_mhz(name, channel - 1)[1] == pytest.approx(lower_mhz)
    assert lower_mhz < centre_frequency_mhz(name, channel) < upper_mhz


def test_a_row_needs_a_reference() -> None:
    with pytest.raises(RangeError, match="reference of a table row"):
        ChannelRaster("x", 8.0, 306.0, 21, 69, " ", "read")


# LO = vision + IF, image = 2 LO - f, over the lower edge of channel n; worked by hand for each system.
ROWS = {name: row for name, *row in CONVERSIONS}


@pytest.mark.parametrize(("name", "row"), ROWS.items(), ids=ROWS)
def test_oscillator_and_image_channels(
    name: str, row: tuple[float, int, tuple[float, float], tuple[int, int]]
) -> None:
    oscillator_mhz, oscillator_step, images_mhz, image_steps = row
    conversion = analogue_conversion(analogue_system(name))
    oscillator = oscillator_channel(conversion)
    assert oscillator.over_edge_mhz == pytest.approx(oscillator_mhz)
    assert oscillator.channel_step == oscillator_step
    images = image_channels(conversion)
    assert [image.relation for image in images] == ["image of vision", "image of sound"]
    assert [image.over_edge_mhz for image in images] == pytest.approx(images_mhz)
    assert tuple(image.channel_step for image in images) == image_steps


def test_every_system_is_tested() -> None:
    assert set(ROWS) == set(ANALOGUE_SYSTEMS)


def test_digital_8_mhz() -> None:
    """IF 36.125 MHz at the channel's centre: LO 4.52 and image 9.03 channels above it; worked."""
    conversion = digital_conversion(8.0)
    assert DIGITAL_IF_MHZ == 36.125
    assert (conversion.oscillator_over_edge_mhz - 4.0) / 8.0 == pytest.approx(4.52, abs=0.005)
    (image,) = image_channels(conversion)
    assert (image.over_edge_mhz - 4.0) / 8.0 == pytest.approx(9.03, abs=0.005)
    assert (oscillator_channel(conversion).channel_step, image.channel_step) == (5, 9)
    assert image_band_steps(conversion) == pytest.approx({9: 0.96875, 10: 0.03125})


def test_the_rule_reproduces_the_published_list() -> None:
    """47 CFR 73.698 Table II, UHF: beat 8, adjacent 1, oscillator 7, sound image 14, picture image 15."""
    published = {row.relation: row.channel_steps for row in PUBLISHED_SPACINGS}
    found = troubled_channels(analogue_conversion(analogue_system("M")))
    for relation in ("adjacent", "oscillator", "image of sound", "image of vision"):
        assert steps_of(found, relation) == published[relation]
    # The steps of 7 beat too, and the list has them at the greater distance of the oscillator.
    assert set(steps_of(found, "beat at the IF")) - {-7, 7} == set(published["beat at the IF"])
    by_rule = {*steps_of(found), *published["intermodulation"]}
    assert by_rule == {step for row in PUBLISHED_SPACINGS for step in row.channel_steps}


# 47 CFR 73.698 Table II, distances in kilometres.
@pytest.mark.parametrize(
    ("relation", "steps", "distance_km"),
    [
        ("beat at the IF", {-8, 8}, 31.4),
        ("intermodulation", {-5, -4, -3, -2, 2, 3, 4, 5}, 31.4),
        ("adjacent", {-1, 1}, 87.7),
        ("oscillator", {-7, 7}, 95.7),
        ("image of sound", {14}, 95.7),
        ("image of vision", {15}, 119.9),
    ],
)
def test_published_spacing(relation: str, steps: set[int], distance_km: float) -> None:
    (row,) = [row for row in PUBLISHED_SPACINGS if row.relation == relation]
    assert (set(row.channel_steps), row.distance_km, row.confidence) == (steps, distance_km, "read")


def test_usual_list_of_8_mhz_channels_to_avoid() -> None:
    """Usual list, from memory: adjacent 1, oscillator and beat 4 and 5, image 9 and weakly 10."""
    found = troubled_channels(analogue_conversion(analogue_system("I")))
    assert steps_of(found) == (-5, -4, -1, 1, 4, 5, 9, 10)


def test_oscillator_below_mirrors_the_image() -> None:
    above = analogue_conversion(analogue_system("I"))
    below = replace(above, oscillator_over_edge_mhz=1.25 - 39.5)
    assert oscillator_channel(below).channel_step == -5
    assert [each.over_edge_mhz for each in image_channels(below)] == pytest.approx([-77.75, -83.75])


@given(st.floats(-100.0, 100.0), st.floats(10.0, 80.0))
def test_the_image_of_the_image_is_the_frequency(place_mhz: float, oscillator_mhz: float) -> None:
    conversion = Conversion(8.0, (Carrier("centre", 4.0),), oscillator_mhz)
    image = image_over_edge_mhz(conversion, place_mhz)
    assert image_over_edge_mhz(conversion, image) == pytest.approx(place_mhz, abs=1e-9)
    assert abs(image - oscillator_mhz) == pytest.approx(abs(place_mhz - oscillator_mhz), abs=1e-9)


@given(st.floats(20.0, 80.0), st.sampled_from([6.0, 7.0, 8.0]))
def test_the_image_band_is_one_channel_wide(centre_if_mhz: float, width_mhz: float) -> None:
    shares = image_band_steps(digital_conversion(width_mhz, centre_if_mhz))
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-6)
    (image,) = image_channels(digital_conversion(width_mhz, centre_if_mhz))
    assert image.channel_step in shares or max(shares.values()) == pytest.approx(1.0, abs=1e-6)


@given(st.integers(-50, 50), st.floats(0.001, 0.999), st.sampled_from([6.0, 7.0, 8.0]))
def test_step_of_a_place_in_a_channel(step: int, part: float, width_mhz: float) -> None:
    assert channel_step((step + part) * width_mhz, width_mhz) == step
    assert channel_step(step * width_mhz, width_mhz) == step


def test_beats_differ_by_the_intermediate_frequency() -> None:
    for system in ANALOGUE_SYSTEMS.values():
        for beat in beat_channels(analogue_conversion(system)):
            assert system.sound_if_mhz - 1e-9 <= beat.over_edge_mhz <= system.vision_if_mhz + 1e-9


def test_refused() -> None:
    with pytest.raises(RangeError, match="carriers of the conversion is none; allowed: at least one"):
        Conversion(8.0, (), 40.0)
    with pytest.raises(RangeError, match=r"channel_width_mhz of the conversion is 0.0; allowed: 1 to 20"):
        Conversion(0.0, (Carrier("centre", 4.0),), 40.0)
