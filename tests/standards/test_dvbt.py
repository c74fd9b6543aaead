"""Checks of the DVB-T tables: EN 300 744 and the reference configurations of GE06."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.evidence.dvbt import CONFIGURATIONS, RATES, REQUIRED_CN
from combe.standards import dvbt
from combe.standards.planning_fields import minimum_median_field
from combe.standards.systems import television_system

MARGIN_DB = 3.0
"""Of a receiver over the printed C/N, from memory."""

# C/N of the modes, the chain worked at 500, 650 and 800 MHz and the configurations of GE06 are cases of
# evidence (combe.evidence.dvbt), which tests/evidence runs.


@pytest.mark.parametrize(("kind", "ratios"), REQUIRED_CN.items(), ids=str)
def test_planning_takes_the_printed_cn_and_the_margin(
    kind: tuple[str, str], ratios: tuple[float, ...]
) -> None:
    modulation, model = kind
    for rate, ratio in zip(RATES, ratios, strict=False):
        found = television_system("DVB-T", modulation, rate, model)
        assert found.required_cn_db == pytest.approx(ratio + MARGIN_DB)
        assert found.implementation_margin_db == MARGIN_DB


def test_every_row_is_in_evidence_and_marked() -> None:
    tested = {
        (modulation, rate)
        for (modulation, _), ratios in REQUIRED_CN.items()
        for rate, _ in zip(RATES, ratios, strict=False)
    }
    assert {(row.modulation, row.code_rate) for row in dvbt.REQUIRED_CN} == tested
    assert {row.confidence for row in dvbt.REQUIRED_CN} == {"from memory"}
    for row in dvbt.REQUIRED_CN:
        assert row.gaussian_db < row.ricean_db < row.rayleigh_db


# GE06 Final Acts, from memory: C/N of 21, 19 and 17 dB.
@pytest.mark.parametrize(("name", "cn_db"), [("RPC 1", 21.0), ("RPC 2", 19.0), ("RPC 3", 17.0)])
def test_reference_configurations(name: str, cn_db: float) -> None:
    assert dvbt.reference_configuration(name).required_cn_db == cn_db
    assert [row[0] for row in CONFIGURATIONS] == [row.name for row in dvbt.REFERENCE_CONFIGURATIONS]


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
