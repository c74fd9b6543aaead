"""Checks of the registry of television systems."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.standards.channels import CHANNEL_RASTERS
from combe.standards.cited import Cited, describe
from combe.standards.systems import TELEVISION_SYSTEMS, planning_field, television_system


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


@pytest.mark.parametrize("name", sorted(TELEVISION_SYSTEMS))
def test_every_system_names_a_raster_of_the_table(name: str) -> None:
    assert television_system(name, "QPSK", "1/2").channel_raster in CHANNEL_RASTERS


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
