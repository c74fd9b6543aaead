"""Taboos of channels and aerial groups."""

from functools import partial

import pytest

from combe.planning.channels.relations import (
    AERIAL_GROUPS,
    Hit,
    groups_of,
    input_troubles,
    needs_another_aerial,
    output_conflict,
    product_hits,
)
from combe.reception.protection_ratios import protections
from combe.standards.analogue import analogue_system
from combe.standards.channels import analogue_conversion, digital_conversion
from combe.standards.rasters import channels_apart
from combe.standards.systems import television_system

DIGITAL, PAL_I = digital_conversion(8.0), analogue_conversion(analogue_system("I"))
RATIOS, ANALOGUE_RATIOS = protections(television_system("DVB-T")), protections(television_system("PAL I"))
"""-30 dB on the next channels of DVB; 4 dB under and -2 dB over that of PAL, for half of the time."""
FREQUENCIES = {channel: 306.0 + 8.0 * channel for channel in range(21, 70)}


@pytest.mark.parametrize(
    ("conversion", "channel", "words"),
    # 625 lines of system I: oscillator n + 5, images n + 9 and n + 10 (frequency relations of the standards).
    [
        (DIGITAL, 40, "its own input 40"),
        (DIGITAL, 41, "next to its input 40"),
        (DIGITAL, 49, "image of its input 40"),
        (DIGITAL, 45, "oscillator shared with its input 40"),
        (PAL_I, 45, "oscillator shared with its input 40"),
        (PAL_I, 49, "image (sound) of its input 40"),
        (PAL_I, 50, "image (vision) of its input 40"),
    ],
)
def test_an_output_that_troubles_its_own_receiver(conversion, channel, words):
    assert words in input_troubles(conversion, [40], channel)


def test_a_channel_that_troubles_no_input():
    assert input_troubles(DIGITAL, [27, 31], 60) == ()


def test_outputs_of_one_mast_keep_their_ratios():
    assert output_conflict(RATIOS, DIGITAL, (40, 10.0), (41, 10.0), analogue=False) == ""
    assert output_conflict(RATIOS, DIGITAL, (40, 10.0), (40, 10.0), analogue=False) == "both on channel 40"
    weak = output_conflict(RATIOS, DIGITAL, (40, -25.0), (41, 10.0), analogue=False)
    assert weak == "channel 41 breaks the protection ratio of 40 (-30 dB)"


def test_analogue_outputs_keep_off_the_next_channel_and_the_oscillator():
    next_one = output_conflict(ANALOGUE_RATIOS, PAL_I, (41, 10.0), (40, 10.0), analogue=True)
    assert next_one == "channel 40 breaks the protection ratio of 41 (4 dB)"
    fifth = output_conflict(ANALOGUE_RATIOS, PAL_I, (40, 10.0), (45, 10.0), analogue=True)
    assert fifth.startswith("channel 45: ")
    assert output_conflict(ANALOGUE_RATIOS, PAL_I, (40, 10.0), (43, 10.0), analogue=True) == ""


def test_products_of_two_and_three_outputs():
    # 2 x 41 - 45 = 37; 41 + 48 - 46 = 43.
    assert product_hits([41, 45], [37], FREQUENCIES, 8.0) == (Hit(frozenset({41, 45}), 37),)
    assert product_hits([41, 46, 48], [43], FREQUENCIES, 8.0) == (Hit(frozenset({41, 46, 48}), 43),)
    assert product_hits([41, 45], [43], FREQUENCIES, 8.0) == ()
    assert product_hits([41], [41], FREQUENCIES, 8.0) == ()


def test_aerial_groups():
    _, _, lower, middle, upper = (group.name for group in AERIAL_GROUPS)
    assert [group.name for group in groups_of([474.0])] == [lower]
    assert [group.name for group in groups_of([594.0])] == [lower, middle]
    assert groups_of([474.0, 850.0]) == ()
    assert not needs_another_aerial([474.0, 498.0], 594.0)
    assert needs_another_aerial([474.0, 498.0], 634.0)
    assert not needs_another_aerial([474.0, 850.0], 634.0)
    assert not needs_another_aerial([], 634.0)
    assert needs_another_aerial([850.0], 634.0)
    assert upper
    # However wide at UHF, an aerial is none for Band III, nor one of Band III for Band I.
    assert needs_another_aerial([474.0, 850.0], 177.5)
    assert needs_another_aerial([177.5], 50.5)
    assert not needs_another_aerial([177.5], 226.5)


def test_over_a_gap_channels_are_related_by_frequency():
    # Channels 4 and 5 of 47 CFR 73.603 lie 4 MHz apart, 6 and 7 are 92 MHz apart; 7 and 8 of Japan overlap.
    americas, japan = (partial(channels_apart, f"6 MHz VHF and UHF{tail}") for tail in ("", " Japan"))
    assert input_troubles(DIGITAL, [6], 7) != ()
    assert input_troubles(DIGITAL, [6], 7, apart=americas) == ()
    assert input_troubles(DIGITAL, [4], 5, apart=americas) == ("next to its input 4",)
    overlap = output_conflict(RATIOS, DIGITAL, (7, 10.0), (8, 10.0), analogue=False, apart=japan)
    assert overlap == "channel 8 overlaps channel 7"
