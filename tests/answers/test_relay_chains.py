"""Relays fed by relays: quality accumulates, the whole chain has a verdict, and the costliest hop a name."""

import math

import pytest

from combe.answers.feed import feed_report
from combe.decibels import ratio_from_db
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, SECOND
from support_study import edited, write_study

EQUIPMENT = ("aerial_gain_dbd = 10.0", "aerial_gain_dbd = 10.0\nequipment_db = {}")


def report_of(folder, text):
    return feed_report(load_project(write_study(folder, text)))


def first_of(second: str, first: str) -> str:
    """Return the study with the second relay's station before the first one's in the file."""
    at = first.index('[[stations]]\nname = "Upper Combe"')
    return first[:at] + second.lstrip() + "\n" + first[at:]


def test_noise_of_two_hops_adds(tmp_path):
    upper, lower = report_of(tmp_path, DIGITAL + SECOND).relays
    assert upper.services[0].chain is None, "one hop of perfect equipment is no chain"
    service = lower.services[0]
    assert [hop.name for hop in service.hops] == ["Long Moor", "Upper Combe", "Lower Combe"]
    at_time = [each.judged.carrier_to_noise_db - each.budget.fade_db for each in (upper.services[0], service)]
    total = -10.0 * math.log10(sum(ratio_from_db(-ratio) for ratio in at_time))
    assert service.chain.end_db == pytest.approx(total, abs=1e-9)
    assert service.mer_at_time_db == pytest.approx(total, abs=1e-9)
    assert service.chain.required_db == 26.0
    assert service.chain.costliest == ("Upper Combe" if at_time[0] < at_time[1] else "Lower Combe")


def test_the_order_of_the_file_does_not_matter(tmp_path):
    lower, upper = report_of(tmp_path, first_of(SECOND, DIGITAL)).relays
    assert (lower.relay.name, upper.relay.name) == ("Lower Combe", "Upper Combe")
    (plain, other) = report_of(tmp_path, DIGITAL + SECOND).relays
    assert lower.services[0].chain.end_db == pytest.approx(other.services[0].chain.end_db, abs=1e-9)
    assert upper.verdict == plain.verdict


def test_poor_equipment_of_the_first_hop_fails_the_chain_and_is_named(tmp_path):
    text = edited((EQUIPMENT[0], EQUIPMENT[1].format("22.0")), text=DIGITAL) + SECOND
    upper, lower = report_of(tmp_path, text).relays
    for service in (upper.services[0], lower.services[0]):
        assert service.causes == ("relay chain",)
        assert service.chain.costliest == "Upper Combe"
    assert "only Upper Combe costs anything" in upper.services[0].reason
    assert "Upper Combe costs most" in lower.services[0].reason


def test_a_relay_that_regenerates_forgets_what_was_before(tmp_path):
    poor = (EQUIPMENT[0], EQUIPMENT[1].format("22.0"))
    fresh = "[stations.output]\naerial_gain_dbd = 10.0\nequipment_db = 36.0\nregenerates = true\n"
    text = edited(poor, text=DIGITAL) + SECOND + fresh
    _, lower = report_of(tmp_path, text).relays
    assert lower.services[0].chain.end_db == pytest.approx(36.0)
    assert lower.services[0].verdict == "passes"
    # 22 dB sent and a good hop still stand the 20 dB that bits need; 18 dB do not.
    worse = edited((EQUIPMENT[0], EQUIPMENT[1].format("18.0")), text=DIGITAL) + SECOND + fresh
    _, lower = report_of(tmp_path, worse).relays
    assert lower.services[0].chain.broken_at == "Lower Combe"
    assert "cannot regenerate" in lower.services[0].reason
