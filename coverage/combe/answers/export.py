"""Gathers what a coverage has for a desktop GIS: maps of classes and levels, and tables with places."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from combe.answers.class_maps import ClassMap, best_map, served_map
from combe.answers.cover import CoverReport, cover_report
from combe.answers.export_tables import export_tables
from combe.answers.network import Network, mapped_margin_db
from combe.answers.site import SiteWork, site_work
from combe.answers.site_cells import HILL_UNITS, HILL_WORDS, hill_values, over_grid
from combe.answers.site_report import site_provenance
from combe.answers.workspace import Progress
from combe.project import Project
from combe.reception import Field
from combe.words import tell

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

    from combe.terrain import StudyGrid


@dataclass(frozen=True)
class LevelMap:
    """A map of a level [``unit``], NaN where there is no prediction; ``read`` as :class:`ClassMap` has it."""

    kind: str
    of: str
    title: str
    unit: str
    read: Callable[[], Field] = field(repr=False, compare=False)


@dataclass(frozen=True)
class HillMaps:
    """What a siting knows of every hill, each as a map over the grid of the siting, and what made it."""

    grid: StudyGrid
    maps: tuple[LevelMap, ...]
    provenance: dict[str, str]


@dataclass(frozen=True)
class ExportReport:
    """A coverage as maps and tables for other programs; ``tables`` by the name of their layer.

    ``hills`` are there where they were asked for.
    """

    cover: CoverReport
    served: tuple[ClassMap, ...]
    best: tuple[ClassMap, ...]
    margins: tuple[LevelMap, ...]
    tables: Mapping[str, GeoDataFrame]
    hills: HillMaps | None = None

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
    siting_folder: Path | None = None,
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
    siting_folder
        Where blocks of the hills are kept and found again; without it hills are not searched.

    Raises
    ------
    CombeError
        As :func:`combe.answers.cover.cover_report`, and with hills as :func:`combe.answers.site.site_work`.
    """
    hills = None
    if siting_folder is not None:
        work = site_work(project, siting_folder, progress=progress, cache_folder=cache_folder)
        hills = HillMaps(work.area.grid, hill_maps(work), site_provenance(work))
    cover = cover_report(project, progress, cache_folder=cache_folder, feeds=True)
    return ExportReport(
        cover,
        tuple(served_map(each) for each in networks_of(cover)),
        tuple(best_map(cover, each) for each in cover.services),
        tuple(_margin_map(each) for each in networks_of(cover)),
        export_tables(cover, steps_db),
        hills,
    )


def hill_maps(work: SiteWork) -> tuple[LevelMap, ...]:
    """Return what is known of every hill as maps, NaN where none was searched or it is not known."""
    return tuple(
        LevelMap(
            "hills",
            key,
            tell("{hill_words}, of every hill", hill_words=HILL_WORDS[key]),
            HILL_UNITS[key],
            partial(over_grid, work, values),
        )
        for key, values in hill_values(work).items()
    )


def networks_of(cover: CoverReport) -> tuple[Network, ...]:
    """Return all services, and each service where there are several."""
    return (cover.all_services, *(cover.services if len(cover.services) > 1 else ()))


def _margin_map(network: Network) -> LevelMap:
    title = tell("margin over the minimum, {name}, every station, with interference", name=network.name)
    return LevelMap("margin", network.name, title, "dB", lambda: mapped_margin_db(network.margin_db))
