"""Checks of chains of relays: quality that wears away, cost of each hop, regeneration."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combe.errors import RangeError
from combe.prediction.over_time import ShareOfYear
from combe.reception.quality import Hop, RelayChain, judge_chain

PARENT = Hop("parent", None, equipment_db=40.0)
FIRST = Hop("first", 33.0)
SECOND = Hop("second", 33.0)

ratio = st.floats(10.0, 60.0)
chains = st.lists(st.tuples(ratio, ratio), min_size=2, max_size=6)


def built(parts: list[tuple[float, float]]) -> list[Hop]:
    return [Hop(f"h{i}", feed, equipment_db=own) for i, (feed, own) in enumerate(parts)]


def judged(hops: list[Hop], required_db: float = 20.0) -> RelayChain:
    return judge_chain(hops, required_db=required_db)


def test_noise_of_the_hops_adds() -> None:
    """1/MER = sum of 1/MERi: 40, 33 and 33 dB leave 29.58 dB; worked in double."""
    chain = judged([PARENT, FIRST, SECOND])
    assert chain.end_db == pytest.approx(29.58, abs=0.005)
    assert [row.sent_db for row in chain.hops] == pytest.approx([40.0, 32.21, 29.58], abs=0.005)
    assert [row.received_db for row in chain.hops] == pytest.approx([math.inf, 32.21, 29.58], abs=0.005)
    assert [row.own_db for row in chain.hops] == pytest.approx([40.0, 33.0, 33.0])
    assert chain.verdict == "passes"


def test_cost_is_what_a_perfect_hop_would_give_back() -> None:
    chain = judged([PARENT, FIRST, replace(SECOND, carrier_to_noise_db=25.0)])
    assert chain.costliest == "second"
    assert chain.hops[2].cost_db == pytest.approx(32.21 - chain.end_db, abs=0.005)
    assert "second costs most" in chain.reason


def test_interference_counts_like_noise() -> None:
    together = judged([PARENT, replace(FIRST, carrier_to_interference_db=30.0)])
    apart = judged([PARENT, FIRST, Hop("echo", 30.0)])
    assert together.end_db == pytest.approx(apart.end_db)


def test_viewers_need_more() -> None:
    """Required 20 dB and a modulation error of 33 dB: 0.223 dB more; worked."""
    assert judged([Hop("parent", None, equipment_db=33.0)]).degradation_db == pytest.approx(0.223, abs=0.0005)
    assert judged([Hop("parent", None, equipment_db=19.0)]).degradation_db == math.inf


def test_regeneration_forgets_what_was_before() -> None:
    anew = replace(SECOND, equipment_db=35.0, regenerates=True)
    chain = judged([PARENT, FIRST, anew])
    assert chain.end_db == pytest.approx(35.0)
    assert chain.hops[0].cost_db == pytest.approx(0.0)
    assert chain.hops[2].received_db == pytest.approx(29.58, abs=0.005)
    assert (chain.verdict, chain.broken_at) == ("passes", None)


def test_regeneration_needs_its_feed() -> None:
    anew = Hop("anew", 18.0, equipment_db=35.0, regenerates=True)
    chain = judged([PARENT, anew, FIRST])
    assert (chain.verdict, chain.broken_at) == ("fails", "anew")
    assert chain.reason == "anew cannot regenerate: its feed is short of what it needs"
    assert judge_chain([PARENT, anew], required_db=20.0, regeneration_required_db=17.0).verdict == "passes"


def test_failing_chain() -> None:
    chain = judged([PARENT, replace(FIRST, carrier_to_noise_db=22.0), SECOND], required_db=24.0)
    assert chain.verdict == "fails"
    assert chain.margin_db < 0.0
    assert chain.reason == "the chain ends 2.4 dB short of what is asked; first costs most"


def test_a_perfect_chain() -> None:
    chain = judged([Hop("parent", None)])
    assert (chain.end_db, chain.verdict, chain.hops[0].cost_db) == (math.inf, "passes", 0.0)
    assert chain.degradation_db == pytest.approx(0.0)


@given(chains)
def test_the_order_of_transparent_hops_does_not_matter(parts: list[tuple[float, float]]) -> None:
    assert judged(built(parts)).end_db == pytest.approx(judged(built(parts[::-1])).end_db, abs=1e-9)


@given(chains)
def test_quality_only_falls_and_costs_are_not_negative(parts: list[tuple[float, float]]) -> None:
    chain = judged(built(parts))
    sent = [row.sent_db for row in chain.hops]
    assert sent == sorted(sent, reverse=True)
    assert all(row.cost_db >= -1e-9 for row in chain.hops)
    worst = min(chain.hops, key=lambda row: row.own_db)
    assert chain.costliest == worst.name or max(row.cost_db for row in chain.hops) == pytest.approx(
        worst.cost_db
    )


def test_refused() -> None:
    with pytest.raises(RangeError, match="number of hops of the relay chain is 0; allowed: at least one"):
        judged([])
    with pytest.raises(RangeError, match="name of a hop is 'first' more than once"):
        judged([FIRST, FIRST])
    with pytest.raises(RangeError, match=r"equipment_db of hop 'x' is 200.0; allowed: -30 to 120"):
        Hop("x", None, equipment_db=200.0)


def test_shares_of_the_year_multiply() -> None:
    """Feeds that stand for 99.9 and 99 % of the year, apart from one another, stand together for 98.901 %."""
    first, second = (
        replace(hop, stands_for=ShareOfYear(percent, bounded=False))
        for hop, percent in ((FIRST, 99.9), (SECOND, 99.0))
    )
    chain = judged([PARENT, first, second])
    assert chain.stands_for is not None
    assert chain.stands_for.percent == pytest.approx(98.901)
    assert not chain.stands_for.bounded
    assert [hop.stands_for for hop in chain.hops] == [None, first.stands_for, second.stands_for]


def test_a_share_that_is_not_known_leaves_that_of_the_chain_unknown() -> None:
    known = replace(FIRST, stands_for=ShareOfYear(99.999, bounded=True))
    assert judged([PARENT, known, SECOND]).stands_for is None
    alone = judged([PARENT, known]).stands_for
    assert alone == ShareOfYear(pytest.approx(99.999), bounded=True)
