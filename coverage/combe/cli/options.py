"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

study_argument = click.argument("study", type=click.Path(path_type=Path), metavar="STUDY")
"""The study file."""

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")
"""The switch from a table to JSON."""

out_option = click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files; made if it is not there.  [default: results, beside the study]",
)
"""Where files go."""

cache_option = click.option(
    "--cache",
    type=click.Path(path_type=Path),
    metavar="DIR",
    envvar="COMBE_CACHE",
    show_envvar=True,
    help="Folder in which fields of stations are kept between runs.  [default: in the user's cache folder]",
)
"""Where fields are kept."""

no_cache_option = click.option("--no-cache", is_flag=True, help="Predict all anew and keep nothing.")
"""The switch that keeps nothing."""
