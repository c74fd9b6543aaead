"""Checks of the registry of television systems."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards.analogue import analogue_system
from combe.standards.cited import Cited, describe
from combe.standards.rasters import CHANNEL_RASTERS
from combe.standards.systems import (
    TELEVISION_SYSTEMS,
    mode_words,
    planning_field,
    system_note,
    television_system,
)


def test_dvbt2_mode() -> None:
    """ITU-R BT.2033-2: 256-QAM 2/3 Ricean needs 20.0 dB, in 7.61 MHz, noise figure 6 dB."""
    system = television_system("DVB-T2", "256-QAM", "2/3", "ricean")
    assert (system.required_cn_db, system.bandwidth_mhz, system.noise_figure_db) == (20.0, 7.61, 6.0)
    assert system.channel_raster == "8 MHz UHF"
    assert "BT.2033-2 Table 2" in system.reference


def test_dvbt2_of_7_mhz() -> None:
    """ITU-R BT.2033-2: 6.66 MHz of noise in a 7 MHz channel."""
    system = television_system("DVB-T2 7 MHz", "64-QAM", "3/4", "gaussian")
    assert (system.required_cn_db, system.bandwidth_mhz, system.channel_raster) == (16.6, 6.66, "7 MHz UHF")


# Kind, raster, noise bandwidth, usual C/N with the receiver's margin, noise figure, σ, then per cent of
# locations, of time for the wanted field and of time for interferers: ITU-R BT.2033-2, GE06; OET Bulletin 69
# (F(50,90) wanted, F(50,10) unwanted); BT.470-6 bandwidths, BT.417-5, P.1546 σ; 47 CFR 73.683 F(50,50).
TABLE = {
    "DVB-T2": ("DVB", "8 MHz UHF", 7.61, 20.0, 6.0, 5.5, 95, 50, 1),
    "DVB-T2 7 MHz": ("DVB", "7 MHz UHF", 6.66, 20.0, 6.0, 5.5, 95, 50, 1),
    "DVB-T2 6 MHz": ("DVB", "6 MHz UHF", 5.71, 20.0, 6.0, 5.5, 95, 50, 1),
    "DVB-T": ("DVB", "8 MHz UHF", 7.61, 20.1, 7.0, 5.5, 95, 50, 1),
    "DVB-T 7 MHz": ("DVB", "7 MHz UHF", 6.66, 20.1, 7.0, 5.5, 95, 50, 1),
    "DVB-T 6 MHz": ("DVB", "6 MHz UHF", 5.71, 20.1, 7.0, 5.5, 95, 50, 1),
    "DTMB": ("DTMB", "8 MHz VHF and UHF China", 7.56, 18.0, 7.0, 5.5, 95, 50, 1),
    "ATSC": ("ATSC", "6 MHz UHF", 6.0, 15.0, 7.0, 5.5, 50, 90, 10),
    "ISDB-T": ("ISDB-T", "6 MHz UHF ISDB-T", 39.0 / 7.0, 20.1, 7.0, 5.5, 95, 50, 1),
    "ISDB-T Japan": ("ISDB-T", "6 MHz UHF ISDB-T Japan", 39.0 / 7.0, 20.1, 7.0, 5.5, 95, 50, 1),
    "ISDB-T 7 MHz": ("ISDB-T", "7 MHz UHF", 6.5, 20.1, 7.0, 5.5, 95, 50, 1),
    "ISDB-T 8 MHz": ("ISDB-T", "8 MHz UHF", 52.0 / 7.0, 20.1, 7.0, 5.5, 95, 50, 1),
    "PAL I": ("analogue 625", "8 MHz UHF", 5.5, None, None, 9.5, 50, 50, 1),
    "PAL B/G": ("analogue 625", "8 MHz UHF", 5.0, None, None, 9.5, 50, 50, 1),
    "PAL B 7 MHz": ("analogue 625", "7 MHz UHF", 5.0, None, None, 9.5, 50, 50, 1),
    "PAL D/K": ("analogue 625", "8 MHz UHF", 6.0, None, None, 9.5, 50, 50, 1),
    "SECAM D/K": ("analogue 625", "8 MHz UHF", 6.0, None, None, 9.5, 50, 50, 1),
    "NTSC M": ("analogue 525", "6 MHz UHF", 4.2, None, None, 9.5, 50, 50, 10),
    "PAL M": ("analogue 525", "6 MHz UHF", 4.2, None, None, 9.5, 50, 50, 10),
}


@pytest.mark.parametrize(("name", "row"), TABLE.items(), ids=TABLE)
def test_system(name: str, row: tuple[object, ...]) -> None:
    system = television_system(name)
    assert system.name == name
    assert (
        system.signal,
        system.channel_raster,
        system.bandwidth_mhz,
        system.required_cn_db,
        system.noise_figure_db,
        system.sigma_db,
        system.location_percent,
        system.wanted_time_percent,
        system.interferer_time_percent,
    ) == pytest.approx(row)
    assert system.channel_raster in CHANNEL_RASTERS
    width = CHANNEL_RASTERS[system.channel_raster].width_mhz
    assert 0.6 * width < system.bandwidth_mhz <= width


def test_every_system_is_tested() -> None:
    assert list(TELEVISION_SYSTEMS) == list(TABLE)


def test_an_analogue_system_is_as_wide_as_its_channel_and_has_no_mode() -> None:
    for name in TABLE:
        system = television_system(name)
        if system.analogue_name is not None:
            width = analogue_system(system.analogue_name).channel_width_mhz
            assert width == CHANNEL_RASTERS[system.channel_raster].width_mhz
            assert (system.modulation, system.code_rate, system.channel_model) == ("", "", "")
    with pytest.raises(
        RangeError, match="code rate of PAL I is '2/3'; allowed: none: an analogue system has no modes"
    ):
        television_system("PAL I", code_rate="2/3")


# GB 20600-2006 and the Chinese standard of receivers, from memory: Gaussian, Ricean and Rayleigh C/N.
@pytest.mark.parametrize(
    ("modulation", "rate", "ratios_db"),
    [("4-QAM-NR", "0.8", (2.5, 3.5, 4.5)), ("16-QAM", "0.8", (14.0, 15.0, 18.0)),
     ("32-QAM", "0.8", (16.0, 17.0, 21.0)), ("64-QAM", "0.6", (17.0, 18.0, 20.0))],
)  # fmt: skip
def test_modes_of_dtmb(modulation: str, rate: str, ratios_db: tuple[float, ...]) -> None:
    models = ("gaussian", "ricean", "rayleigh")
    found = [television_system("DTMB", modulation, rate, model) for model in models]
    assert tuple(each.required_cn_db for each in found) == ratios_db
    assert "required C/N" in system_note(found[0])
    with pytest.raises(RangeError, match=r"DTMB mode is '32-QAM' '0.4'; allowed: 4-QAM-NR, 4-QAM"):
        television_system("DTMB", "32-QAM", "0.4")


def test_words_of_the_mode() -> None:
    assert mode_words(television_system("PAL I")) == "PAL I"
    assert mode_words(television_system("DVB-T")) == (
        "DVB-T, 64-QAM 2/3, ricean channel, C/N 20.1 dB with 3 dB for the receiver"
    )


def test_notes_name_what_is_from_memory() -> None:
    assert system_note(television_system("DVB-T2")) == (
        "from memory, unverified: locations to be served, time of the wanted field, time of interferers, "
        "channel frequencies"
    )
    assert system_note(television_system("ATSC")) == "from memory, unverified: channel frequencies"
    assert "median field of the bands" in system_note(television_system("PAL I"))


def test_planning_field_of_a_system() -> None:
    """ITU-R BT.2033-2 chain, 95 % of places: 54.2 dB(µV/m) at 650 MHz."""
    system = television_system("DVB-T2", "256-QAM", "2/3", "ricean")
    assert planning_field(system, 650.0).median_field_dbuv_m == pytest.approx(54.2, abs=0.1)
    assert planning_field(system, 650.0, 70.0).median_field_dbuv_m == pytest.approx(48.0, abs=0.1)


def test_unknown_system() -> None:
    with pytest.raises(RangeError, match="television system is 'colour'; allowed: DVB-T2, DVB-T2 7 MHz"):
        television_system("colour", "256-QAM", "2/3")


def test_unknown_mode_of_a_known_system() -> None:
    with pytest.raises(RangeError, match="DVB-T2 mode is '256-QAM' '7/8'"):
        television_system("DVB-T2", "256-QAM", "7/8")


def test_what_is_from_memory_says_so() -> None:
    assert describe("ITU-R X", "from memory") == "ITU-R X (from memory, unverified)"
    assert describe("ITU-R X", "read") == "ITU-R X"
    with pytest.raises(RangeError, match="confidence of a table row is 'sure'"):
        Cited(1.0, "ITU-R X", "sure")  # type: ignore[arg-type]
