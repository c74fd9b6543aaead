"""Harm of channels, counted by hand at a few places."""

import math
from dataclasses import replace

import numpy as np
import pytest

from combe.planning.channels.choosing import assign, joint_harm, rank_channels
from combe.planning.channels.harm import (
    Public,
    Signal,
    before_relays,
    best_servers,
    harm_in,
    harm_out,
    margins,
    pair_harm,
)
from combe.reception.emission import Emission
from combe.reception.judges import Fields, Rules, make_judges
from combe.reception.protection_ratios import Channel
from support_judging import judged_map

X_M = np.array([0.0, 1e3, 2e3, 3e3, 4e3, 5e3])
PEOPLE = np.array([1.0, 10.0, 100.0, 1000.0, 10_000.0, 100_000.0])
PUBLIC = Public(X_M, np.zeros(6), PEOPLE, Rules(50.0, "power sum", neglect_db=0.0))


def signal(station, service, channel, fields, *, x_m=-20e3, polarization="horizontal", later_db=0.0):
    emission = Emission(
        station, service, Channel("DVB", 306.0 + 8.0 * channel, 8.0), polarization, x_m, 0.0, 45.0, 20.0, 5.5
    )
    levels = np.array(fields, dtype=float)
    return Signal(emission, channel, levels, levels + later_db)


PARENT = signal("Parent", "A", 40, [70.0, 65.0, 60.0, 50.0, 40.0, 30.0])
"""45 dB(µV/m) serve half of the places: the first four."""


def relay(channel, fields=(20.0, 26.0, 30.0, 60.0, 70.0, 80.0), **more):
    return signal("Relay", "A", channel, fields, **more)


BEFORE = before_relays(PUBLIC, [PARENT], ["A"])


def test_before_the_relay():
    assert BEFORE.services["A"].served.tolist() == [True] * 4 + [False] * 2
    assert BEFORE.services["A"].server.tolist() == [0] * 6


def test_a_used_channel_harms_the_people_counted_by_hand():
    # Ahead of the aerial nothing is held off: the parent needs the relay's field and 20 dB over it. Places
    # 0 to 2 have 70/65/60 against 40/46/50 and stand; place 3 has 50 against 80.
    (harm,) = harm_out(PUBLIC, BEFORE, [relay(40)])
    assert (harm.station, harm.service, harm.channel) == ("Parent", "A", 40)
    assert harm.people == 1000.0
    # 16 dB more from the relay: 65 - 62 and 60 - 66 leave place 1 in service, and place 2 out of it.
    (harm,) = harm_out(PUBLIC, BEFORE, [relay(40, (20.0, 42.0, 46.0, 60.0, 70.0, 80.0))])
    assert harm.people == 1100.0


def test_the_aerial_holds_off_a_relay_behind_it():
    # From the other side BT.419-3 takes 16 dB: 46 + 20 - 16 = 50 under 60, and 60 + 4 over 50.
    (harm,) = harm_out(PUBLIC, BEFORE, [relay(40, (20.0, 42.0, 46.0, 60.0, 70.0, 80.0), x_m=20e3)])
    assert harm.people == 1000.0


def test_a_channel_out_of_reach_harms_nobody_and_is_not_even_listed():
    assert harm_out(PUBLIC, BEFORE, [relay(45)]) == ()


def test_the_next_channel_is_listed_with_nought():
    (harm,) = harm_out(PUBLIC, BEFORE, [relay(41)])
    assert (harm.people, harm.not_known) == (0.0, 0.0)


def test_an_interferer_without_prediction_is_told_and_not_taken_as_harmless():
    (harm,) = harm_out(PUBLIC, BEFORE, [relay(40, (20.0, math.nan, 30.0, 60.0, 70.0, 80.0))])
    assert (harm.people, harm.not_known) == (1000.0, 10.0)


def test_harm_in_is_what_interference_denies_to_the_newly_served():
    # Places 4 and 5 are new; the parent's 40 and 30 with 20 dB ask 60 and 50 of 70 and 80.
    own = harm_in(PUBLIC, BEFORE, relay(40))
    assert (own.hoped, own.denied) == (110_000.0, 0.0)
    own = harm_in(PUBLIC, BEFORE, relay(40, (20.0, 26.0, 30.0, 60.0, 58.0, 80.0)))
    assert (own.hoped, own.denied) == (110_000.0, 10_000.0)
    assert harm_in(PUBLIC, BEFORE, relay(45)).denied == 0.0


