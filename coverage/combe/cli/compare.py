"""``combe compare``: holds studies over the same ground side by side."""

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
    report_options_and_folder,
)


@click.command("compare", cls=ReportCommand)
@click.argument("first", type=click.Path(path_type=Path), metavar="A")
@click.argument("second", type=click.Path(path_type=Path), metavar="B")
@click.argument("third", type=click.Path(path_type=Path), metavar="[C]", required=False)
@cache_option
@no_cache_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for compare.html, a map with a divider between the studies; made if it is not there.",
)
@report_options_and_folder
def command(
    first: Path,
    second: Path,
    third: Path | None,
    cache: Path | None,
    no_cache: bool,
    out: Path | None,
    shown: Shown,
) -> int:
    """Hold two or three studies side by side: which is better on which count, and how surely.

    A, B and C are study files over the same ground, with the same people and television; A is what the
    others are held against. Each is asked as combe cover asks it. Told are people served, newly, lost and
    unserved, in all services, by service and by district; feeds, harm, power and running cost; the stations
    that differ; and who is served in one study and not in the other, and where. It does not choose.
    """
    from combe.answers.compare import compare_report
    from combe.files import ensure_folder
    from combe.publishing.page_about import INDEX_NAME
    from combe.reports.compare import document
    from combe.reports.compare_map import write_map
    from combe.study.project_of import load_project

    if shown.opened and out is None and shown.page is None:
        raise click.UsageError("--open needs a page to open; name a folder with --out DIR, or --html FILE")
    loaded = [load_project(each) for each in (first, second, third) if each is not None]
    folder = ensure_folder(out) if out else None
    kept = cache_folder(cache, no_cache=no_cache)
    with progress() as told:
        report = compare_report(loaded, told, cache_folder=kept)
    page = write_map(report, folder, folder / INDEX_NAME) if folder else None
    return shown.show(document(report, page), folder=folder)
