"""Accounts of people: served before and after a change, newly served, lost, served twice; by district too."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.planning.change import DOUBTFUL, FLOWS, TWICE_AFTER, TWICE_BEFORE, Codes

FloatArray = npt.NDArray[np.float64]
Carry = Callable[[npt.NDArray[np.bool_]], npt.NDArray[np.floating[Any]]]
"""Turns a mask of grid cells into the covered fraction, 0 to 1, of each unit of the population: a cell of a
population raster, or a point. Fractions of masks that share no cell must add up to that of their union."""

ELSEWHERE: Final = "elsewhere"
"""Name of the people who live in no district."""

_LARGEST_STRAY: Final = 1e-4
_BITS: Final = (TWICE_BEFORE, TWICE_AFTER, DOUBTFUL)


@dataclass(frozen=True)
class Account:
    """People of one area by what a change does to them; numbers of people, not rounded.

    ``flows`` (3, 3): rows are the time before, columns the time after, each served, unserved and without
    prediction. ``twice_before``, ``twice_after``: served by two stations or more. ``doubtful``: counted as
    served after, while an interferer has no prediction at their place.
    """

    flows: FloatArray
    twice_before: float
    twice_after: float
    doubtful: float

    @property
    def total(self) -> float:
        """All people of the area inside the grid."""
        return float(self.flows.sum())

    @property
    def served_before(self) -> float:
        """People served before: kept, lost, and those of whom nothing is known after."""
        return float(self.flows[0].sum())

    @property
    def served_after(self) -> float:
        """People served after: kept, newly served, and those of whom nothing was known before."""
        return float(self.flows[:, 0].sum())

    @property
    def kept(self) -> float:
        """People served before and after."""
        return float(self.flows[0, 0])

    @property
    def newly_served(self) -> float:
        """People served after who are known to have been unserved before."""
        return float(self.flows[1, 0])

    @property
    def lost(self) -> float:
        """People served before who are known to be unserved after."""
        return float(self.flows[0, 1])

    @property
    def unserved_after(self) -> float:
        """People known to be unserved after."""
        return float(self.flows[:, 1].sum())

    @property
    def unknown_before(self) -> float:
        """People without prediction before."""
        return float(self.flows[2].sum())

    @property
    def unknown_after(self) -> float:
        """People without prediction after."""
        return float(self.flows[:, 2].sum())


@dataclass(frozen=True)
class AccountRow:
    """The account of one service, or of all, for everybody and by district.

    ``districts`` has each district in order and ends with :data:`ELSEWHERE`; their sum is ``everybody``. It
    is empty where no districts are given.
    """

    service: str
    everybody: Account
    districts: Mapping[str, Account]


@dataclass(frozen=True)
class Districts:
    """The district of each unit of the population: its place in ``names``, or −1 for none."""

    names: tuple[str, ...]
    labels: npt.NDArray[np.integer[Any]]

    def __post_init__(self) -> None:
        if ELSEWHERE in self.names or len(set(self.names)) != len(self.names):
            raise RangeError("district names", self.names, f"each once, and none called {ELSEWHERE}")
        if self.labels.size and not -1 <= int(self.labels.min()) <= int(self.labels.max()) < len(self.names):
            raise RangeError("district label", int(self.labels.max()), f"-1 to {len(self.names) - 1}")


def account_of(
    service: str, codes: Codes, counts: FloatArray, carry: Carry, districts: Districts | None = None
) -> AccountRow:
    """Count the people of a service by what a change does to them.

    Parameters
    ----------
    service : str
    codes : uint8 array (rows, columns)
        From :func:`combe.planning.change.change_codes`, of all the grid.
    counts : array
        People of each unit of the population, 0 or more.
    carry : callable
        See :data:`Carry`; its result has the shape of ``counts``.
    districts : Districts, optional
        Labels have the shape of ``counts``.

    Returns
    -------
    AccountRow

    Raises
    ------
    RangeError
        For counts or fractions out of range, shapes that differ, and flows that do not add up to all people
        inside the grid (to one in ten thousand).
    """
    people = _checked_people(counts)
    flow = codes % TWICE_BEFORE
    masks = [flow == each for each in range(FLOWS)] + [(codes & bit) > 0 for bit in _BITS]
    parts = np.stack([people_in(mask, people, carry) for mask in masks])
    inside = float(people_in(np.ones(codes.shape, dtype=np.bool_), people, carry).sum())
    everybody = _account(parts.reshape(len(masks), -1).sum(axis=1))
    require_conserved(everybody, inside)
    return AccountRow(service, everybody, _by_district(parts, people.shape, districts))


def people_in(mask: npt.NDArray[np.bool_], counts: FloatArray, carry: Carry) -> FloatArray:
    """Return the people of each population unit within a mask of grid cells; the shape of ``counts``."""
    if not mask.any():
        return np.zeros(counts.shape)
    fraction = np.asarray(carry(mask), dtype=np.float64)
    if fraction.shape != counts.shape:
        raise RangeError("shape of the carried fraction", fraction.shape, f"{counts.shape}, as the people")
    if not bool(np.all((fraction >= -_LARGEST_STRAY) & (fraction <= 1.0 + _LARGEST_STRAY))):
        raise RangeError("carried fraction", "outside 0 to 1 or NaN", "0 to 1")
    people: FloatArray = counts * np.clip(fraction, 0.0, 1.0)
    return people


def require_conserved(account: Account, people_inside: float) -> None:
    """Raise :class:`RangeError` unless the flows add up to all people inside the grid."""
    if not abs(account.total - people_inside) <= _LARGEST_STRAY * max(people_inside, 1.0):
        raise RangeError(
            "sum of the flows of people",
            f"{account.total:.3f}",
            f"{people_inside:.3f}, all people inside the grid",
            "masks of different cells were carried to overlapping fractions",
        )


def sum_accounts(accounts: Sequence[Account]) -> Account:
    """Return the account of several areas that do not overlap."""
    return Account(
        np.sum([each.flows for each in accounts], axis=0) if accounts else np.zeros((3, 3)),
        sum(each.twice_before for each in accounts),
        sum(each.twice_after for each in accounts),
        sum(each.doubtful for each in accounts),
    )


def _account(sums: FloatArray) -> Account:
    return Account(sums[:FLOWS].reshape(3, 3), *(float(each) for each in sums[FLOWS:]))


def _by_district(
    parts: FloatArray, shape: tuple[int, ...], districts: Districts | None
) -> Mapping[str, Account]:
    if districts is None:
        return {}
    if districts.labels.shape != shape:
        raise RangeError("shape of the district labels", districts.labels.shape, f"{shape}, as the people")
    labels, count = districts.labels.ravel().astype(np.int64), len(districts.names)
    place = np.where(labels < 0, count, labels)
    sums = np.array(
        [np.bincount(place, weights=part.ravel(), minlength=count + 1) for part in parts], dtype=np.float64
    )
    return {name: _account(sums[:, i]) for i, name in enumerate((*districts.names, ELSEWHERE))}


def _checked_people(counts: FloatArray) -> FloatArray:
    people = np.asarray(counts, dtype=np.float64)
    bad = int(np.count_nonzero(~(np.isfinite(people) & (people >= 0.0))))
    if bad:
        raise RangeError("people", f"negative or not finite in {bad} of {people.size} places", "0 or more")
    return people
