"""``combe new``: makes a folder with a commented, working study."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.reporting import ReportCommand, Shown, report_options_without_page


@click.command("new", cls=ReportCommand)
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@report_options_without_page
def command(folder: Path, shown: Shown) -> int:
    """Make a folder with a commented study to start from.

    The study is the demo's, with its terrain and invented people, and works at once. Nothing that is
    already in the folder is overwritten.
    """
    from combe.reports.new import document
    from combe.study.new import new_study
    from combe.study.project_of import load_project

    study = new_study(folder)
    files = sorted(path for path in study.parent.iterdir() if path.is_file())
    return shown.show(document(load_project(study), files))
