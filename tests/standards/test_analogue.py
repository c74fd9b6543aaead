"""Checks of the tables of analogue systems, planning fields and contours, and what is derived of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.evidence.analogue import BLACK_PICTURE
from combe.evidence.analogue_planning import GRADES, MEDIANS
from combe.evidence.case import Standing
from combe.standards.analogue import (
    ANALOGUE_SYSTEMS,
    FIELD_GRADES,
    PLANNING_FIELDS,
    VISION_TO_SOUND_DB,
    WEIGHTING_DB,
    Lines,
    analogue_system,
    band_field,
    black_picture_power_db,
    modulation_fraction,
    video_sn_over_cn_db,
)
from combe.standards.systems import planning_field, television_system
from support_evidence import confidence_in_table

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


# Medians and grades are cases of evidence (combe.evidence.analogue_planning), which tests/evidence runs.


@pytest.mark.parametrize(("lines", "frequency_mhz", "band", "median", "source", "standing"), MEDIANS)
def test_planning_fields_say_their_band_and_how_they_are_known(
    lines: Lines, frequency_mhz: float, band: str, median: float, source: str, standing: Standing
) -> None:
    row = band_field(lines, frequency_mhz)
    assert (row.band, row.median_dbuv_m, row.confidence) == (band, median, confidence_in_table(standing))
    assert source.partition(",")[0] in row.reference


def test_every_row_is_in_evidence() -> None:
    published = {(row.lines, row.band) for row in PLANNING_FIELDS if row.confidence != "own choice"}
    assert published == {(row[0], row[2]) for row in MEDIANS}
    known = {(row.band, row.name, row.confidence) for row in FIELD_GRADES}
    assert known == {(band, name, confidence_in_table(standing)) for band, name, _, _, standing in GRADES}
    assert len(FIELD_GRADES) == len(GRADES)


def test_the_published_field_stands_for_half_the_places() -> None:
    """ITU-R BT.417-5 is a median: other shares of places take μσ, with σ 9.5 at UHF and 8.3 dB at VHF."""
    system = television_system("PAL I")
    field = planning_field(system, 650.0)
    assert (field.location_percent, field.median_field_dbuv_m) == (50.0, pytest.approx(70.0))
    wide = planning_field(system, 650.0, 95.0)
    assert wide.median_field_dbuv_m == pytest.approx(70.0 + 1.64 * 9.5)
    assert wide.minimum_field_dbuv_m == 70.0
    assert planning_field(system, 200.0).location_deviation_db == 8.3
    assert field.location_deviation_db == system.sigma_db == 9.5


def test_the_525_line_field_is_grade_b() -> None:
    """47 CFR 73.683: 64 dB(µV/m), F(50,50), in the UHF channels."""
    field = planning_field(television_system("NTSC M"), 605.0)
    assert (field.median_field_dbuv_m, field.time_percent) == (pytest.approx(64.0), 50.0)


@pytest.mark.parametrize(
    ("lines", "frequency_mhz", "as_at_mhz"),
    # Channels R3 to R5; Japanese channels 1, 4 and 12: our own choice, the value of the band beside.
    [("analogue 625", 80.0, 55.25), ("analogue 525", 93.0, 57.0), ("analogue 525", 173.0, 177.0),
     ("analogue 525", 219.0, 177.0)],
)  # fmt: skip
def test_channels_beside_the_published_bands_take_their_value(lines, frequency_mhz, as_at_mhz) -> None:
    row = band_field(lines, frequency_mhz)
    assert row.median_dbuv_m == band_field(lines, as_at_mhz).median_dbuv_m
    assert row.confidence == "own choice"


def test_refused() -> None:
    with pytest.raises(RangeError, match=r"frequency_mhz of analogue 625 lines is 300.0; allowed: 41 to 68"):
        band_field("analogue 625", 300.0)
    with pytest.raises(RangeError, match=r"frequency_mhz of analogue 525 lines is 806.0; allowed: 54 to 88"):
        planning_field(television_system("PAL M"), 806.0)


@pytest.mark.parametrize(
    ("frequency_mhz", "band"),
    [(41.0, "Band I"), (67.9, "Band I"), (162.0, "Band III"), (229.9, "Band III"), (470.0, "Band IV"),
     (581.9, "Band IV"), (582.1, "Band V"), (959.9, "Band V")],
)  # fmt: skip
def test_bands_end_where_they_end(frequency_mhz: float, band: str) -> None:
    """Edges of BT.417-5 as its bands are used for planning, from memory."""
    assert band_field("analogue 625", frequency_mhz).band == band


@pytest.mark.parametrize("frequency_mhz", [40.9, 68.1, 75.9, 108.1, 161.9, 230.1, 469.9, 960.1])
def test_between_the_bands_there_is_no_planning_field(frequency_mhz: float) -> None:
    with pytest.raises(RangeError):
        band_field("analogue 625", frequency_mhz)


@pytest.mark.parametrize(
    ("edges_mhz", "band"),
    [((54.0, 87.9), "channels 2-6"), ((174.0, 215.9), "channels 7-13"), ((470.0, 805.9), "channels 14-69")],
)
def test_bands_of_525_lines_end_where_they_end(edges_mhz: tuple[float, float], band: str) -> None:
    """Edges of channels 2, 6, 7, 13, 14 and 69 of 47 CFR 73.603, from memory."""
    assert [band_field("analogue 525", each).band for each in edges_mhz] == [band, band]


@pytest.mark.parametrize("frequency_mhz", [53.9, 88.1, 108.1, 169.9, 222.1, 469.9, 806.1])
def test_between_the_bands_of_525_lines_there_is_no_planning_field(frequency_mhz: float) -> None:
    with pytest.raises(RangeError):
        band_field("analogue 525", frequency_mhz)
