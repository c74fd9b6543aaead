"""Who is served by each television system where a study has several: not every receiver takes them all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import reduce

import numpy as np

from combe.answers.cover_run import CoverRun, judged_alone, predicted_where, served_where
from combe.answers.network import ALL_SERVICES
from combe.planning import Census, Mask, PeopleCount, count_reach
from combe.project import Project
from combe.reception import Field


@dataclass(frozen=True)
class SystemCoverage:
    """A service, or all services, of one television system over all stations that radiate it so.

    ``emissions`` has those of each service. All stations are on the air; the interference of every system
    counts.
    """

    system: str
    service: str
    stations: int
    cells_served: int
    people: PeopleCount | None
    emissions: tuple[tuple[int, ...], ...]
    run: CoverRun = field(repr=False, compare=False)

    @property
    def whole(self) -> bool:
        """Whether it is all services of the system."""
        return self.service == ALL_SERVICES

    @property
    def margin_db(self) -> Field:
        """Margin of the worst-off service, each from its best station; NaN where none has a prediction."""
        each = [reduce(np.fmax, (judged_alone(self.run, n)[0] for n in one)) for one in self.emissions]
        found: Field = reduce(np.minimum, each)
        return found


def system_coverage(project: Project, run: CoverRun, census: Census | None) -> tuple[SystemCoverage, ...]:
    """Return what each system serves: all its services, then each where it has several.

    Nothing where there is but one system. Modes of one system are one: its receivers take them all.
    """
    names = [project.television_of(each.service).name for each in run.radiated]
    if len(set(names)) < 2:
        return ()
    found = []
    for system in dict.fromkeys(names):
        services: dict[str, tuple[int, ...]] = {}
        for index, (name, each) in enumerate(zip(names, run.radiated, strict=True)):
            if name == system:
                services[each.service.name] = (*services.get(each.service.name, ()), index)
        found.append(_coverage(run, census, system, ALL_SERVICES, tuple(services.values())))
        if len(services) > 1:
            found += [_coverage(run, census, system, name, (each,)) for name, each in services.items()]
    return tuple(found)


def _coverage(
    run: CoverRun,
    census: Census | None,
    system: str,
    service: str,
    emissions: tuple[tuple[int, ...], ...],
) -> SystemCoverage:
    served, predicted = (
        reduce(np.logical_and, (_any(run, one, read) for one in emissions))
        for read in (served_where, predicted_where)
    )
    stations = {run.radiated[index].station.name for one in emissions for index in one}
    return SystemCoverage(
        system,
        service,
        len(stations),
        int(served.sum()),
        count_reach(census, served, predicted),
        emissions,
        run,
    )


def _any(run: CoverRun, emissions: tuple[int, ...], read: Callable[[CoverRun, int], Mask]) -> Mask:
    found: Mask = reduce(np.logical_or, (read(run, each) for each in emissions))
    return found
