"""Checks of the stages of a feed chain: gains, losses and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.reception import stages as kit
from combe.reception.cascade import NoisyGain, cascade_noise
from combe.reception.stages import Stage, stage_gain_db, stage_noise_figure_db


# Ideal division into n parts is 10 log n, worked.
@pytest.mark.parametrize(("ways", "loss_db"), [(1, 0.0), (2, 3.01), (4, 6.02), (8, 9.03)])
def test_ideal_division(ways: int, loss_db: float) -> None:
    assert kit.division_loss_db(ways) == pytest.approx(loss_db, abs=0.005)


def test_four_ways_of_3_db_couplers_take_6_db_and_their_excess() -> None:
    """Common practice, no source: a passive four-way splitter of couplers is 6 dB and the excess."""
    splitter = kit.passive_splitter("splitter", 4, excess_loss_db=0.5)
    assert stage_gain_db(splitter, 600.0) == pytest.approx(-6.5, abs=0.03)
    couplers = [kit.passive_splitter(name, 2, excess_loss_db=0.25) for name in ("first", "second")]
    parts = [NoisyGain(stage_gain_db(each, 600.0), stage_noise_figure_db(each, 600.0)) for each in couplers]
    assert cascade_noise(parts).gain_db == pytest.approx(splitter.gain_db, abs=1e-9)


def test_a_passive_stage_has_its_loss_as_noise_figure() -> None:
    """H. T. Friis 1944: a matched loss at T0 has F = L."""
    assert stage_noise_figure_db(kit.feeder("feeder", 3.0), 600.0) == 3.0
    assert stage_noise_figure_db(kit.receiver("receiver", noise_figure_db=6.0), 600.0) == 6.0


def test_feeder_loss_goes_as_the_root_of_the_frequency() -> None:
    """Common practice, no source: loss of a feeder about as the root of the frequency."""
    feeder = kit.feeder("feeder", 3.0, at_mhz=470.0)
    assert stage_gain_db(feeder, 470.0) == -3.0
    assert stage_gain_db(feeder, 4.0 * 470.0) == pytest.approx(-6.0)
    assert stage_gain_db(kit.feeder("feeder", 3.0), 860.0) == -3.0


@pytest.mark.parametrize(
    ("frequency_mhz", "gain_db"),
    [(565.9, -41.0), (566.0, -1.0), (570.0, -1.0), (574.0, -1.0), (574.1, -41.0)],
)
def test_filter_rejects_beyond_its_edges(frequency_mhz: float, gain_db: float) -> None:
    filter_ = kit.channel_filter("filter", 1.0, passband_mhz=(566.0, 574.0), rejection_db=40.0)
    assert stage_gain_db(filter_, frequency_mhz) == gain_db
    assert stage_noise_figure_db(filter_, frequency_mhz) == -gain_db


def test_active_stages_keep_their_figures() -> None:
    amplifier = kit.masthead_amplifier("amp", gain_db=20.0, noise_figure_db=2.0, output_limit_dbm=5.0)
    splitter = kit.active_splitter("split", gain_db=3.0, noise_figure_db=4.0, output_limit_dbm=0.0)
    assert (amplifier.kind, amplifier.output_limit_dbm) == ("masthead amplifier", 5.0)
    assert (splitter.kind, splitter.gain_db, splitter.noise_figure_db) == ("active splitter", 3.0, 4.0)


@given(st.integers(1, 8), st.integers(1, 8))
def test_division_in_two_steps(one: int, two: int) -> None:
    both = kit.division_loss_db(one) + kit.division_loss_db(two)
    assert kit.division_loss_db(one * two) == pytest.approx(both, abs=1e-9)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: kit.feeder("down lead", -1.0), "loss_db of stage 'down lead' is -1.0; allowed: 0 to 100"),
        (lambda: kit.feeder("f", 1.0, at_mhz=5.0), "reference_mhz of stage 'f' is 5.0; allowed: 30 to 3000"),
        (lambda: kit.passive_splitter("s", 0), "ways of a splitter is 0; allowed: a whole number, 1 to 64"),
        (
            lambda: kit.receiver("r", noise_figure_db=-1.0),
            "noise_figure_db of stage 'r' is -1.0; allowed: 0 to 100",
        ),
        (
            lambda: kit.receiver("r", noise_figure_db=6.0, input_limit_dbm=90.0),
            "input_limit_dbm of stage 'r' is 90.0; allowed: -100 to 60",
        ),
        (
            lambda: Stage("s", "feeder", 3.0),
            "gain_db of stage 's' is 3.0; allowed: 0 or less without a noise figure",
        ),
        (
            lambda: kit.channel_filter("c", 1.0, passband_mhz=(574.0, 566.0)),
            "passband_mhz of stage 'c' is 574 to 566; allowed: a lower and a higher edge, over 0",
        ),
        (lambda: Stage("s", "wire", -1.0), "kind of stage 's' is 'wire'; allowed: feeder or "),  # type: ignore[arg-type]
    ],
)
def test_refused(make: Callable[[], Any], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        make()
    assert str(caught.value).startswith(message)


def test_an_attenuator_takes_the_same_at_all_frequencies() -> None:
    pad = kit.attenuator("pad", 10.0)
    assert (pad.kind, stage_gain_db(pad, 474.0), stage_gain_db(pad, 858.0)) == ("attenuator", -10.0, -10.0)
    assert stage_noise_figure_db(pad, 600.0) == 10.0
    with pytest.raises(RangeError, match="loss_db of stage 'pad' is -1"):
        kit.attenuator("pad", -1.0)
