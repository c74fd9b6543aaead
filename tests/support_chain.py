"""Signals of feed chains, for the tests of reception."""

from __future__ import annotations

from combe.decibels import power_dbm_from_field
from combe.reception.cascade import FeedSignal


def feed_signal(
    name: str, *, frequency_mhz: float, field_dbuv_m: float, gain_dbi: float, bandwidth_mhz: float
) -> FeedSignal:
    """Return the signal that a field leaves at the aerial's terminals."""
    level_dbm = power_dbm_from_field(field_dbuv_m, frequency_mhz, gain_dbi)
    return FeedSignal(name, frequency_mhz, level_dbm, bandwidth_mhz)
