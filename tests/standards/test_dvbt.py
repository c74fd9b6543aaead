"""Checks of the DVB-T tables: EN 300 744 and the reference configurations of GE06."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.standards import dvbt
from combe.standards.minimum_field import minimum_median_field
from combe.standards.systems import planning_field, television_system

# ETSI EN 300 744 Annex A, from memory; copied out a second time, one channel model a line.
RATES = "1/2 2/3 3/4 5/6 7/8"
LINES = {
    ("QPSK", "gaussian"): "3.1 4.9 5.9",
    ("QPSK", "ricean"): "3.6 5.7 6.8",
    ("QPSK", "rayleigh"): "5.4 8.4 10.7",
    ("16-QAM", "gaussian"): "8.8 11.1 12.5 13.5 13.9",
    ("16-QAM", "ricean"): "9.6 11.6 13.0 14.4 15.0",
    ("16-QAM", "rayleigh"): "11.2 14.2 16.7 19.3 22.8",
    ("64-QAM", "gaussian"): "14.4 16.5 18.0 19.3 20.1",
    ("64-QAM", "ricean"): "14.7 17.1 18.6 20.0 21.0",
    ("64-QAM", "rayleigh"): "16.0 19.3 21.7 25.3 27.9",
}


@pytest.mark.parametrize(("kind", "line"), LINES.items(), ids=str)
def test_required_cn(kind: tuple[str, str], line: str) -> None:
    modulation, model = kind
    for rate, value in zip(RATES.split(), line.split(), strict=False):
        found = television_system("DVB-T", modulation, rate, model)
        assert found.required_cn_db == pytest.approx(float(value) + 3.0)
        assert found.implementation_margin_db == 3.0


def test_every_row_is_tested_and_marked() -> None:
    tested = {
        (modulation, rate)
        for (modulation, _), line in LINES.items()
        for rate, _ in zip(RATES.split(), line.split(), strict=False)
    }
    assert {(row.modulation, row.code_rate) for row in dvbt.REQUIRED_CN} == tested
    assert {row.confidence for row in dvbt.REQUIRED_CN} == {"from memory"}
    for row in dvbt.REQUIRED_CN:
        assert row.gaussian_db < row.ricean_db < row.rayleigh_db


# The GE06 chain worked by hand: 64-QAM 2/3 Ricean, 17.1 + 3 dB, F 7 dB; aerials of ITU-R BT.2036-5, with
# 145.76 dB in place of the printed 145.8.
@pytest.mark.parametrize(
    ("frequency_mhz", "emin", "at_70", "at_95"),
    [(500.0, 43.99, 46.8, 53.0), (650.0, 46.27, 49.1, 55.3), (800.0, 48.07, 50.9, 57.1)],
)
def test_worked_chain(frequency_mhz: float, emin: float, at_70: float, at_95: float) -> None:
    system = television_system("DVB-T", "64-QAM", "2/3")
    assert system.required_cn_db == pytest.approx(20.1)
    assert planning_field(system, frequency_mhz).minimum_field_dbuv_m == pytest.approx(emin, abs=0.05)
    assert planning_field(system, frequency_mhz, 70.0).median_field_dbuv_m == pytest.approx(at_70, abs=0.1)
    assert planning_field(system, frequency_mhz).median_field_dbuv_m == pytest.approx(at_95, abs=0.1)


# GE06 Final Acts, from memory: 56, 78 and 88 dB(µV/m) at 650 MHz for C/N of 21, 19 and 17 dB.
@pytest.mark.parametrize(
    ("name", "cn_db", "field", "at_500"),
    [("RPC 1", 21.0, 56.0, 53.72), ("RPC 2", 19.0, 78.0, 74.58), ("RPC 3", 17.0, 88.0, 84.58)],
)
def test_reference_configurations(name: str, cn_db: float, field: float, at_500: float) -> None:
    assert dvbt.reference_configuration(name).required_cn_db == cn_db
    assert dvbt.reference_field_dbuv_m(name, 650.0) == field
    # 20 log(500/650) for fixed, 30 log(500/650) for portable reception.
    assert dvbt.reference_field_dbuv_m(name, 500.0) == pytest.approx(at_500, abs=0.005)


def test_the_chain_lands_on_the_first_configuration() -> None:
    """GE06 configuration 1, C/N 21, F 7: the chain gives 56.2, the Final Acts 56 at 650 MHz (from memory)."""
    found = minimum_median_field(650.0, 21.0, noise_figure_db=dvbt.NOISE_FIGURE_DB.value)
    assert found.median_field_dbuv_m == pytest.approx(dvbt.reference_field_dbuv_m("RPC 1", 650.0), abs=0.5)


@given(st.floats(470.0, 862.0))
def test_the_correction_follows_the_frequency(frequency_mhz: float) -> None:
    row = dvbt.reference_configuration("RPC 1")
    assert dvbt.frequency_correction_db(row, frequency_mhz) * (frequency_mhz - 650.0) >= 0.0


def test_refused() -> None:
    with pytest.raises(RangeError, match="reference planning configuration is 'RPC 4'; allowed: RPC 1"):
        dvbt.reference_field_dbuv_m("RPC 4", 650.0)
    with pytest.raises(RangeError, match=r"configuration is 200.0; allowed: 470 to 862"):
        dvbt.reference_field_dbuv_m("RPC 1", 200.0)
    with pytest.raises(RangeError, match="DVB-T mode is 'QPSK' '7/8'; allowed: QPSK, 16-QAM, 64-QAM with"):
        television_system("DVB-T", "QPSK", "7/8")
