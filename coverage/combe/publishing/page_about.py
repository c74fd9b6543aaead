"""What a page tells of itself in its head, so that a folder of pages can be listed without anybody's notes.

A run knows the pages that it writes and no others; which pages a folder holds is known by the folder alone.
So each page names its kind, its study and its answer, and an index is made of what is there.
"""

from __future__ import annotations

import html
import json
import os
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from combe.publishing.page_language import in_page_language, told_html
from combe.publishing.text import encode
from combe.words import Name

INDEX_NAME: Final = "index.html"
_NAME: Final = "combe-page"
_ELEMENT: Final = re.compile(rf'<meta name="{_NAME}" content="([^"]*)">')
_LONGEST_HEAD: Final = 16_384
"""Of a page so much is read; what it tells of itself stands before all styles and scripts."""


@dataclass(frozen=True)
class PageAbout:
    """A page's kind, its name as a list has it, the title of its study, and its answer in a sentence.

    ``invented`` is the sentence that says what of the study is so.
    """

    kind: str
    name: str
    study: str = ""
    answer: str = ""
    invented: str = ""

    def element(self) -> str:
        """Return the element that tells all this in a page's head."""
        about = {**asdict(self), "study": Name(self.study), "kind": Name(self.kind)}
        told = json.dumps({key: in_page_language(each) for key, each in about.items()}, ensure_ascii=False)
        return f'<meta name="{_NAME}" content="{encode(told)}">\n'


def read_about(path: Path) -> PageAbout | None:
    """Return what a page tells of itself; None where it tells nothing, or is no page that can be read."""
    try:
        with path.open("rb") as file:
            head = file.read(_LONGEST_HEAD).decode("utf-8", errors="replace")
    except OSError:
        return None
    found = _ELEMENT.search(head)
    if found is None:
        return None
    try:
        told = json.loads(html.unescape(found[1]))
        about = PageAbout(**told)
    except (ValueError, TypeError):
        return None
    return about if all(isinstance(each, str) for each in asdict(about).values()) else None


def way_to(index: Path | None, page: Path) -> str:
    """Return the link from a page to its index, nothing without one."""
    return "" if index is None else Path(os.path.relpath(index, page.parent)).as_posix()


def back_html(link: str) -> str:
    """Return the line that leads back to the index; nothing where there is none."""
    return f'<nav class="back"><a href="{encode(link)}">{told_html("All pages")}</a></nav>' if link else ""
