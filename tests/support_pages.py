"""Every kind of page with as much in it as a study allows: all columns, several services, long names."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import support_hills
import support_map_page
import support_reports
from combe.cli.guide import guide_content
from combe.publishing.as_html import as_html
from combe.publishing.content import MapPage
from combe.publishing.guide_page import render_guide
from combe.publishing.map_page import render_map

GUIDE_TOPICS = ("index", "start", "feed", "sources", "sight", "safety")
"""Pages of the guide that stand for all: contents, tables, listings, pictures, warnings, folded answers."""

STATION = "Tarnbeacon-over-Nether-Wallop-and-the-Seven-Northern-Combes"
SERVICES = ("Mux A", "Mux B", "Mux C", "Multiplex-of-the-Northern-Counties", "Regional 2")
MADE = tuple(
    f"{name}: read in a public copy; from memory, unverified" for name in ("model", "terrain", "grid")
)
NOTE = "The stations of this study are invented, and so are the people."


@cache
def all_pages() -> dict[str, str]:
    """Return the pages by name."""
    return {
        "map": render_map(shadowed_map()),
        "map of hills": support_hills.page_html(),
        **{name: as_html(document) for name, document in support_reports.samples().items()},
        **{f"guide {topic}": guide()[f"{topic}.html"] for topic in GUIDE_TOPICS},
    }


@cache
def guide() -> dict[str, str]:
    """Return the pages of the guide that ships, by file name."""
    return render_guide(guide_content())


def shadowed_map() -> MapPage:
    """Return the map with fields so weak that some ground stays unserved."""
    page = support_map_page.map_page()
    layers = tuple(replace(layer, field_dbuv_m=layer.field_dbuv_m - 15.0) for layer in page.layers)
    return replace(page, layers=layers)
