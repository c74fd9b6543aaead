"""``combe new``: makes a folder with the study of one's own place, or with a commented, working sample."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.explain import Place
from combe.cli.reporting import ReportCommand, Shown, report_options_without_page


@click.command("new", cls=ReportCommand, ways={"": "new", "--at": "own_study"})
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.option(
    "--at", "place", type=Place(), metavar="LON,LAT", help="Begin a study of this place, in degrees."
)
@click.option(
    "--radius", "radius_km", type=float, metavar="KM", help="How far it reaches to each side.  [default: 30]"
)
@click.option(
    "--country", metavar="CODE", help="Take the habits of a country: its ISO code, such as AT or AUT."
)
@click.option("--system", metavar="NAME", help="Television system, such as DVB-T2; without it the country's.")
@click.option("--sample", is_flag=True, help="Copy the sample; so does DIR alone.")
@report_options_without_page
def command(
    folder: Path,
    place: tuple[float, float] | None,
    radius_km: float | None,
    country: str | None,
    system: str | None,
    sample: bool,
    shown: Shown,
) -> int:
    """Make a folder with a study to start from.

    With --at it is the study of a place of your own: its cells, and the television and the air that --country
    or --system tell, each value with how sure it is. It claims no station and has no ground yet: combe ground
    fetch brings that. Which country a place lies in is not looked up.

    Without --at the study is the demo's, with its terrain and invented people, and works at once.

    Nothing that is already in the folder is overwritten.
    """
    if place is None:
        given = {"--radius": radius_km, "--country": country, "--system": system}
        if alone := [option for option, value in given.items() if value is not None]:
            raise click.UsageError(f"{alone[0]} is for a place of your own; name it with --at LON,LAT")
        return _sample(folder, shown)
    if sample:
        raise click.UsageError("--sample copies the demo's study, --at begins your own; ask for one of them")
    from combe.reports.own_study import document
    from combe.study.new import new_own_study
    from combe.study.own_study import USUAL_RADIUS_KM, own_study

    own = own_study(
        *place, USUAL_RADIUS_KM if radius_km is None else radius_km, system=system, country=country
    )
    return shown.show(document(own, new_own_study(folder, own)))


def _sample(folder: Path, shown: Shown) -> int:
    from combe.reports.new import document
    from combe.study.new import new_study
    from combe.study.project_of import load_project

    study = new_study(folder)
    files = sorted(path for path in study.parent.iterdir() if path.is_file())
    return shown.show(document(load_project(study), files))
