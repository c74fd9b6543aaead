"""``combe new``: makes a folder with a commented, working study."""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from combe.cli.options import json_option
from combe.cli.output import print_json


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@json_option
def command(folder: Path, as_json: bool) -> None:
    r"""Make a folder with a commented study to start from.

    The study is the demo's, with its terrain and invented people, and works at once. Nothing that is
    already in the folder is overwritten.

    \b
    JSON: study (path), files (paths)
    """
    from combe.study.new import new_study

    study = new_study(folder)
    files = sorted(path for path in study.parent.iterdir() if path.is_file())
    if as_json:
        print_json({"study": study.resolve(), "files": [path.resolve() for path in files]})
        return
    click.echo(f"A new study is in {study}. Its stations and people are invented: put in your own.")
    click.echo(f"Next: combe check {shlex.quote(str(study))}")
