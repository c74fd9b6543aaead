"""Settlements that a network leaves unserved: how many people, and how many decibels they miss."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from combe.decibels import FloatArray
from combe.errors import RangeError, require_range
from combe.geodesy import turned

Labels = npt.NDArray[np.integer[Any]]
CarryMean = Callable[[npt.NDArray[np.floating[Any]]], FloatArray]
"""Turns values of grid cells into their mean over each unit of the population, 0 beyond the grid."""

_LEAST_FRACTION: Final = 1e-6


@dataclass(frozen=True)
class UnservedSettlement:
    """A settlement with people who are known to be unserved.

    Attributes
    ----------
    name
        Empty for a settlement that is known only as a group of cells.
    longitude_deg, latitude_deg
        Centre of gravity of its people.
    people, unserved, unknown
        All, the unserved, and those without prediction.
    missing_db
        Rise of field that would serve half of the unserved.
    worst_missing_db
        Rise that would serve all of them.
    """

    name: str
    longitude_deg: float
    latitude_deg: float
    people: float
    unserved: float
    unknown: float
    missing_db: float
    worst_missing_db: float


@dataclass(frozen=True)
class Units:
    """Units of the population with what the margins say of them, arrays of one shape.

    ``unserved`` and ``unknown`` are fractions of each unit, 0 to 1; ``missing_db`` is the mean shortfall over
    the unserved part, NaN where there is none.
    """

    people: FloatArray
    longitude_deg: FloatArray
    latitude_deg: FloatArray
    unserved: FloatArray
    unknown: FloatArray
    missing_db: FloatArray

    def __post_init__(self) -> None:
        shapes = {np.shape(getattr(self, name)) for name in self.__dataclass_fields__}
        if len(shapes) > 1:
            raise RangeError("shapes of the population units", sorted(shapes), "one shape for all")


def units_of(
    margin_db: npt.NDArray[np.floating[Any]],
    people: FloatArray,
    longitude_deg: FloatArray,
    latitude_deg: FloatArray,
    carry: CarryMean,
) -> Units:
    """Carry the margins of grid cells onto the units of the population.

    Parameters
    ----------
    margin_db : array (rows, columns)
        Served from 0 upwards [dB]; NaN without prediction.
    people, longitude_deg, latitude_deg : arrays of one shape
        Of each unit.
    carry : callable
        See :data:`CarryMean`.
    """
    unserved_cells = margin_db < 0.0
    unserved, unknown = (
        carry(unserved_cells.astype(np.float32)),
        carry(np.isnan(margin_db).astype(np.float32)),
    )
    shortfall = carry(np.where(unserved_cells, -margin_db, 0.0).astype(np.float32))
    some = unserved > _LEAST_FRACTION
    missing = np.full(unserved.shape, np.nan)
    # Mean shortfall over the whole unit, by the part that is unserved: the mean over that part.
    np.divide(shortfall, unserved, out=missing, where=some)
    return Units(people, longitude_deg, latitude_deg, np.where(some, unserved, 0.0), unknown, missing)


def group_cells(counts: FloatArray, *, least_people: float = 1.0) -> npt.NDArray[np.int32]:
    """Return settlements as groups of touching cells (r, c): 0, 1, …; −1 where fewer than ``least_people``.

    Cells touch by side or corner.

    Raises
    ------
    RangeError
        For counts that are not of two dimensions, or a limit that is not over 0.
    """
    require_range("least_people of a cell", least_people, 1e-6, 1e9)
    if counts.ndim != 2:
        raise RangeError("shape of the counts", counts.shape, "(rows, columns)")
    # Imported here, for most commands ask for no settlements, and it takes a tenth of a second.
    from scipy.ndimage import label

    # Corners count: a village along a road that runs slantwise is one.
    groups, _ = label(counts >= least_people, structure=np.ones((3, 3), dtype=np.int8))
    return np.asarray(groups, dtype=np.int32) - 1


def unserved_settlements(
    units: Units,
    labels: Labels | None = None,
    names: Sequence[str] = (),
    *,
    least_unserved: float = 1.0,
) -> tuple[UnservedSettlement, ...]:
    """List the settlements with people still unserved, the most unserved people first.

    Parameters
    ----------
    units : Units
    labels : int array of their shape, optional
        Settlement of each unit, −1 for none; each unit is one unless given.
    names : sequence of str
        By label; empty names unless given.
    least_unserved : float
        Settlements with fewer unserved people are left out.

    Raises
    ------
    RangeError
        For labels of another shape, or fewer names than labels.
    """
    flat = np.arange(units.people.size) if labels is None else np.asarray(labels).ravel()
    if flat.size != units.people.size:
        raise RangeError("number of settlement labels", flat.size, f"{units.people.size}, one per unit")
    if names and int(flat.max(initial=-1)) >= len(names):
        raise RangeError(
            "number of settlement names", len(names), f"{int(flat.max()) + 1}, one per settlement"
        )
    unserved = (units.people * units.unserved).ravel()
    sums = np.bincount(flat[flat >= 0], weights=unserved[flat >= 0])
    # Members of one settlement then stand together, and thousands of settlements cost one pass.
    order = np.argsort(flat, kind="stable")
    settlements = []
    for index in np.flatnonzero((sums >= least_unserved) & (sums > 0.0)).tolist():
        first, last = np.searchsorted(flat[order], [index, index + 1])
        settlements.append(_settlement(units, order[first:last], names[index] if names else ""))
    return tuple(sorted(settlements, key=lambda each: -each.unserved))


def _settlement(units: Units, members: npt.NDArray[np.int64], name: str) -> UnservedSettlement:
    people = units.people.ravel()[members]
    unserved = people * units.unserved.ravel()[members]
    missing = units.missing_db.ravel()[members]
    centre = [
        float(np.average(each.ravel()[members], weights=people))
        for each in (units.longitude_deg, units.latitude_deg)
    ]
    return UnservedSettlement(
        name,
        float(turned(centre[0])),
        centre[1],
        float(people.sum()),
        float(unserved.sum()),
        float((people * units.unknown.ravel()[members]).sum()),
        _half_point(missing, unserved),
        float(missing[unserved > 0.0].max()),
    )


def _half_point(values: FloatArray, weights: FloatArray) -> float:
    """Return the least value that at least half of the weight does not exceed."""
    some = weights > 0.0
    order = np.argsort(values[some], kind="stable")
    # Half of the people, and not half of the cells.
    summed = np.cumsum(weights[some][order])
    return float(values[some][order][np.searchsorted(summed, 0.5 * summed[-1])])
