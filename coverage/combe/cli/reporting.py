"""What every command with a document has in common: options, help on its keys, and how it is shown."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from combe.publishing.document import Document, Form


class ReportCommand(click.Command):
    """A command that answers with a document; its help tells the keys of the JSON from the form of that."""

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the help and, below it, the keys."""
        from combe.publishing.as_json import key_lines

        super().format_help_text(ctx, formatter)
        formatter.write_paragraph()
        lines = key_lines(form_of(str(self.name)), formatter.width - 4)
        formatter.write(
            "".join(f"{line}\n" for line in ("  JSON: an object with", *(f"    {line}" for line in lines)))
        )


def form_of(kind: str) -> Form:
    """Return the form of the documents of a command."""
    form: Form = importlib.import_module(f"combe.reports.{kind}").FORM
    return form


def _print_schema(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    del param
    if value and not ctx.resilient_parsing:
        from combe.cli.output import print_json
        from combe.publishing.as_json import json_schema

        print_json(json_schema(form_of(str(ctx.command.name))))
        ctx.exit()


def report_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say how a document is shown; the command gets them as ``shown``."""

    def with_shown(*, as_json: bool, full: bool, page: Path | None, **given: Any) -> Any:
        return function(shown=Shown(as_json, full, page), **given)

    with_shown.__doc__ = function.__doc__
    for option in (
        click.option(
            "--json-schema",
            is_flag=True,
            is_eager=True,
            expose_value=False,
            callback=_print_schema,
            help="Print the JSON Schema of the JSON and leave.",
        ),
        click.option("--json", "as_json", is_flag=True, help="Print JSON for programs."),
        click.option("--html", "page", type=click.Path(path_type=Path), metavar="FILE", help="Write a page."),
        click.option("--full", is_flag=True, help="Print all of the answer, and what made it."),
    ):
        with_shown = option(with_shown)
    return with_shown


class Shown:
    """How a document is to be shown."""

    def __init__(self, as_json: bool, full: bool, page: Path | None) -> None:
        self.as_json, self.full, self.page = as_json, full, page

    def show(self, document: Document) -> int:
        """Write the page where one is asked for, print the document, and return the exit code."""
        if self.page is not None:
            from combe.publishing.as_html import write_page

            write_page(document, self.page)
            document = document.with_files(page=self.page)
        if self.as_json:
            from combe.publishing.as_json import as_json

            click.echo(as_json(document))
        else:
            from combe.publishing.as_text import as_text

            click.echo(as_text(document, full=self.full))
        return exit_code(document)


def exit_code(document: Document) -> int:
    """Return 0, or 1 where the answer has a verdict and it is not that all passes."""
    return 0 if document.verdict is None or document.verdict.look == "passes" else 1
