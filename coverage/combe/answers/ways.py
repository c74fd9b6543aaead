"""The coverage of a study by each way of receiving: the same fields, judged by other judges.

What a way asks of the field differs, and what its aerial holds off; the fields do not, save where a way has
them predicted at its own height. So a further way costs the judging, and no sweep.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from combe.answers.corrections import Corrections
from combe.answers.cover_run import CoverRun, map_reader, run_network
from combe.answers.margin_errors import network_errors
from combe.answers.network import ALL_SERVICES, Network, count_networks
from combe.answers.prediction_error import ErrorOfProject
from combe.answers.workspace import Progress
from combe.planning import Census, PeopleCount
from combe.prediction import Area
from combe.project import MinimumField, Project
from combe.reception import WayOfReceiving


@dataclass(frozen=True)
class WayCoverage:
    """The coverage by one way of receiving: margins and people of all services and of each.

    ``minima`` are the fields that its receivers need, for each service of each station, in their order.
    """

    way: WayOfReceiving
    all_services: Network
    services: tuple[Network, ...]
    run: CoverRun = field(repr=False, compare=False)

    @property
    def name(self) -> str:
        """What the way is called."""
        return self.way.name

    @property
    def people(self) -> PeopleCount | None:
        """Who has all services; None where nobody is counted."""
        return self.all_services.people

    @property
    def minima(self) -> tuple[MinimumField, ...]:
        """The minimum fields of the emissions, outdoors at the height of the fields."""
        return self.run.minima


def cover_ways(
    project: Project,
    first: WayCoverage,
    area: Area,
    corrections: Corrections,
    census: Census | None,
    error: ErrorOfProject,
    cache_folder: Path | None = None,
    progress: Progress | None = None,
) -> tuple[WayCoverage, ...]:
    """Return the coverage by each way of a project; that by the first is known.

    Errors as :func:`combe.answers.cover_run.run_network`.
    """
    found = [first]
    for number, way in enumerate(project.ways[1:], 1):
        run = run_network(
            project.received_by(way),
            area,
            corrections,
            cache_folder,
            part_of(progress, number, len(project.ways)),
            first.run.task.tile_bytes,
            beside=first.run.workspace,
        )
        found.append(count_way(way, run, census, corrections, error, judged=project.interference.counted))
    return tuple(found)


def count_way(
    way: WayOfReceiving,
    run: CoverRun,
    census: Census | None,
    corrections: Corrections,
    error: ErrorOfProject,
    *,
    judged: bool,
) -> WayCoverage:
    """Count the people of a judged network, in all services and in each, with ranges by an error."""
    names = (ALL_SERVICES, *run.services)
    maps = {name: map_reader(run, layer) for layer, name in enumerate(names)}
    errors = network_errors(run, corrections, error, census)
    everything, *each = count_networks(maps, census, errors, judged=judged)
    return WayCoverage(way, everything, tuple(each), run)


def part_of(progress: Progress | None, number: int, parts: int) -> Progress | None:
    """Return what tells the progress of one part, by its number from 0, as that of the whole."""
    if progress is None or parts == 1:
        return progress

    def tell(done: int, steps: int, what: str) -> None:
        progress(number * steps + done, parts * steps, what)

    return tell
