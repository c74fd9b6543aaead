"""``combe stations import``: takes the stations of another table into a study."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import click

from combe.cli.reporting import ReportCommand, Shown, report_options_without_page, study_argument

_UNITS: Final = {"w": "erp_w", "kw": "erp_kw", "dbw": "erp_dbw", "dbm": "erp_dbm", "dbk": "erp_dbk"}


class _Pair(click.ParamType):  # type: ignore[type-arg]
    """A pair such as name=Site."""

    name = "OURS=THEIRS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return both."""
        ours, equals, theirs = str(value).partition("=")
        if not (ours and equals and theirs):
            self.fail(f"{value!r} is no pair; write for example name=Site", param, ctx)
        return ours, theirs


@click.command("import", cls=ReportCommand, ways={"": "stations_import"})
@study_argument
@click.argument("table", type=click.Path(path_type=Path), metavar="TABLE")
@click.option(
    "--column", "columns", multiple=True, type=_Pair(), help="What the table calls a column; may be repeated."
)
@click.option(
    "--set",
    "given",
    multiple=True,
    type=_Pair(),
    metavar="COLUMN=VALUE",
    help="One value for all rows that have none; may be repeated.",
)
@click.option(
    "--unit",
    type=click.Choice(list(_UNITS), case_sensitive=False),
    help="Unit of the column that is named erp_w.",
)
@click.option("--crs", metavar="NAME", help="System of eastings and northings, such as EPSG:25832.")
@click.option("--encoding", metavar="NAME", help="Encoding of a text that is not UTF-8.")
@click.option("--decimal", type=click.Choice([",", "."]), help="Sign before decimals, where none tells.")
@click.option("--layer", metavar="NAME", help="Of a GeoPackage with several layers.")
@click.option("--write", is_flag=True, help="Write them; without it, only what would be written is shown.")
@report_options_without_page
def command(study: Path, table: Path, shown: Shown, write: bool, **more: Any) -> int:
    """Take the stations of another table into a study.

    TABLE is a text or a GeoPackage with one row for each service of each station. Its columns may have
    any name: say which is which by --column, for example --column erp_kw=ERP; the error on one that is
    missing has the options to give. Powers may be in erp_w, erp_kw, erp_dbw, erp_dbm or erp_dbk, over an
    isotropic aerial in eirp_w and so on; places in degrees, minutes and seconds, in easting_m and
    northing_m with --crs, or in grid_reference. Every row is checked as one of a study. Where any has a
    fault, nothing is written; leaves with 1 then. What is written goes behind the study's own table of
    stations, or into stations.csv beside it; the study's text and comments stay.
    """
    from combe.reports.stations_import import document
    from combe.study.stations_import import import_stations
    from combe.tables import Layout

    columns = dict(more["columns"])
    if more["unit"]:
        named = columns.pop("erp_w", "erp_w")
        columns[_UNITS[more["unit"].casefold()]] = named
    layout = Layout(columns, more["crs"], more["encoding"], more["decimal"], more["layer"], command=True)
    return shown.show(document(import_stations(study, table, layout, dict(more["given"]), write=write)))
