"""Building entry loss of ITU-R P.2109-1, beside figures worked out apart and a general-purpose library."""

from __future__ import annotations

import math

import numpy as np
import pytest

from combe.errors import RangeError
from combe.evidence import building_entry
from combe.propagation.p2109 import building_entry_loss_db, entry_statistics
from support_pycraf import pycraf_parts


@pytest.mark.parametrize("building", ["traditional", "thermally efficient"])
@pytest.mark.parametrize(("mhz", "angle_deg"), [(200.0, 0.0), (650.0, 20.0), (2000.0, 45.0), (28_000.0, 0.0)])
def test_against_pycraf(building: str, mhz: float, angle_deg: float) -> None:
    """The library pycraf 2.1 has P.2109-1 too.

    Its quantile of the normal distribution is a rational approximation that is good to 4.5e-4; times the
    greatest deviation, 19 dB at 28 GHz, that is less than 0.009 dB.
    """
    pathprof, units = pycraf_parts()
    kinds = pathprof.BuildingType
    kind = kinds.TRADITIONAL if building == "traditional" else kinds.THERM_EFF
    shares = np.array([1.0, 10.0, 50.0, 90.0, 99.0])
    expected = pathprof.building_entry_loss(
        mhz / 1000.0 * units.GHz, angle_deg * units.deg, shares * units.percent, kind
    ).value
    found = building_entry_loss_db(mhz, shares, building, angle_deg)  # type: ignore[arg-type]
    assert found == pytest.approx(expected, abs=0.009)


def test_all_arguments_broadcast() -> None:
    mhz, share = np.array([[200.0], [600.0], [800.0]]), np.array([10.0, 50.0])
    found = building_entry_loss_db(mhz, share, "thermally efficient", 5.0)
    assert found.shape == (3, 2)
    assert found[1, 1] == pytest.approx(
        float(building_entry_loss_db(600.0, 50.0, "thermally efficient", 5.0)), abs=1e-12
    )
    assert np.isnan(building_entry_loss_db([math.nan, 600.0], 50.0)).tolist() == [True, False]


def test_a_path_from_below_costs_as_much_as_one_from_above() -> None:
    assert building_entry_loss_db(600.0, 50.0, elevation_deg=-20.0) == pytest.approx(17.053, abs=5e-4)


@pytest.mark.parametrize("building", ["traditional", "thermally efficient"])
def test_mean_and_deviation_are_those_of_many_draws(building: str) -> None:
    """500 000 draws by their shares: the mean to 0.05 dB, the deviation to 0.05 dB."""
    share = (np.arange(500_000) + 0.5) / 5000.0
    drawn = building_entry_loss_db(600.0, share, building)  # type: ignore[arg-type]
    found = entry_statistics(600.0, building)  # type: ignore[arg-type]
    assert float(found.mean_db) == pytest.approx(drawn.mean(), abs=0.05)
    assert float(found.deviation_db) == pytest.approx(drawn.std(), abs=0.05)


def test_statistics_of_many_frequencies() -> None:
    found = entry_statistics(np.array([200.0, 600.0]))
    assert found.mean_db == pytest.approx([14.270, 14.634], abs=1e-3)
    assert found.deviation_db == pytest.approx([6.652, 7.201], abs=1e-3)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"frequency_mhz": 79.0}, "frequency_mhz is 79.0; allowed: 80 to 100000"),
        ({"share_percent": [50.0, 100.0]}, "share_percent is 100.0; allowed: above 0 and below 100"),
        ({"share_percent": 0.0}, "share_percent is 0.0; allowed: above 0 and below 100"),
        ({"elevation_deg": 91.0}, "elevation_deg is 91.0; allowed: -90 to 90"),
        ({"building": "tent"}, "building is 'tent'; allowed: traditional or thermally efficient"),
    ],
)
def test_what_is_out_of_range(given: dict[str, object], words: str) -> None:
    asked = {"frequency_mhz": 600.0, "share_percent": 50.0} | given
    with pytest.raises(RangeError) as caught:
        building_entry_loss_db(**asked)  # type: ignore[arg-type]
    assert str(caught.value) == words


def test_the_figures_of_evidence_hold_both_kinds() -> None:
    cases = list(building_entry.cases())
    assert {case.case.split(",")[0] for case in cases} == {"traditional", "thermally efficient"}
    assert len(cases) == 58
