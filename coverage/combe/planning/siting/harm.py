"""Whom a relay on a hill would harm: people served by others, whose service falls below the standard by it.

Only places where people live served on a channel that an output may disturb are looked at. For each such
place and service it is known beforehand how strong a nuisance field the service stands
(:mod:`combe.reception.stands`); the relay's is its field for the time of interfering fields, or its median,
with the protection ratio of each, whichever is more, and the gain of an aerial that looks at the wanted
station. Outputs that disturb one service are added as powers. Places that free space puts out of reach are
passed over; all others are priced exactly over the straight profile.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from combe.compiling import inner_kernel, kernel
from combe.decibels import dbw_from_watt, field_from_loss_dbuv_m
from combe.planning.siting.pricing import complete_profile, service_loss_db, summarise_profile
from combe.planning.siting.setting import Scratch, Setting, free_loss_db, make_setting, new_scratch
from combe.planning.siting.straight import (
    FloatArray,
    IntArray,
    Places,
    apart_km,
    fill_ground,
    line_between,
    places_of,
    steps_between,
    true_bearing_deg,
)
from combe.planning.siting.template import TURNS, RelayTemplate
from combe.planning.siting.tilt import tilt_gain_db
from combe.prediction.area import Area
from combe.prediction.conditions import MEDIAN_PERCENT, Conditions
from combe.propagation.p1812.line_of_sight import focusing_db
from combe.reception.nuisance import aerial_gain_db, curve_corners

_FAR_KM: Final = 1e4


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
    """

    cells: IntArray
    people: FloatArray
    first: IntArray
    stands_dbuv_m: FloatArray
    ratio_db: FloatArray
    crossed: npt.NDArray[np.bool_]
    station: FloatArray


class HarmQuestion(NamedTuple):
    """Victims, and what prices a relay's fields at them: settings of both times, fields of 0 dB loss."""

    victims: Victims
    places: Places
    usual: Setting
    rare: Setting
    unlost_dbuv_m: FloatArray
    usual_counts: npt.NDArray[np.bool_]
    relief_db: float
    reach_km: float
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
    )