def test_of_its_own_public_too_it_is_told_whom_nobody_can_say_of():
    # The parent has no prediction at place 4, and at place 5 its 62 dB(µV/m) and 20 are over the relay's 80.
    parent = signal("Parent", "A", 40, [70.0, 65.0, 60.0, 50.0, math.nan, 62.0])
    before = replace(before_relays(PUBLIC, [PARENT], ["A"]), signals=(parent,))
    own = harm_in(PUBLIC, before, relay(40))
    assert (own.hoped, own.denied, own.not_known) == (110_000.0, 100_000.0, 10_000.0)
    assert joint_harm(PUBLIC, before, [relay(40)]).not_known == 10_000.0
    assert rank_channels(PUBLIC, before, {40: relay(40)}, {})[0].not_known == 10_000.0


def test_two_relays_take_from_one_another():
    one = relay(50, (0.0, 0.0, 0.0, 0.0, 60.0, 50.0))
    other = signal("Other", "A", 50, (0.0, 0.0, 0.0, 0.0, 45.0, 48.0))
    # One keeps neither place (60 - 65, 50 - 68), the other neither (45 - 80, 48 - 70).
    assert pair_harm(PUBLIC, BEFORE, one, other) == 220_000.0
    far = signal("Other", "A", 53, (0.0, 0.0, 0.0, 0.0, 45.0, 48.0))
    assert pair_harm(PUBLIC, BEFORE, one, far) == 0.0


def test_the_least_harmful_channel_comes_first():
    signals = {channel: relay(channel) for channel in (40, 45, 41)}
    ranked = rank_channels(PUBLIC, BEFORE, signals, {41: ("a caution",)})
    assert [each.channel for each in ranked] == [45, 41, 40]
    assert ranked[-1].people_harmed == 1000.0
    assert joint_harm(PUBLIC, BEFORE, [relay(40)]).people_harmed == 1000.0


def test_of_equal_harm_the_channel_that_serves_most_comes_first_and_harm_still_leads():
    weak = (20.0, 26.0, 30.0, 60.0, 40.0, 80.0)
    signals = {44: relay(44, weak), 46: relay(46), 45: relay(45), 48: relay(48), 40: relay(40)}
    ranked = rank_channels(PUBLIC, BEFORE, signals, {46: ("a caution",)})
    # 44 leaves 10 000 unserved; of the others 46 has a caution, and 40 takes a service from 1000.
    assert [each.channel for each in ranked] == [45, 48, 46, 44, 40]
    assert [each.newly_served for each in ranked] == [110_000.0, 110_000.0, 110_000.0, 100_000.0, 110_000.0]
    assert all(each.preference < 0.5 for each in ranked)


def test_the_assignment_prefers_what_serves_more_only_where_harm_is_equal():
    weak = (20.0, 26.0, 30.0, 60.0, 40.0, 80.0)
    ranked = rank_channels(PUBLIC, BEFORE, {44: relay(44, weak), 46: relay(46), 40: relay(40)}, {})
    costs = {each.channel: each.cost for each in ranked}
    assert assign([costs, costs], {}).channels == (46, 46)
    assert assign([costs, costs], {((0, 46), (1, 46)): 1.0}).channels in {(44, 46), (46, 44)}
    harmful = {44: costs[44], 40: costs[40]}
    assert assign([harmful], {}).channels == (44,)


@pytest.mark.parametrize("method", ["power sum", "schwartz-yeh", "k-lnm", "multiplication"])
def test_places_are_judged_as_cells_are(method):
    rules = Rules(70.0, method, neglect_db=0.0)
    public = replace(PUBLIC, rules=rules)
    near = signal("Near", "B", 40, [30.0, 31.0, 35.0, 36.0, 20.0, 21.0], x_m=8e3, later_db=4.0)
    crossed = signal("Crossed", "B", 40, [40.0] * 6, polarization="vertical", later_db=6.0)
    signals = [PARENT, near, crossed]
    found = margins(public, PARENT, signals).margin_db
    judges = make_judges([each.emission for each in signals], rules)
    layers = [
        np.stack([getattr(each, name) for each in signals]).astype(np.float32)[:, None, :]
        for name in ("median_dbuv_m", "at_time_dbuv_m")
    ]
    cells = judged_map(judges, Fields(X_M, np.zeros(1), *layers), "A")
    np.testing.assert_allclose(found, cells.margin_db[0], atol=2e-3)
    assert best_servers(public, signals, "A").served.tolist() == cells.served[0].tolist()
