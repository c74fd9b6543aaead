"""Checks of the channels that trouble a receiver, by rule and by list."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.channels import CONVERSIONS
from combe.standards.analogue import ANALOGUE_SYSTEMS, analogue_system
from combe.standards.channels import (
    DIGITAL_IF_MHZ,
    PUBLISHED_SPACINGS,
    Carrier,
    Conversion,
    analogue_conversion,
    beat_channels,
    channel_step,
    digital_conversion,
    image_band_steps,
    image_channels,
    image_over_edge_mhz,
    oscillator_channel,
    steps_of,
    troubled_channels,
)

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
