"""Whom a relay may harm, wherever it stands: the services that people have on channels that it may disturb.

Harm is that of coverage, which lists for a relay of the study who falls below the standard because of it:
the same protection ratios, aerials, percentages and sums. A person counts once, for any service, whoever
serves it afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from combe.answers.cover_run import CoverRun, heard_at, judged_with
from combe.answers.emissions import (
    emissions_of,
    method_words,
    partners_among,
    protection_of,
    rules_of,
)
from combe.answers.site_setup import cell_of_grid
from combe.decibels import FloatArray
from combe.digits import spoken
from combe.planning.siting import RelayTemplate, Victims, nobody, people_by_cell
from combe.project import Project, minimum_field
from combe.reception import Field, Judges, Protection, fields_at, make_judges, stands_dbuv_m
from combe.standards import curve_number
from combe.stations import Service, Station
from combe.terrain import People, cell_centres_m
from combe.words import joined, tell

NOT_COUNTED = "interference is not counted, as the study asks, so harm was not looked at"
NO_PAIR = (
    "exactly 0: no output lies on a channel on which it may disturb a service that is on air, nor on one "
    "next to it"
)


class AtRisk(NamedTuple):
    """Whom a relay may harm, and in words how that was found."""

    victims: Victims
    words: str


class _Threat(NamedTuple):
    """A service on air, as its place in the run, and the ratios of each output against it."""

    wanted: int
    ratios: tuple[Protection | None, ...]


def at_risk(
    project: Project, run: CoverRun, people: People, template: RelayTemplate, on_air: Iterable[Station]
) -> AtRisk:
    """Return whom the relay of a template may harm of those whom the stations on air serve."""
    outputs = template.services
    if not project.interference.counted:
        return AtRisk(nobody(len(outputs)), NOT_COUNTED)
    names = {station.name for station in on_air}
    air = [n for n, each in enumerate(run.radiated) if each.station.name in names]
    threats = _threats(project, run, air, outputs)
    if not threats:
        return AtRisk(nobody(len(outputs)), NO_PAIR)
    share = people_by_cell(run.area.grid, people)
    names_at_risk = dict.fromkeys(run.radiated[threat.wanted].service.name for threat in threats)
    servers = {name: _servers(run, air, name) for name in names_at_risk}
    judges = _judges(project, run, air)
    parts = [_part(project, run, air, judges, threat, template, share, servers) for threat in threats]
    victims = _joined(parts, share, len(outputs))
    return AtRisk(victims, _words(project, run, threats, victims))


def _threats(project: Project, run: CoverRun, air: list[int], outputs: Sequence[Service]) -> list[_Threat]:
    """Return the services on air that an output may disturb."""
    found = [
        _Threat(
            wanted,
            tuple(protection_of(project, run.radiated[wanted].service, each) for each in outputs),
        )
        for wanted in air
    ]
    return [threat for threat in found if any(threat.ratios)]


class _Part(NamedTuple):
    """Where one service is had and may be lost: cells, what it stands there, and what is the same in all."""

    cells: npt.NDArray[np.int64]
    stands_dbuv_m: FloatArray
    ratio_db: FloatArray
    crossed: bool
    station: tuple[float, float]
    curve: int


def _part(
    project: Project,
    run: CoverRun,
    air: list[int],
    judges: Judges,
    threat: _Threat,
    template: RelayTemplate,
    share: FloatArray,
    servers: Mapping[str, npt.NDArray[np.int64]],
) -> _Part:
    station, service = run.radiated[threat.wanted]
    cells = np.flatnonzero((servers[service.name] == threat.wanted) & (share > 0.0))
    ratio_db = [
        (-np.inf, -np.inf) if each is None else (each.tropospheric_db, each.continuous_db)
        for each in threat.ratios
    ]
    disturbing = next(k for k, each in enumerate(threat.ratios) if each is not None)
    return _Part(
        cells.astype(np.int64),
        _stood_dbuv_m(project, run, air, judges, threat.wanted, template.services[disturbing], cells),
        np.array(ratio_db, dtype=np.float64),
        project.interference.cross_polarization
        and not project.way.portable
        and station.polarization != template.polarization,
        cell_of_grid(run.area.grid, station.longitude_deg, station.latitude_deg),
        curve_number(service.frequency_mhz, directional=not project.way.portable),
    )


def _servers(run: CoverRun, air: list[int], service: str) -> npt.NDArray[np.int64]:
    """Return which emission serves each cell, flat, with a service best, the first of equals; −1 for none."""
    cells = run.area.grid.rows * run.area.grid.columns
    best_db, server = np.full(cells, -np.inf), np.full(cells, -1)
    for emission in air:
        if run.radiated[emission].service.name == service:
            margin_db = _known(run, emission, air)
            server[margin_db > best_db] = emission
            best_db = np.maximum(best_db, margin_db)
    return np.where(best_db >= 0.0, server, -1)


def _known(run: CoverRun, emission: int, air: list[int]) -> Field:
    """Return the margin of an emission, flat, −inf without prediction."""
    found: Field = np.nan_to_num(judged_with(run, emission, air)[0], nan=-np.inf).ravel()
    return found


def _judges(project: Project, run: CoverRun, air: list[int]) -> Judges:
    """Return the judges of the emissions on air, in their order there."""
    radiated = [run.radiated[n] for n in air]
    emissions = emissions_of(project, run.area.grid, radiated)
    return make_judges(emissions, rules_of(project), partners_among(project, radiated))


def _stood_dbuv_m(
    project: Project,
    run: CoverRun,
    air: list[int],
    judges: Judges,
    wanted: int,
    output: Service,
    cells: npt.NDArray[np.intp],
) -> FloatArray:
    """Return the greatest nuisance field [dB(µV/m)] of an output that a service stands in cells (n,)."""
    x_m, y_m = cell_centres_m(run.area.grid)
    row, column = np.divmod(cells, run.area.grid.columns)
    layers = (np.stack(each) for each in zip(*(heard_at(run, n, cells) for n in air), strict=True))
    sigma_db = minimum_field(project, output.frequency_mhz, service=output).location_deviation_db
    fields = fields_at(x_m[column], y_m[row], *layers)
    return stands_dbuv_m(judges, fields, air.index(wanted), sigma_db).ravel()


def _joined(parts: list[_Part], share: FloatArray, outputs: int) -> Victims:
    """Put the services of all parts together by place."""
    if not any(part.cells.size for part in parts):
        return nobody(outputs)
    cell = np.concatenate([part.cells for part in parts])
    part_of = np.repeat(np.arange(len(parts)), [part.cells.size for part in parts])
    order = np.argsort(cell, kind="stable")
    cells, first = np.unique(cell[order], return_index=True)
    of = part_of[order]
    return Victims(
        cells,
        share[cells],
        np.append(first, cell.size).astype(np.int64),
        np.concatenate([part.stands_dbuv_m for part in parts])[order],
        np.stack([part.ratio_db for part in parts])[of],
        np.array([part.crossed for part in parts], dtype=np.bool_)[of],
        np.array([part.station for part in parts], dtype=np.float64)[of],
        np.array([part.curve for part in parts], dtype=np.int64)[of],
    )


def _words(project: Project, run: CoverRun, threats: list[_Threat], victims: Victims) -> str:
    """Return in words who is at risk, and how harm is counted."""
    named = dict.fromkeys(
        tell(
            "{name} {name_2} channel {channel}",
            name=radiated.station.name,
            name_2=radiated.service.name,
            channel=radiated.service.channel,
        )
        for radiated in (run.radiated[threat.wanted] for threat in threats)
    )
    used = dict.fromkeys(ratio for threat in threats for ratio in threat.ratios if ratio is not None)
    return tell(
        "people who lose a service from another station, whoever serves them afterwards, each once; at risk "
        "are {sum} served by {named}; "
        "{method_words}"
        "; outputs on one service are added as powers, and harm of several sites is added",
        sum=spoken(float(victims.people.sum())),
        named=joined(", ", named),
        method_words=method_words(project, used),
    )
