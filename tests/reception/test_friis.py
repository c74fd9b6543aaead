"""Checks of cascaded noise: Friis' formula."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.decibels import thermal_noise_dbm
from combe.reception.cascade import NOTHING, NoisyGain, behind, cascade_noise, passive

stage = st.builds(NoisyGain, st.floats(-40.0, 40.0), st.floats(0.0, 20.0))
chain = st.lists(stage, min_size=1, max_size=6)

# The worked chains are cases of evidence (combe.evidence.relays), which tests/evidence runs.


# k T0 B at 290 K, worked from the exact Boltzmann constant; OET-69 prints -106.2 dBm for 6 MHz.
@pytest.mark.parametrize(
    ("bandwidth_mhz", "noise_dbm"),
    [(5.0, -106.99), (5.5, -106.57), (6.0, -106.19), (7.61, -105.16), (8.0, -104.95)],
)
def test_thermal_noise(bandwidth_mhz: float, noise_dbm: float) -> None:
    assert thermal_noise_dbm(bandwidth_mhz) == pytest.approx(noise_dbm, abs=0.006)


@given(stage, stage, stage)
def test_grouping_does_not_matter(first: NoisyGain, second: NoisyGain, third: NoisyGain) -> None:
    left, right = behind(behind(first, second), third), behind(first, behind(second, third))
    assert left.noise_figure_db == pytest.approx(right.noise_figure_db, abs=1e-9)
    assert left.gain_db == pytest.approx(right.gain_db, abs=1e-9)


@given(stage)
def test_a_plain_connection_changes_nothing(one: NoisyGain) -> None:
    for joined in (behind(NOTHING, one), behind(one, NOTHING)):
        assert joined == pytest.approx(one, abs=1e-9)


@given(chain, stage)
def test_no_stage_makes_it_quieter(stages: list[NoisyGain], more: NoisyGain) -> None:
    before = cascade_noise(stages).noise_figure_db
    assert cascade_noise([*stages, more]).noise_figure_db >= before - 1e-9


@given(st.lists(st.floats(0.0, 20.0), min_size=1, max_size=6))
def test_passive_stages_add_their_decibels(losses_db: list[float]) -> None:
    total = cascade_noise(passive(loss) for loss in losses_db)
    assert total == pytest.approx((-sum(losses_db), sum(losses_db)), abs=1e-9)


@given(st.floats(0.0, 10.0), st.floats(1.0, 30.0), st.floats(0.1, 20.0))
def test_an_amplifier_belongs_ahead_of_the_loss(nf_db: float, gain_db: float, loss_db: float) -> None:
    amplifier = NoisyGain(gain_db, nf_db)
    ahead = cascade_noise([amplifier, passive(loss_db)])
    assert ahead.noise_figure_db <= cascade_noise([passive(loss_db), amplifier]).noise_figure_db + 1e-9
