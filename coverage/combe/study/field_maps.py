"""Predicts the fields of all stations of a study, for wanted and for interfering signals, kept if asked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combe.prediction.area import Area
from combe.prediction.conditions import Conditions
from combe.prediction.coverage import predict_coverage
from combe.prediction.field_map import FieldMap
from combe.prediction.field_store import FieldStore, open_store, trim_store
from combe.prediction.stored_coverage import StoredCoverage, stored_coverage
from combe.reception.service import Field
from combe.stations.transmitter import Station
from combe.study.contest import interfering_stations
from combe.study.emissions import interfering_conditions
from combe.study.resolve import Scene

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""

_STEPS_A_SWEEP: Final = 100


@dataclass(frozen=True)
class StationMaps:
    """The field maps of a station's services; ``at_time_dbuv_m`` has their fields as interferers.

    A station that can disturb nobody is not predicted as an interferer, and has its wanted fields there.
    """

    station: Station
    maps: tuple[FieldMap, ...]
    at_time_dbuv_m: tuple[Field, ...]
    from_cache: bool


def predict_stations(
    scene: Scene, area: Area, cache_folder: Path | None = None, progress: Progress | None = None
) -> tuple[StationMaps, ...]:
    """Predict every station, and those that may disturb another one once more as interferers.

    Parameters
    ----------
    cache_folder
        Where fields are kept and found again; nothing is kept if not given.
    progress
        Told how far the work is.

    Raises
    ------
    OutputError
        A cache folder that cannot be made or written.
    RangeError, TerrainGapError
        As the prediction.
    """
    store = None if cache_folder is None else open_store(area, cache_folder)
    later = interfering_conditions(scene)
    again = interfering_stations(scene) if later != scene.conditions else []
    steps = _Steps(progress, _STEPS_A_SWEEP * (len(scene.stations) + len(again)))
    wanted = [
        _predicted(scene, area, store, station, scene.conditions, steps, f"coverage of {station.name}")
        for station in scene.stations
    ]
    percent = f"{later.time_percent:g} % of time"
    disturbing = {
        index: _predicted(
            scene, area, store, scene.stations[index], later, steps,
            f"{scene.stations[index].name} as interferer, {percent}",
        )
        for index in again
    }  # fmt: skip
    if store is not None:
        trim_store(store)
    return tuple(
        StationMaps(
            station,
            tuple(found.maps),
            tuple(each.field_dbuv_m for each in disturbing.get(index, found).maps),
            found.from_cache,
        )
        for index, (station, found) in enumerate(zip(scene.stations, wanted, strict=True))
    )


@dataclass
class _Steps:
    """Counts sweeps and tells them; the only thing here that changes."""

    progress: Progress | None
    total: int
    done: int = 0

    def telling(self, what: str) -> Callable[[float], None]:
        """Return what one sweep calls with the share that is done."""

        def told(share: float) -> None:
            if self.progress is not None:
                self.progress(self.done + round(_STEPS_A_SWEEP * share), self.total, what)

        return told


def _predicted(
    scene: Scene,
    area: Area,
    store: FieldStore | None,
    station: Station,
    conditions: Conditions,
    steps: _Steps,
    what: str,
) -> StoredCoverage:
    """Return the field maps of a station, from the store where there is one that has them."""
    height_m = scene.study.content.television.receive_height_m
    told = steps.telling(what)
    if store is None:
        maps = predict_coverage(area, station, conditions=conditions, rx_height_m=height_m, progress=told)
        found = StoredCoverage(maps, from_cache=False)
    else:
        found = stored_coverage(store, station, conditions=conditions, rx_height_m=height_m, progress=told)
    steps.done += _STEPS_A_SWEEP
    return found
