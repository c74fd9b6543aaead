"""The harm that a change of the network does to the stations that served before: in people, by station."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.planning.accounts import Carry, FloatArray, people_in
from combe.planning.change import Codes
from combe.reception.emission import Emission
from combe.reception.judge_cells import Fields, Judgement, Judges, Mask, judge_cells, margin_of_named
from combe.reception.judge_scene import Indices

FATES: Final = ("not served before", "kept", "lost", "moved", "unknown")
"""Fate of a place whose best station before is looked at again after the change.

kept: that station still serves. lost: nobody serves. moved: it serves no longer, but another station does.
unknown: it serves for all that is known, but more of its interferers than before have no prediction there."""

_KEPT, _LOST, _MOVED, _UNKNOWN = 1, 2, 3, 4


class Change(NamedTuple):
    """One service judged before and after a change, and the fate of each cell (a place in :data:`FATES`)."""

    before: Judgement
    after: Judgement
    fate: Codes


@dataclass(frozen=True)
class Harm:
    """What a change does to the public of one station's service; people, not rounded.

    ``served_before`` are those whose best station it was. They are ``kept``, ``lost``, ``moved`` or
    ``unknown``, as :data:`FATES` says.
    """

    station: str
    service: str
    served_before: float
    kept: float
    lost: float
    moved: float
    unknown: float

    @property
    def harmed(self) -> float:
        """People for whom the station falls below the standard, whoever serves them afterwards."""
        return self.lost + self.moved


def judge_change(
    judges: Judges, fields: Fields, service: str, *, before_air: Mask, after_air: Mask
) -> Change:
    """Judge one service over a tile before and after a change.

    Parameters
    ----------
    judges, fields, service
        As :func:`combe.reception.judge_cells.judge_cells`.
    before_air, after_air : bool arrays (emissions,)
        Which emissions are on air.

    Raises
    ------
    RangeError
        As there.
    """
    before = judge_cells(judges, fields, service, before_air)
    after = judge_cells(judges, fields, service, after_air)
    named: Indices = np.where(before.served, before.server, -1).astype(np.int16)
    margin, unknown = margin_of_named(judges, fields, named, after_air)
    still = np.greater_equal(margin, 0.0)
    fate = np.where(still, np.where(unknown > before.unknown, _UNKNOWN, _KEPT), _LOST)
    fate = np.where(~still & after.served, _MOVED, fate)
    return Change(before, after, np.where(named >= 0, fate, 0).astype(np.uint8))


def harm_by_station(
    emissions: Sequence[Emission], server: Indices, fate: Codes, counts: FloatArray, carry: Carry
) -> tuple[Harm, ...]:
    """Count the harm to each station that served somebody before, the most harmed first.

    Parameters
    ----------
    emissions : sequence of Emission
    server : int array (rows, columns)
        Index of the best emission before, of all the grid.
    fate : uint8 array (rows, columns)
        Of :class:`Change`.
    counts, carry
        People, as :func:`combe.planning.accounts.account_of`.

    Returns
    -------
    tuple of Harm
        Also those who suffer none: their ``harmed`` is 0 because it was counted.

    Raises
    ------
    RangeError
        For shapes that differ.
    """
    if server.shape != fate.shape:
        raise RangeError("shape of the fates", fate.shape, f"{server.shape}, as the servers")
    people = np.asarray(counts, dtype=np.float64)
    served: npt.NDArray[np.bool_] = fate > 0
    found = [
        _harm(emissions[index], (server == index) & served, fate, people, carry)
        for index in np.unique(server[served]).tolist()
    ]
    return tuple(sorted(found, key=lambda each: (-each.harmed, -each.unknown, each.station)))


def _harm(emission: Emission, public: Mask, fate: Codes, people: FloatArray, carry: Carry) -> Harm:
    kept, lost, moved, unknown = (
        float(people_in(public & (fate == each), people, carry).sum())
        for each in (_KEPT, _LOST, _MOVED, _UNKNOWN)
    )
    return Harm(emission.station, emission.service, kept + lost + moved + unknown, kept, lost, moved, unknown)
