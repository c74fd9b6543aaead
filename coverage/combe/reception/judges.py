"""Emissions with the rules by which places are served, made ready once; and one of them judged anywhere."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple, get_args

import numpy as np
import numpy.typing as npt

from combe.compiling import kernel
from combe.decibels import FloatArray
from combe.errors import RangeError
from combe.reception.bench import (
    EMISSION,
    HEARD,
    MULTIPLICATION,
    PAIR,
    Indices,
    Layers,
    Scene,
    Share,
    Tile,
    go_to,
    set_up,
)
from combe.reception.emission import Emission, Partners, partners_of
from combe.reception.judging import judge_place
from combe.reception.nuisance import curve_corners
from combe.reception.one_frequency import OneFrequency
from combe.reception.summation import Summation
from combe.reception.summing import LOGS_PER_DB, SumSettings, pair_table
from combe.standards import curve_number, location_factor
from combe.stations import require_choice

Mask = npt.NDArray[np.bool_]

JudgeMethod = Literal["schwartz-yeh", "k-lnm", "power sum", "multiplication"]

MOST_EMISSIONS: Final = 32_000
"""Cells hold the number of an emission in 16 bits."""


@dataclass(frozen=True)
class Rules:
    """When a place counts as served.

    Parameters
    ----------
    location_percent : float
        Share of the places about it that must be served [%], 1 to 99.9, of an emission that gives none.
    method : {"schwartz-yeh", "k-lnm", "power sum", "multiplication"}
    correlation : float
        ρ of any two fields over places, 0 to 1.
    k : float
        Of k-LNM.
    neglect_db : float
        By how much, at most, the mean of the summed interference may fall short because weak interferers are
        left out [dB], 0 to 1.

    Raises
    ------
    RangeError
        Naming the field.
    """

    location_percent: float = 95.0
    method: JudgeMethod = "schwartz-yeh"
    correlation: float = 0.0
    k: float = 1.0
    neglect_db: float = 0.05

    def __post_init__(self) -> None:
        location_factor(self.location_percent)
        require_choice("method of summation", self.method, get_args(JudgeMethod))
        _summing(self)


class Fields(NamedTuple):
    """Fields of all emissions over the cells of one tile.

    ``x_m`` (columns,) and ``y_m`` (rows,) are the cell centres [m] of a grid, in the coordinates of the
    emissions; or both have the shape (rows, columns), and each cell is a place of its own.
    ``median_dbuv_m`` and ``at_time_dbuv_m`` (emissions, rows, columns) hold the field [dB(µV/m)] for 50 % of
    time and for the small percentage of tropospheric interference: NaN for no prediction, −inf for nothing.
    """

    x_m: FloatArray
    y_m: FloatArray
    median_dbuv_m: Layers
    at_time_dbuv_m: Layers


@dataclass(frozen=True)
class Judges:
    """A set of emissions and their rules, made ready by :func:`make_judges` for every tile."""

    emissions: tuple[Emission, ...]
    rules: Rules
    scene: Scene
    share: Share
    partners: Partners


class Judged(NamedTuple):
    """One emission in the cells of a tile; arrays (rows, columns).

    ``margin_db`` its median over the usable field [dB]; ``share`` and ``noise_share`` of places served, with
    interference and by noise alone, 0 to 1; all NaN without prediction or off the air. ``unknown`` how many
    interferers have no prediction: they are not counted, and not harmless either.
    """

    margin_db: Layers
    share: Layers
    noise_share: Layers
    unknown: Indices


def fields_at(
    x_m: npt.ArrayLike, y_m: npt.ArrayLike, median_dbuv_m: npt.ArrayLike, at_time_dbuv_m: npt.ArrayLike
) -> Fields:
    """Return fields at scattered places, n rows of one: x, y [m] (n,), fields [dB(µV/m)] (emissions, n)."""
    x, y = (np.asarray(each, dtype=np.float64).reshape(-1, 1) for each in (x_m, y_m))
    layers = (np.asarray(each, dtype=np.float32)[:, :, None] for each in (median_dbuv_m, at_time_dbuv_m))
    return Fields(x, y, *layers)


def make_judges(
    emissions: Sequence[Emission], rules: Rules | None = None, partners: Partners | None = None
) -> Judges:
    """Make a set of emissions ready for judging.

    Parameters
    ----------
    emissions, rules
        Who is judged, and how.
    partners
        Who may disturb whom; all that have a protection ratio unless given.

    Raises
    ------
    RangeError
        For no emission or too many, one service twice from a station, or signals without protection ratio.
    """
    chosen = rules or Rules()
    if not 1 <= len(emissions) <= MOST_EMISSIONS:
        raise RangeError("number of emissions", len(emissions), f"1 to {MOST_EMISSIONS}")
    share = Share(_summing(chosen))
    pairs = partners_of(emissions) if partners is None else partners
    return Judges(tuple(emissions), chosen, _scene(emissions, pairs, chosen), share, pairs)


def judge_emission(judges: Judges, fields: Fields, wanted: int, on_air: Mask | None = None) -> Judged:
    """Judge one emission in every cell of a tile.

    Parameters
    ----------
    judges : Judges
    fields : Fields
        One layer for each emission, in their order.
    wanted : int
        Which emission, by its place.
    on_air : bool array (emissions,)
        Which emissions count, wanted or unwanted; all unless given. So before and after are judged from the
        same fields.

    Raises
    ------
    RangeError
        For fields of other shapes, or no such emission.

    Notes
    -----
    Runs in one thread without the interpreter's lock, so tiles may be judged side by side.
    """
    if not 0 <= wanted < len(judges.emissions):
        raise RangeError("index of an emission", wanted, f"0 to {len(judges.emissions) - 1}")
    tile = tile_of(judges, fields, on_air)
    shape = tile.median.shape[1:]
    margin, share, noise_share = (np.empty(shape, dtype=np.float32) for _ in range(3))
    judged = Judged(margin, share, noise_share, np.empty(shape, dtype=np.int16))
    _judge_tile(wanted, tile, judges.scene, judges.share, judged)
    return judged


def factor_of(emission: Emission, rules: Rules) -> float:
    """Return the factor μ of the share of places in which an emission has to serve."""
    given = emission.location_percent
    return location_factor(rules.location_percent if math.isnan(given) else given).value


@kernel
def _judge_tile(wanted: int, tile: Tile, scene: Scene, share: Share, judged: Judged) -> None:
    bench, heard = set_up(scene, share), np.empty(tile.on_air.size, dtype=HEARD)
    for row in range(tile.median.shape[1]):
        for column in range(tile.median.shape[2]):
            # Unless shown otherwise nothing is known of a cell.
            judged.margin_db[row, column], judged.unknown[row, column] = math.nan, 0
            judged.share[row, column], judged.noise_share[row, column] = math.nan, math.nan
            if tile.on_air[wanted] and not math.isnan(tile.median[wanted, row, column]):
                place = go_to(row, column, tile, heard)
                verdict = judge_place(wanted, place, bench, -math.inf)
                judged.margin_db[row, column] = verdict.level_db - verdict.usable / LOGS_PER_DB
                judged.share[row, column] = verdict.share
                judged.noise_share[row, column] = verdict.noise_share
                judged.unknown[row, column] = verdict.unknown


def tile_of(judges: Judges, fields: Fields, on_air: Mask | None = None) -> Tile:
    """Return the arrays of a tile, checked; RangeError for those of another shape."""
    count = len(judges.emissions)
    x, y = (np.ascontiguousarray(each, dtype=np.float64) for each in (fields.x_m, fields.y_m))
    scattered = x.ndim == 2
    shape = (count, *(x.shape if scattered else (y.size, x.size)))
    if scattered and x.shape != y.shape:
        raise RangeError("shapes of the places", f"{x.shape} and {y.shape}", "one shape for x and y")
    layers = [
        np.ascontiguousarray(each, dtype=np.float32) for each in (fields.median_dbuv_m, fields.at_time_dbuv_m)
    ]
    for layer in layers:
        if layer.shape != shape:
            raise RangeError("shape of the fields", layer.shape, f"{shape}: emissions, rows, columns")
    air = np.ones(count, dtype=np.bool_) if on_air is None else np.asarray(on_air)
    if air.shape != (count,) or air.dtype != np.bool_:
        raise RangeError("emissions on air", f"{air.dtype} {air.shape}", f"bool ({count},)")
    return Tile(x.ravel(), y.ravel(), scattered, layers[0], layers[1], np.ascontiguousarray(air))


def _summing(rules: Rules) -> SumSettings:
    if rules.method == "multiplication":
        plain = Summation(correlation=rules.correlation, k=rules.k, neglect_db=rules.neglect_db).settings()
        return plain._replace(method=MULTIPLICATION)
    settings = Summation(rules.method, rules.correlation, rules.k, rules.neglect_db).settings()
    # One half of what may be neglected is for signals that a sum leaves out, the other for those that never
    # come to it (cut_db).
    return settings._replace(neglect=settings.neglect / 2.0)


def _scene(emissions: Sequence[Emission], partners: Partners, rules: Rules) -> Scene:
    """Return the arrays of the kernels.

    Half of what may be neglected goes to interferers that cannot matter beside the noise: n of them, each
    with a mean power of less than neglect/n of the noise, lift the sum by less than the neglect.
    """
    sigma = np.array([emission.sigma_db for emission in emissions]) * LOGS_PER_DB
    most = max(int(np.diff(partners.start).max()), 1)
    # As many as an emission has partners may be left out at once; so each has its part of what all may lift.
    part = math.expm1(rules.neglect_db * LOGS_PER_DB / 2.0) / most
    lowest = math.log(part) if part > 0.0 else -math.inf
    table = np.zeros(len(emissions), dtype=EMISSION)
    table["x_m"] = [emission.x_m for emission in emissions]
    table["y_m"] = [emission.y_m for emission in emissions]
    table["minimum"] = np.array([emission.minimum_dbuv_m for emission in emissions]) * LOGS_PER_DB
    table["noise"] = np.array([emission.noise_dbuv_m for emission in emissions]) * LOGS_PER_DB
    table["sigma"] = sigma
    # All fields share one scatter of weight √ρ: two of them then have the covariance ρ·σ1·σ2 asked.
    table["load"] = math.sqrt(rules.correlation) * sigma
    table["factor"] = [factor_of(emission, rules) for emission in emissions]
    # The mean of a log-normal power lies σ²/2 over its median.
    table["cut_db"] = (lowest - 0.5 * sigma**2) / LOGS_PER_DB
    table["curve"] = [
        curve_number(emission.channel.centre_mhz, directional=emission.directional) for emission in emissions
    ]
    table["first_pair"], table["end_pair"] = partners.start[:-1], partners.start[1:]
    for row, emission in zip(table, emissions, strict=True):
        if emission.one_frequency is not None:
            _write_symbol(row, emission, emission.one_frequency)
    pairs = np.zeros(partners.emission.size, dtype=PAIR)
    pairs["partner"], pairs["crossed"] = partners.emission, partners.crossed
    pairs["tropospheric_db"], pairs["continuous_db"] = partners.tropospheric_db, partners.continuous_db
    pairs["echo"] = partners.echo
    return Scene(table, pairs, curve_corners(), pair_table())


def _write_symbol(row: Any, emission: Emission, symbol: OneFrequency) -> None:
    """Write what the kernels need of an emission that is one of a network on one frequency."""
    row["grouped"], row["window"], row["delay_us"] = True, symbol.window_number, symbol.delay_us
    row["useful_us"], row["guard_us"] = symbol.useful_us, symbol.guard_us
    row["equalised_us"], row["own_ratio"] = symbol.equalised_us, emission.required_cn_db * LOGS_PER_DB
