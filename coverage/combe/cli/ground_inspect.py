"""``combe ground inspect``: says what rasters, layers and tables are before a study names them."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.reporting import ReportCommand, Shown, report_options


@click.command("inspect", cls=ReportCommand, ways={"": "ground_inspect"})
@click.argument("files", type=click.Path(path_type=Path), metavar="FILES...", nargs=-1, required=True)
@report_options
def command(files: tuple[Path, ...], shown: Shown) -> int:
    """Say what files are, what of them is doubtful, and what a study should say of them.

    FILES are rasters (GeoTIFF, SRTM .hgt, ASCII grid), layers (GeoPackage, GeoJSON) and tables in text.
    Of a raster it tells place, cells, numbers, voids, and values that look like no data, sea floor
    or codes; of several of one kind, whether they fit where they meet; of layers and tables, which
    column may be which. Nothing is changed, and nothing is taken for told that the file does not tell.
    """
    from combe.answers.ground_inspect import inspect_report
    from combe.reports.ground_inspect import document

    return shown.show(document(inspect_report(files)))
