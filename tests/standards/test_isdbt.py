"""Checks of the ISDB-T tables."""

from __future__ import annotations

import pytest

from combe.errors import RangeError
from combe.evidence.isdbt import CENTRES, CONTOURS, RATES, REQUIRED_CN
from combe.standards import isdbt
from combe.standards.rasters import centre_frequency_mhz, channel_edges_mhz
from combe.standards.systems import system_note, television_system

# C/N of the modes, centres, noise bandwidth, the chain and contours are cases of evidence
# (combe.evidence.isdbt), which tests/evidence runs.


def test_every_mode_is_in_evidence() -> None:
    expected = {(modulation, rate) for modulation in REQUIRED_CN for rate in RATES}
    assert {(row.modulation, row.code_rate) for row in isdbt.REQUIRED_CN} == expected
    assert television_system("ISDB-T").channel_model == "gaussian"


@pytest.mark.parametrize(("raster", "channel", "centre_mhz"), CENTRES)
def test_the_signal_lies_a_seventh_of_a_megahertz_above_the_middle(
    raster: str, channel: int, centre_mhz: float
) -> None:
    assert centre_frequency_mhz(raster, channel) == pytest.approx(centre_mhz, abs=1e-6)
    low, high = channel_edges_mhz(raster, channel)
    assert centre_frequency_mhz(raster, channel) - (low + high) / 2.0 == pytest.approx(1.0 / 7.0)
    assert high - low == 6.0


def test_contours() -> None:
    """From memory: 51 dB(µV/m) in Brazil, 60 in Japan (1 mV/m)."""
    assert {row.administration: row.field_dbuv_m for row in isdbt.PROTECTED_CONTOURS} == dict(CONTOURS)
    assert {row.confidence for row in isdbt.PROTECTED_CONTOURS} == {"from memory"}


def test_what_is_from_memory_is_said() -> None:
    note = system_note(television_system("ISDB-T"))
    assert note == "from memory, unverified: required C/N, receiver noise figure, channel frequencies"


def test_refused() -> None:
    with pytest.raises(RangeError, match="channel model of ISDB-T is 'ricean'; allowed: gaussian"):
        television_system("ISDB-T", channel_model="ricean")
    with pytest.raises(RangeError, match="ISDB-T mode is '256-QAM' '3/4'; allowed: QPSK, 16-QAM, 64-QAM"):
        television_system("ISDB-T", "256-QAM")
