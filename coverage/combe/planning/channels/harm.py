"""Harm of a relay's output on a channel: to others' public, to its own, and of relays to one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from combe.planning.channels.public import (
    Mask,
    Public,
    Service,
    Signal,
    at_places,
    best_servers,
    margins,
    noise_margin_db,
    related,
    signal_at,
)


class HarmTo(NamedTuple):
    """People of one station's service that fall below the standard, and of whom nobody can say."""

    station: str
    service: str
    channel: int
    people: float
    not_known: float


class HarmIn(NamedTuple):
    """People whom a relay would newly serve against noise alone, and those of them lost to interference.

    ``not_known`` are not lost as far as known, though some interferer has no prediction where they live.
    """

    hoped: float
    denied: float
    not_known: float = 0.0

    @property
    def newly_served(self) -> float:
        """People whom the relay newly serves, interference counted."""
        return self.hoped - self.denied


@dataclass(frozen=True)
class Before:
    """The stations whose channels are settled, and by service whom they serve before any relay is added."""

    signals: tuple[Signal, ...]
    services: Mapping[str, Service]


def before_relays(public: Public, signals: Sequence[Signal], services: Sequence[str]) -> Before:
    """Judge the settled stations alone, for each of some service names."""
    own = dict.fromkeys([*(each.emission.service for each in signals), *services])
    return Before(tuple(signals), {name: best_servers(public, signals, name) for name in own})


def harm_out(public: Public, before: Before, added: Sequence[Signal]) -> tuple[HarmTo, ...]:
    """Return whom added signals harm among the public of the settled stations.

    Each service that any of them may disturb is listed, with 0 where nobody falls below.
    """
    found = []
    for index, victim in enumerate(before.signals):
        if not any(related(public, victim, each) for each in added):
            continue
        service = before.services[victim.emission.service]
        there = service.served & (service.server == index)
        fall, unknown = _fallen(public, before.signals, victim, added, there)
        found.append(HarmTo(victim.emission.station, victim.emission.service, victim.channel, fall, unknown))
    return tuple(found)


def harm_in(public: Public, before: Before, relay: Signal, added: Sequence[Signal] = ()) -> HarmIn:
    """Return how many people a relay would newly serve, and how many of them interference denies it."""
    hoped = hoped_for(public, before, relay)
    if not hoped.any():
        return HarmIn(0.0, 0.0)
    here = at_places(public, hoped)
    on_air = [signal_at(each, hoped) for each in (*before.signals, *added)]
    found = margins(here, signal_at(relay, hoped), on_air)
    denied = found.margin_db < 0.0
    parts = (denied, found.unknown & ~denied)
    return HarmIn(float(here.people.sum()), *(float(here.people[part].sum()) for part in parts))


def pair_harm(public: Public, before: Before, one: Signal, other: Signal) -> float:
    """Return the people whom two relays take from one another, over what the settled stations take."""
    return _taken(public, before, one, other) + _taken(public, before, other, one)


def hoped_for(public: Public, before: Before, relay: Signal) -> Mask:
    """Return where a relay would newly serve against noise alone (n,)."""
    service = before.services[relay.emission.service]
    return np.greater_equal(noise_margin_db(public, relay), 0.0) & ~service.served


def _taken(public: Public, before: Before, victim: Signal, added: Signal) -> float:
    """Return the newly served people of a relay that another one makes unserved."""
    if not related(public, victim, added):
        return 0.0
    hoped = hoped_for(public, before, victim)
    if not hoped.any():
        return 0.0
    here, own = at_places(public, hoped), signal_at(victim, hoped)
    settled = [signal_at(each, hoped) for each in before.signals]
    gained = margins(here, own, settled).margin_db >= 0.0
    kept = margins(here, own, [*settled, signal_at(added, hoped)]).margin_db >= 0.0
    return float(here.people[gained & ~kept].sum())


def _fallen(
    public: Public, settled: Sequence[Signal], victim: Signal, added: Sequence[Signal], there: Mask
) -> tuple[float, float]:
    if not there.any():
        return 0.0, 0.0
    here = at_places(public, there)
    on_air = [signal_at(each, there) for each in (*settled, *added)]
    found = margins(here, signal_at(victim, there), on_air)
    before = margins(here, signal_at(victim, there), on_air[: len(settled)])
    fallen = found.margin_db < 0.0
    unknown = found.unknown & ~before.unknown & ~fallen
    return float(here.people[fallen].sum()), float(here.people[unknown].sum())
