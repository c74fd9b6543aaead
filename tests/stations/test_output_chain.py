"""Checks of the output budget: every item, the way back, and what is refused."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.stations.output_chain import OutputStage, amplifier_power_for_erp_w, output_budget

# Invented, with usual values (common practice, no source): combiner 0.5 to 1.5 dB, filter 0.3 to 1.5 dB.
STAGES = (OutputStage("combiner", 1.0), OutputStage("feeder", 1.5), OutputStage("connectors", 0.5))


def test_every_item() -> None:
    budget = output_budget("Mux 1", 578.0, 20.0, STAGES, 12.0)
    assert [point.name for point in budget.points] == [
        "amplifier",
        "behind combiner",
        "behind feeder",
        "behind connectors",
    ]
    assert [point.power_dbm for point in budget.points] == pytest.approx([43.0103, 42.0103, 40.5103, 40.0103])
    assert [point.power_w for point in budget.points] == pytest.approx(
        [20.0, 15.8866, 11.2468, 10.0237], rel=1e-5
    )
    assert [point.loss_db for point in budget.points] == [0.0, 1.0, 1.5, 0.5]
    assert (budget.total_loss_db, budget.aerial_gain_dbd, budget.aerial_gain_dbi) == (3.0, 12.0, 14.15)
    assert budget.aerial_input_w == budget.points[-1].power_w
    assert budget.erp_dbw == pytest.approx(10.0103 + 12.0, abs=1e-4)
    assert budget.erp_w == pytest.approx(158.87, abs=0.01)
    assert budget.eirp_dbw - budget.erp_dbw == pytest.approx(2.15)  # ITU-R P.525: e.i.r.p. is 2.15 dB more
    assert budget.eirp_w / budget.erp_w == pytest.approx(1.64, abs=0.001)


def test_no_stages() -> None:
    budget = output_budget("Mux 1", 578.0, 10.0, (), 0.0)
    assert (budget.total_loss_db, budget.erp_w) == (0.0, pytest.approx(10.0))


@given(st.floats(1e-3, 1e4), st.lists(st.floats(0.0, 10.0), max_size=5), st.floats(-10.0, 20.0))
def test_the_way_back(amplifier_w: float, losses: list[float], gain_dbd: float) -> None:
    stages = [OutputStage(f"stage {number}", loss) for number, loss in enumerate(losses)]
    erp_w = output_budget("Mux 1", 578.0, amplifier_w, stages, gain_dbd).erp_w
    assert amplifier_power_for_erp_w(erp_w, stages, gain_dbd) == pytest.approx(amplifier_w, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"service": ""}, "name of a service is ''; allowed: 1 to 80 printable"),
        ({"frequency_mhz": 5e8}, "frequency_mhz of service 'Mux 1' is 500000000.0; allowed: 30 to 3000"),
        ({"amplifier_w": 0.0}, "amplifier_w of service 'Mux 1' is 0.0; allowed: more than 0, up to 100000 W"),
        ({"amplifier_w": math.nan}, "amplifier_w of service 'Mux 1' is nan; allowed: more than 0, up to"),
        ({"aerial_gain_dbd": 50.0}, "aerial_gain_dbd of service 'Mux 1' is 50.0; allowed: -20 to 30"),
        (
            {"stages": STAGES[:1] * 2},
            "output stage of service 'Mux 1' is 'combiner' more than once; allowed:",
        ),
    ],
)
def test_budget_refused(change: dict[str, Any], message: str) -> None:
    good: dict[str, Any] = {
        "service": "Mux 1",
        "frequency_mhz": 578.0,
        "amplifier_w": 10.0,
        "stages": STAGES,
        "aerial_gain_dbd": 10.0,
    }
    with pytest.raises(RangeError) as caught:
        output_budget(**(good | change))
    assert str(caught.value).startswith(message)
    assert len(str(caught.value).splitlines()) == 1


def test_stage_and_way_back_refused() -> None:
    with pytest.raises(RangeError, match=r"loss_db of output stage 'feeder' is -1.0; allowed: 0 to 40"):
        OutputStage("feeder", -1.0)
    with pytest.raises(RangeError, match=r"erp_w is 0.0; allowed: more than 0"):
        amplifier_power_for_erp_w(0.0, STAGES, 10.0)
