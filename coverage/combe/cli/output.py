"""What commands print beside documents: lines, JSON, cautions."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from combe.digits import for_terminal
from combe.publishing.as_json import plain


def say(words: str = "") -> None:
    """Print a line for a reader: plain spaces between thousands, true minus signs.

    A path, a command or a line for a file goes through ``click.echo``, which changes nothing.
    """
    click.echo(for_terminal(words))


def print_json(value: Mapping[str, Any]) -> None:
    """Print one JSON object; a number that does not exist (NaN) is null."""
    click.echo(json.dumps(plain(value), indent=2, allow_nan=False))


def print_cautions() -> None:
    """Print the cautions that stand on every report."""
    from combe.publishing.cautions import CAUTIONS

    click.echo("\nCautions")
    for caution in CAUTIONS:
        click.echo(click.wrap_text(caution, width=96, initial_indent="  - ", subsequent_indent="    "))


def default_out(study: Path) -> Path:
    """Return the folder beside a study file that results go to unless another is named."""
    return study.parent / "results"
