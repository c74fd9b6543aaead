"""The group of all commands: words every error as one line.

What only an error needs is imported where one is worded, for help and every command wait for this file.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NoReturn

import click

from combe.cli.listed_group import ListedGroup
from combe.cli.progress import compiling_told
from combe.version import __version__

if TYPE_CHECKING:
    from combe.errors import StudyError

COMMANDS: Final = {
    "demo": "Do the whole job on the shipped sample: check, feed, cover, site.",
    "new": "Make a folder with a study to start from.",
    "ground": "Get the open data that a study stands on, and look at files before they are used.",
    "check": "Check a study file and everything it names.",
    "aerial": "Work out an aerial from its parts: gain, beamwidths, nulls, patterns.",
    "stations": "Take stations of other tables into a study.",
    "path": "Predict the path between two stations, for each service of the first.",
    "feed": "Work out the off-air feed of each relay through its whole chain, and name what fails it.",
    "cover": "Predict the coverage of every station, count the people, draw the map.",
    "compare": "Hold two or three studies side by side: which is better on which count, and how surely.",
    "explain": "Explain one place: server, field, nuisance fields, margin, and what would have to change.",
    "desk": "Move stations on a map in the browser, and see at once whom they serve.",
    "site": "Score every hill as the site of a relay; list the best, and the best sets.",
    "channels": "Rank the output channels of relays by the people they harm, and assign them.",
    "coordinate": "Predict fields at a neighbour's test points or border, and hold them against triggers.",
    "delays": "Look for the static delays of networks on one frequency that serve most people.",
    "retire": "Find the relays that could close: who hangs on each, and the most that can close together.",
    "report": "Write the brief: two sheets to decide by, and an appendix with every input.",
    "export": "Write the answer as files for a desktop GIS: rasters, layers, tables, with their styles.",
    "visit": "Take in the readings of a site visit, or lay out the next one.",
    "evidence": "List every published figure the engine is checked against.",
    "guide": "Read the guide in the terminal, or write it for a browser.",
}
"""The commands in the order of work, each with the first sentence of its help: listing imports none."""

BAD_INPUT: Final = 2
TRACEBACK_SWITCH: Final = "COMBE_TRACEBACK"
"""The variable of the environment that, at 1, shows where an unforeseen error came from."""

_MOST_SIGNS_OF_A_SURPRISE: Final = 300
STOPPED: Final = 130
READER_GONE: Final = 141
"""What click leaves with SystemExit for: a reader such as ``head`` that went away."""


class CombeGroup(ListedGroup):
    """The group of all commands, whose errors are one line on standard error."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(
            listed=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]}, **settings
        )
        self.params += [_language_option(), _version_option()]

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, and say so where kernels have to be compiled for it."""
        with compiling_told(ctx):
            return super().invoke(ctx)

    def main(self, *args: Any, **settings: Any) -> NoReturn:
        """Run a command line, as click's own does, and leave with its exit code."""
        # click would word errors in its own way, over several lines, and leave by itself.
        settings["standalone_mode"] = False
        sys.exit(_exit_code(partial(super().main, *args, **settings)))


def _exit_code(run: Callable[[], Any]) -> int:
    """Run a command; return 0, what the command returned, or 2 after one line on standard error."""
    try:
        result = run()
    except (click.MissingParameter, click.NoSuchOption) as error:
        place = error.ctx.command_path if error.ctx else "combe"
        return _complain(f"{error.format_message().rstrip('.')}; see {place} --help")
    except click.ClickException as error:
        return _complain(error.format_message())
    except SystemExit:
        return READER_GONE
    except (KeyboardInterrupt, click.Abort) as error:
        click.echo(f"combe: {_with_notes('stopped', error.__cause__ or error)}", err=True)
        return STOPPED
    except Exception as error:
        return _say_why(error)
    return result if isinstance(result, int) else 0


def _say_why(error: Exception) -> int:
    """Word an error that is not click's."""
    from combe.errors import CombeError, StudyError

    if isinstance(error, StudyError):
        return _complain_of_all(error)
    if isinstance(error, (CombeError, OSError)):
        return _complain(_with_notes(str(error), error))
    return _confess(error)


def _confess(error: Exception) -> int:
    """Word an error that nobody foresaw: a fault of Combe, not an answer, so never exit code 1."""
    import traceback

    if os.environ.get(TRACEBACK_SWITCH) == "1":
        traceback.print_exception(error)
    words = " ".join(str(error).split())[:_MOST_SIGNS_OF_A_SURPRISE]
    fault = _with_notes(f"{type(error).__name__}{': ' + words if words else ''}", error)
    return _complain(
        f"this is a fault of Combe {__version__}, not of yours: {fault}; please report it to its authors with"
        f" the command, its input and what it prints with {TRACEBACK_SWITCH}=1"
    )


def _with_notes(words: str, error: BaseException) -> str:
    """Return words on an error with the notes that whoever let it pass has added to it."""
    return "; ".join([words, *getattr(error, "__notes__", ())])


def _complain_of_all(error: StudyError) -> int:
    """Tell the faults of a study, one a line."""
    if len(error.faults) == 1:
        return _complain(_with_notes(str(error), error))
    _complain(_with_notes(f"study {error.path} has {len(error.faults)} faults", error))
    for fault in error.faults:
        click.echo(f"  {' '.join(fault.split())}", err=True)
    return BAD_INPUT


def _complain(message: str) -> int:
    click.echo(f"combe: {' '.join(message.split())}", err=True)
    return BAD_INPUT


def _language_option() -> click.Option:
    def tell_pages(ctx: click.Context, param: click.Parameter, value: str) -> None:
        del param
        if value != "en" and not ctx.resilient_parsing:
            from combe.publishing.page_language import page_language, pages_in

            ctx.with_resource(pages_in(page_language(value)))

    return click.Option(
        ["--language"],
        default="en",
        expose_value=False,
        callback=tell_pages,
        envvar="COMBE_LANGUAGE",
        show_envvar=True,
        metavar="CODE",
        help="Language of pages, such as de; what is printed stays English.",
    )


def _version_option() -> click.Option:
    def show(ctx: click.Context, param: click.Parameter, value: bool) -> None:
        del param
        if value and not ctx.resilient_parsing:
            click.echo(f"combe {__version__}")
            ctx.exit()

    return click.Option(
        ["--version"],
        is_flag=True,
        expose_value=False,
        is_eager=True,
        callback=show,
        help="Show the version and leave.",
    )
