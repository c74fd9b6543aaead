"""``combe check``: finds every fault of a study, and sums up what it says."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.reporting import ReportCommand, Shown, report_options
from combe.errors import CombeError, StudyError


@click.command("check", cls=ReportCommand)
@click.argument("study", type=click.Path(path_type=Path), metavar="[STUDY]", required=False)
@click.option("--schema", is_flag=True, help="Print the JSON Schema of study files and leave.")
@report_options
def command(study: Path | None, schema: bool, shown: Shown) -> int:
    """Check a study file and everything it names."""
    if schema:
        from combe.cli.reporting import print_json
        from combe.study.schema import json_schema

        print_json(json_schema())
        return 0
    if study is None:
        raise click.UsageError("name a study file, or ask for --schema")
    from combe.library import check_file
    from combe.reports.check import document, faulty

    try:
        report = check_file(study)
    except CombeError as error:
        faults = error.faults if isinstance(error, StudyError) else (str(error),)
        if shown.as_json:
            shown.show(faulty(study, faults))
        if shown.as_json and len(faults) > 1:
            raise CombeError(f"study {study} has {len(faults)} faults; the JSON lists them") from None
        raise
    return shown.show(document(report))
