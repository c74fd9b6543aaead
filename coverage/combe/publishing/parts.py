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


def foot_html(made: tuple[str, ...]) -> str:
    """Return cautions and provenance, folded under one line that always shows."""
    return filled(
        "foot.html", short=encode(SHORT_CAUTION), cautions=list_html(CAUTIONS), made=list_html(made)
    )
