"""Explains one cell: who could serve it, what disturbs each of them, and what would have to change."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from combe.errors import RangeError
from combe.reception.emission import Emission, pair_protection
from combe.reception.judge_cells import Fields, Judges, Mask, judge_cells, margin_of_named
from combe.reception.nuisance import nuisance_field_dbuv_m, off_axis_deg
from combe.standards.cited import describe
from combe.standards.protection import TimeKind


class NuisanceRow(NamedTuple):
    """One interferer of a wanted emission at a place.

    ``field_dbuv_m`` is its field for the time that counts; ``gain_db`` that of the aerial towards it, 0 or
    less; the nuisance field is field, protection ratio and gain together. ``margin_without_db`` is the margin
    that the wanted emission would have if this interferer alone were off air. NaN where there is no
    prediction: then nobody knows its harm.
    """

    station: str
    service: str
    time: TimeKind
    field_dbuv_m: float
    protection_db: float
    off_axis_deg: float
    gain_db: float
    nuisance_dbuv_m: float
    margin_without_db: float
    reference: str


@dataclass(frozen=True)
class Candidate:
    """A station that could serve the place with the service asked for.

    ``noise_margin_db`` is against noise alone, ``margin_db`` with interference; 0 or more serves, and the
    shortfall is what its field must rise by. ``nuisances`` are in order, the strongest first, the unknown
    ones last.
    """

    station: str
    service: str
    field_dbuv_m: float
    noise_margin_db: float
    margin_db: float
    usable_dbuv_m: float
    nuisances: tuple[NuisanceRow, ...]


def explain_cell(
    judges: Judges, fields: Fields, row: int, column: int, service: str, on_air: Mask | None = None
) -> tuple[Candidate, ...]:
    """Judge every station of a service at one cell, best margin first.

    Parameters
    ----------
    judges, fields, service, on_air
        As :func:`combe.reception.judge_cells.judge_cells`.
    row, column : int
        The cell, 0 and up.

    Returns
    -------
    tuple of Candidate
        Those on air with a prediction here; empty when there is none.

    Raises
    ------
    RangeError
        For a cell outside the fields, or as :func:`combe.reception.judge_cells.judge_cells`.
    """
    if not (0 <= row < fields.y_m.size and 0 <= column < fields.x_m.size):
        raise RangeError("cell", (row, column), f"0 to {fields.y_m.size - 1}, 0 to {fields.x_m.size - 1}")
    here = Fields(
        fields.x_m[column : column + 1],
        fields.y_m[row : row + 1],
        fields.median_dbuv_m[:, row : row + 1, column : column + 1],
        fields.at_time_dbuv_m[:, row : row + 1, column : column + 1],
    )
    air = np.ones(len(judges.emissions), dtype=np.bool_) if on_air is None else on_air
    judge_cells(judges, here, service, air)
    found = [
        _candidate(judges, here, index, air)
        for index, each in enumerate(judges.emissions)
        if each.service == service and air[index] and not math.isnan(here.median_dbuv_m[index, 0, 0])
    ]
    return tuple(sorted(found, key=lambda each: -each.margin_db))


def _candidate(judges: Judges, here: Fields, index: int, air: Mask) -> Candidate:
    wanted, field = judges.emissions[index], float(here.median_dbuv_m[index, 0, 0])
    margin = _margin_db(judges, here, index, air)
    rows = [
        row
        for other in np.flatnonzero(air).tolist()
        if other != index and (row := _row(judges, here, index, other, air)) is not None
    ]
    rows.sort(key=lambda each: (math.isnan(each.nuisance_dbuv_m), -each.nuisance_dbuv_m))
    alone = wanted.minimum_dbuv_m + judges.share.factor * wanted.sigma_db
    return Candidate(
        wanted.station, wanted.service, field, field - alone, margin, field - margin, tuple(rows)
    )


def _margin_db(judges: Judges, here: Fields, index: int, air: Mask) -> float:
    margin, _ = margin_of_named(judges, here, np.full((1, 1), index, dtype=np.int16), air)
    return float(margin[0, 0])


def _row(judges: Judges, here: Fields, index: int, other: int, air: Mask) -> NuisanceRow | None:
    wanted, unwanted = judges.emissions[index], judges.emissions[other]
    pair = pair_protection(wanted, unwanted)
    if pair is None:
        return None
    median, at_time = float(here.median_dbuv_m[other, 0, 0]), float(here.at_time_dbuv_m[other, 0, 0])
    continuous = median + pair.continuous_db > at_time + pair.tropospheric_db
    field, protection = (median, pair.continuous_db) if continuous else (at_time, pair.tropospheric_db)
    angle = float(off_axis_deg(here.x_m[0], here.y_m[0], _place(wanted), _place(unwanted)))
    nuisance = nuisance_field_dbuv_m(
        here.median_dbuv_m[other, 0, 0],
        here.at_time_dbuv_m[other, 0, 0],
        tropospheric_db=pair.tropospheric_db,
        continuous_db=pair.continuous_db,
        off_axis=angle,
        crossed=wanted.polarization != unwanted.polarization,
    )
    without = air.copy()
    without[other] = False
    return NuisanceRow(
        unwanted.station,
        unwanted.service,
        "continuous" if continuous else "tropospheric",
        field,
        protection,
        angle,
        float(nuisance) - field - protection,
        float(nuisance),
        _margin_db(judges, here, index, without),
        describe(pair.source.reference, pair.source.confidence),
    )


def _place(emission: Emission) -> tuple[float, float]:
    return emission.x_m, emission.y_m
