"""Checks of the ISDB-T tables."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards import isdbt
from combe.standards.channels import centre_frequency_mhz, channel_edges_mhz
from combe.standards.systems import planning_field, system_note, television_system

# ARIB STD-B31, Gaussian channel, from memory; copied out a second time over the rates 1/2 2/3 3/4 5/6 7/8.
LINES = {
    "QPSK": "4.9 6.6 7.5 8.5 9.1",
    "16-QAM": "11.5 13.5 14.6 15.6 16.2",
    "64-QAM": "16.5 18.7 20.1 21.3 22.0",
}


@pytest.mark.parametrize(("modulation", "line"), LINES.items())
def test_required_cn(modulation: str, line: str) -> None:
    for rate, value in zip(["1/2", "2/3", "3/4", "5/6", "7/8"], line.split(), strict=True):
        system = television_system("ISDB-T", modulation, rate)
        assert (system.required_cn_db, system.channel_model) == (float(value), "gaussian")
    assert len(isdbt.REQUIRED_CN) == 15


def test_noise_bandwidth() -> None:
    """13 segments of 6/14 MHz; 5.57 MHz is printed by the system's makers."""
    assert isdbt.NOISE_BANDWIDTH_MHZ.value == pytest.approx(5.5714, abs=1e-4)


# Public lists of tuning frequencies: 473 142 857 Hz is channel 14 in Brazil and channel 13 in Japan, and
# 803 142 857 Hz channel 69; the channel itself is 470 to 476 MHz.
@pytest.mark.parametrize(
    ("raster", "channel", "centre_mhz"),
    [
        ("6 MHz UHF ISDB-T", 14, 473.142857),
        ("6 MHz UHF ISDB-T", 69, 803.142857),
        ("6 MHz UHF ISDB-T Japan", 13, 473.142857),
    ],
)
def test_the_signal_lies_a_seventh_of_a_megahertz_above_the_middle(
    raster: str, channel: int, centre_mhz: float
) -> None:
    assert centre_frequency_mhz(raster, channel) == pytest.approx(centre_mhz, abs=1e-6)
    low, high = channel_edges_mhz(raster, channel)
    assert centre_frequency_mhz(raster, channel) - (low + high) / 2.0 == pytest.approx(1.0 / 7.0)
    assert high - low == 6.0


def test_planning_field_by_the_chain() -> None:
    """The BT.2033 chain worked by hand at 650 MHz: C/N 20.1, F 7, 5.571 MHz, 11 dBd, 4 dB.

    Pn −129.52, Ps −109.42, Aa −4.57, flux −100.85, Emin 44.95, and 9.02 dB for 95 % of places.
    """
    system = television_system("ISDB-T")
    assert (system.modulation, system.code_rate) == ("64-QAM", "3/4")
    field = planning_field(system, 650.0)
    assert field.minimum_field_dbuv_m == pytest.approx(44.95, abs=0.02)
    assert field.median_field_dbuv_m == pytest.approx(53.97, abs=0.02)


def test_contours() -> None:
    """From memory: 51 dB(µV/m) in Brazil, 60 in Japan (1 mV/m)."""
    assert {row.administration: row.field_dbuv_m for row in isdbt.PROTECTED_CONTOURS} == {
        "Brazil": 51.0,
        "Japan": 60.0,
    }
    assert {row.confidence for row in isdbt.PROTECTED_CONTOURS} == {"from memory"}


def test_what_is_from_memory_is_said() -> None:
    note = system_note(television_system("ISDB-T"))
    assert note == "from memory, unverified: required C/N, receiver noise figure"


def test_refused() -> None:
    with pytest.raises(RangeError, match="channel model of ISDB-T is 'ricean'; allowed: gaussian"):
        television_system("ISDB-T", channel_model="ricean")
    with pytest.raises(RangeError, match="ISDB-T mode is '256-QAM' '3/4'; allowed: QPSK, 16-QAM, 64-QAM"):
        television_system("ISDB-T", "256-QAM")
