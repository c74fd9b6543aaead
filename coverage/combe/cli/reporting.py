"""What commands have in common: arguments and options, what they print, and how a document is shown."""

from __future__ import annotations

import importlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from combe.cli.browser import open_page
from combe.digits import for_terminal
from combe.publishing.as_json import plain
from combe.publishing.page_about import INDEX_NAME

if TYPE_CHECKING:
    from combe.publishing.document import Document, Form

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

open_option = click.option("--open", "opened", is_flag=True, help="Open the page in a browser.")
"""The switch that shows the pages at once."""

no_cache_option = click.option("--no-cache", is_flag=True, help="Predict all anew and keep nothing.")
"""The switch that keeps nothing."""


resolution_option = click.option(
    "--resolution-khz",
    type=float,
    default=100.0,
    show_default=True,
    metavar="KHZ",
    help="Resolution bandwidth of the analyser whose screen is shown, 1 to 1000.",
)
analyser_noise_option = click.option(
    "--analyser-noise-db",
    type=float,
    default=25.0,
    show_default=True,
    metavar="DB",
    help="Noise figure of that analyser, 0 to 60.",
)


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


def cache_folder(cache: Path | None, *, no_cache: bool) -> Path | None:
    """Return the folder in which fields are kept, the user's own by default; None to keep none."""
    from combe.prediction import usual_folder

    return None if no_cache else cache or usual_folder()


class ReportCommand(click.Command):
    """A command that answers with a document; its help tells the keys of the JSON from the form of that.

    A command with several ways of asking names the kind of each way's document by its option: ``ways``.
    """

    def __init__(self, *given: Any, ways: Mapping[str, str] | None = None, **more: Any) -> None:
        super().__init__(*given, **more)
        self.ways = ways or {"": str(self.name)}

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the help and, below it, the keys."""
        from combe.publishing.as_json import key_lines

        super().format_help_text(ctx, formatter)
        for way, kind in self.ways.items():
            formatter.write_paragraph()
            lines = key_lines(form_of(kind), formatter.width - 4)
            head = f"  JSON{f' of {way}' if way else ''}: an object with"
            formatter.write("".join(f"{line}\n" for line in (head, *(f"    {line}" for line in lines))))


def _print_schema(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    del param
    if value and not ctx.resilient_parsing:
        from combe.publishing.as_json import json_schema

        assert isinstance(ctx.command, ReportCommand), "the option is one of report_options"
        print_json(json_schema(*map(form_of, ctx.command.ways.values())))
        ctx.exit()


_JSON_SCHEMA: Final = click.option(
    "--json-schema",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_schema,
    help="Print the JSON Schema of the JSON and leave.",
)
_HTML: Final = click.option(
    "--html", "page", type=click.Path(path_type=Path), metavar="FILE", help="Write a page."
)
_FULL: Final = click.option("--full", is_flag=True, help="Print all of the answer, and what made it.")


def form_of(kind: str) -> Form:
    """Return the form of the documents of a kind."""
    form: Form = importlib.import_module(f"combe.reports.{kind}").FORM
    return form


def report_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say how a document is shown; the command gets them as ``shown``."""
    return _with_options(function, (_JSON_SCHEMA, json_option, _HTML, open_option, _FULL), opens_page=True)


def report_options_and_folder(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the same for a command that has a folder besides: its index is what is opened."""
    return _with_options(function, (_JSON_SCHEMA, json_option, _HTML, open_option, _FULL))


def report_options_in_folder(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the same for a command that has a folder for all of its pages."""
    return _with_options(function, (_JSON_SCHEMA, json_option, open_option, _FULL))


def report_options_without_page(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the same for a command that writes no page."""
    return _with_options(function, (_JSON_SCHEMA, json_option, _FULL))


def _with_options(
    function: Callable[..., Any], options: tuple[Callable[..., Any], ...], *, opens_page: bool = False
) -> Callable[..., Any]:
    def with_shown(
        *, as_json: bool, full: bool, page: Path | None = None, opened: bool = False, **given: Any
    ) -> Any:
        if opens_page and opened and page is None:
            raise click.UsageError("--open needs a page to open; name one with --html FILE")
        return function(shown=Shown(as_json, full, page, opened), **given)

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
    opened: bool = False

    def show(self, document: Document, page: Path | None = None, *, folder: Path | None = None) -> int:
        """Write the page where one is asked for, print the document, and return the exit code.

        A ``folder`` of pages gets its index, to which a page that lies there leads back.
        """
        place = page or self.page
        index = None if folder is None else folder / INDEX_NAME
        if place is not None:
            from combe.publishing.as_html import write_page

            write_page(document, place, index=index if place == page else None)
            document = document.with_files(page=place)
        if folder is not None:
            from combe.reports.index import write_index

            document = document.with_files(index=write_index(folder))
        self._print(document)
        shown = index or place
        if self.opened and shown is not None:
            open_page(shown)
        return exit_code(document)

    def _print(self, document: Document) -> None:
        if self.as_json:
            from combe.publishing.as_json import as_json

            click.echo(as_json(document))
        else:
            from combe.publishing.as_text import as_text

            click.echo(as_text(document, full=self.full))


def exit_code(document: Document) -> int:
    """Return 1 where the answer has a verdict that fails or could not be reached, else 0."""
    return int(document.verdict is not None and document.verdict.look in ("fails", "not judged"))
