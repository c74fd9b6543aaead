"""What every command with a document has in common: options, help on its keys, and how it is shown."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

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


def _print_schema(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    del param
    if value and not ctx.resilient_parsing:
        from combe.cli.output import print_json
        from combe.publishing.as_json import json_schema

        print_json(json_schema(form_of(str(ctx.command.name))))
        ctx.exit()


_JSON_SCHEMA: Final = click.option(
    "--json-schema",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_schema,
    help="Print the JSON Schema of the JSON and leave.",
)
_JSON: Final = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")
_HTML: Final = click.option(
    "--html", "page", type=click.Path(path_type=Path), metavar="FILE", help="Write a page."
)
_FULL: Final = click.option("--full", is_flag=True, help="Print all of the answer, and what made it.")


def form_of(kind: str) -> Form:
    """Return the form of the documents of a command."""
    form: Form = importlib.import_module(f"combe.reports.{kind}").FORM
    return form


def report_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say how a document is shown; the command gets them as ``shown``."""
    return _with_options(function, (_JSON_SCHEMA, _JSON, _HTML, _FULL))


def report_options_without_page(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the same for a command that has a folder for its pages."""
    return _with_options(function, (_JSON_SCHEMA, _JSON, _FULL))


def _with_options(
    function: Callable[..., Any], options: tuple[Callable[..., Any], ...]
) -> Callable[..., Any]:
    def with_shown(*, as_json: bool, full: bool, page: Path | None = None, **given: Any) -> Any:
        return function(shown=Shown(as_json, full, page), **given)

    with_shown.__doc__ = function.__doc__
    # click keeps the options of an argument that stands further up on the function itself.
    with_shown.__dict__.update(function.__dict__)
    for option in options:
        with_shown = option(with_shown)
    return with_shown


@dataclass(frozen=True)
class Shown:
    """How a document is to be shown."""

    as_json: bool
    full: bool
    page: Path | None = None

    def show(self, document: Document, page: Path | None = None) -> int:
        """Write the page where one is asked for, print the document, and return the exit code."""
        place = page or self.page
        if place is not None:
            from combe.publishing.as_html import write_page

            write_page(document, place)
            document = document.with_files(page=place)
        if self.as_json:
            from combe.publishing.as_json import as_json

            click.echo(as_json(document))
        else:
            from combe.publishing.as_text import as_text

            click.echo(as_text(document, full=self.full))
        return exit_code(document)


def exit_code(document: Document) -> int:
    """Return 1 where the answer has a verdict that fails or could not be reached, else 0."""
    return int(document.verdict is not None and document.verdict.look in ("fails", "not judged"))
