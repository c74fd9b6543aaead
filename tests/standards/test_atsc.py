"""Checks of the ATSC planning factors, item by item, and of the co-channel ratio."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.atsc import CONTOURS, THRESHOLDS
from combe.standards import atsc
from combe.standards.analogue import DIGITAL_RELAY_CONTOURS
from combe.standards.systems import planning_field, television_system

# The factors, thresholds, contours and co-channel ratios are cases of evidence (combe.evidence.atsc), which
# tests/evidence runs.


@pytest.mark.parametrize(
    "cited",
    [
        atsc.REFERENCE_FREQUENCY_MHZ,
        atsc.DIPOLE_FACTOR_DB,
        atsc.THERMAL_NOISE_DBM,
        atsc.NOISE_BANDWIDTH_MHZ,
        atsc.AERIAL_GAIN_DBD,
        atsc.DOWNLEAD_LOSS_DB,
        atsc.NOISE_FIGURE_DB,
        atsc.REQUIRED_CN_DB,
        atsc.THRESHOLD_DBUV_M,
    ],
)
def test_planning_factors_are_read(cited: atsc.Cited) -> None:
    """FCC OET Bulletin 69 and ISED BPR-10 Appendix 8."""
    assert cited.confidence == "read"
    assert "Bulletin 69" in cited.reference


def test_the_factors_give_the_printed_threshold() -> None:
    """OET Bulletin 69: 40.6 dB(µV/m), printed as 41; the receiver's least input is −84 dBm at NF 7."""
    found = atsc.atsc_threshold(615.0)
    assert found.computed_dbuv_m == pytest.approx(40.6, abs=1e-9)
    assert round(found.computed_dbuv_m) == found.printed_dbuv_m == 41.0
    at_receiver = found.thermal_noise_dbm + found.noise_figure_db + found.required_cn_db
    assert at_receiver == pytest.approx(-84.2, abs=1e-9)


@pytest.mark.parametrize(
    ("frequency_mhz", "computed", "printed"),
    # OET Bulletin 69, from memory: factors of channels 2-6 and 7-13 give 27.6 and 35.6, printed 28 and 36.
    [(57.0, 27.6, 28.0), (85.0, 27.6, 28.0), (177.0, 35.6, 36.0), (213.0, 35.6, 36.0)],
)
def test_the_factors_give_the_printed_threshold_at_vhf(frequency_mhz, computed, printed) -> None:
    found = atsc.atsc_threshold(frequency_mhz)
    assert found.computed_dbuv_m == pytest.approx(computed, abs=1e-9)
    assert found.dipole_adjustment_db == 0.0
    assert found.threshold_dbuv_m == found.printed_dbuv_m == printed
    field = planning_field(television_system("ATSC"), frequency_mhz)
    assert field.minimum_field_dbuv_m == printed
    assert "at 615 MHz" not in str(field.chain)


def test_the_dipole_factor_is_that_of_physics() -> None:
    """P(dBm) = E − 20 log f + G − 77.216 of a half-wave dipole of 2.15 dBi at 615 MHz: −130.84 dB."""
    physics = -20.0 * 2.7888751 + 2.15 - 77.216
    assert atsc.DIPOLE_FACTOR_DB.value == pytest.approx(physics, abs=0.06)


@pytest.mark.parametrize(("frequency_mhz", "threshold"), THRESHOLDS)
def test_threshold_is_the_planning_field(frequency_mhz: float, threshold: float) -> None:
    assert atsc.atsc_threshold(frequency_mhz).threshold_dbuv_m == pytest.approx(threshold, abs=0.005)
    field = planning_field(television_system("ATSC"), frequency_mhz)
    assert field.minimum_field_dbuv_m == pytest.approx(threshold, abs=0.005)
    assert (field.location_percent, field.time_percent) == (50.0, 90.0)


def test_contours_of_digital_relays() -> None:
    """47 CFR 74.792: 43, 48 and 51 dB(µV/m) for channels 2-6, 7-13 and 14 upwards."""
    assert [(row.band, row.field_dbuv_m) for row in DIGITAL_RELAY_CONTOURS] == list(CONTOURS)
    assert {row.confidence for row in DIGITAL_RELAY_CONTOURS} == {"read"}


def test_co_channel_ratio_at_its_printed_ends() -> None:
    """FCC OET Bulletin 69 (2004): 15 dB from S/N 28 dB, 23 dB at S/N 16 dB (rounded)."""
    assert atsc.co_channel_ratio_db(28.0) == 15.0
    assert atsc.co_channel_ratio_db(16.0) == pytest.approx(23.0, abs=0.5)
    assert atsc.STRONG_RATIO_DB.value == 15.0
    assert (atsc.STRONG_SN_DB.value, atsc.EDGE_SN_DB.value) == (28.0, 16.0)


@given(st.floats(16.0, 60.0), st.floats(16.0, 60.0))
def test_a_stronger_signal_bears_more(one: float, other: float) -> None:
    weak, strong = sorted((one, other))
    assert 15.0 <= atsc.co_channel_ratio_db(strong) <= atsc.co_channel_ratio_db(weak) <= 23.0


def test_refused() -> None:
    with pytest.raises(RangeError, match=r"of ATSC is 300.0; allowed: 54 to 88, 174 to 216, 470 to 806 MHz"):
        atsc.atsc_threshold(300.0)
    with pytest.raises(RangeError, match=r"signal_to_noise_db of ATSC is 15.0; allowed: 16 to 100"):
        atsc.co_channel_ratio_db(15.0)
    with pytest.raises(RangeError, match="ATSC mode is '64-QAM' '2/3'; allowed: 8-VSB with 2/3"):
        television_system("ATSC", "64-QAM")
    with pytest.raises(RangeError, match="channel model of ATSC is 'ricean'; allowed: gaussian"):
        television_system("ATSC", channel_model="ricean")
