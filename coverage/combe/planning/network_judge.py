"""The judge that goes by the planning standard: every service, with interference, tile by tile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Final

import numpy as np
import numpy.typing as npt

from combe.errors import RangeError
from combe.planning.grid_tiles import Tile, tile_centres_m, tile_fields
from combe.planning.tile_results import Judge, Judged
from combe.prediction.field_key import array_hash, content_hash
from combe.reception.judge_cells import Fields, Judgement, Judges, judge_cells

Mask = npt.NDArray[np.bool_]

MAPS: Final = tuple(each.name for each in fields(Judgement) if each.name != "service")
"""Arrays of a judgement, by name."""


def services_in(judges: Judges) -> tuple[str, ...]:
    """Return each service name once, in the order of the emissions: the first axis of the judged arrays."""
    return tuple(dict.fromkeys(each.service for each in judges.emissions))


def standard_judge(judges: Judges, situations: Mapping[str, Mask | None]) -> tuple[Judge, str]:
    """Return a judge for :class:`combe.planning.network_run.NetworkTask`, and its ``judge_key``.

    Parameters
    ----------
    judges
        The emissions, in the order of stations and their services in the task, and the rules.
    situations
        By name, which emissions are on air, bool (emissions,); None for all of them. For example
        ``{"before": parents, "after": None}``.

    Returns
    -------
    judge, judge_key
        The judge gives every array of :class:`combe.reception.judge_cells.Judgement` for each situation,
        named ``margin_db_after`` and so on, shape (services, rows, columns). Interference for the small
        percentage of time is taken from the last of the task's conditions, the median from the first.

    Raises
    ------
    RangeError
        For no situation; when judging, for a task whose stations and services are not the emissions.
    """
    if not situations:
        raise RangeError("number of situations", 0, "1 or more")
    names, services = [(each.station, each.service) for each in judges.emissions], services_in(judges)

    def judge(tile: Tile) -> Judged:
        given = [(each.station.name, each.service.name) for each in tile.radiated]
        if given != names:
            raise RangeError("stations and services of the task", given, f"those of the emissions, {names}")
        seen = _fields(tile)
        return {
            f"{name}_{situation}": array
            for situation, on_air in situations.items()
            for name, array in _judged(judges, seen, services, on_air).items()
        }

    return judge, _key(judges, situations)


def _fields(tile: Tile) -> Fields:
    x_m, y_m = tile_centres_m(tile)
    median = tile_fields(tile)
    at_time = median if len(tile.layers) == 1 else tile_fields(tile, condition=len(tile.layers) - 1)
    return Fields(x_m, y_m, median, at_time)


def _judged(judges: Judges, seen: Fields, services: tuple[str, ...], on_air: Mask | None) -> Judged:
    """Return the arrays of all services, one upon the other."""
    found = [judge_cells(judges, seen, service, on_air) for service in services]
    return {name: np.stack([getattr(each, name) for each in found]) for name in MAPS}


def _key(judges: Judges, situations: Mapping[str, Mask | None]) -> str:
    return content_hash(
        {
            "emissions": [asdict(each) for each in judges.emissions],
            "rules": asdict(judges.rules),
            "pairs": [array_hash(each) for each in judges.partners],
            "situations": [
                [name, None if on_air is None else np.asarray(on_air).tolist()]
                for name, on_air in situations.items()
            ],
        }
    )
