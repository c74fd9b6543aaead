"""``combe coordinate``: the field of stations where a neighbour asks for it, and what is over a trigger."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.explain import Place
from combe.cli.progress import progress
from combe.cli.reporting import ReportCommand, Shown, report_options, study_argument

if TYPE_CHECKING:
    from combe.project import Coordination, Project


@click.command("coordinate", cls=ReportCommand)
@study_argument
@click.option(
    "--at",
    "places",
    type=Place(),
    multiple=True,
    metavar="LON,LAT",
    help="A place, in degrees; several may be.",
)
@click.option(
    "--along",
    "layers",
    type=click.Path(path_type=Path),
    multiple=True,
    metavar="FILE",
    help="Points, lines or polygons' outlines: GeoPackage, GeoJSON, or CSV of points; several may be.",
)
@click.option(
    "--spacing", type=float, metavar="KM", help="From one point of a line to the next.  [default: 1]"
)
@click.option(
    "--trigger", type=float, metavar="DB", help="Field in dB(µV/m) over which coordination is asked for."
)
@click.option("--trigger-table", type=click.Choice(["GE06"]), help="Published values by band, from memory.")
@click.option(
    "--time-percent", type=float, metavar="PERCENT", help="Time for which fields are exceeded.  [default: 1]"
)
@click.option("--height", type=float, metavar="METRES", help="Receiving aerial above ground.  [default: 10]")
@click.option(
    "--station", "stations", multiple=True, metavar="NAME", help="A station meant; all unless given."
)
@click.option("--csv", "csv_file", type=click.Path(path_type=Path), metavar="FILE", help="Write all as CSV.")
@click.option(
    "--gpkg", "gpkg_file", type=click.Path(path_type=Path), metavar="FILE", help="Write all as GeoPackage."
)
@report_options
def command(study: Path, csv_file: Path | None, gpkg_file: Path | None, shown: Shown, **given: Any) -> int:
    """Predict fields at a neighbour's test points or border, and hold them against triggers.

    Where, for what share of time and at what height stands in the [coordination] table of the study; options
    go before it. Told are the highest fields, how far each is over or under its trigger, and by how much the
    power towards each bearing would have to fall to meet it everywhere.

    It is an estimate over the terrain: the method of the agreement decides. What is under a trigger here may
    have to be coordinated all the same.
    """
    from combe.answers.coordinate import coordinate_report
    from combe.reports.coordinate import document
    from combe.reports.coordinate_files import write_csv, write_gpkg
    from combe.study.project_of import load_project

    loaded = load_project(study)
    with progress() as told:
        report = coordinate_report(loaded, _asked(loaded, given), told)
    answer = document(report)
    if csv_file is not None:
        write_csv(report, csv_file)
        answer = answer.with_files(csv=csv_file)
    if gpkg_file is not None:
        write_gpkg(report, gpkg_file)
        answer = answer.with_files(gpkg=gpkg_file)
    return shown.show(answer)


def _asked(project: Project, given: dict[str, Any]) -> Coordination | None:
    """Return what the options ask, with what the study says besides; None where neither says where."""
    from combe.project import Coordination
    from combe.standards import trigger_table
    from combe.study.coordination_of import one_trigger, point_layer

    if given["trigger"] is not None and given["trigger_table"] is not None:
        raise click.UsageError("--trigger and --trigger-table both say over what; take one out")
    changes: dict[str, Any] = {}
    if given["places"] or given["layers"]:
        changes["places_deg"] = given["places"]
        changes["layers"] = tuple(point_layer(each, str(each)) for each in given["layers"])
    names = {"spacing": "spacing_km", "time_percent": "time_percent", "height": "height_m"}
    changes |= {key: given[name] for name, key in names.items() if given[name] is not None}
    if given["trigger"] is not None:
        changes["triggers"] = one_trigger(given["trigger"])
    if given["trigger_table"] is not None:
        changes["triggers"] = trigger_table(given["trigger_table"])
    if given["stations"]:
        changes["stations"] = tuple(project.station(name).name for name in given["stations"])
    if project.coordination is not None:
        return replace(project.coordination, **changes)
    return Coordination(**changes) if "layers" in changes else None
