"""Harm of a relay's output on a channel: to others' public, to its own, and of relays to one another.

The public lives at scattered places. Whoever else is on the air, a place here and a cell of a map are judged
by the same kernels, so they are judged alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.reception import (
    Disturber,
    Emission,
    Partners,
    Protection,
    Rules,
    factor_of,
    fields_at,
    judge_emission,
    make_judges,
    pair_protection,
    partners_from,
)

Mask = npt.NDArray[np.bool_]

_FAR_UNDER_NOISE_DB: Final = 40.0
"""An interferer so far under the noise lifts it by 0.0004 dB."""


@dataclass(frozen=True)
class Signal:
    """A service of a station on a channel, with its fields at the places.

    ``emission`` says all else of it; ``median_dbuv_m`` and ``at_time_dbuv_m`` (n,) are its fields for the
    time of wanted and of interfering signals, NaN without prediction.
    """

    emission: Emission
    channel: int
    median_dbuv_m: FloatArray
    at_time_dbuv_m: FloatArray


@dataclass(frozen=True)
class Public:
    """Places with people and the rules by which they are judged.

    ``x_m``, ``y_m`` (n,) in the coordinates of the emissions, ``people`` (n,). ``cross_polarization`` tells
    whether home aerials hold off the other polarization.
    """

    x_m: FloatArray
    y_m: FloatArray
    people: FloatArray
    rules: Rules
    cross_polarization: bool = True


class Margin(NamedTuple):
    """Margin [dB] at each place (n,), NaN without prediction; where an interferer has none, ``unknown``."""

    margin_db: FloatArray
    unknown: Mask


class Service(NamedTuple):
    """Who serves a service: index of the best signal (n,), −1 for none; and whether it serves."""

    server: npt.NDArray[np.int64]
    served: Mask


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
    names = dict.fromkeys([*(signal.emission.service for signal in signals), *services])
    return Before(tuple(signals), {name: best_servers(public, signals, name) for name in names})


def harm_out(public: Public, before: Before, added: Sequence[Signal]) -> tuple[HarmTo, ...]:
    """Return whom added signals harm among the public of the settled stations.

    Each service that any of them may disturb is listed, with 0 where nobody falls below.
    """
    harm = []
    for index, victim in enumerate(before.signals):
        if not any(_related(victim, each) for each in added):
            continue
        service = before.services[victim.emission.service]
        there = service.served & (service.server == index)
        fallen, unknown = _fallen(public, before.signals, victim, added, there)
        harm.append(HarmTo(victim.emission.station, victim.emission.service, victim.channel, fallen, unknown))
    return tuple(harm)


def harm_in(public: Public, before: Before, relay: Signal, added: Sequence[Signal] = ()) -> HarmIn:
    """Return how many people a relay would newly serve, and how many of them interference denies it."""
    hoped = _hoped_for(public, before, relay)
    if not hoped.any():
        return HarmIn(0.0, 0.0)
    here = _public_at(public, hoped)
    on_air = [_signal_at(each, hoped) for each in (*before.signals, *added)]
    judged = margins(here, _signal_at(relay, hoped), on_air)
    denied = judged.margin_db < 0.0
    parts = (denied, judged.unknown & ~denied)
    return HarmIn(float(here.people.sum()), *(float(here.people[part].sum()) for part in parts))


def pair_harm(public: Public, before: Before, one: Signal, other: Signal) -> float:
    """Return the people whom two relays take from one another, over what the settled stations take."""
    return _taken(public, before, one, other) + _taken(public, before, other, one)


def best_servers(public: Public, signals: Sequence[Signal], service: str) -> Service:
    """Return who serves a service best with all signals on the air; the first of equals."""
    best = np.full(public.people.shape, -np.inf)
    server = np.full(public.people.shape, -1, dtype=np.int64)
    for index, signal in enumerate(signals):
        if signal.emission.service == service:
            margin_db = np.nan_to_num(margins(public, signal, signals).margin_db, nan=-np.inf)
            server = np.where(margin_db > best, index, server)
            best = np.maximum(margin_db, best)
    return Service(server, best >= 0.0)


def margins(public: Public, wanted: Signal, on_air: Sequence[Signal]) -> Margin:
    """Return the margin of a signal with others on the air; those that cannot disturb it do not matter."""
    others = [each for each in on_air if _related(wanted, each) and _matters(wanted, each)]
    noise_db = noise_margin_db(public, wanted)
    if not others:
        return Margin(noise_db, np.zeros(public.people.shape, dtype=np.bool_))
    signals = [wanted, *others]
    fields = fields_at(
        public.x_m,
        public.y_m,
        np.stack([signal.median_dbuv_m for signal in signals]),
        np.stack([signal.at_time_dbuv_m for signal in signals]),
    )
    partners = _partners(public, wanted, others)
    judged = judge_emission(
        make_judges([signal.emission for signal in signals], public.rules, partners), fields, 0
    )
    # Judged margins are in single precision, that against noise in double: interference must not come out as
    # better than none.
    margin_db = np.minimum(judged.margin_db[:, 0].astype(np.float64), noise_db)
    return Margin(margin_db, (judged.unknown[:, 0] > 0) & ~np.isnan(margin_db))


def noise_margin_db(public: Public, signal: Signal) -> FloatArray:
    """Return the margin against noise alone [dB] (n,)."""
    emission, factor = signal.emission, factor_of(signal.emission, public.rules)
    return signal.median_dbuv_m - emission.minimum_dbuv_m - factor * emission.sigma_db


def _related(wanted: Signal, unwanted: Signal) -> bool:
    """Tell whether one signal may disturb another: of another station, on a channel with a ratio."""
    one, other = wanted.emission, unwanted.emission
    return other.station != one.station and pair_protection(one, other) is not None


def _protection(wanted: Signal, unwanted: Signal) -> Protection:
    ratio = pair_protection(wanted.emission, unwanted.emission)
    assert ratio is not None, "asked of related signals only"
    return ratio


def _matters(wanted: Signal, unwanted: Signal) -> bool:
    """Tell whether an interferer comes within 40 dB of the noise anywhere, or is not known somewhere."""
    ratio = _protection(wanted, unwanted)
    nuisance = np.maximum(
        unwanted.at_time_dbuv_m + ratio.tropospheric_db, unwanted.median_dbuv_m + ratio.continuous_db
    )
    # NaN is below nothing: an interferer without prediction anywhere always matters.
    return not bool(np.all(nuisance < wanted.emission.minimum_dbuv_m - _FAR_UNDER_NOISE_DB))


def _partners(public: Public, wanted: Signal, others: Sequence[Signal]) -> Partners:
    """Return the pairs of a wanted signal, the first, with each of the others; these are not judged."""
    own = []
    for index, other in enumerate(others, start=1):
        ratio = _protection(wanted, other)
        ends = wanted.emission.polarization, other.emission.polarization
        crossed = public.cross_polarization and wanted.emission.directional and ends[0] != ends[1]
        own.append(Disturber(index, ratio.tropospheric_db, ratio.continuous_db, crossed))
    return partners_from([own, *([] for _ in others)])


def _hoped_for(public: Public, before: Before, relay: Signal) -> Mask:
    """Return where a relay would newly serve against noise alone (n,)."""
    service = before.services[relay.emission.service]
    return np.greater_equal(noise_margin_db(public, relay), 0.0) & ~service.served


def _taken(public: Public, before: Before, victim: Signal, added: Signal) -> float:
    """Return the newly served people of a relay that another one makes unserved."""
    if not _related(victim, added):
        return 0.0
    hoped = _hoped_for(public, before, victim)
    if not hoped.any():
        return 0.0
    here, own = _public_at(public, hoped), _signal_at(victim, hoped)
    settled = [_signal_at(signal, hoped) for signal in before.signals]
    gained = margins(here, own, settled).margin_db >= 0.0
    # Only people whom the relay gains beside the settled stations are there to be taken.
    kept = margins(here, own, [*settled, _signal_at(added, hoped)]).margin_db >= 0.0
    return float(here.people[gained & ~kept].sum())


def _fallen(
    public: Public, settled: Sequence[Signal], victim: Signal, added: Sequence[Signal], there: Mask
) -> tuple[float, float]:
    """Return the people whom added signals take from a victim, and of whom only these leave nobody to say."""
    if not there.any():
        return 0.0, 0.0
    here = _public_at(public, there)
    on_air = [_signal_at(each, there) for each in (*settled, *added)]
    after = margins(here, _signal_at(victim, there), on_air)
    before = margins(here, _signal_at(victim, there), on_air[: len(settled)])
    fallen = after.margin_db < 0.0
    unknown = after.unknown & ~before.unknown & ~fallen
    return float(here.people[fallen].sum()), float(here.people[unknown].sum())


def _public_at(public: Public, chosen: Mask) -> Public:
    """Return the public of some places only."""
    return replace(public, x_m=public.x_m[chosen], y_m=public.y_m[chosen], people=public.people[chosen])


def _signal_at(signal: Signal, chosen: Mask) -> Signal:
    """Return a signal at some places only."""
    return replace(
        signal,
        median_dbuv_m=signal.median_dbuv_m[chosen],
        at_time_dbuv_m=signal.at_time_dbuv_m[chosen],
    )
