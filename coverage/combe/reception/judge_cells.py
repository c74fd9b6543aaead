"""Judges every cell of a map: best and second server, margin, share of places, and the limit of service."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.reception.emission import Emission, Partners, partners_of
from combe.reception.judge_kernel import judge_emission, judge_named, judge_tile
from combe.reception.judge_one import MULTIPLICATION
from combe.reception.judge_scene import CELL, EMISSION, PAIR, Indices, Layers, Records, Scene, Share, Tile
from combe.reception.nuisance import curve_corners
from combe.reception.pair_sum import LOGS_PER_DB, pair_table
from combe.reception.summation import Summation
from combe.reception.summing import SumSettings
from combe.standards.dvbt2 import location_factor
from combe.stations.checks import require_choice

FloatArray = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

JudgeMethod = Literal["schwartz-yeh", "k-lnm", "power sum", "multiplication"]

MOST_EMISSIONS: Final = 32_000
"""Cells hold the number of an emission in 16 bits."""

STATES: Final = ("no prediction", "served", "limited by noise", "limited by interference")
"""What the numbers of :func:`cell_states` mean. An unserved cell that some station would serve without
interference is limited by interference."""


@dataclass(frozen=True)
class Rules:
    """When a cell counts as served.

    Parameters
    ----------
    location_percent : float
        Share of its places that must be served [%], 1 to 99.9.
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

    ``x_m`` (columns,) and ``y_m`` (rows,) are the cell centres [m], in the coordinates of the emissions.
    ``median_dbuv_m`` and ``at_time_dbuv_m`` (emissions, rows, columns) hold the field [dB(µV/m)] for 50 % of
    time and for the small percentage of tropospheric interference: NaN for no prediction, −inf for nothing.
    """

    x_m: FloatArray
    y_m: FloatArray
    median_dbuv_m: Layers
    at_time_dbuv_m: Layers


@dataclass(frozen=True)
class Judges:
    """A set of emissions and their rules, made ready by :func:`make_judges` for every tile and service."""

    emissions: tuple[Emission, ...]
    rules: Rules
    scene: Scene
    share: Share
    partners: Partners


@dataclass(frozen=True)
class Judgement:
    """One service over a tile; arrays of shape (rows, columns).

    Attributes
    ----------
    server
        Index of the emission of the best margin, whether it serves or not; −1 without prediction.
    second
        Index of the emission of the next margin, where it serves too; −1 where none does.
    serving
        How many stations serve the cell; 2 and more is overlap.
    margin_db, second_margin_db
        Median over the usable field [dB]; served from 0 upwards; NaN without prediction.
    noise_margin_db
        The best margin that any station would have without interference [dB].
    usable_dbuv_m
        Median that the best server needs here against noise and interference [dB(µV/m)].
    share, noise_share
        Share of places that the best server serves, with interference and without, 0 to 1.
    worst
        Index of the strongest interferer of the best server; −1 where none counts.
    unknown
        How many interferers of the best server have no prediction here. They are not counted as harmless: see
        who lives there.
    """

    service: str
    server: Indices
    second: Indices
    serving: Indices
    margin_db: Layers
    second_margin_db: Layers
    noise_margin_db: Layers
    usable_dbuv_m: Layers
    share: Layers
    noise_share: Layers
    worst: Indices
    unknown: Indices

    @property
    def served(self) -> Mask:
        """Where at least one station serves; False without prediction."""
        return np.greater_equal(self.margin_db, 0.0)

    @property
    def predicted(self) -> Mask:
        """Where at least one station of the service has a prediction."""
        return ~np.isnan(self.margin_db)


def make_judges(
    emissions: Sequence[Emission], rules: Rules | None = None, partners: Partners | None = None
) -> Judges:
    """Make a set of emissions ready for judging.

    Parameters
    ----------
    emissions, rules
        Who is judged, and how.
    partners
        Who may disturb whom; those on the same and the next channels unless given.

    Raises
    ------
    RangeError
        For no emission or too many, one service twice from a station, or signals without protection ratio.
    """
    chosen = rules or Rules()
    if not 1 <= len(emissions) <= MOST_EMISSIONS:
        raise RangeError("number of emissions", len(emissions), f"1 to {MOST_EMISSIONS}")
    factor = location_factor(chosen.location_percent).value
    share = Share(factor, _summing(chosen))
    pairs = partners_of(emissions) if partners is None else partners
    return Judges(tuple(emissions), chosen, _scene(emissions, pairs, chosen), share, pairs)


def judge_cells(judges: Judges, fields: Fields, service: str, on_air: Mask | None = None) -> Judgement:
    """Judge one service over the cells of a tile.

    Parameters
    ----------
    judges : Judges
    fields : Fields
        One layer for each emission, in their order.
    service : str
        Candidates are its emissions that are on air.
    on_air : bool array (emissions,)
        Which emissions count, wanted or unwanted; all unless given. So before and after are judged from the
        same fields.

    Returns
    -------
    Judgement

    Raises
    ------
    RangeError
        For fields of other shapes, or a service that nobody radiates. One that is merely off air is judged,
        and nowhere predicted.

    Notes
    -----
    Runs in one thread without the interpreter's lock, so tiles may be judged side by side.
    """
    tile = tile_of(judges, fields, on_air)
    names = [each.service for each in judges.emissions]
    candidates = np.array([index for index, name in enumerate(names) if name == service], dtype=np.int64)
    if not candidates.size:
        raise RangeError("service to judge", repr(service), ", ".join(dict.fromkeys(names)))
    cells = np.empty((tile.y_m.size, tile.x_m.size), dtype=CELL)
    judge_tile(candidates, tile, judges.scene, judges.share, most_partners(judges.scene), cells)
    return _judgement(service, cells)


def margin_of_named(
    judges: Judges, fields: Fields, named: Indices, on_air: Mask | None = None
) -> tuple[Layers, Indices]:
    """Return margin [dB] and number of unknown interferers of the emission named for each cell.

    Parameters
    ----------
    named : int array (rows, columns)
        Index of an emission, such as the server of another time; −1 for none.

    Returns
    -------
    margin_db, unknown
        NaN and 0 where none is named, it is off air, or it has no prediction.
    """
    tile = tile_of(judges, fields, on_air)
    shape = (tile.y_m.size, tile.x_m.size)
    wanted = np.ascontiguousarray(named, dtype=np.int16)
    if wanted.shape != shape:
        raise RangeError("shape of the named emissions", wanted.shape, f"{shape}, as the fields")
    if wanted.size and not -1 <= int(wanted.min()) <= int(wanted.max()) < len(judges.emissions):
        raise RangeError("index of an emission", f"{wanted.min()} to {wanted.max()}", "-1 and up to the last")
    margin, unknown = np.empty(shape, dtype=np.float32), np.empty(shape, dtype=np.int16)
    judge_named(wanted, tile, judges.scene, judges.share, most_partners(judges.scene), margin, unknown)
    return margin, unknown


def margin_and_share(
    judges: Judges, fields: Fields, wanted: int, on_air: Mask | None = None
) -> tuple[Layers, Layers]:
    """Return margin [dB] and share of places served, 0 to 1, of one emission in every cell of a tile.

    Both NaN where it has no prediction. Parameters and errors as :func:`judge_cells`.
    """
    tile = tile_of(judges, fields, on_air)
    margin, share = (np.empty((tile.y_m.size, tile.x_m.size), dtype=np.float32) for _ in range(2))
    judge_emission(wanted, tile, judges.scene, judges.share, most_partners(judges.scene), margin, share)
    return margin, share


def cell_states(judgement: Judgement) -> npt.NDArray[np.int8]:
    """Return the number of the state of each cell, a place in :data:`STATES`."""
    unserved = np.where(np.greater_equal(judgement.noise_margin_db, 0.0), 3, 2)
    known = np.where(judgement.served, 1, unserved)
    return np.where(judgement.predicted, known, 0).astype(np.int8)


def _judgement(service: str, cells: Records) -> Judgement:
    column = {name: np.ascontiguousarray(cells[name]) for name in CELL.names or ()}
    return Judgement(
        service=service,
        server=column["server"],
        second=column["second"],
        serving=column["serving"],
        margin_db=column["margin"],
        second_margin_db=column["second_margin"],
        noise_margin_db=column["noise_margin"],
        usable_dbuv_m=column["usable"],
        share=column["share"],
        noise_share=column["noise_share"],
        worst=column["worst"],
        unknown=column["unknown"],
    )


def _summing(rules: Rules) -> SumSettings:
    if rules.method == "multiplication":
        plain = Summation(correlation=rules.correlation, k=rules.k, neglect_db=rules.neglect_db).settings()
        return plain._replace(method=MULTIPLICATION)
    settings = Summation(rules.method, rules.correlation, rules.k, rules.neglect_db).settings()
    return settings._replace(neglect=settings.neglect / 2.0)


def _scene(emissions: Sequence[Emission], partners: Partners, rules: Rules) -> Scene:
    """Return the arrays of the kernels.

    Half of what may be neglected goes to interferers that cannot matter beside the noise: n of them, each
    with a mean power of less than neglect/n of the noise, lift the sum by less than the neglect.
    """
    sigma = np.array([each.sigma_db for each in emissions]) * LOGS_PER_DB
    most = max(int(np.diff(partners.start).max()), 1)
    part = math.expm1(rules.neglect_db * LOGS_PER_DB / 2.0) / most
    lowest = math.log(part) if part > 0.0 else -math.inf
    table = np.zeros(len(emissions), dtype=EMISSION)
    table["x_m"] = [each.x_m for each in emissions]
    table["y_m"] = [each.y_m for each in emissions]
    table["minimum"] = np.array([each.minimum_dbuv_m for each in emissions]) * LOGS_PER_DB
    table["noise"] = np.array([each.noise_dbuv_m for each in emissions]) * LOGS_PER_DB
    table["sigma"] = sigma
    table["load"] = math.sqrt(rules.correlation) * sigma
    table["cut_db"] = (lowest - 0.5 * sigma**2) / LOGS_PER_DB
    table["first_pair"], table["end_pair"] = partners.start[:-1], partners.start[1:]
    pairs = np.zeros(partners.emission.size, dtype=PAIR)
    pairs["partner"], pairs["crossed"] = partners.emission, partners.crossed
    pairs["tropospheric_db"], pairs["continuous_db"] = partners.tropospheric_db, partners.continuous_db
    return Scene(table, pairs, curve_corners(), pair_table())


def most_partners(scene: Scene) -> int:
    """Return the greatest number of partners of an emission."""
    return int((scene.emissions["end_pair"] - scene.emissions["first_pair"]).max())


def tile_of(judges: Judges, fields: Fields, on_air: Mask | None) -> Tile:
    """Return the arrays of a tile, checked."""
    count = len(judges.emissions)
    x, y = (np.ascontiguousarray(each, dtype=np.float64) for each in (fields.x_m, fields.y_m))
    shape = (count, y.size, x.size)
    layers = [
        np.ascontiguousarray(each, dtype=np.float32) for each in (fields.median_dbuv_m, fields.at_time_dbuv_m)
    ]
    for layer in layers:
        if layer.shape != shape:
            raise RangeError("shape of the fields", layer.shape, f"{shape}: emissions, rows, columns")
    air = np.ones(count, dtype=np.bool_) if on_air is None else np.asarray(on_air)
    if air.shape != (count,) or air.dtype != np.bool_:
        raise RangeError("emissions on air", f"{air.dtype} {air.shape}", f"bool ({count},)")
    return Tile(x, y, layers[0], layers[1], np.ascontiguousarray(air))
