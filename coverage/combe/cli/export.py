"""``combe export``: writes the answer as files for a desktop GIS."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.progress import progress
from combe.cli.reporting import (
    ReportCommand,
    Shown,
    cache_folder,
    cache_option,
    default_out,
    no_cache_option,
    out_option,
    report_options,
    study_argument,
)

_FORMATS = ("geotiff", "geopackage", "geojson", "kml", "csv")


@click.command("export", cls=ReportCommand)
@study_argument
@out_option
@click.option(
    "--format",
    "formats",
    type=click.Choice(_FORMATS),
    multiple=True,
    help="Write only this; may be given several times.  [default: all]",
)
@click.option(
    "--hills", is_flag=True, help="Also write what every hill is worth as a site, as combe site finds it."
)
@cache_option
@no_cache_option
@report_options
def command(
    study: Path,
    out: Path | None,
    formats: tuple[str, ...],
    hills: bool,
    cache: Path | None,
    no_cache: bool,
    shown: Shown,
) -> int:
    """Write the answer as files for a desktop GIS: rasters, layers, tables, with their styles.

    Rasters of who is served before and now, who serves best, and of margins; a GeoPackage of stations,
    areas, settlements, districts and feeds; the same as GeoJSON and KML, and tables as CSV. Each file says
    what made it. A style beside a file has its stem: a GIS loads it with the file. Hills are searched only
    where they are asked for, which takes as long as combe site, and are rasters.
    """
    from combe.answers.export import export_report
    from combe.errors import RangeError
    from combe.files import ensure_folder
    from combe.reports.export import document
    from combe.reports.export_files import FORMATS, write_export_files
    from combe.reports.export_styles import COVERAGE_STEPS_DB
    from combe.study.project_of import load_project

    if hills and formats and "geotiff" not in formats:
        raise RangeError("format with --hills", ", ".join(formats), "geotiff among them", "hills are rasters")
    loaded = load_project(study)
    folder = ensure_folder(out or default_out(study))
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = export_report(
            loaded,
            COVERAGE_STEPS_DB,
            told,
            cache_folder=kept,
            siting_folder=folder / "siting" if hills else None,
        )
    return shown.show(document(report, write_export_files(report, folder, formats or FORMATS)))
