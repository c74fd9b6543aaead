"""The front door for programs: load a project, ask it, and have the answer said.

The verbs are those of the commands. Each takes a project and returns a frozen answer; :func:`report` says it
as text, JSON or a page. The command line goes the same way, so both always agree.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from combe.project import Coordination, Project
from combe.reports.report import Report, report
from combe.study.file import checked_study, read_study
from combe.study.new import new_study
from combe.study.project_of import Rasters, load_project, project_of

if TYPE_CHECKING:
    from combe.answers.brief import BriefReport
    from combe.answers.channels import ChannelsReport
    from combe.answers.check import CheckReport
    from combe.answers.compare import CompareReport
    from combe.answers.coordinate import CoordinateReport
    from combe.answers.cover import CoverReport
    from combe.answers.delays import DelaysReport
    from combe.answers.explain import Explanation
    from combe.answers.feed import FeedReport
    from combe.answers.path import PathReport
    from combe.answers.retire import RetireReport
    from combe.answers.site_report import SiteReport
    from combe.answers.visit import VisitReport

__all__ = [
    "Report", "brief", "channels", "check", "check_file", "compare", "coordinate", "cover", "delays", "demo",
    "explain", "feed", "load", "new_study", "path", "report", "retire", "site", "visit",
]  # fmt: skip

Progress = Callable[[int, int, str], None]


def load(study: Path | str) -> Project:
    """Return the project of a study file.

    Raises
    ------
    StudyError
        With every fault of the file.
    RasterError, TableError
        Terrain, ground cover or zones that cannot be used.

    Examples
    --------
    >>> from combe.study.new import demo_study_path
    >>> load(demo_study_path()).title
    'A relay for Larkcombe'
    """
    return load_project(study)


def demo() -> Project:
    """Return the project of the demo: real ground, invented stations and people.

    Examples
    --------
    >>> [station.name for station in demo().stations]
    ['Tarnbeacon', 'Larkcombe']
    """
    from combe.study.new import demo_study_path

    return load_project(demo_study_path())


def check_file(study: Path | str) -> CheckReport:
    """Read a study file and open everything it names.

    Raises
    ------
    StudyError
        With the faults of the file, and those of its rasters and places as far as the file lets them be
        looked for; alone where it is no TOML.
    """
    from combe.answers.check import check_report
    from combe.answers.ground_check import open_parts
    from combe.study.sound_parts import parts_of_reading

    reading = read_study(study)
    found = open_parts(parts_of_reading(reading))
    if found.terrain is None or reading.content is None or reading.faults or found.faults:
        raise reading.error(found.faults)
    opened = Rasters(found.terrain, found.cover, found.zones)
    return check_report(project_of(checked_study(reading), opened), found)


def check(project: Project) -> CheckReport:
    """Open everything that a project names, and note what hardly any place has.

    Raises
    ------
    StudyError
        With every fault found.

    Examples
    --------
    >>> check(demo()).notes[0]
    'the terrain is a surface model: trees and roofs count as ground'
    """
    from combe.answers.check import check_report

    return check_report(project)


def path(project: Project, from_station: str, to_station: str) -> PathReport:
    """Predict the path from one station to another, for each service of the first.

    Raises
    ------
    RangeError
        A name that is no station, or one station twice.
    StudyError, TerrainGapError, RasterError
        Stations on no ground; ground missing on the way, or terrain that cannot be used.

    Examples
    --------
    >>> round(path(demo(), "Tarnbeacon", "Larkcombe").services[0].prediction.distance_km, 1)
    16.9
    """
    from combe.answers.path import path_report

    return path_report(project, from_station, to_station)


def feed(project: Project, *, time_percent: float | Sequence[float] | None = None) -> FeedReport:
    """Work out the off-air feed of every relay, and judge it.

    Parameters
    ----------
    time_percent
        Share of an average year for which the margin has to stand [%], 50 to 99.999, in place of that of each
        feed; of several the greatest is judged.

    Raises
    ------
    StudyError, TerrainGapError, RasterError
        No relay, stations on no ground, ground missing on the way.

    Examples
    --------
    >>> feed(demo()).verdict
    'passes'
    """
    from combe.answers.feed import feed_report

    return feed_report(project, time_percent=time_percent)


def cover(
    project: Project, *, progress: Progress | None = None, cache_folder: Path | None = None
) -> CoverReport:
    """Predict what every station covers, who is served, who newly, and what it costs others.

    Parameters
    ----------
    progress
        Called with steps done, steps in all, and what is being done.
    cache_folder
        Where fields are kept and found again; nothing is kept if not given.

    Raises
    ------
    StudyError, TerrainGapError, RasterError, RangeError, OutputError
        Stations on no ground; rasters or a grid that cannot be used; a folder that cannot be written.

    Examples
    --------
    >>> from dataclasses import replace
    >>> coarse = replace(demo(), grid=replace(demo().grid, cell_size_m=900.0))
    >>> cover(coarse).all_services.people.newly_served > 0
    True
    """
    from combe.answers.cover import cover_report

    return cover_report(project, progress, cache_folder=cache_folder)


def compare(
    first: Project, *others: Project, progress: Progress | None = None, cache_folder: Path | None = None
) -> CompareReport:
    """Hold one or two other projects against a first: which is better on which count, and how surely.

    It raises RangeError for other ground, people or television rules; the rest is as of :func:`cover`.
    """
    from combe.answers.compare import compare_report

    return compare_report((first, *others), progress, cache_folder=cache_folder)


def site(
    project: Project,
    folder: Path | None = None,
    *,
    progress: Progress | None = None,
    cache_folder: Path | None = None,
) -> SiteReport:
    """Search the hills on which a relay would serve most people newly.

    Parameters
    ----------
    folder
        Where results of blocks stay, to go on after a stop, or none. The rest is as of :func:`cover`.

    Raises
    ------
    StudyError
        A project without the question of a site, or in which nothing can be searched; and as :func:`cover`.

    Examples
    --------
    >>> from dataclasses import replace
    >>> asked = replace(demo().siting, cell_size_m=900.0, list_length=2, sites=1)
    >>> len(site(replace(demo(), siting=asked)).candidates)
    2
    """
    from combe.answers.site_report import site_report

    with tempfile.TemporaryDirectory() as passing:
        return site_report(project, folder or Path(passing), progress=progress, cache_folder=cache_folder)


def brief(
    project: Project,
    *,
    alternatives: bool = False,
    progress: Progress | None = None,
    cache_folder: Path | None = None,
) -> BriefReport:
    """Gather what a manager decides by; with ``alternatives`` the best other hills are searched as well.

    The rest, and what is raised, is as of :func:`cover`, :func:`feed` and :func:`site`.
    """
    from combe.answers.brief import brief_report
    from combe.study.named_files import files_of

    with tempfile.TemporaryDirectory() as passing:
        folder = Path(passing) if alternatives else None
        return brief_report(
            project, progress, cache_folder=cache_folder, siting_folder=folder, files=files_of(project)
        )


def channels(
    project: Project, relays: Sequence[str] = (), channels: Sequence[int] | None = None
) -> ChannelsReport:
    """Rank the output channels of relays by the people they harm, and assign them all at once.

    Parameters
    ----------
    relays
        Names; all relays unless given.
    channels
        Those that may be used at all; all that the planning values cover unless given.

    Raises
    ------
    StudyError, RangeError
        No people or relays; a name that is no relay, a channel that is not usable.

    Examples
    --------
    >>> found = channels(demo(), channels=(41, 44, 47, 48))
    >>> found.outputs[0].service
    'Mux A'
    """
    from combe.answers.channels import channels_report

    return channels_report(project, relays, channels)


def coordinate(
    project: Project, asked: Coordination | None = None, *, progress: Progress | None = None
) -> CoordinateReport:
    """Predict fields at a neighbour's places, those ``asked`` or the project's own, against triggers.

    Raises
    ------
    StudyError, RangeError, TableError
        Nothing is asked; stations on no ground; a name that is no station; places that cannot be used.

    Examples
    --------
    >>> asked = Coordination(places_deg=((-84.34, 36.61),), stations=("Larkcombe",))
    >>> round(coordinate(demo(), asked).highest.distance_km, 1)
    4.8
    """
    from combe.answers.coordinate import coordinate_report

    return coordinate_report(project, asked, progress)


def delays(
    project: Project,
    trials: int = 200,
    *,
    progress: Progress | None = None,
    cache_folder: Path | None = None,
) -> DelaysReport:
    """Look for the static delays of networks on one frequency that serve most people.

    Parameters
    ----------
    trials
        How many sets of delays are judged at most, beside the present ones; the rest as :func:`cover`.

    Raises
    ------
    StudyError, RangeError
        No people, no network whose echoes add, a relay before it hears, a limit out of range; and as
        :func:`cover`.
    """
    from combe.answers.delays import delays_report

    return delays_report(project, trials, progress, cache_folder=cache_folder)


def retire(
    project: Project,
    keep_percent: float = 99.0,
    *,
    progress: Progress | None = None,
    cache_folder: Path | None = None,
) -> RetireReport:
    """Find the relays that could close: who hangs on each, and the most that can close together.

    Parameters
    ----------
    keep_percent
        Share of the people with every service now who have to keep it [%]; the rest as :func:`cover`.

    Raises
    ------
    StudyError, RangeError
        No people or relays, running costs for some relays alone, a share out of range; and as :func:`cover`.

    Examples
    --------
    >>> from dataclasses import replace
    >>> coarse = replace(demo(), grid=replace(demo().grid, cell_size_m=900.0))
    >>> retire(coarse, 100.0).closed, retire(coarse, 50.0).closed
    ((), ('Larkcombe',))
    """
    from combe.answers.retire import retire_report

    return retire_report(project, keep_percent, progress, cache_folder=cache_folder)


def explain(project: Project, longitude_deg: float, latitude_deg: float) -> Explanation:
    """Explain one place: who serves it, what disturbs it, and what would have to change.

    Raises
    ------
    RangeError, TerrainGapError
        A place off the grid, or on a void.

    Examples
    --------
    >>> explain(demo(), -84.34, 36.61).services[0].server.station.name
    'Larkcombe'
    """
    from combe.answers.explain import explain_place

    return explain_place(project, longitude_deg, latitude_deg)


def visit(project: Project, readings: Path | str, log: Path | str, *, store: bool = True) -> VisitReport:
    r"""Read a file of readings of a site visit, store it in a log, and judge what it holds.

    Raises
    ------
    TableError
        With every fault of the file; the log is as it was.
    OutputError
        The log cannot be written.

    Examples
    --------
    >>> import pathlib, tempfile
    >>> folder = pathlib.Path(tempfile.mkdtemp())
    >>> rows = (
    ...     "date,station,service,test_point,quantity,value,unit,meter,meter_calibrated_on,who,weather,note\n"
    ...     "2026-01-05,Larkcombe,Mux A,receiver,level,-55,dBm,M1,2025-12-01,Ann,dry,\n"
    ... )
    >>> _ = (folder / "readings.csv").write_text(rows)
    >>> visit(demo(), folder / "readings.csv", folder / "visits.gpkg", store=False).judgements[0].key.service
    'Mux A'
    """
    from combe.answers.visit import visit_report

    return visit_report(project, Path(readings), Path(log), store=store)
