"""``combe guide``: lists the pages of the guide, prints one, or writes all of them as HTML."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from combe.cli.options import json_option
from combe.cli.output import print_json

if TYPE_CHECKING:
    from combe.guide import GuidePage


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
    JSON: topics[]{topic, chapter, title, purpose}, page (the topic as Markdown; null where none is asked),
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
        _print_page(page)
    elif not folder:
        _print_topics()
    if written:
        click.echo(f"written: {written[0]} and {len(written) - 1} more; open the first in a browser")


def _written(folder: Path) -> list[Path]:
    """Write all pages, each whole or not at all, and return their paths; raises OutputError."""
    from combe.cli.guide_content import guide_content
    from combe.publishing.files import ensure_folder, write_text_atomically
    from combe.publishing.guide_page import render_guide

    pages, into = render_guide(guide_content()), ensure_folder(folder)
    for name, html in pages.items():
        write_text_atomically(into / name, html)
    return [into / name for name in pages]


def _listed() -> list[dict[str, str]]:
    from combe.guide import CHAPTERS, guide_page

    found = [(chapter, guide_page(topic)) for chapter, names in CHAPTERS.items() for topic in names]
    return [
        {"topic": page.topic, "chapter": chapter, "title": page.title, "purpose": page.purpose}
        for chapter, page in found
    ]


def _print_topics() -> None:
    """Print the topics by chapter, each with what it is for."""
    chapter, wide = "", max(len(row["topic"]) for row in _listed())
    for row in _listed():
        if row["chapter"] != chapter:
            chapter = row["chapter"]
            click.echo(f"{chapter}")
        click.echo(f"  {row['topic']:{wide}}  {row['purpose']}")
    click.echo("\nRead one with: combe guide TOPIC\nFor a browser: combe guide --html DIR")


def _print_page(page: GuidePage) -> None:
    from combe.cli.guide_print import print_markdown

    print_markdown(page.markdown)
