"""What each network on one frequency gives and takes: whom its sums serve, and whom its echoes cost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from combe.answers.cover_run import CoverRun, fields_by_tile
from combe.answers.one_frequency import Radiated, network_of, radiated_at, timing_of
from combe.planning import Census, Mask, people_where
from combe.project import Project, SingleFrequencyNetwork
from combe.reception import Field, NetworkGain, gain_of_network

_MOST_SPREAD_SHARE: Final = 0.99
_FARTHEST_DB: Final = -99.0
"""Where all echoes disturb more than they are of use the margin is −inf, which no map can show."""


@dataclass(frozen=True)
class MemberTime:
    """A member of a network, and when it radiates the service."""

    station: str
    radiated: Radiated


@dataclass(frozen=True)
class NetworkEffect:
    """One service of a network on one frequency, all its stations on the air.

    Of each place the best aerial counts, the one whose station gives most margin. ``served_by_sum`` are
    served, and would not be by that station's own field with the same interference; ``hurt`` are unserved,
    and would be served if echoes that receivers cannot use did not disturb. ``gain_db`` is the median gain
    over served cells, ``spread_us`` the delay spread that 99 % of them keep. People are None in a study
    without them. Maps (rows, columns) are NaN where there is no prediction.
    """

    network: str
    service: str
    channel: int
    symbols: str
    members: tuple[MemberTime, ...]
    cells_served_by_sum: int
    cells_hurt: int
    people_served_by_sum: float | None
    people_hurt: float | None
    gain_db: float
    spread_us: float
    gain_map_db: Field = field(repr=False, compare=False)
    spread_map_us: Field = field(repr=False, compare=False)
    hurt_map_db: Field = field(repr=False, compare=False)


def network_effects(project: Project, run: CoverRun, census: Census | None) -> tuple[NetworkEffect, ...]:
    """Return what each network on one frequency does to each of its services; none for others."""
    return tuple(
        _effect(project, run, census, network, emissions) for network, emissions in _grouped(project, run)
    )


def _grouped(project: Project, run: CoverRun) -> Iterator[tuple[SingleFrequencyNetwork, list[int]]]:
    """Return the emissions of each service of each network that add: two or more on one channel."""
    found: dict[tuple[str, str, int], list[int]] = {}
    for index, emission in enumerate(run.judges.emissions):
        service = run.radiated[index].service
        if emission.one_frequency is not None:
            key = (emission.one_frequency.network, service.name, service.channel)
            found.setdefault(key, []).append(index)
    for emissions in found.values():
        network = network_of(project, run.radiated[emissions[0]].station)
        if network is not None and len(emissions) > 1:
            yield network, emissions


def _effect(
    project: Project,
    run: CoverRun,
    census: Census | None,
    network: SingleFrequencyNetwork,
    emissions: list[int],
) -> NetworkEffect:
    best = _best(run, emissions)
    margin_db, gain_db = best.margin_db, best.noise_margin_db - best.alone_db
    served = np.greater_equal(margin_db, 0.0)
    by_sum = served & (margin_db - gain_db < 0.0)
    hurt = np.less(margin_db, 0.0) & (best.unharmed_db >= 0.0)
    people_by_sum, people_hurt = people_where(census, (by_sum, hurt))
    service = run.radiated[emissions[0]].service
    timing = timing_of(project, network, service)
    stations = [run.radiated[each].station for each in emissions]
    return NetworkEffect(
        network=network.name,
        service=service.name,
        channel=service.channel,
        symbols=timing.words if timing else "",
        members=tuple(
            MemberTime(each.name, radiated_at(project, network, each, service)) for each in stations
        ),
        cells_served_by_sum=int(by_sum.sum()),
        cells_hurt=int(hurt.sum()),
        people_served_by_sum=people_by_sum,
        people_hurt=people_hurt,
        gain_db=_quantile(gain_db, served, 0.5),
        spread_us=_quantile(best.spread_us, served, _MOST_SPREAD_SHARE),
        gain_map_db=gain_db,
        spread_map_us=best.spread_us,
        hurt_map_db=np.where(
            np.isnan(margin_db), np.nan, np.where(hurt, -np.maximum(margin_db, _FARTHEST_DB), -1.0)
        ),
    )


def _quantile(values: Field, where: Mask, share: float) -> float:
    chosen = values[where & ~np.isnan(values)]
    return float(np.quantile(chosen, share)) if chosen.size else float("nan")


def _best(run: CoverRun, emissions: list[int]) -> NetworkGain:
    """Return what the network does to the best aerial in each cell; alone, the best of all its stations is.

    Two aerials may be equally good that look at two stations in one line, of which one hardly arrives: what
    the sum gains is counted from the stronger.
    """
    best: NetworkGain | None = None
    for emission in emissions:
        gain = _gain(run, emission)
        if best is None:
            best = gain
            continue
        # Of equals the first; one without prediction is never better.
        better = np.greater(gain.margin_db, best.margin_db)
        better |= np.isnan(best.margin_db) & ~np.isnan(gain.margin_db)
        alone_db = np.fmax(best.alone_db, gain.alone_db)
        chosen = NetworkGain(*(np.where(better, new, old) for new, old in zip(gain, best, strict=True)))
        best = chosen._replace(alone_db=alone_db)
    assert best is not None, "a network has emissions"
    return best


def _gain(run: CoverRun, emission: int) -> NetworkGain:
    """Return what its network does to an emission, tile by tile."""
    parts = [gain_of_network(run.judges, each, emission) for each in fields_by_tile(run, emission)]
    return NetworkGain(*(np.concatenate(each) for each in zip(*parts, strict=True)))
