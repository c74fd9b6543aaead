"""``combe explain``: says of one place which station serves it, and what would have to change."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click

from combe.cli.reporting import ReportCommand, Shown, report_options, study_argument


class Place(click.ParamType):  # type: ignore[type-arg]
    """LON,LAT in degrees."""

    name = "LON,LAT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return (longitude, latitude)."""
        given = str(value).replace("−", "-")
        number = r"[+-]?\d+(?:\.\d+)?"
        found = re.fullmatch(rf"\s*({number})\s*,\s*({number})\s*", given, re.ASCII)
        if found is None:
            self.fail(f"{value!r} is no LON,LAT in degrees; write for example -84.21,36.55", param, ctx)
        lon, lat = (float(each) for each in found.groups())
        if not (abs(lon) <= 180.0 and abs(lat) <= 90.0):
            self.fail(f"{value!r} is outside the globe; longitude comes first", param, ctx)
        return lon, lat


@click.command("explain", cls=ReportCommand)
@study_argument
@click.option("--at", "place", required=True, type=Place(), metavar="LON,LAT", help="The place, in degrees.")
@report_options
def command(study: Path, place: tuple[float, float], shown: Shown) -> int:
    """Explain one place: server, field, nuisance fields, margin, and what would have to change.

    The place itself is predicted, so this needs no map and can differ from the map's cell by what the
    ground does within the cell. A relay counts as if its feed passed; where that of the best station fails
    or is not judged, the text, the page and the JSON say so.
    """
    from combe.answers.explain import explain_place
    from combe.reports.explain import document
    from combe.study.project_of import load_project

    return shown.show(document(explain_place(load_project(study), *place)))
