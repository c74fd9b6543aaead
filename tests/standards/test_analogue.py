"""Checks of the analogue systems' table and of the noise and power derived from it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.evidence.analogue import BLACK_PICTURE
from combe.standards.analogue import (
    ANALOGUE_SYSTEMS,
    VISION_TO_SOUND_DB,
    WEIGHTING_DB,
    analogue_system,
    black_picture_power_db,
    modulation_fraction,
    video_sn_over_cn_db,
)

# ITU-R BT.470-6 and usual IFs, from memory: width, vision, sound, chroma, noise band, vision IF, sound IF.
TABLE = {
    "I": (8.0, 1.25, 6.0, 4.43, 5.5, 39.5, 33.5),
    "B": (7.0, 1.25, 5.5, 4.43, 5.0, 38.9, 33.4),
    "G": (8.0, 1.25, 5.5, 4.43, 5.0, 38.9, 33.4),
    "D/K": (8.0, 1.25, 6.5, 4.43, 6.0, 38.0, 31.5),
    "M": (6.0, 1.25, 4.5, 3.58, 4.2, 45.75, 41.25),
}


@pytest.mark.parametrize(("name", "row"), TABLE.items(), ids=TABLE)
def test_row(name: str, row: tuple[float, ...]) -> None:
    system = analogue_system(name)
    assert (
        system.channel_width_mhz,
        system.vision_over_edge_mhz,
        system.sound_over_vision_mhz,
        system.chroma_over_vision_mhz,
        system.noise_bandwidth_mhz,
        system.vision_if_mhz,
        system.sound_if_mhz,
    ) == pytest.approx(row, abs=0.005)


def test_every_row_is_tested_and_marked() -> None:
    assert set(ANALOGUE_SYSTEMS) == set(TABLE)
    assert {row.confidence for row in ANALOGUE_SYSTEMS.values()} == {"from memory"}
    assert (WEIGHTING_DB.value, VISION_TO_SOUND_DB.value) == (7.4, 10.0)


def test_system_i_carriers() -> None:
    """Common practice, no source: sound 6 MHz and colour subcarrier 4.43 MHz above vision."""
    system = analogue_system("I")
    assert system.sound_over_vision_mhz == pytest.approx(6.0, abs=0.001)
    assert system.chroma_over_vision_mhz == pytest.approx(4.43, abs=0.005)
    assert system.digital_sound_over_vision_mhz == pytest.approx(6.552)


def test_intermediate_frequencies_of_625_lines() -> None:
    """Common practice, no source: intermediate frequencies lie in 30 to 40 MHz."""
    for name in ("I", "B", "G", "D/K"):
        system = analogue_system(name)
        assert 30.0 <= system.sound_if_mhz < system.vision_if_mhz <= 40.0


def test_carriers_lie_in_their_channel_and_differ_as_their_intermediate_frequencies() -> None:
    for system in ANALOGUE_SYSTEMS.values():
        assert 0.0 < system.chroma_over_vision_mhz < system.sound_over_vision_mhz
        assert system.vision_over_edge_mhz + system.sound_over_vision_mhz < system.channel_width_mhz
        apart = system.vision_if_mhz - system.sound_if_mhz
        assert apart == pytest.approx(system.sound_over_vision_mhz, abs=0.001)


# Worked: 20 log(m/2) + 3.01 with m = 0.56, 0.65, 0.625.
@pytest.mark.parametrize(
    ("name", "fraction", "difference_db"),
    [("I", 0.56, -8.05), ("B", 0.65, -6.75), ("G", 0.65, -6.75), ("D/K", 0.65, -6.75), ("M", 0.625, -7.09)],
)
def test_video_signal_to_noise_against_carrier_to_noise(
    name: str, fraction: float, difference_db: float
) -> None:
    system = analogue_system(name)
    assert modulation_fraction(system) == pytest.approx(fraction)
    assert video_sn_over_cn_db(system) == pytest.approx(difference_db, abs=0.005)


def test_derivation_by_simulation() -> None:
    """A vestigial receiver made of numbers: noise through the Nyquist slope, detected in phase."""
    system = analogue_system("I")
    random = np.random.default_rng(1)
    count, vestige_mhz, video_mhz = 2**18, 0.3, system.noise_bandwidth_mhz
    frequency_mhz = np.fft.fftfreq(count, 1.0 / 32.0)
    slope = np.clip(0.5 + frequency_mhz / (2.0 * vestige_mhz), 0.0, 1.0) * (frequency_mhz <= video_mhz)
    noise = random.normal(size=count) + 1j * random.normal(size=count)
    detected = np.fft.ifft(np.fft.fft(noise) * slope).real
    noise_in_band = 0.5 * 2.0 * video_mhz / 32.0
    carrier_peak = 1.0
    cn_db = 10.0 * math.log10(carrier_peak**2 / 2.0 / noise_in_band)
    picture = modulation_fraction(system) * carrier_peak / 2.0
    sn_db = 20.0 * math.log10(picture / detected.std())
    assert sn_db - cn_db == pytest.approx(video_sn_over_cn_db(system), abs=0.25)


# Worked from sync 4.7 us of the line at full carrier and the rest at blanking level.
@pytest.mark.parametrize(("name", "power_db"), BLACK_PICTURE)
def test_mean_power_of_a_black_picture(name: str, power_db: float) -> None:
    assert black_picture_power_db(analogue_system(name)) == pytest.approx(power_db, abs=0.006)


def test_unknown_system() -> None:
    with pytest.raises(RangeError, match="analogue television system is 'L'; allowed: I, B, G, D/K, M"):
        analogue_system("L")
