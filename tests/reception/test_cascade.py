"""Checks of the chain worked out: levels, noise, headroom and the waterfall."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.decibels import thermal_noise_dbm
from combe.errors import RangeError
from combe.reception import cascade as chain
from combe.reception.cascade import AERIAL_POINT, Cascade, FeedSignal, work_out
from combe.reception.stages import (
    Stage,
    channel_filter,
    feeder,
    masthead_amplifier,
    passive_splitter,
    receiver,
)
from support_chain import feed_signal

FIELD = feed_signal("A", frequency_mhz=634.0, field_dbuv_m=72.0, gain_dbi=14.15, bandwidth_mhz=7.61)
PLAIN = (
    feeder("feeder", 2.5),
    Stage("splitter", "passive splitter", -6.5),
    receiver("receiver", noise_figure_db=6.0),
)
AMPLIFIED = (
    masthead_amplifier("amplifier", gain_db=20.0, noise_figure_db=2.0, output_limit_dbm=0.0),
    feeder("feeder", 3.0),
    Stage("splitter", "passive splitter", -4.0),
    receiver("receiver", noise_figure_db=6.0, gain_db=40.0, input_limit_dbm=-20.0),
)


def signals(*levels_dbm: float) -> list[FeedSignal]:
    return [FeedSignal(f"S{i}", 500.0 + 8.0 * i, level, 7.61) for i, level in enumerate(levels_dbm)]


def test_worked_feed() -> None:
    """72 dB(µV/m) at 634 MHz: ITU-R P.525 field to power, kT0B and Friis; worked in double."""
    result = work_out(PLAIN, [FIELD])
    assert chain.waterfall(result, "A")[0].level_dbm == pytest.approx(-47.11, abs=0.005)
    at_input = chain.receiver_input(result, "A")
    assert (at_input.point, at_input.level_dbm) == ("splitter", pytest.approx(-56.11, abs=0.005))
    assert at_input.level_dbuv_50 == pytest.approx(-56.11 + 106.990, abs=0.006)
    assert at_input.level_dbuv_75 == pytest.approx(-56.11 + 108.751, abs=0.006)
    assert chain.chain_quality(result, "A").carrier_to_noise_db == pytest.approx(43.05, abs=0.02)


def test_points_and_steps_of_the_waterfall() -> None:
    rows = chain.waterfall(work_out(PLAIN, [FIELD]), "A")
    assert [row.point for row in rows] == [AERIAL_POINT, "feeder", "splitter", "receiver"]
    assert [row.step_db for row in rows] == pytest.approx([0.0, -2.5, -6.5, 0.0])
    assert [row.noise_figure_db for row in rows] == pytest.approx([0.0, 2.5, 9.0, 15.0])
    assert [row.noise_step_db for row in rows] == pytest.approx([0.0, 2.5, 6.5, 6.0])


def test_noise_behind_passive_stages_is_that_of_the_reference_temperature() -> None:
    """A matched passive network at T0 gives kT0B at its output, whatever its loss."""
    for row in chain.waterfall(work_out(PLAIN, [FIELD]), "A")[:3]:
        assert row.noise_dbm == pytest.approx(thermal_noise_dbm(7.61), abs=1e-9)


def test_noise_of_the_aerial_goes_through_the_chain() -> None:
    """P.372, city at 200 MHz 13.06 dB: behind 2 dB of feeder a receiver of 6 dB loses 6.07 dB; worked."""
    stages = [feeder("feeder", 2.0), receiver("receiver", noise_figure_db=6.0)]
    quiet = FeedSignal("A", 200.0, -60.0, 6.66)
    noisy = replace(quiet, external_noise_db=13.06)
    results = [work_out(stages, [each]) for each in (quiet, noisy)]
    ratios = [chain.chain_quality(each, "A").carrier_to_noise_db for each in results]
    assert ratios[0] - ratios[1] == pytest.approx(6.07, abs=0.006)
    at_terminals = results[1].levels[0][0]
    assert at_terminals.noise_dbm == pytest.approx(thermal_noise_dbm(6.66) + 13.06)
    assert at_terminals.noise_step_db == pytest.approx(13.06)
    with pytest.raises(RangeError, match=r"external_noise_db of feed signal 'A' is -1.0; allowed: 0 to 100"):
        replace(quiet, external_noise_db=-1.0)


def test_mast_amplifier_chain() -> None:
    """Friis: amplifier 20/2, feeder 3, splitter 4, receiver 40/6 have 2.491 dB and 53 dB; worked."""
    last = chain.chain_quality(work_out(AMPLIFIED, [FIELD]), "A")
    assert last.noise_figure_db == pytest.approx(2.491, abs=0.001)
    assert last.gain_db == pytest.approx(53.0)
    assert last.carrier_to_noise_db == pytest.approx(-47.11 + 105.16 - 2.491, abs=0.01)


def test_levels_along_the_chain() -> None:
    rows = {row.point: row.level_dbm for row in chain.waterfall(work_out(AMPLIFIED, [FIELD]), "A")}
    assert rows["amplifier"] - rows["splitter"] == pytest.approx(7.0)
    assert rows[AERIAL_POINT] - rows["amplifier"] == pytest.approx(-20.0)


def test_headroom_counts_all_services_and_either_limit() -> None:
    """Four equal carriers have 6.02 dB more power than one."""
    result = work_out(AMPLIFIED, signals(-30.0, -30.0, -30.0, -30.0))
    loads = {load.point: load for load in result.loads}
    assert loads[AERIAL_POINT].total_dbm == pytest.approx(-23.98, abs=0.01)
    assert loads[AERIAL_POINT].headroom_db is None
    assert loads["amplifier"].headroom_db == pytest.approx(3.98, abs=0.01)
    assert loads["amplifier"].limited_by == "amplifier"
    assert loads["splitter"].limited_by == "receiver"
    assert loads["splitter"].headroom_db == pytest.approx(-20.0 + 23.98 - 13.0, abs=0.01)
    nearest = chain.least_headroom(result)
    assert nearest is not None
    assert nearest.point == "splitter"


def test_the_tighter_of_two_limits_at_one_point() -> None:
    stages = [AMPLIFIED[0], receiver("receiver", noise_figure_db=6.0, input_limit_dbm=-15.0)]
    load = work_out(stages, signals(-40.0)).loads[1]
    assert (load.limit_dbm, load.limited_by, load.headroom_db) == (-15.0, "receiver", pytest.approx(5.0))


def test_no_limit_no_headroom() -> None:
    assert chain.least_headroom(work_out(PLAIN, [FIELD])) is None


def test_others_load_the_stages_but_are_no_service() -> None:
    other = FeedSignal("own output", 700.0, -10.0, 8.0)
    alone, loaded = (work_out(AMPLIFIED, signals(-50.0), others=others) for others in ((), (other,)))
    assert loaded.levels == alone.levels
    assert loaded.services == ("S0",)
    assert (alone.loads[1].strongest, loaded.loads[1].strongest) == ("S0", "own output")
    assert alone.loads[1].total_dbm == pytest.approx(-30.0)
    assert loaded.loads[1].total_dbm == pytest.approx(10.0, abs=0.001)


def test_a_filter_takes_the_load_off() -> None:
    filter_ = channel_filter("filter", 1.0, passband_mhz=(496.0, 504.0), rejection_db=40.0)
    other = FeedSignal("own output", 700.0, -10.0, 8.0)
    result = work_out([filter_, *AMPLIFIED], signals(-50.0), others=[other])
    assert result.loads[2].total_dbm == pytest.approx(-28.0, abs=2.0)
    assert result.loads[2].headroom_db == pytest.approx(28.0, abs=2.0)


def test_what_costs_most_noise() -> None:
    assert chain.noisiest_stage(work_out(PLAIN, [FIELD]), "A").point == "splitter"
    assert chain.noisiest_stage(work_out(AMPLIFIED, [FIELD]), "A").point == "amplifier"


@given(st.lists(st.floats(0.0, 20.0), min_size=1, max_size=5), st.floats(0.0, 15.0))
def test_steps_add_up_and_quality_only_falls(losses_db: list[float], noise_figure_db: float) -> None:
    stages = [feeder(f"f{i}", loss) for i, loss in enumerate(losses_db)]
    rows = chain.waterfall(
        work_out([*stages, receiver("receiver", noise_figure_db=noise_figure_db)], [FIELD]), "A"
    )
    assert sum(row.step_db for row in rows) == pytest.approx(rows[-1].level_dbm - rows[0].level_dbm)
    ratios = [row.carrier_to_noise_db for row in rows]
    assert all(after <= before + 1e-9 for before, after in itertools.pairwise(ratios))


@given(st.lists(st.floats(-90.0, -10.0), min_size=1, max_size=6))
def test_every_further_service_takes_headroom(levels_dbm: list[float]) -> None:
    fewer, more = (work_out(AMPLIFIED, signals(*levels)) for levels in (levels_dbm, [*levels_dbm, -60.0]))
    assert _least(more) < _least(fewer)


def _least(result: Cascade) -> float:
    nearest = chain.least_headroom(result)
    assert nearest is not None
    assert nearest.headroom_db is not None
    return nearest.headroom_db


@pytest.mark.parametrize(
    ("stages", "services", "message"),
    [
        ([], [FIELD], "number of stages of the feed chain is 0; allowed: at least the receiver"),
        (PLAIN, [], "number of services in the feed chain is 0; allowed: at least one"),
        (PLAIN, [FIELD, FIELD], "service name in the feed chain is 'A' more than once; allowed: each once"),
        ([PLAIN[0], *PLAIN], [FIELD], "stage name of the feed chain is 'feeder' more than once"),
        (PLAIN[:2], [FIELD], "last stage of the feed chain is 'splitter'; allowed: the receiver; list the"),
        (PLAIN[::-1], [FIELD], "last stage of the feed chain is 'receiver'; allowed: the receiver; list"),
    ],
)
def test_chain_refused(stages: list[Stage], services: list[FeedSignal], message: str) -> None:
    with pytest.raises(RangeError) as caught:
        work_out(stages, services)
    assert str(caught.value).startswith(message)


def test_unknown_service() -> None:
    result = work_out(PLAIN, [FIELD])
    with pytest.raises(RangeError, match="service of the cascade is 'B'; allowed: A"):
        chain.waterfall(result, "B")


def test_signal_refused() -> None:
    with pytest.raises(RangeError, match=r"level_dbm of feed signal 'A' is nan; allowed: -200 to 60"):
        FeedSignal("A", 600.0, float("nan"), 8.0)


def test_division_among_receivers() -> None:
    """Common practice, no source: 6 dB and its excess for a four-way splitter of couplers."""
    stages = [passive_splitter("splitter", 4, excess_loss_db=0.5), receiver("r", noise_figure_db=6.0)]
    assert chain.receiver_input(work_out(stages, [FIELD]), "A").step_db == pytest.approx(-6.52, abs=0.005)
