"""Gathers what a coverage has for a desktop GIS: maps of classes and levels, and tables with places."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from combe.answers.cover import CoverReport, ServiceCoverage, cover_report
from combe.answers.export_tables import SERVED_CLASSES, export_tables, served_codes
from combe.answers.network import Network, mapped_margin_db
from combe.answers.workspace import Progress
from combe.project import Project
from combe.reception import Field, predicted_mask, served_mask

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

Codes = npt.NDArray[np.unsignedinteger[Any]]


@dataclass(frozen=True)
class ClassMap:
    """A map of codes: ``classes`` has the words of each, ``kind`` tells maps of one sort together.

    ``read`` works the codes out anew each time, shape (rows, columns), row 0 north.
    """

    kind: str
    of: str
    title: str
    classes: Mapping[int, str]
    read: Callable[[], Codes] = field(repr=False, compare=False)


@dataclass(frozen=True)
class LevelMap:
    """A map of a level [``unit``], NaN where there is no prediction; ``read`` as :class:`ClassMap` has it."""

    kind: str
    of: str
    title: str
    unit: str
    read: Callable[[], Field] = field(repr=False, compare=False)


@dataclass(frozen=True)
class ExportReport:
    """A coverage as maps and tables for other programs; ``tables`` by the name of their layer."""

    cover: CoverReport
    served: tuple[ClassMap, ...]
    best: tuple[ClassMap, ...]
    margins: tuple[LevelMap, ...]
    tables: Mapping[str, GeoDataFrame]

    @property
    def project(self) -> Project:
        """The study that was asked."""
        return self.cover.project

    @property
    def provenance(self) -> dict[str, str]:
        """What made it, in words."""
        return self.cover.provenance


def export_report(
    project: Project,
    steps_db: Sequence[float],
    progress: Progress | None = None,
    *,
    cache_folder: Path | None = None,
) -> ExportReport:
    """Predict the coverage of a study, and gather its maps and tables.

    Parameters
    ----------
    project
    steps_db
        Lower edges of the classes of margin that become polygons, the lowest first.
    progress
        Told how far the work is.
    cache_folder
        Where fields are kept and found again; nothing is kept if not given.

    Raises
    ------
    CombeError
        As :func:`combe.answers.cover.cover_report`.
    """
    cover = cover_report(project, progress, cache_folder=cache_folder, feeds=True)
    return ExportReport(
        cover,
        tuple(_served_map(each) for each in networks_of(cover)),
        tuple(_best_map(cover, each) for each in cover.services),
        tuple(_margin_map(each) for each in networks_of(cover)),
        export_tables(cover, steps_db),
    )


def networks_of(cover: CoverReport) -> tuple[Network, ...]:
    """Return all services, and each service where there are several."""
    return (cover.all_services, *(cover.services if len(cover.services) > 1 else ()))


def _served_map(network: Network) -> ClassMap:
    title = f"served before and now, {network.name}, with interference"
    return ClassMap(
        "served", network.name, title, dict(enumerate(SERVED_CLASSES)), lambda: served_codes(network)
    )


def _best_map(cover: CoverReport, network: Network) -> ClassMap:
    """Return who serves a service best: stations by their number in the study, from 1."""
    stations = cover.project.stations
    nobody = nobody_code(len(stations))
    numbered = {number: station.name for number, station in enumerate(stations, 1)}
    return ClassMap(
        "best",
        network.name,
        f"station that serves {network.name} best",
        {0: "no prediction", **numbered, nobody: "served by no station"},
        lambda: _best_codes(cover, network, nobody),
    )


def nobody_code(stations: int) -> int:
    """Return the code of cells that no station serves: the highest, which numbers of stations leave free."""
    return 255 if stations < 255 else 65535


def _best_codes(cover: CoverReport, network: Network, nobody: int) -> Codes:
    now_db = network.margin_db
    codes: Codes = np.zeros(now_db.shape, dtype=np.uint8 if nobody == 255 else np.uint16)
    codes[predicted_mask(now_db)] = nobody
    highest_db, own_db = np.full((2, *now_db.shape), -np.inf)
    for number, each in _transmissions(cover, network.name):
        margin_db, noise_db = (np.nan_to_num(one, nan=-np.inf) for one in _levels(each))
        # Members of one network share what they give together; then the strongest of them is the best.
        better = (margin_db > highest_db) | ((margin_db == highest_db) & (noise_db > own_db))
        codes[better & each.served & served_mask(now_db, 0.0)] = number
        highest_db, own_db = np.where(better, margin_db, highest_db), np.where(better, noise_db, own_db)
    return codes


def _levels(transmission: ServiceCoverage) -> tuple[Field, Field]:
    return transmission.judged_margin_db, transmission.margin_db


def _transmissions(cover: CoverReport, service: str) -> Iterator[tuple[int, ServiceCoverage]]:
    """Yield who radiates a service, with the number of its station."""
    for number, covered in enumerate(cover.stations, 1):
        yield from ((number, each) for each in covered.services if each.service == service)


def _margin_map(network: Network) -> LevelMap:
    title = f"margin over the minimum, {network.name}, every station, with interference"
    return LevelMap("margin", network.name, title, "dB", lambda: mapped_margin_db(network.margin_db))
