"""Gathers what the pages of the guide show."""

from __future__ import annotations

import re

from combe.guide import CHAPTERS, GuidePage, guide_page, guide_picture
from combe.publishing.guide_page import Guide, GuideText
from combe.version import __version__


def guide_content() -> Guide:
    """Return the whole guide."""
    chapters = {name: [guide_page(topic) for topic in names] for name, names in CHAPTERS.items()}
    pictures = {name for pages in chapters.values() for page in pages for name in _pictures_of(page)}
    return Guide(
        title="Combe: the guide",
        subtitle="Plans, verifies and reviews low-power television relays over open elevation data.",
        chapters={
            name: [GuideText(page.topic, page.title, page.purpose, page.markdown) for page in pages]
            for name, pages in chapters.items()
        },
        pictures={name: guide_picture(name) for name in pictures},
        provenance=(f"Combe {__version__}, with the command combe guide",),
    )


def _pictures_of(page: GuidePage) -> list[str]:
    return re.findall(r"!\[[^\]]*\]\(([\w.-]+)\)", page.markdown)
