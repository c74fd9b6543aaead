"""Whom a relay on a hill would harm: people served by others, whose service falls below the standard by it.

Only places where people live served on a channel that an output may disturb are looked at. For each such
place and service it is known beforehand how strong a nuisance field the service stands
(:mod:`combe.reception.stands`); the relay's is its field for the time of interfering fields, or its median,
with the protection ratio of each, whichever is more, and the gain of an aerial that looks at the wanted
station. Outputs that disturb one service are added as powers. Places that free space and a few samples of the
ground put out of reach are passed over (bound.py); all others are priced exactly over the straight profile.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel, kernel_part
from combe.decibels import FloatArray, dbw_from_watt, field_from_loss_dbuv_m
from combe.planning.siting.bound import BIN_KM, LOST, Ends, out_of_reach, reach_table
from combe.planning.siting.score import Block, Levels, tilt_gain_db
from combe.planning.siting.template import TURNS, RelayTemplate
from combe.prediction import (
    Aerials,
    Area,
    Conditions,
    IntArray,
    Places,
    Scratch,
    Setting,
    Way,
    apart_km,
    complete_profile,
    line_of,
    make_setting,
    new_scratch,
    places_of,
    service_loss_db,
    steps_between,
    summarise_profile,
    true_bearing_deg,
)
from combe.reception import LEAST_GAIN_DB, aerial_gain_db, curve_corners


class Victims(NamedTuple):
    """Services that people have and may lose; arrays by place (p,), and by service at a place (n,).

    Attributes
    ----------
    cells : (p,)
        Grid cells by flat index, each once.
    people : (p,)
        Who lives there, counted once however many services are lost.
    first : (p + 1,)
        The services of place i are those from ``first[i]`` to before ``first[i + 1]``.
    stands_dbuv_m : (n,)
        The greatest nuisance field that leaves the service served.
    ratio_db : (n, outputs, 2)
        Protection ratios against each output, tropospheric and continuous [dB]; −inf where it cannot disturb.
    crossed : (n,)
        Whether the wanted station has the other polarization, and viewers' aerials hold it off.
    station : (n, 2)
        Row and column of the wanted station [cells].
    curve : (n,)
        Number of the directivity curve of viewers' aerials, by the band of the service.
    """

    cells: IntArray
    people: FloatArray
    first: IntArray
    stands_dbuv_m: FloatArray
    ratio_db: FloatArray
    crossed: npt.NDArray[np.bool_]
    station: FloatArray
    curve: IntArray


class HarmQuestion(NamedTuple):
    """Victims, and what prices a relay's fields at them: settings of both times, fields of 0 dB loss.

    ``usual_counts`` (outputs,) tells where the median may count for more than the rare field. ``allowed_db``
    (n, outputs) is the least loss that harms nobody for sure, the aerial's gain left out, −∞ for an output
    that cannot; ``slopes`` (levels, outputs, bins of distance) the slope product beyond which a loss is sure,
    for losses a decibel apart from ``lowest_db`` on.
    """

    victims: Victims
    places: Places
    usual: Setting
    rare: Setting
    unlost_dbuv_m: FloatArray
    usual_counts: npt.NDArray[np.bool_]
    allowed_db: FloatArray
    slopes: FloatArray
    lowest_db: float
    corners: FloatArray


def nobody(outputs: int) -> Victims:
    """Return that nobody can be harmed."""
    none, empty = np.zeros(0, dtype=np.int64), np.zeros(0)
    return Victims(
        none,
        empty,
        np.zeros(1, dtype=np.int64),
        empty,
        np.zeros((0, outputs, 2)),
        np.zeros(0, dtype=np.bool_),
        np.zeros((0, 2)),
        none,
    )


def harm_question(
    area: Area,
    victims: Victims,
    template: RelayTemplate,
    conditions: Conditions,
    interfering: Conditions,
    latitude_deg: float,
    lift_db: float,
) -> HarmQuestion:
    """Return the question whom a relay would harm.

    Parameters
    ----------
    conditions, interfering
        Air and time of wanted and of interfering fields.
    latitude_deg
        Of the middle of the grid [degrees].
    lift_db
        What the best option of the template adds to its ERP at most.

    Raises
    ------
    RangeError
        For a number outside the model's range.
    """
    usual, rare = (
        make_setting(
            area,
            each,
            [service.frequency_mhz for service in template.services],
            vertical=template.polarization == "vertical",
            latitude_deg=latitude_deg,
        )
        for each in (conditions, interfering)
    )
    unlost_dbuv_m = _unlost_dbuv_m([(service.erp_w, service.frequency_mhz) for service in template.services])
    # No two cells are farther apart than the diagonal, with the grid's scale to spare.
    reach_km = 1.5 * math.hypot(area.grid.rows, area.grid.columns) * area.grid.cell_size_m / 1000.0
    allowed_db, slopes, lowest_db = _reach(rare, victims, unlost_dbuv_m, lift_db, reach_km)
    return HarmQuestion(
        victims,
        places_of(area, victims.cells),
        usual,
        rare,
        unlost_dbuv_m,
        np.any(victims.ratio_db[:, :, 1] > victims.ratio_db[:, :, 0], axis=0),
        allowed_db,
        slopes,
        lowest_db,
        curve_corners(),
    )


def _unlost_dbuv_m(outputs: Sequence[tuple[float, float]]) -> FloatArray:
    """Return the fields [dB(µV/m)] of ERP [W] and frequency [MHz] at a loss of 0 dB."""
    return np.array([field_from_loss_dbuv_m(dbw_from_watt(float(erp)), 0.0, mhz) for erp, mhz in outputs])


def _reach(
    rare: Setting, victims: Victims, unlost_dbuv_m: FloatArray, lift_db: float, reach_km: float
) -> tuple[FloatArray, FloatArray, float]:
    """Return ``allowed_db``, ``slopes`` and ``lowest_db`` of the question, by the bound of bound.py.

    Every output counts as if all were as strong as it.
    """
    outputs = unlost_dbuv_m.size
    if not victims.cells.size:
        return np.zeros((0, outputs)), np.zeros((0, outputs, 1)), 0.0
    # Powers of the outputs add up; together they are no more than so many times the strongest.
    most_db = lift_db + 10.0 * math.log10(outputs)
    allowed_db = unlost_dbuv_m + most_db + victims.ratio_db.max(axis=2) - victims.stands_dbuv_m[:, None]
    known = allowed_db[np.isfinite(allowed_db)]
    # A viewer's aerial may take away so much more.
    lowest_db = math.floor(float(known.min()) + LEAST_GAIN_DB)
    levels = np.arange(lowest_db, math.ceil(float(known.max())) + 1, dtype=np.float64)
    slopes = np.stack([reach_table(rare, np.full(outputs, level), reach_km) for level in levels])
    return allowed_db, slopes, float(lowest_db)


@inner_kernel
def _gain_db(h: HarmQuestion, v: int, e: int, tx_row: float, tx_column: float) -> float:
    """Return the gain [dB] towards a hill of the aerial at place v that looks at the station of service e."""
    victims, row, column = h.victims, h.places.row[v], h.places.column[v]
    return aerial_gain_db(
        victims.station[e, 1] - column,
        row - victims.station[e, 0],
        tx_column - column,
        row - tx_row,
        victims.crossed[e],
        h.corners[victims.curve[e]],
    )


@inner_kernel
def _limit(h: HarmQuestion, v: int, d: float, tx_row: float, tx_column: float) -> float:
    """Return the slope product beyond which nobody at place v is harmed; below 0: free space does it."""
    loosest, at = -1.0, min(int(d / BIN_KM), h.slopes.shape[2] - 1)
    for e in range(h.victims.first[v], h.victims.first[v + 1]):
        gain = _gain_db(h, v, e, tx_row, tx_column)
        for k in range(h.slopes.shape[1]):
            if h.allowed_db[e, k] > -math.inf:
                # Rounded up to the next level: a greater loss allowed asks for steeper ground, and the
                # bound stays one.
                level = max(int(math.ceil(h.allowed_db[e, k] + gain) - h.lowest_db), 0)
                loosest = max(loosest, h.slopes[level, k, at])
    return loosest


@kernel_part
def _excess_db(h: HarmQuestion, v: int, fields: FloatArray, tx_row: float, tx_column: float) -> float:
    """Return by how much the nuisance is over what the worst of the services at place v stands [dB]."""
    victims, worst = h.victims, -math.inf
    for e in range(victims.first[v], victims.first[v + 1]):
        power = 0.0
        for k in range(h.unlost_dbuv_m.size):
            # Of rare and of usual interference, each with its own ratio, the greater counts.
            nuisance = max(fields[0, k] + victims.ratio_db[e, k, 0], fields[1, k] + victims.ratio_db[e, k, 1])
            power += math.pow(10.0, 0.1 * nuisance)
        if power > 0.0:
            gain = _gain_db(h, v, e, tx_row, tx_column)
            worst = max(worst, 10.0 * math.log10(power) + gain - victims.stands_dbuv_m[e])
    return worst


@kernel_part
def _fill_fields(h: HarmQuestion, steps: int, aerials: Aerials, room: Scratch, out: FloatArray) -> None:
    """Write the fields of the outputs for both times (2, outputs) over a completed profile."""
    path = summarise_profile(h.rare, steps, aerials, room)
    for k in range(h.unlost_dbuv_m.size):
        out[0, k] = h.unlost_dbuv_m[k] - service_loss_db(h.rare, k, path)
        out[1, k] = -math.inf
        if h.usual_counts[k]:
            out[1, k] = h.unlost_dbuv_m[k] - service_loss_db(h.usual, k, path)


@kernel
def price_harm(
    h: HarmQuestion,
    hills: Places,
    block: Block,
    counts: npt.NDArray[np.bool_],
    tilt_db: FloatArray,
    aerials: Aerials,
    excess: Levels,
) -> None:
    """Fill for the hills of a block that count the excess and bearing towards each place with victims.

    The excess is the nuisance over what is stood, with the vertical but no horizontal pattern; −inf where
    nobody can be harmed.
    """
    s, fields = h.rare, np.empty((2, h.unlost_dbuv_m.size))
    room = new_scratch(h.slopes.shape[2] * BIN_KM, s.step_km)
    hints = np.ones((h.places.row.size, 2), np.int64)
    for i in range(block[0], block[1]):
        p_m = hills.ground_m[i] + aerials.p_above_m
        for v in range(h.places.row.size):
            excess.level_db[i - block[0], v] = -math.inf
            d = apart_km(hills, i, h.places, v, s.cell_km)
            limit = _limit(h, v, d, hills.row[i], hills.column[i])
            if not counts[i - block[0]] or limit < 0.0:
                continue
            ends = Ends(d, p_m, h.places.ground_m[v] + aerials.q_above_m)
            way = Way(hills, i, h.places, v, steps_between(d, s.step_km))
            line = line_of(way, s.surface.raster)
            if out_of_reach(line, ends, s.bound_radius_km, limit, room, hints, v) == LOST:
                continue
            if not complete_profile(s.surface, way, d, room):
                continue
            _fill_fields(h, way.steps, aerials, room, fields)
            over_db = _excess_db(h, v, fields, hills.row[i], hills.column[i])
            over_db += tilt_gain_db(tilt_db, ends, s.radius_km)
            excess.level_db[i - block[0], v] = over_db
            tenths = int(10.0 * true_bearing_deg(hills, i, h.places, v) + 0.5) % TURNS
            excess.bearing[i - block[0], v] = tenths
