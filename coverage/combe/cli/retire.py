"""``combe retire``: which relays the network could do without."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.progress import progress
from combe.cli.reporting import (
    ReportCommand,
    Shown,
    cache_folder,
    cache_option,
    no_cache_option,
    report_options,
    study_argument,
)


@click.command("retire", cls=ReportCommand)
@study_argument
@click.option(
    "--keep",
    type=click.FloatRange(0.0, 100.0),
    default=99.0,
    show_default=True,
    metavar="PERCENT",
    help="Share of the people with every service now who have to keep it.",
)
@cache_option
@no_cache_option
@report_options
def command(study: Path, keep: float, cache: Path | None, no_cache: bool, shown: Shown) -> int:
    """Find the relays that could close: who hangs on each, and the most that can close together.

    A relay that closes takes with it those that it feeds. Of all sets that leave the stated share of people
    with every service, an integer programme finds the largest; or, where the stations of the study state
    their running_cost, the one that spares most. The network without that set is then judged anew.
    """
    from combe.answers.retire import retire_report
    from combe.reports.retire import document
    from combe.study.project_of import load_project

    loaded = load_project(study)
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = retire_report(loaded, keep, told, cache_folder=kept)
    return shown.show(document(report))
