"""``combe guide``: lists the pages of the guide, prints one, or writes all of them as HTML."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from combe.cli.reporting import json_option, print_json
from combe.version import __version__

if TYPE_CHECKING:
    from combe.publishing.guide_page import Guide


@click.command("guide")
@click.argument("topic", metavar="[TOPIC]", required=False)
@click.option(
    "--html",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write all pages into a folder, for a browser.",
)
@json_option
def command(topic: str | None, folder: Path | None, as_json: bool) -> None:
    r"""Read the guide in the terminal, or write it for a browser.

    Without a TOPIC the pages are listed, each with what it is for. With one it is printed.

    \b
    JSON: topics[]{topic, part, chapter, title, purpose},
      page (the topic as Markdown; null where none is asked),
      written[] (paths of HTML pages, the contents first; empty without --html)
    """
    from combe.guide import guide_page

    page = guide_page(topic) if topic else None
    written = _written(folder) if folder else []
    if as_json:
        print_json(
            {
                "topics": _listed(),
                "page": page and page.markdown,
                "written": [path.resolve() for path in written],
            }
        )
        return
    if page:
        print_markdown(page.markdown)
    elif not folder:
        _print_topics()
    if written:
        click.echo(f"written: {written[0]} and {len(written) - 1} more; open the first in a browser")


def _written(folder: Path) -> list[Path]:
    """Write all pages, each whole or not at all, and return their paths; raises OutputError."""
    from combe.files import ensure_folder, write_text_atomically
    from combe.publishing.guide_page import render_guide

    pages, into = render_guide(guide_content()), ensure_folder(folder)
    for name, html in pages.items():
        write_text_atomically(into / name, html)
    return [into / name for name in pages]


def guide_content() -> Guide:
    """Return the whole guide."""
    from combe.guide import PARTS, guide_page, guide_picture, topics
    from combe.publishing.guide_page import Guide, GuidePart, GuideText

    pages = {topic: guide_page(topic) for topic in topics()}
    texts = {
        topic: GuideText(page.topic, page.title, page.purpose, page.markdown) for topic, page in pages.items()
    }
    pictures = {name for page in pages.values() for name in _PICTURE_FILE.findall(page.markdown)}
    return Guide(
        title="Combe: the guide",
        subtitle="Plans, verifies and reviews low-power television relays over open elevation data.",
        parts=tuple(
            GuidePart(
                part.name,
                part.purpose,
                {name: [texts[topic] for topic in names] for name, names in part.chapters.items()},
            )
            for part in PARTS
        ),
        pictures={name: guide_picture(name) for name in pictures},
        provenance=(f"Combe {__version__}, with the command combe guide",),
    )


def _listed() -> list[dict[str, str]]:
    from combe.guide import PARTS, guide_page

    found = [
        (part.name, chapter, guide_page(topic))
        for part in PARTS
        for chapter, names in part.chapters.items()
        for topic in names
    ]
    return [
        {
            "topic": page.topic,
            "part": part,
            "chapter": chapter,
            "title": page.title,
            "purpose": page.purpose,
        }
        for part, chapter, page in found
    ]


def _print_topics() -> None:
    """Print the topics by part and chapter, each with what it is for."""
    from combe.guide import PARTS, guide_page, topics

    wide = max(len(topic) for topic in topics())
    for part in PARTS:
        click.echo(f"{part.name}: {part.purpose[:1].lower()}{part.purpose[1:]}\n")
        for chapter, names in part.chapters.items():
            click.echo(chapter)
            for topic in names:
                click.echo(f"  {topic:{wide}}  {guide_page(topic).purpose}")
        click.echo()
    click.echo("Read one with: combe guide TOPIC\nFor a browser: combe guide --html DIR")


WIDEST: Final = 100
"""Columns of text, however wide the terminal is; longer lines are hard to read."""

_FENCE: Final = re.compile(r"^```\w*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_LINK: Final = re.compile(r"(?<!!)\[([^\]]*)\]\((\w+)\.md\)")
_PICTURE: Final = re.compile(r"!\[([^\]]*)\]\([^)]*\)")
_PICTURE_FILE: Final = re.compile(r"!\[[^\]]*\]\(([\w.-]+)\)")
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
