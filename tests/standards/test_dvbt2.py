"""Checks of the DVB-T2 tables: ITU-R BT.2033-2, BT.2036-5 and GE06."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.bt2033 import FIXED_AERIALS, MODULATIONS, TABLE_2
from combe.standards import dvbt2

# Table 2, the chain, the aerials and the location factors are cases of evidence (combe.evidence.bt2033),
# which tests/evidence runs.


def test_every_mode_is_tested_and_cited() -> None:
    assert {(row.modulation, row.code_rate) for row in dvbt2.REQUIRED_CN} == {
        (modulation, rate) for rate in TABLE_2 for modulation in MODULATIONS
    }
    assert len(dvbt2.REQUIRED_CN) == 24
    assert all("BT.2033-2 Table 2" in row.reference and row.confidence == "read" for row in dvbt2.REQUIRED_CN)


def test_a_harder_channel_and_a_weaker_code_need_more() -> None:
    for modulation in MODULATIONS:
        rows = [row for row in dvbt2.REQUIRED_CN if row.modulation == modulation]
        assert all(row.gaussian_db < row.ricean_db < row.rayleigh_db for row in rows)
        assert [row.ricean_db for row in rows] == sorted(row.ricean_db for row in rows)


def test_unknown_mode_and_channel_model() -> None:
    with pytest.raises(RangeError, match=r"DVB-T2 mode is '8-PSK' '2/3'; allowed: QPSK, .* with 1/2, .*5/6$"):
        dvbt2.required_cn_db("8-PSK", "2/3", "ricean")
    with pytest.raises(RangeError, match="channel model is 'rice'; allowed: gaussian, ricean, rayleigh"):
        dvbt2.required_cn_db("QPSK", "2/3", "rice")


# ITU-R BT.2033-2 Attachment 1 and GE06, as transcribed in public copies.
@pytest.mark.parametrize(
    ("cited", "value"),
    [
        (dvbt2.NOISE_BANDWIDTH_MHZ[8.0], 7.61),
        (dvbt2.NOISE_BANDWIDTH_MHZ[7.0], 6.66),
        (dvbt2.NOISE_FIGURE_DB, 6.0),
        (dvbt2.BOLTZMANN_J_K, 1.38e-23),
        (dvbt2.NOISE_TEMPERATURE_K, 290.0),
        (dvbt2.DIPOLE_POWER_RATIO, 1.64),
        (dvbt2.FIELD_OVER_FLUX_DB, 145.8),
        (dvbt2.MAN_MADE_NOISE_DB, 0.0),
        (dvbt2.LOCATION_DEVIATION_DB, 5.5),
        (dvbt2.LOCATION_FACTORS[70.0], 0.52),
        (dvbt2.LOCATION_FACTORS[95.0], 1.64),
        (dvbt2.LOCATION_FACTORS[99.0], 2.33),
    ],
)
def test_cited_value(cited: dvbt2.Cited, value: float) -> None:
    assert (cited.value, cited.confidence) == (value, "read")


def test_noise_bandwidth_of_a_channel() -> None:
    assert {width: cited.value for width, cited in dvbt2.NOISE_BANDWIDTH_MHZ.items()}[8.0] == 7.61


def test_fixed_aerial_table_is_the_one_tested() -> None:
    assert [row.frequency_mhz for row in dvbt2.FIXED_AERIALS] == [row[0] for row in FIXED_AERIALS]
    assert all("BT.2036-5" in row.reference for row in dvbt2.FIXED_AERIALS)


def test_fixed_aerial_is_half_way_at_the_geometric_mean() -> None:
    aerial = dvbt2.fixed_aerial((500.0 * 650.0) ** 0.5)
    assert (aerial.gain_dbd, aerial.feeder_loss_db) == (pytest.approx(10.5), pytest.approx(3.5))


@given(st.floats(470.0, 862.0), st.floats(470.0, 862.0))
def test_fixed_aerial_grows_with_frequency_and_keeps_its_ends(one_mhz: float, other_mhz: float) -> None:
    low, high = dvbt2.fixed_aerial(min(one_mhz, other_mhz)), dvbt2.fixed_aerial(max(one_mhz, other_mhz))
    assert 10.0 <= low.gain_dbd <= high.gain_dbd <= 12.0
    assert 3.0 <= low.feeder_loss_db <= high.feeder_loss_db <= 5.0


@pytest.mark.parametrize(
    ("frequency_mhz", "gain_dbd", "loss_db", "noise_db", "confidence"),
    # ITU-R BT.2036-5: 7 dBd, 2 dB and 2 dB in Band III; Chester 1997 for Band I, from memory.
    [
        (50.5, 3.0, 1.0, 6.0, "from memory"),
        (96.0, 3.0, 1.0, 6.0, "from memory"),
        (177.5, 7.0, 2.0, 2.0, "read"),
        (226.5, 7.0, 2.0, 2.0, "read"),
    ],
)
def test_fixed_reception_at_vhf(frequency_mhz, gain_dbd, loss_db, noise_db, confidence) -> None:
    aerial, noise = dvbt2.fixed_aerial(frequency_mhz), dvbt2.fixed_band(frequency_mhz).man_made_noise
    assert (aerial.gain_dbd, aerial.feeder_loss_db, noise.value) == (gain_dbd, loss_db, noise_db)
    assert aerial.confidence == noise.confidence == confidence


def test_fixed_aerial_outside_the_band() -> None:
    with pytest.raises(
        RangeError,
        match=r"of fixed reception is 300.0; allowed: 47 to 120 MHz \(Band I\), 162 to 240 MHz",
    ):
        dvbt2.fixed_aerial(300.0)


# Exact normal quantiles where no factor is printed: 50 and 90 %.
@pytest.mark.parametrize(("percent", "factor"), [(50.0, 0.0), (90.0, 1.2816)])
def test_location_factor_that_is_not_printed(percent: float, factor: float) -> None:
    cited = dvbt2.location_factor(percent)
    assert cited.value == pytest.approx(factor, abs=1e-4)
    assert (cited.reference, cited.confidence) == (dvbt2.EXACT_QUANTILE, "computed")


def test_location_factor_outside_its_range() -> None:
    with pytest.raises(RangeError, match=r"location_percent is 100.0; allowed: 1 to 99.9"):
        dvbt2.location_factor(100.0)
