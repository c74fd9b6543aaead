"""``combe path``: predicts one path between two stations."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.reporting import ReportCommand, Shown, report_options, study_argument


@click.command("path", cls=ReportCommand)
@study_argument
@click.option("--from", "from_name", required=True, metavar="NAME", help="The station that radiates.")
@click.option("--to", "to_name", required=True, metavar="NAME", help="The station at the far end.")
@report_options
def command(study: Path, from_name: str, to_name: str, shown: Shown) -> int:
    """Predict the path between two stations, for each service of the first.

    The far end is the receiving aerial of a relay that the first station feeds, else the other station's
    transmitting aerial. The page shows the profile of the ground.
    """
    from combe.answers.path import path_report
    from combe.reports.path import document
    from combe.study.project_of import load_project

    return shown.show(document(path_report(load_project(study), from_name, to_name)))
