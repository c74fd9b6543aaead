"""Prints Markdown in a terminal: text and tables within the width, listings just as they stand."""

from __future__ import annotations

import re
from typing import Any, Final

import click

WIDEST: Final = 100
"""Columns of text, however wide the terminal is; longer lines are hard to read."""

_FENCE: Final = re.compile(r"^```\w*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_LINK: Final = re.compile(r"(?<!!)\[([^\]]*)\]\((\w+)\.md\)")
_PICTURE: Final = re.compile(r"!\[([^\]]*)\]\([^)]*\)")
_TRAILING: Final = re.compile(r"[ \t]+$", re.MULTILINE)


def print_markdown(markdown: str) -> None:
    """Print Markdown; links to pages of the guide become the command that prints them."""
    # Listings are parted off, because what wraps text to a width would cut their lines.
    for number, part in enumerate(_FENCE.split(markdown)):
        if number % 2:
            click.echo("".join(f"    {line}".rstrip() + "\n" for line in part.splitlines()))
        elif part.strip():
            click.echo(_wrapped(part) + "\n")


def _wrapped(markdown: str) -> str:
    """Return Markdown as rich lays it out for this terminal, without the spaces that it fills lines with."""
    from rich.console import Console

    console = Console()
    console.width = min(console.width, WIDEST)
    text = _PICTURE.sub(r"(Picture: \1.)", _LINK.sub(r"\1 (combe guide \2)", markdown))
    with console.capture() as laid_out:
        console.print(_markdown(text))
    return _TRAILING.sub("", laid_out.get()).strip("\n")


def _markdown(text: str) -> Any:
    """Return what rich prints of Markdown, with headings to the left."""
    from rich.markdown import Heading, Markdown
    from rich.text import Text

    class PlainHeading(Heading):
        """A heading to the left: that of the page underlined."""

        def __rich_console__(self, console: Any, options: Any) -> Any:
            """Yield its one line."""
            yield Text(self.text.plain, style="bold underline" if self.tag == "h1" else "bold")

    class GuideMarkdown(Markdown):
        """Markdown with such headings."""

        elements = {**Markdown.elements, "heading_open": PlainHeading}  # noqa: RUF012

    return GuideMarkdown(text, hyperlinks=False)