def harm_question(
    area: Area,
    victims: Victims,
    template: RelayTemplate,
    conditions: Conditions,
    interfering: Conditions,
    latitude_deg: float,
) -> HarmQuestion:
    """Return the question whom a relay would harm.

    Parameters
    ----------
    conditions, interfering
        Air and time of wanted and of interfering fields.
    latitude_deg
        Of the middle of the grid [degrees].

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
    return HarmQuestion(
        victims,
        places_of(area, victims.cells),
        usual,
        rare,
        _unlost_dbuv_m([(service.erp_w, service.frequency_mhz) for service in template.services]),
        np.any(victims.ratio_db[:, :, 1] > victims.ratio_db[:, :, 0], axis=0),
        _relief_db(interfering),
        1.5 * math.hypot(area.grid.rows, area.grid.columns) * area.grid.cell_size_m / 1000.0,
        curve_corners(),
    )


def _unlost_dbuv_m(outputs: Sequence[tuple[float, float]]) -> FloatArray:
    """Return the fields [dB(µV/m)] of ERP [W] and frequency [MHz] at a loss of 0 dB."""
    return np.array([field_from_loss_dbuv_m(dbw_from_watt(float(erp)), 0.0, mhz) for erp, mhz in outputs])


def _relief_db(conditions: Conditions) -> float:
    """Return by how much the loss may be below free space at most [dB] (P.1812-8 eq. 9 without end)."""
    if conditions.model != "p1812" or conditions.time_percent == MEDIAN_PERCENT:
        return 0.0
    return -float(focusing_db(_FAR_KM, _FAR_KM, conditions.time_percent))


@inner_kernel
def _near(h: HarmQuestion, v: int, d: float, p_m: float, q_m: float, lift_db: float) -> bool:
    """Tell whether the relay could harm anybody at place v in free space, with its best option."""
    victims, outputs = h.victims, h.unlost_dbuv_m.size
    for k in range(outputs):
        strongest = h.unlost_dbuv_m[k] - free_loss_db(h.rare, k, d, p_m, q_m) + h.relief_db + lift_db
        strongest += 10.0 * math.log10(outputs)
        for e in range(victims.first[v], victims.first[v + 1]):
            ratio = max(victims.ratio_db[e, k, 0], victims.ratio_db[e, k, 1])
            if strongest + ratio > victims.stands_dbuv_m[e]:
                return True
    return False


@kernel
def _excess_db(h: HarmQuestion, v: int, fields: FloatArray, tx_row: float, tx_column: float) -> float:
    """Return by how much the nuisance is over what the worst of the services at place v stands [dB]."""
    victims, worst = h.victims, -math.inf
    row, column = h.places.row[v], h.places.column[v]
    for e in range(victims.first[v], victims.first[v + 1]):
        power = 0.0
        for k in range(h.unlost_dbuv_m.size):
            nuisance = max(fields[0, k] + victims.ratio_db[e, k, 0], fields[1, k] + victims.ratio_db[e, k, 1])
            power += math.pow(10.0, 0.1 * nuisance)
        if power <= 0.0:
            continue
        gain = aerial_gain_db(
            victims.station[e, 1] - column,
            row - victims.station[e, 0],
            tx_column - column,
            row - tx_row,
            victims.crossed[e],
            h.corners,
        )
        worst = max(worst, 10.0 * math.log10(power) + gain - victims.stands_dbuv_m[e])
    return worst


@kernel
def _fill_fields(
    h: HarmQuestion, steps: int, tx_m: float, rx_m: float, room: Scratch, out: FloatArray
) -> None:
    """Write the fields of the outputs for both times (2, outputs) over a completed profile."""
    path = summarise_profile(h.rare, steps, tx_m, rx_m, room)
    for k in range(h.unlost_dbuv_m.size):
        out[0, k] = h.unlost_dbuv_m[k] - service_loss_db(h.rare, k, path)
        out[1, k] = -math.inf
        if h.usual_counts[k]:
            out[1, k] = h.unlost_dbuv_m[k] - service_loss_db(h.usual, k, path)


@kernel
def price_harm(
    h: HarmQuestion,
    hills: Places,
    first: int,
    last: int,
    counts: npt.NDArray[np.bool_],
    lift_db: float,
    tilt_db: FloatArray,
    tx_above_m: float,
    rx_above_m: float,
    excess_db: FloatArray,
    bearing: npt.NDArray[np.int16],
) -> None:
    """Fill for hills first to last that count the excess [dB] and bearing towards each place with victims.

    ``excess_db``, ``bearing`` (last − first, places): nuisance over what is stood, with the vertical but no
    horizontal pattern; −inf where nobody can be harmed.
    """
    s, room, fields = h.rare, new_scratch(h.reach_km, h.rare.step_km), np.empty((2, h.unlost_dbuv_m.size))
    for i in range(first, last):
        p_m = hills.ground_m[i] + tx_above_m
        for v in range(h.places.row.size):
            excess_db[i - first, v] = -math.inf
            d = apart_km(hills, i, h.places, v, s.cell_km)
            q_m = h.places.ground_m[v] + rx_above_m
            if not counts[i - first] or not _near(h, v, d, p_m, q_m, lift_db):
                continue
            steps = steps_between(d, s.step_km)
            fill_ground(line_between(s.raster, hills, i, h.places, v, steps), room.ground)
            if not complete_profile(s, hills, i, h.places, v, steps, d, room):
                continue
            _fill_fields(h, steps, tx_above_m, rx_above_m, room, fields)
            excess = _excess_db(h, v, fields, hills.row[i], hills.column[i])
            excess_db[i - first, v] = excess + tilt_gain_db(tilt_db, p_m, q_m, d, s.radius_km)
            bearing[i - first, v] = int(10.0 * true_bearing_deg(hills, i, h.places, v) + 0.5) % TURNS
