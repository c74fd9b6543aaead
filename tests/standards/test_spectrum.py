"""Signals as an analyser shows them: carriers of each analogue system, blocks, and the pilot of ATSC."""

import math

import pytest

from combe.standards.analogue import analogue_system
from combe.standards.spectrum import analogue_parts, digital_parts


@pytest.mark.parametrize(
    ("system", "colour_mhz", "sound_mhz"),
    # ITU-R BT.470-6, carriers over vision (from memory)
    [("I", 4.4336, 6.0), ("B", 4.4336, 5.5), ("G", 4.4336, 5.5), ("D/K", 4.4336, 6.5), ("M", 3.5795, 4.5)],
)
def test_the_carriers_of_analogue_systems(system, colour_mhz, sound_mhz):
    vision, colour, sound, *digital = analogue_parts(analogue_system(system))
    assert (vision.offset_mhz, vision.level_db, vision.width_mhz) == (0.0, 0.0, 0.0)
    assert (colour.offset_mhz, colour.level_db) == (pytest.approx(colour_mhz, abs=1e-3), -16.0)
    # Vision to sound 10:1 in power.
    assert (sound.offset_mhz, sound.level_db) == (pytest.approx(sound_mhz, abs=1e-3), -10.0)
    assert bool(digital) is (system == "I")


def test_the_digital_sound_of_system_i():
    # EN 300 163 (from memory): 6.552 MHz, 20 dB under vision, 364 kBd with a roll-off of 100 %.
    (sound,) = analogue_parts(analogue_system("I"))[3:]
    assert (sound.offset_mhz, sound.level_db, sound.width_mhz) == (6.552, -20.0, 2 * 0.364)


def test_a_multiplex_is_one_block():
    assert digital_parts("DVB", 7.61, 8.0) == (("block", 0.0, 7.61, 0.0),)


def test_data_and_pilot_of_atsc_are_its_power_together():
    data, pilot = digital_parts("ATSC", 6.0, 6.0)
    assert 10.0 ** (data.level_db / 10.0) + 10.0 ** (pilot.level_db / 10.0) == pytest.approx(1.0)
    # ATSC A/53 (from memory): the pilot 11.3 dB under the data, 309.441 kHz over the lower edge.
    assert data.level_db - pilot.level_db == pytest.approx(11.3)
    assert pilot.offset_mhz == pytest.approx(-3.0 + 0.309441)
    assert data.level_db == pytest.approx(-10.0 * math.log10(1.0 + 10.0**-1.13))
