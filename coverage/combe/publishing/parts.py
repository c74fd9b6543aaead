"""Reads our own page files and fills their places."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Final

from combe.errors import PageError
from combe.publishing.cautions import CAUTIONS, SHORT_CAUTION
from combe.publishing.text import encode

_PLACE: Final = re.compile(r"\[\[(\w+)\]\]")


def page_part(name: str) -> str:
    """Return one of our own script, style or HTML files."""
    return (files("combe.publishing") / "page" / name).read_text(encoding="utf-8")


def filled(name: str, **places: str) -> str:
    """Return one of our HTML files with its ``[[places]]`` filled.

    The contents must be HTML already (see :func:`combe.publishing.text.encode`); each is put in once and not
    looked through again.

    Raises
    ------
    PageError
        The file has a place for which nothing is given.
    """

    def content(place: re.Match[str]) -> str:
        if place.group(1) not in places:
            raise PageError(f"page part {name} has a place {place.group(1)!r} for which nothing is given")
        return places[place.group(1)]

    return _PLACE.sub(content, page_part(name))


def list_html(lines: tuple[str, ...]) -> str:
    """Return the texts as an HTML list."""
    return "<ul>" + "".join(f"<li>{encode(line)}</li>" for line in lines) + "</ul>"


def foot_html(made: tuple[str, ...], *, folded: bool = False) -> str:
    """Return cautions and provenance, under one line that always shows where they are folded.

    Only a page that unfolds them for print by a script of its own may fold them.
    """
    return filled(
        "foot.html",
        state="" if folded else " open",
        short=encode(SHORT_CAUTION),
        cautions=list_html(CAUTIONS),
        made=list_html(made),
    )


def wide_html(table: str, name: str) -> str:
    """Return a table in a frame that scrolls where the screen is narrow, also by the keyboard."""
    return f'<div class="wide" tabindex="0" role="group" aria-label="{encode(name)}">{table}</div>'
