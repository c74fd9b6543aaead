"""What commands print: JSON and short tables."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import click

from combe.digits import for_terminal
from combe.publishing.as_json import plain

_ZERO: Final = ("0", "0.0")


def say(words: str = "") -> None:
    """Print a line for a reader: plain spaces between thousands, true minus signs.

    A path, a command or a line for a file goes through ``click.echo``, which changes nothing.
    """
    click.echo(for_terminal(words))


def print_json(value: Mapping[str, Any]) -> None:
    """Print one JSON object; a number that does not exist (NaN) is null."""
    click.echo(json.dumps(plain(value), indent=2, allow_nan=False))


def print_table(
    heads: Sequence[str], rows: Sequence[Sequence[object]], unless_zero: Sequence[str] = ()
) -> None:
    """Print an aligned table: text to the left, numbers to the right.

    Columns headed by a word of ``unless_zero`` are left out where nothing but 0 would be shown.
    """
    kept = [
        i
        for i, head in enumerate(heads)
        if head not in unless_zero or any(_cell(row[i]) not in _ZERO for row in rows)
    ]
    heads, rows = [heads[i] for i in kept], [[row[i] for i in kept] for row in rows]
    cells = [[_cell(value) for value in row] for row in rows]
    widths = [max(len(line[i]) for line in [list(heads), *cells]) for i in range(len(heads))]
    right = [all(isinstance(row[i], int | float | None) for row in rows) for i in range(len(heads))]
    for line in [list(heads), *cells]:
        parts = [
            text.rjust(width) if to_right else text.ljust(width)
            for text, width, to_right in zip(line, widths, right, strict=True)
        ]
        click.echo("  " + "  ".join(parts).rstrip())


def _cell(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "–"
    if isinstance(value, float):
        return f"{value:z.1f}".replace("-", "−")
    return f"{value:,}".replace(",", " ") if isinstance(value, int) else str(value)


def print_made_by(made: Mapping[str, str], *names: str) -> None:
    """Print what made a result, of it what is named and there, and whether anything is invented."""
    for name in names:
        if name in made:
            say(click.wrap_text(f"{name}: {made[name]}", width=96))
    if "invented" in made:
        say(made["invented"])


def print_cautions() -> None:
    """Print the cautions that stand on every report."""
    from combe.publishing.cautions import CAUTIONS

    click.echo("\nCautions")
    for caution in CAUTIONS:
        click.echo(click.wrap_text(caution, width=96, initial_indent="  - ", subsequent_indent="    "))


def default_out(study: Path) -> Path:
    """Return the folder beside a study file that results go to unless another is named."""
    return study.parent / "results"
