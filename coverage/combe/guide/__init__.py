"""The guide: one Markdown page a subject, and the reader that finds them.

A page begins with its title and a first sentence that says what it is for; pages link to one another by file
name, and to nothing else of the project. What shows them is elsewhere.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Final, NamedTuple

from combe.errors import RangeError


class GuidePart(NamedTuple):
    """A part of the guide: its name, what it is, and its topics by chapter, in the order to read them in."""

    name: str
    purpose: str
    chapters: Mapping[str, tuple[str, ...]]


PARTS: Final = (
    GuidePart(
        "The tool",
        "What each command answers, and what its answers rest on.",
        MappingProxyType(
            {
                "To begin": ("start", "study", "data", "open_data", "tables", "cautions"),
                "The work": (
                    "feed",
                    "year",
                    "coverage",
                    "desk",
                    "sure",
                    "receiving",
                    "one_frequency",
                    "bands",
                    "channels",
                    "siting",
                    "coordination",
                    "aerials",
                    "visits",
                    "retiring",
                    "compare",
                    "brief",
                    "files",
                    "languages",
                ),
                "Behind it": ("models", "sources", "validation", "speed", "library", "glossary"),
            }
        ),
    ),
    GuidePart(
        "The trade",
        "A course in twelve chapters, by one relay from its first question to its yearly visit.",
        MappingProxyType(
            {
                "The wave": ("stations", "sight"),
                "The relay": ("levels", "relays", "window"),
                "The viewers": ("neighbours", "served", "fades"),
                "The hill": ("hill", "routine", "analyser", "safety"),
            }
        ),
    ),
)
"""The topics; each is the file of its name."""

CHAPTERS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {chapter: names for part in PARTS for chapter, names in part.chapters.items()}
)
"""The topics of all parts by chapter."""


@dataclass(frozen=True)
class GuidePage:
    """One page: its topic, its title, the sentence that says what it is for, and all of it as Markdown."""

    topic: str
    title: str
    purpose: str
    markdown: str


def topics() -> tuple[str, ...]:
    """Return all topics in order.

    >>> topics()[0]
    'start'
    """
    return tuple(topic for chapter in CHAPTERS.values() for topic in chapter)


def guide_page(topic: str) -> GuidePage:
    """Return a page of the guide.

    Raises
    ------
    RangeError
        There is none on that topic.

    Examples
    --------
    >>> guide_page("feed").title
    'The feed'
    """
    known = topics()
    if topic not in known:
        near = difflib.get_close_matches(topic.casefold(), known, n=1)
        advice = f"did you mean {near[0]}?" if near else "see them with: combe guide"
        raise RangeError("topic of the guide", repr(topic), ", ".join(known), advice)
    markdown = _text(f"{topic}.md")
    head, _, rest = markdown.partition("\n")
    first = " ".join(rest.strip().partition("\n\n")[0].split())
    purpose = re.split(r"(?<=[.?])\s", first, maxsplit=1)[0]
    return GuidePage(topic, head.removeprefix("# "), purpose, markdown)


def guide_picture(name: str) -> str:
    """Return a picture of the guide, an SVG drawing, as text."""
    return _text(name)


def _text(name: str) -> str:
    return (files("combe.guide") / name).read_text(encoding="utf-8")
