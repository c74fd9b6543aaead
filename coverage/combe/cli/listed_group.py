"""Groups that list their commands from a table and import one only when it is asked for."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from typing import Any

import click


class ListedGroup(click.Group):
    """A group of commands told by a table; each is the function ``command`` of a file of its own.

    That of ``combe ground fetch`` is ``cli/ground_fetch.py``, for the group's ``file_prefix`` is ``ground_``.
    """

    def __init__(
        self,
        name: str | None = None,
        *,
        listed: Mapping[str, str],
        file_prefix: str = "",
        callback: Callable[..., Any] | None = None,
        **settings: Any,
    ) -> None:
        super().__init__(
            name, invoke_without_command=True, callback=callback or help_without_command, **settings
        )
        self.listed = listed
        self._file_prefix = file_prefix

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands in the order of work."""
        del ctx
        return list(self.listed)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands as click's own does, without importing them."""
        del ctx
        width = formatter.width - 6 - max(map(len, self.listed))
        with formatter.section("Commands"):
            formatter.write_dl(
                [
                    (name, click.Command(name, help=does).get_short_help_str(width))
                    for name, does in self.listed.items()
                ]
            )

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; click's UsageError, with the nearest, where there is none of that name."""
        if cmd_name not in self.listed:
            import difflib

            near = difflib.get_close_matches(cmd_name, self.listed, n=1)
            advice = f"did you mean {near[0]}?" if near else f"see {ctx.command_path or 'combe'} --help"
            ctx.fail(f"No such command {cmd_name!r}; {advice}")
        command: click.Command = importlib.import_module(f"combe.cli.{self._file_prefix}{cmd_name}").command
        command.help = _as_laid_out(command.help or "")
        return command


@click.pass_context
def help_without_command(ctx: click.Context) -> None:
    """Show the help of a group that is asked for nothing."""
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def _as_laid_out(text: str) -> str:
    """Turn the mark of a raw docstring into the sign that keeps click from filling the lines below it."""
    return text.replace("\\b\n", "\b\n")
