"""``combe delays``: by how much the stations of a network on one frequency should wait."""

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


@click.command("delays", cls=ReportCommand)
@study_argument
@click.option(
    "--trials",
    type=click.IntRange(1, 100_000),
    default=200,
    show_default=True,
    metavar="NUMBER",
    help="How many sets of delays are judged at most.",
)
@cache_option
@no_cache_option
@report_options
def command(study: Path, trials: int, cache: Path | None, no_cache: bool, shown: Shown) -> int:
    """Look for the static delays of networks on one frequency that serve most people.

    The study's [[sfn]] sections name the networks. Every set of delays is judged where people live, with all
    services, interference and echoes. The search goes delay by delay, from coarse steps down to 1 µs; it is
    bounded, and proves nothing. What it advises is judged once more as combe cover does.
    """
    from combe.answers.delays import delays_report
    from combe.reports.delays import document
    from combe.study.project_of import load_project

    loaded = load_project(study)
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = delays_report(loaded, trials, told, cache_folder=kept)
    return shown.show(document(report))
