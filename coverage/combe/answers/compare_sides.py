"""Two coverages cell by cell: margins on one grid, their errors, and where both are served from one mast."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from combe.answers.compare_fit import same_grid, same_prediction
from combe.answers.corrections import corrections_of
from combe.answers.cover import CoverReport
from combe.answers.cover_run import field_map_of
from combe.answers.margin_errors import network_errors
from combe.answers.network import Network, NetworkError
from combe.planning import Census, CountDifferences, Homes, Judged, MarginError, Mask, count_differences
from combe.stations import Station
from combe.terrain import StudyGrid, cell_centres_m, to_grid_m, to_lonlat_deg

Values = TypeVar("Values", bound=np.generic)
Place = tuple[float, float, float]
_NOBODY = -1


class Masts(NamedTuple):
    """Which mast serves each cell best, of every station and of the parents alone, by number; −1 for none."""

    after: npt.NDArray[np.int32]
    before: npt.NDArray[np.int32]


@dataclass(frozen=True)
class Onto:
    """How the cells of one grid are read at those of another: the nearest ones, nothing beyond the edge."""

    rows: npt.NDArray[np.intp]
    columns: npt.NDArray[np.intp]
    inside: Mask

    def read(self, layer: npt.NDArray[Values], beyond: Any) -> npt.NDArray[Values]:
        """Return a layer of the one grid over the other."""
        found: npt.NDArray[Values] = np.where(self.inside, layer[self.rows, self.columns], beyond)
        return found


def onto(grid: StudyGrid, other: StudyGrid) -> Onto:
    """Return how cells of another grid are read at those of a grid."""
    x_m, y_m = np.meshgrid(*cell_centres_m(grid))
    x_m, y_m = to_grid_m(other, *to_lonlat_deg(grid, x_m, y_m))
    columns = np.floor((x_m - other.west_m) / other.cell_size_m)
    rows = np.floor((other.north_m - y_m) / other.cell_size_m)
    inside: Mask = (rows >= 0) & (rows < other.rows) & (columns >= 0) & (columns < other.columns)
    down, across = (np.where(inside, each, 0).astype(np.intp) for each in (rows, columns))
    return Onto(down, across, inside)


class Pair:
    """Two coverages over the cells of the first; each network is read when it is asked for."""

    def __init__(self, first: CoverReport, second: CoverReport, censuses: Sequence[Census | None]) -> None:
        self.first, self.second = first, second
        self._onto = None if same_grid(first, second) else onto(first.grid, second.grid)
        # Cells of another size tell other people as served from the very same mast.
        self._alike = self._onto is None and same_prediction(first.project, second.project)
        self._errors = [_errors_of(*each) for each in zip((first, second), censuses, strict=True)]
        self._numbers: dict[Place, int] = {}

    def margin_db(self, network: Network, *, before: bool = False) -> npt.NDArray[Any]:
        """Return margins of a network of the second coverage over the cells of the first."""
        return self._over(network.margin_before_db if before else network.margin_db, np.nan)

    def differences(self, homes: Homes, name: str) -> tuple[CountDifferences, ...]:
        """Return how the counts of a network differ, of each group of people."""
        one, two = (_network(each, name) for each in (self.first, self.second))
        first = Judged(one.margin_db, one.margin_before_db, *self._errors[0][name])
        after, before = (self._error_over(each) for each in self._errors[1][name])
        second = Judged(self.margin_db(two), self.margin_db(two, before=True), after, before)
        return count_differences(homes, first, second, self._served_alike(name))

    def _served_alike(self, name: str) -> Mask:
        shape = self.first.grid.rows, self.first.grid.columns
        names = [each.name for each in self.first.services]
        others = [each.name for each in self.second.services]
        wanted = names if name == self.first.all_services.name else [name]
        if not self._alike or (wanted is names and set(names) != set(others)):
            return np.zeros(shape, dtype=np.bool_)
        alike = np.ones(shape, dtype=np.bool_)
        for each in wanted:
            for one, two in zip(
                *(self._masts(side, each) for side in (self.first, self.second)), strict=True
            ):
                alike &= one == self._over(two, _NOBODY)
        return alike

    def _masts(self, report: CoverReport, service: str) -> Masts:
        return best_masts(report, service, lambda place: self._numbers.setdefault(place, len(self._numbers)))

    def _over(self, layer: npt.NDArray[Values], beyond: Any) -> npt.NDArray[Values]:
        return layer if self._onto is None else self._onto.read(layer, beyond)

    def _error_over(self, error: MarginError) -> MarginError:
        if self._onto is None:
            return error
        return MarginError(
            *(each if np.ndim(each) == 0 else self._over(np.asarray(each), 0.0) for each in error)
        )


def _network(report: CoverReport, name: str) -> Network:
    return next(each for each in (report.all_services, *report.services) if each.name == name)


def _errors_of(report: CoverReport, census: Census | None) -> dict[str, NetworkError]:
    errors = network_errors(report.run, corrections_of(report.project), report.error, census)
    names = [each.name for each in (report.all_services, *report.services)]
    return dict(zip(names, errors, strict=True))


def best_masts(report: CoverReport, service: str, number: Callable[[Place], int]) -> Masts:
    """Return from which mast a service is strongest in each cell, of all stations and of the parents alone.

    Strongest against its own minimum, as the errors of margins are taken. A mast is a place and a height: a
    prediction from there is off alike, whatever power and pattern it is radiated with.
    """
    shape = report.grid.rows, report.grid.columns
    found = [np.full(shape, _NOBODY, dtype=np.int32) for _ in range(2)]
    best = [np.full(shape, -np.inf, dtype=np.float32) for _ in range(2)]
    for emission, station in _radiating(report, service):
        over_db = field_map_of(report.run, emission).field_dbuv_m - report.run.minima[emission].median_dbuv_m
        mast = number(place_of(station))
        for side in (0, 1) if station.role == "parent" else (0,):
            stronger = over_db > best[side]
            found[side][stronger], best[side][stronger] = mast, over_db[stronger]
    return Masts(*found)


def _radiating(report: CoverReport, service: str) -> Iterator[tuple[int, Station]]:
    for emission, (station, radiated) in enumerate(report.run.radiated):
        if radiated.name == service:
            yield emission, station


def place_of(station: Station) -> Place:
    """Return where a station radiates from: longitude, latitude [degrees], height [m]."""
    return station.longitude_deg, station.latitude_deg, station.aerial_height_m
