"""Outgoing harm: who is served by other stations, and falls below the standard because of a relay."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from combe.reception.service import Field, served_mask
from combe.study.contest import Contest, Judged, emissions_where, everyone, judged
from combe.study.people_count import Census, people_where


@dataclass(frozen=True)
class Harm:
    """What one relay does to one service of one other station.

    Of the cells and the people that the station serves (as the best one) with the relay off the air:
    ``fall_below`` no longer reach the standard from that station once the relay is on. Of these,
    ``served_otherwise`` get the service from some station all the same, the relay perhaps, and
    ``left_without`` do not. ``not_known`` live where the relay or another interferer has no prediction, so
    that nobody can say. People are None in a study without them.
    """

    relay: str
    station: str
    service: str
    channel: int
    cells: int
    fall_below: float | None
    served_otherwise: float | None
    left_without: float | None
    not_known: float | None


def outgoing_harm(contest: Contest, census: Census | None) -> tuple[Harm, ...]:
    """Return the harm of every relay to every service of another station that it may disturb at all.

    Each relay is judged against all other stations on the air. A service that it may disturb and does not
    is listed with 0.
    """
    relays = dict.fromkeys(each.station.name for each in contest.radiated if each.station.role == "relay")
    return tuple(harm for relay in relays for harm in _harm_of(contest, relay, census))


def _harm_of(contest: Contest, relay: str, census: Census | None) -> list[Harm]:
    own = {index for index, each in enumerate(contest.radiated) if each.station.name == relay}
    victims = [
        index
        for index in range(len(contest.radiated))
        if index not in own and contest.disturbers[index] & own
    ]
    return [_harm(contest, relay, own, victim, census) for victim in victims]


def _harm(contest: Contest, relay: str, own: set[int], victim: int, census: Census | None) -> Harm:
    station, service = contest.radiated[victim]
    without, whole = everyone(contest) - own, everyone(contest)
    others = [each for each in emissions_where(contest, service=service.name) if each not in own]
    served = _best_server(contest, others, victim, without)
    after = judged(contest, victim, whole)
    fall = served & np.less(after.margin_db, 0.0)
    again = _anybody(contest, service.name)
    masks = (fall, fall & again, fall & ~again, served & (after.unknown > 0))
    people = people_where(census, masks)
    return Harm(relay, station.name, service.name, service.channel, int(fall.sum()), *people)


def _best_server(
    contest: Contest, others: list[int], victim: int, on_air: frozenset[int]
) -> npt.NDArray[np.bool_]:
    """Return where the victim serves, and serves best; the earlier one counts as best of equals."""
    margin_db = judged(contest, victim, on_air).margin_db
    best = served_mask(margin_db, 0.0)
    for other in others:
        if other != victim:
            rival_db = _known(judged(contest, other, on_air))
            best &= (rival_db <= margin_db) if other > victim else (rival_db < margin_db)
    return best


def _anybody(contest: Contest, service: str) -> npt.NDArray[np.bool_]:
    """Return where any station serves, with all on the air."""
    masks = [
        served_mask(judged(contest, each, everyone(contest)).margin_db, 0.0)
        for each in emissions_where(contest, service=service)
    ]
    found: npt.NDArray[np.bool_] = np.logical_or.reduce(masks)
    return found


def _known(found: Judged) -> Field:
    """Return a margin, −inf where there is no prediction."""
    return np.where(np.isnan(found.margin_db), -np.inf, found.margin_db)
