"""The bearing of a receiving aerial at which the scantiest wanted signal has most margin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from combe.errors import require_range
from combe.reception.feed_interference import UnwantedSignal, WantedSignal, interference, wanted_field_dbuv_m
from combe.reception.receive_aerial import ReceiveAerial


class BearingChoice(NamedTuple):
    """The best bearing, and what it gains against looking at the parent.

    ``margin_db`` is the scantiest service's margin over all interference; ``wanted_loss_db`` the most that
    any service's wanted field loses by the turning.
    """

    bearing_deg: float
    margin_db: float
    margin_at_parent_db: float
    wanted_loss_db: float


def best_bearing(
    wanted: Sequence[WantedSignal],
    unwanted: Sequence[UnwantedSignal],
    aerial: ReceiveAerial,
    *,
    most_loss_db: float = 3.0,
    step_deg: float = 1.0,
) -> BearingChoice:
    """Search the bearing that protects the scantiest service best.

    Parameters
    ----------
    wanted : sequence of WantedSignal, (n,)
        Services of the parent, at least one; its bearing is that of the first.
    unwanted : sequence of UnwantedSignal
    aerial : ReceiveAerial
        Its own bearing is not looked at.
    most_loss_db : float
        How much of the wanted field the turning may cost [dB], 0 to 20.
    step_deg : float
        Of the search [degrees], 0.1 to 30.

    Returns
    -------
    BearingChoice
        Of equal margins the bearing nearest to the parent.

    Raises
    ------
    RangeError
        Outside those ranges.
    """
    require_range("number of wanted signals", len(wanted), 1, 1000)
    require_range("most_loss_db of the search", most_loss_db, 0.0, 20.0)
    require_range("step_deg of the search", step_deg, 0.1, 30.0)
    parent_deg = wanted[0].bearing_deg % 360.0
    at_parent = replace(aerial, bearing_deg=parent_deg)
    best = (_scantiest_db(wanted, unwanted, at_parent), 0.0, parent_deg)
    margin_at_parent_db, turns = best[0], math.floor(180.0 / step_deg)
    # From the parent outwards, and only what is better replaces: of bearings as good, the nearest to it is
    # taken.
    for turn in sorted(range(-turns, turns + 1), key=abs):
        turned = replace(aerial, bearing_deg=(parent_deg + turn * step_deg) % 360.0)
        loss_db = max(
            wanted_field_dbuv_m(each, at_parent) - wanted_field_dbuv_m(each, turned) for each in wanted
        )
        if loss_db > most_loss_db:
            continue
        margin_db = _scantiest_db(wanted, unwanted, turned)
        if margin_db > best[0] + 1e-9:
            best = (margin_db, loss_db, turned.bearing_deg)
    return BearingChoice(best[2], best[0], margin_at_parent_db, best[1])


def _scantiest_db(
    wanted: Sequence[WantedSignal], unwanted: Sequence[UnwantedSignal], aerial: ReceiveAerial
) -> float:
    return min(interference(each, unwanted, aerial).margin_db for each in wanted)
